"""Wraps, tubular layers and stockings: with reasons, and left out where they may harm."""

from dataclasses import replace

import pytest

from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Side
from gaiter.core.plan import LegPlan, plan
from gaiter.core.plan import alternatives as module
from gaiter.core.plan.alternatives import alternatives
from gaiter.core.plan.suitability import Patient
from gaiter.core.policy import Policy
from gaiter.core.safety import decide
from gaiter.core.words import Said
from tests.strategies import case, with_pressures


def leg_of(made, policy: Policy, catalogue: Catalogue) -> LegPlan:
    only = frozenset({"wool_short_stretch"})
    return plan(made, policy, catalogue, samples=64, systems=only).legs[Side.RIGHT]


def test_self_care_speaks_for_a_wrap(policy: Policy, catalogue: Catalogue) -> None:
    leg = leg_of(case(**{"person.rebandaged_by": "self"}), policy, catalogue)
    assert [one.name for one in leg.alternatives][-1] == "tubular_layers"
    wrap = next(one for one in leg.alternatives if one.name == "adjustable_wrap")
    assert any("the self can put it on" in reason for reason in wrap.reasons_for)
    assert "never above 40 mmHg" in wrap.level


def test_poor_arteries_leave_out_what_is_elastic(policy: Policy, catalogue: Catalogue) -> None:
    leg = leg_of(with_pressures(130, 92), policy, catalogue)
    assert [one.name for one in leg.alternatives] == ["adjustable_wrap"]
    assert sum("keeps its pressure at rest" in words for words in leg.excluded) == 2


def test_nothing_may_give_more_than_the_maximum(policy: Policy, catalogue: Catalogue) -> None:
    """Palliative: never above 30 mmHg, and both stockings give 40."""
    leg = leg_of(case(**{"legs.right.purpose": "palliative"}), policy, catalogue)
    assert leg.decision.maximum_mmhg == 30
    assert "two_layer_stockings" not in {one.name for one in leg.alternatives}
    assert any("both layers give up to 40 mmHg, the maximum is 30" in w for w in leg.excluded)
    wrap = next(one for one in leg.alternatives if one.name == "adjustable_wrap")
    assert "never above 30 mmHg" in wrap.level


def test_an_allergy_leaves_out_what_may_contain_it(policy: Policy, catalogue: Catalogue) -> None:
    leg = leg_of(case(**{"person.allergies": ["rubber accelerators"]}), policy, catalogue)
    assert [one.name for one in leg.alternatives] == ["adjustable_wrap"]


# --- each reason by itself ------------------------------------------------------------------

TUBULAR, STOCKINGS, WRAP = "tubular_layers", "two_layer_stockings", "adjustable_wrap"
WET = {"legs.right.findings.wound": "leg", "legs.right.wound": {"place": "gaiter"}}


def patient(policy: Policy, maximum_mmhg: float | None = None, **changes) -> Patient:
    made = case(**changes)
    decision = decide(made, policy).legs[Side.RIGHT]
    if maximum_mmhg is not None:
        decision = decision.model_copy(update={"maximum_mmhg": maximum_mmhg})
    return Patient(made, made.legs[Side.RIGHT], decision)


def offered(policy: Policy, maximum_mmhg: float | None = None, **changes):
    found, left_out = alternatives(patient(policy, maximum_mmhg, **changes))
    return {one.name: one for one in found}, left_out


@pytest.mark.parametrize(
    ("maximum", "names"),
    [
        # Two layers of stocking give up to 40 mmHg, one tubular layer 11 to 18 (Ann Vasc Dis 2020).
        (60, {WRAP, TUBULAR, STOCKINGS}),
        (40, {WRAP, TUBULAR, STOCKINGS}),
        (39.9, {WRAP, TUBULAR}),
        (20, {WRAP, TUBULAR}),
        (18, {WRAP, TUBULAR}),
        (17.9, {WRAP}),
    ],
)
def test_what_gives_exactly_the_maximum_is_still_offered(policy, maximum, names) -> None:
    found, left_out = offered(policy, maximum)
    assert set(found) == names
    assert len(left_out) == 3 - len(names)


def test_a_tubes_own_maximum_is_said(policy: Policy) -> None:
    _, left_out = offered(policy, 17)
    assert any("even one layer gives up to 18 mmHg, the maximum is 17" in w for w in left_out)


@pytest.mark.parametrize(("maximum", "most"), [(60, "40"), (40, "40"), (30, "30")])
def test_a_wrap_is_never_set_above_what_it_can_or_the_leg_may(policy, maximum, most) -> None:
    found, _ = offered(policy, maximum)
    assert f"here never above {most} mmHg" in found[WRAP].level
    assert "here never above" not in found[TUBULAR].level


@pytest.mark.parametrize(
    ("changes", "name", "words"),
    [
        ({"person.rebandaged_by": "carer"}, STOCKINGS, "the carer can put it on"),
        ({"person.rebandaged_by": "self"}, WRAP, "the self can put it on"),
        ({"bandager.training": "untrained"}, WRAP, "its own gauge sets the pressure"),
        ({"bandager.training": "untrained"}, STOCKINGS, "its size sets the pressure"),
        ({"bandager.training": "untrained"}, TUBULAR, "its size sets the pressure"),
        ({"person.does_not_tolerate": ["elastic"]}, WRAP, "instead of what was not tolerated"),
        ({"person.does_not_tolerate": ["cohesive"]}, WRAP, "instead of what was not tolerated"),
        ({"person.footwear": "ordinary shoe"}, STOCKINGS, "fits an ordinary shoe"),
        ({**WET, "legs.right.wound.exudate": "none"}, STOCKINGS, "70.9 and 70.4 %"),
        ({**WET, "legs.right.wound.exudate": "light"}, STOCKINGS, "70.9 and 70.4 %"),
        ({"legs.right.findings.pitting_grade": 3}, WRAP, "is set again as the leg shrinks"),
    ],
)
def test_what_speaks_for_one_is_said_there_and_nowhere_without_cause(
    policy: Policy, changes: dict, name: str, words: str
) -> None:
    found, _ = offered(policy, **changes)
    assert any(words in reason for reason in found[name].reasons_for)
    plain, _ = offered(policy)
    assert plain[name].reasons_for == ()


@pytest.mark.parametrize(
    ("changes", "name", "words"),
    [
        ({**WET, "legs.right.wound.exudate": "heavy"}, STOCKINGS, "heavy exudate: it soils"),
        ({"legs.right.findings.skin_fragile": True}, STOCKINGS, "shears fragile skin"),
        ({"legs.right.findings.pitting_grade": 3}, STOCKINGS, "too wide in a week"),
        ({}, TUBULAR, "harder on the calf than at the gaiter"),
    ],
)
def test_what_speaks_against_one_is_said(policy: Policy, changes, name, words) -> None:
    found, _ = offered(policy, **changes)
    assert any(words in reason for reason in found[name].reasons_against)
    others = [one for other, one in found.items() if other != name]
    assert not any(words in reason for one in others for reason in one.reasons_against)


@pytest.mark.parametrize(
    ("changes", "name", "words"),
    [
        ({"person.rebandaged_by": "carer"}, TUBULAR, "can put it on"),
        ({"person.rebandaged_by": "nobody"}, WRAP, "can put it on"),
        ({"person.does_not_tolerate": ["elastic"]}, STOCKINGS, "not tolerated"),
        ({"person.footwear": "ordinary shoe"}, WRAP, "ordinary shoe"),
        ({"person.footwear": "wide shoe"}, STOCKINGS, "ordinary shoe"),
        ({**WET, "legs.right.wound.exudate": "moderate"}, STOCKINGS, "70.9"),
        ({**WET, "legs.right.wound.exudate": "moderate"}, STOCKINGS, "soils"),
        ({"legs.right.findings.pitting_grade": 2}, WRAP, "shrinks"),
        ({"legs.right.findings.pitting_grade": 2}, STOCKINGS, "too wide"),
        ({"legs.right.findings.pitting_grade": 3}, STOCKINGS, "shrinks"),
    ],
)
def test_what_does_not_hold_is_not_said(policy: Policy, changes, name, words) -> None:
    found, _ = offered(policy, **changes)
    reasons = (*found[name].reasons_for, *found[name].reasons_against)
    assert not any(words in reason for reason in reasons)


def test_what_has_most_for_it_comes_first(policy: Policy) -> None:
    """A shoe and a carer speak for stockings, a carer alone for the wrap, the tube has one against.

    Equal ones stay in the order of the kinds: wrap, tube, stockings.
    """
    found, _ = offered(
        policy, **{"person.footwear": "ordinary shoe", "person.rebandaged_by": "self"}
    )
    assert list(found) == [STOCKINGS, WRAP, TUBULAR]
    plain, _ = offered(policy)
    assert list(plain) == [WRAP, STOCKINGS, TUBULAR]


def test_what_has_nothing_to_say_says_nothing_and_not_none(policy: Policy) -> None:
    """Every rule answers in words, empty ones too: an ordinary leg in trained hands asks little."""
    one = patient(policy, **{"bandager.training": "trained"})
    for kind in module.KINDS:
        for rule in (*module._FOR, *module._AGAINST):
            assert isinstance(rule(one, kind), Said)
        assert isinstance(module._excluded(one, kind), Said)


def test_without_a_maximum_a_wrap_may_give_nothing(policy: Policy) -> None:
    """No maximum is no leave: the gauge stays at 0 mmHg."""
    one = patient(policy)
    bare = replace(one, decision=one.decision.model_copy(update={"maximum_mmhg": None}))
    found, _left_out = alternatives(bare)
    wrap = next(other for other in found if other.name == WRAP)
    assert "here never above 0 mmHg" in wrap.level
