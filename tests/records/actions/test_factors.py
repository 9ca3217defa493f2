"""Second factors: made by whoever shows a code, each code once, recovery codes hashed."""

import re
from datetime import timedelta

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher, get_hasher, identify_hasher

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import add_account
from gaiter.records.actions.factors import (
    RECOVERY_CODES,
    codes_left,
    confirm_factor,
    factor_of,
    give_code,
    make_codes,
    start_factor,
    started_factor,
)
from gaiter.records.entrance.tries import Kind, TooManyTriesError
from gaiter.records.ledger import Actor, action
from gaiter.records.models import AuditEntry, RecoveryCode, SecondFactor
from gaiter.records.sealing import blind_index
from gaiter.records.totp import code_of
from tests.records.models.rows import at_rest

pytestmark = pytest.mark.django_db


@pytest.fixture
def rowan() -> Actor:
    account = add_account(
        Actor(None, "test"), username="rowan", name="Tam Rowan", initials="TR", role="bandager"
    )
    return Actor(account, "192.0.2.1", Actor(None).now)


def later(actor: Actor, seconds: int) -> Actor:
    return Actor(actor.account, actor.where, actor.now + timedelta(seconds=seconds))


def code(seed: str, actor: Actor) -> str:
    return code_of(seed, int(actor.now.timestamp()) // 30)


def confirmed(actor: Actor) -> tuple[str, list[str]]:
    factor = start_factor(actor)
    seed = factor.seed
    return seed, confirm_factor(actor, factor.pk, code(seed, actor))


def test_a_factor_counts_once_its_code_was_shown(rowan) -> None:
    factor = start_factor(rowan)
    assert factor_of(rowan.account) is None
    wrong = "000000" if code(factor.seed, rowan) != "000000" else "111111"
    with pytest.raises(InputError, match="does not fit"):
        confirm_factor(rowan, factor.pk, wrong)
    confirm_factor(rowan, factor.pk, code(factor.seed, rowan))
    assert factor_of(rowan.account).pk == factor.pk


def test_the_seed_and_the_codes_are_not_in_the_database_in_the_clear(rowan) -> None:
    """Seeds lay there in hexadecimal, so a stolen database made every code."""
    seed, codes = confirmed(rowan)
    held = repr(
        [at_rest(row) for row in (*SecondFactor.objects.all(), *RecoveryCode.objects.all())]
    )
    held += "".join(AuditEntry.objects.values_list("changes", flat=True))
    assert seed not in held
    for one in codes:
        assert one not in held
        assert one.replace("-", "") not in held


def test_a_code_counts_once(rowan) -> None:
    seed, _codes = confirmed(rowan)
    with pytest.raises(InputError, match="neither"):
        give_code(rowan, code(seed, rowan))
    next_one = later(rowan, 30)
    assert give_code(next_one, code(seed, next_one)) is None
    with pytest.raises(InputError, match="neither"):
        give_code(next_one, code(seed, next_one))


def test_each_recovery_code_counts_once_however_it_is_typed(rowan) -> None:
    _seed, codes = confirmed(rowan)
    assert len(set(codes)) == RECOVERY_CODES == codes_left(rowan.account)
    assert give_code(rowan, codes[0].lower().replace("-", " ")) == RECOVERY_CODES - 1
    with pytest.raises(InputError, match="neither"):
        give_code(rowan, codes[0])
    assert give_code(rowan, codes[1]) == RECOVERY_CODES - 2


def test_new_recovery_codes_end_the_old(rowan) -> None:
    with pytest.raises(InputError, match="set one up first"):
        make_codes(rowan)
    _seed, old = confirmed(rowan)
    new = make_codes(rowan)
    with pytest.raises(InputError):
        give_code(rowan, old[0])
    assert give_code(rowan, new[0]) == RECOVERY_CODES - 1


def test_anothers_code_is_none(rowan) -> None:
    _seed, codes = confirmed(rowan)
    account = add_account(
        Actor(None, "test"), username="sedge", name="Sedge", initials="S", role="bandager"
    )
    sedge = Actor(account, "", rowan.now)
    confirmed(sedge)
    with pytest.raises(InputError, match="neither"):
        give_code(sedge, codes[0])


def test_codes_are_not_guessed(rowan) -> None:
    _seed, codes = confirmed(rowan)
    for _ in range(Kind.FACTOR.value):
        with pytest.raises(InputError, match="neither"):
            give_code(rowan, "wrong")
    with pytest.raises(TooManyTriesError):
        give_code(rowan, codes[0])


def test_a_new_factor_ends_the_old_its_codes_and_every_session(rowan) -> None:
    old_seed, old_codes = confirmed(rowan)
    era = rowan.account.era
    moved = later(rowan, 60)
    new_seed, _codes = confirmed(moved)
    assert rowan.account.era == era + 1
    after = later(rowan, 120)
    for wrong in (code(old_seed, after), old_codes[0]):
        with pytest.raises(InputError):
            give_code(after, wrong)
    give_code(after, code(new_seed, after))
    assert SecondFactor.objects.exclude(ended_at=None).get().seed == ""


def test_only_the_newest_start_of_its_own_account_within_a_quarter_hour_counts(rowan) -> None:
    first, second = start_factor(rowan), start_factor(rowan)
    assert started_factor(rowan, first.pk) is None
    assert started_factor(rowan, second.pk) == second
    assert started_factor(rowan, None) is None
    assert started_factor(later(rowan, 14 * 60), second.pk) == second
    late = later(rowan, 16 * 60)
    assert started_factor(late, second.pk) is None
    with pytest.raises(InputError, match="begin again"):
        confirm_factor(late, second.pk, code(second.seed, late))


def test_a_recovery_code_is_another_each_time_and_cannot_be_guessed(rowan) -> None:
    """Ten of thirty-two signs are 50 bits; 20 are asked."""
    _seed, codes = confirmed(rowan)
    codes += make_codes(rowan)
    assert len(set(codes)) == 2 * RECOVERY_CODES
    assert all(re.fullmatch(r"[A-Z2-9]{5}-[A-Z2-9]{5}", one) for one in codes)
    assert len(set("".join(codes)) - {"-"}) > 28


def test_recovery_codes_are_kept_as_passwords_are(rowan) -> None:
    """Salted and slow: whoever has the database and its index key tries each of 2^50 anew."""
    confirmed(rowan)
    kept = list(RecoveryCode.objects.values_list("fingerprint", flat=True))
    hashers = [identify_hasher(one) for one in kept]
    assert {hasher.algorithm for hasher in hashers} == {get_hasher().algorithm}
    salts = {hasher.decode(one)["salt"] for hasher, one in zip(hashers, kept, strict=True)}
    assert len(salts) == RECOVERY_CODES
    assert get_hasher().salt_entropy >= 32
    # The shipped hash fits its column: of Argon2 it is about a hundred signs.
    slow = Argon2PasswordHasher().encode("x" * 64, get_hasher().salt())
    assert len(slow) <= RecoveryCode._meta.get_field("fingerprint").max_length


def test_a_code_of_an_earlier_version_is_good_once(rowan) -> None:
    """Those were the keyed fingerprint alone, and are on paper in a drawer."""
    confirmed(rowan)
    with action(rowan, "as earlier versions did") as act:
        kept = blind_index("ABCDEFGHJK", f"recovery.{rowan.account.pk}")
        act.create(RecoveryCode, account=rowan.account, fingerprint=kept, made_at=act.at)
    assert give_code(rowan, "ABCDE-FGHJK") == RECOVERY_CODES
    with pytest.raises(InputError, match="neither"):
        give_code(rowan, "ABCDE-FGHJK")
