"""Six-digit codes against the vectors of RFC 6238, appendix B (SHA-1)."""

from base64 import b32encode

import pytest

from gaiter.records.totp import address_of, code_of, new_seed, step_of

# The RFC's secret is these twenty bytes; its codes have eight digits, of which ours are the last.
SEED = b32encode(b"12345678901234567890").decode()
VECTORS = {
    59: "94287082", 1111111109: "07081804", 1111111111: "14050471", 1234567890: "89005924",
    2000000000: "69279037", 20000000000: "65353130",
}  # fmt: skip


@pytest.mark.parametrize(("at", "code"), VECTORS.items())
def test_codes_are_those_of_the_rfc(at, code) -> None:
    assert code_of(SEED, at // 30) == code[2:]
    assert step_of(SEED, code[2:], at, 0) == at // 30


def test_a_code_counts_one_half_minute_early_or_late_and_no_more() -> None:
    step = 1111111111 // 30
    said = code_of(SEED, step)
    for off, counts in ((-60, False), (-30, True), (30, True), (60, False)):
        found = step_of(SEED, said, 30 * step + off, 0)
        assert found == (step if counts else None), off


def test_a_code_that_was_used_does_not_count_again() -> None:
    step = 1111111111 // 30
    assert step_of(SEED, code_of(SEED, step), 30 * step, step) is None
    assert step_of(SEED, code_of(SEED, step + 1), 30 * step, step) == step + 1


@pytest.mark.parametrize("typed", ["", "28708", "2870820", "二八七〇八二", "\ud800", "287082\x00"])
def test_what_is_no_code_is_none(typed) -> None:
    assert step_of(SEED, typed, 59, 0) is None


def test_a_seed_is_160_bits_in_base_32_and_another_each_time() -> None:
    made = {new_seed() for _ in range(20)}
    assert len(made) == 20
    assert {len(seed) for seed in made} == {160 // 5}


def test_an_authenticator_is_told_seed_name_and_clinic() -> None:
    said = address_of("ABC", "tam rowan", "Heron: Ford")
    assert said == "otpauth://totp/Heron%20Ford%3Atam%20rowan?secret=ABC&issuer=Heron%20Ford"
