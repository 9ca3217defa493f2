"""Choice rules as whole plans show them: what is planned, left out, replaced and seen when."""

from datetime import date

import pytest

from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Side
from gaiter.core.plan import LegPlan, plan
from gaiter.core.plan.alternatives import KINDS
from gaiter.core.policy import Policy
from gaiter.files.catalogue_file import shipped_catalogue
from tests.strategies import case, with_pressures

L, P, W = "legs.right.", "person.", "legs.right.wound"
TODAY = date(2026, 11, 25)
TITLES = set(shipped_catalogue().titles.values())


def planned(policy: Policy, catalogue: Catalogue, **changes) -> LegPlan:
    return plan(case(**changes), policy, catalogue, samples=256).legs[Side.RIGHT]


# One rule for, one against and one that leaves a system out; every rule: test_suitability.py.
TABLE = [
    ({f"{P}mobility": "walks"}, "wool_short_stretch", "for", "high working pressure"),
    ({f"{P}footwear": "ordinary shoe"}, "four_layer", "against", "too bulky"),
    ({f"{P}allergies": ["latex"]}, "wool_gauze_cohesive", "out", "allergy to latex"),
]


@pytest.mark.parametrize(("changes", "name", "side", "words"), TABLE)
def test_an_argument_stands_on_the_plan_or_leaves_its_system_out(
    changes: dict, name: str, side: str, words: str, policy: Policy, catalogue: Catalogue
) -> None:
    leg = planned(policy, catalogue, **changes)
    if side == "out":
        assert name not in {system.name for system in leg.systems}
        assert any(words in reason for reason in leg.excluded)
        return
    system = next(system for system in leg.systems if system.name == name)
    reasons = system.reasons_for if side == "for" else system.reasons_against
    assert any(words in reason for reason in reasons), reasons


def test_every_system_is_either_planned_or_left_out_with_a_reason(
    policy: Policy, catalogue: Catalogue
) -> None:
    for changes in ({}, {f"{L}purpose": "support"}, {f"{P}allergies": ["latex"]}):
        leg = planned(policy, catalogue, **changes)
        names = {system.name for system in leg.systems}

        def left_out(titles, said=leg.excluded) -> int:
            return sum(any(str(why).startswith(f"{title}: ") for why in said) for title in titles)

        assert len(names) + left_out(TITLES) == len(TITLES)
        assert len(leg.alternatives) + left_out(kind.title for kind in KINDS) == len(KINDS)
        assert all(": " in reason for reason in leg.excluded)


def test_the_next_visit_is_the_day_of_the_change(policy: Policy, catalogue: Catalogue) -> None:
    """25 November and two days, and seven."""
    for changes, day in (({}, date(2026, 11, 27)), ({f"{L}tolerated_mmhg": 60}, date(2026, 12, 2))):
        leg = plan(
            case(**changes),
            policy,
            catalogue,
            samples=64,
            systems=frozenset({"wool_gauze_cohesive"}),
        ).legs[Side.RIGHT]
        assert leg.next_visit == day
        assert (leg.systems[0].regular_days, leg.systems[0].change_days) == (7, (day - TODAY).days)


def test_poor_arteries_never_have_coarse_gauze_next_to_the_skin(
    policy: Policy, catalogue: Catalogue
) -> None:
    stock = {"coarse_gauze": {"rolls": 9}, "long_stretch_elastic": {"rolls": 9}}
    made = plan(with_pressures(130, 92, stock=stock), policy, catalogue, samples=256)
    assert made.legs[Side.RIGHT].systems == ()


def test_ankle_girth_bands_of_the_four_layer_build(policy: Policy, catalogue: Catalogue) -> None:
    """18-25 cm four, 25-30 cm high power and cohesive, above 30 cm light and high and cohesive."""
    for ankle, calf, keys in (
        (22.0, 37.0, ["light_support", "light_elastic", "cohesive_elastic"]),
        (27.0, 42.0, ["long_stretch_elastic", "cohesive_elastic"]),
        (31.0, 45.0, ["light_elastic", "long_stretch_elastic", "cohesive_elastic"]),
    ):
        leg = planned(
            policy,
            catalogue,
            **{
                f"{L}girth_cm": {
                    "metatarsal_heads": 24.0, "ankle": ankle, "calf": calf,
                    "below_knee": calf - 3, "heel_instep": 35.0,
                }
            },
        )  # fmt: skip
        system = next(s for s in leg.systems if s.name == "four_layer")
        assert [layer.material for layer in system.layers if layer.presses] == keys


def test_what_runs_out_is_replaced_or_left_out_and_said(
    policy: Policy, catalogue: Catalogue
) -> None:
    stock = {
        key: {"rolls": 9} for key in ("orthopaedic_wool", "cohesive_inelastic", "short_stretch")
    }
    leg = planned(policy, catalogue, stock=stock)
    cohesive = next(s for s in leg.systems if s.name == "wool_gauze_cohesive")
    assert [layer.material for layer in cohesive.layers] == [
        "orthopaedic_wool",
        "cohesive_inelastic",
    ]
    assert any("Elastic cohesive bandage is out" in words for words in cohesive.reasons_against)
    assert any("Coarse gauze is out" in words for words in cohesive.reasons_against)


def test_the_first_bandage_is_seen_within_two_days_then_by_exudate(
    policy: Policy, catalogue: Catalogue
) -> None:
    first = planned(policy, catalogue)
    assert (first.next_visit - case().today).days == 2
    known = planned(policy, catalogue, **{f"{L}tolerated_mmhg": 60})
    wet = planned(
        policy,
        catalogue,
        **{f"{L}tolerated_mmhg": 60, W: {"place": "gaiter", "exudate": "heavy"}},
    )
    assert (known.next_visit - case().today).days == known.systems[0].change_days > 3
    assert (wet.next_visit - case().today).days == 3
