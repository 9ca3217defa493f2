"""Every question that can stop is asked: leaving one out never allows more."""

import copy
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gaiter.core.case import SafetyCase
from gaiter.core.landmark import Side
from gaiter.core.safety import (
    RULES,
    Carry,
    Outcome,
    RuleKind,
    carry_of,
    decide,
    label_of,
    none_present,
    one_press_paths,
    screen_paths,
)
from gaiter.core.safety.rules.unasked import needed
from gaiter.files.policy_file import shipped_policy
from tests.core.safety.test_decision import TABLE, A, F
from tests.strategies import case, case_mapping

SHIPPED = shipped_policy()
# What may be left out without blocking; each is listed in docs/safety.md.
# - a further test that an ordinary leg does not need, and what its pressure would have bounded
FURTHER_TESTS = {f"{A}toe_mmhg", f"{A}tcpo2_mmhg"}
# - answers that only cap, so that a clinic with a hand-held probe is not blocked
ONLY_CAP = {
    f"{A}waveform", f"{F}stent", f"{A}dorsalis_pedis_mmhg", f"{A}posterior_tibial_mmhg",
}  # fmt: skip
# - what is chosen, not found
CHOSEN = {"legs.right.purpose", "legs.right.start"}


def maximum(mapping: dict[str, Any]) -> float:
    decision = decide(SafetyCase.model_validate(mapping), SHIPPED).legs[Side.RIGHT]
    return decision.maximum_mmhg or 0


def leaves(table: dict[str, Any], before: str = "") -> Iterator[str]:
    for name, value in table.items():
        path = f"{before}{name}"
        yield path
        if isinstance(value, dict):
            yield from leaves(value, f"{path}.")


def without(mapping: dict[str, Any], path: str) -> dict[str, Any]:
    changed = copy.deepcopy(mapping)
    *parents, last = path.split(".")
    table = changed
    for parent in parents:
        table = table[parent]
    table.pop(last)
    return changed


def consistent(changes: dict[str, Any]) -> dict[str, Any]:
    """A wound that is described is also said, as the visit asks it.

    Where the two contradict, the worse counts (see test_attacks.py): a foot wound said to be one
    of the leg stops by its description alone, so that description is no answer left out.
    """
    wound = changes.get("legs.right.wound")
    if wound is None:
        return changes
    if wound["place"] in ("heel", "toe", "sole", "top of foot"):
        return {**changes, f"{F}wound": "foot"}
    return {f"{F}wound": "leg", **changes}


ROWS = st.sampled_from([row[0] for row in TABLE])
# A described wound has a place: it is left out whole.
_KEPT = {
    "schema", "today", "invented", "legs", "legs.right", "bandager.training",
    "legs.right.wound.place", "legs.right.provisional.by", "legs.right.provisional.words",
}  # fmt: skip


@given(ROWS, ROWS, st.data())
def test_leaving_something_out_never_raises_the_maximum(one, other, data) -> None:
    mapping = case_mapping(**consistent({**one, **other}))
    removable = [path for path in leaves(mapping) if path not in _KEPT]
    path = data.draw(st.sampled_from(removable))
    _judge(mapping, path)


def _judge(mapping: dict[str, Any], path: str) -> None:
    before, after = maximum(mapping), maximum(without(mapping, path))
    if path in CHOSEN:
        return
    if path in ONLY_CAP:
        assert after <= max(before, SHIPPED["reduced_maximum_mmhg"]), path
    elif path not in FURTHER_TESTS:
        assert after <= before, path


@pytest.mark.parametrize("row", range(len(TABLE)))
def test_leaving_any_one_answer_out_of_any_row_never_raises_it(row: int) -> None:
    mapping = case_mapping(**consistent(TABLE[row][0]))
    for path in leaves(mapping):
        if path not in _KEPT:
            _judge(mapping, path)


@pytest.mark.parametrize("path", screen_paths())
def test_every_question_that_can_stop_is_asked(path: str) -> None:
    """Left out, each of these gave full compression without a word."""
    full = path.replace("leg.", "legs.right.", 1) if path.startswith("leg.") else path
    decision = decide(case(**{full: None}), SHIPPED).legs[Side.RIGHT]
    asked = {r.code: r for r in decision.reasons}
    named = [
        code
        for code in ("screen_incomplete", "not_asked", "not_asked_caps")
        if code in asked and label_of(path) in asked[code].text
    ]
    assert named, path
    if path in ("leg.findings.stent", "leg.arterial.waveform"):
        assert decision.outcome is Outcome.REDUCED
        assert decision.maximum_mmhg == 40
    else:
        assert decision.outcome is Outcome.NOT_YET
        assert decision.maximum_mmhg is None


def test_nothing_that_stops_goes_unasked() -> None:
    """A rule that stops asks its question, or rests on a test whose own rule asks for it."""
    tests = ("leg.arterial.", "arms.")
    for rule in RULES.values():
        if rule.stops and not rule.needs:
            assert rule.reads, rule.code
            assert all(path.startswith(tests) for path in rule.reads), rule.code


def test_only_a_stent_and_a_waveform_cap_instead_of_blocking() -> None:
    assert needed(RULES.values(), red_flag=None, only_caps=True) == (
        "leg.findings.stent",
        "leg.arterial.waveform",
    )


def test_one_press_never_answers_arteries_feeling_toes_pain_or_whether_it_would_be_told() -> None:
    pressed = one_press_paths()
    never = {
        "leg.findings.absent_monofilament_sites", "person.can_report_pain", "person.age_years",
        "leg.findings.pain_now",
    }  # fmt: skip
    assert not pressed & never
    assert not [p for p in pressed if p.startswith(("leg.arterial.", "arms.", "leg.findings.toes"))]
    assert set(screen_paths()) - pressed == never | {
        f"leg.findings.toes.{name}"
        for name in ("colour", "refill", "warmth", "feeling", "movement")
    }


def test_one_press_makes_an_ordinary_leg_full_with_what_it_may_not_answer() -> None:
    """Every answer it gives is one that no rule stops at."""
    changes = {
        path.replace("leg.", "legs.right.", 1) if path.startswith("leg.") else path: (
            none_present(path)
        )
        for path in one_press_paths()
    }
    assert (
        decide(case(**changes), SHIPPED).legs[Side.RIGHT]
        == (decide(case(), SHIPPED).legs[Side.RIGHT])
    )


def test_none_present_is_no_none_or_nothing() -> None:
    said = {path: none_present(path) for path in one_press_paths()}
    assert said["person.heart_failure_class"] == said["person.weight_gain_kg"] == 0
    words = {"leg.findings.clot.state", "leg.findings.infection", "leg.findings.bypass",
             "leg.findings.wound"}  # fmt: skip
    assert {path for path, answer in said.items() if answer == "none"} == words
    rest = set(said) - words - {"person.heart_failure_class", "person.weight_gain_kg"}
    assert all(said[path] is False for path in rest)


@pytest.mark.parametrize(
    "path",
    ["leg.findings.new_pain", "leg.findings.colour_change", "leg.findings.temperature_change",
     "person.breathless_lying", "leg.findings.infection", "leg.findings.clot.state",
     "leg.findings.clot.signs.whole_leg_swollen", "leg.findings.gangrene",
     "person.heart_failure_decompensated"],
)  # fmt: skip
def test_what_may_change_from_visit_to_visit_is_asked_afresh(path: str) -> None:
    assert carry_of(path) is Carry.AFRESH


@pytest.mark.parametrize(
    ("path", "carry"),
    [("leg.findings.toes.colour", Carry.DAY), ("leg.findings.pain_now", Carry.DAY),
     ("leg.findings.clot.anticoagulated", Carry.AFRESH),
     ("leg.findings.antibiotics_started", Carry.AFRESH), ("person.weight_gain_kg", Carry.DAY),
     ("leg.findings.worse", Carry.DAY),
     ("leg.findings.pitting_grade", Carry.DAY), ("leg.findings.bypass", Carry.STAYS),
     ("person.heart_failure_class", Carry.STAYS), ("person.diabetes", Carry.STAYS),
     ("leg.findings.absent_monofilament_sites", Carry.STAYS), ("leg.purpose", Carry.STAYS),
     ("leg.girth_cm.ankle", Carry.STAYS), ("leg.findings.shape", Carry.STAYS)],
)  # fmt: skip
def test_what_stays_and_what_counts_on_its_day_only(path: str, carry: Carry) -> None:
    assert carry_of(path) is carry


def test_rules_that_need_the_same_answer_agree_on_how_it_carries_over() -> None:
    by_path: dict[str, set[Carry]] = {}
    for rule in RULES.values():
        for path in rule.needs:
            by_path.setdefault(path, set()).add(rule.carry)
    assert {path: kinds for path, kinds in by_path.items() if len(kinds) > 1} == {}


@example(("leg.findings.gangrene", "Black or dead tissue"))
@given(st.sampled_from([("person.diabetes", "Diabetes")]))
def test_questions_are_named_in_the_words_of_the_case(named) -> None:
    path, words = named
    assert label_of(path) == words


def test_every_path_of_every_rule_is_a_question_of_the_case() -> None:
    for rule in RULES.values():
        for path in (*rule.needs, *rule.reads):
            assert label_of(path), path


def test_firsts_that_leave_the_provisional_level_are_named() -> None:
    """What may still be unknown under the provisional level (Wounds UK, immediate care)."""
    assert {rule.code for rule in RULES.values() if rule.provisional} == {
        "toe_needed", "toe_brachial_unusual", "toe_above_ankle", "arterial_missing", "one_arm",
        "arterial_date_missing", "arterial_overdue", "not_lying_flat", "lying_flat_not_said",
        "not_asked",
    }  # fmt: skip
    assert all(r.kind is RuleKind.FIRST for r in RULES.values() if r.provisional)
