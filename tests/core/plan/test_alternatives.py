"""Wraps, tubular layers and stockings: with reasons, and left out where they may harm."""

from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Side
from gaiter.core.plan import LegPlan, plan
from gaiter.core.policy import Policy
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
