import pytest

from gaiter.core.case import Purpose
from gaiter.core.landmark import Landmark
from gaiter.core.plan.target import JUDGED_SITES, target_range
from gaiter.core.policy import Policy


def test_full_compression_takes_the_purpose_at_its_word(policy: Policy) -> None:
    target = target_range(Purpose.VENOUS_ULCER, 60, policy)
    assert target is not None
    assert (target.gaiter_low_mmhg, target.gaiter_high_mmhg) == (30, 50)


@pytest.mark.parametrize(("maximum", "expected"), [(40, (20, 30)), (20, (10, 20)), (15, None)])
def test_a_lower_maximum_lowers_the_range_and_says_why(maximum, expected, policy: Policy) -> None:
    target = target_range(Purpose.VENOUS_ULCER, maximum, policy)
    if expected is None:
        assert target is None
    else:
        assert target is not None
        assert (target.gaiter_low_mmhg, target.gaiter_high_mmhg) == expected
        assert f"under a maximum of {maximum} mmHg" in target.source


@pytest.mark.parametrize("purpose", list(Purpose))
def test_never_harder_than_the_purpose_and_graduated(purpose: Purpose, policy: Policy) -> None:
    own = policy.targets[purpose]
    for maximum in (20, 30, 40, 60):
        target = target_range(purpose, maximum, policy)
        if target is None:
            continue
        assert target.gaiter_high_mmhg <= min(maximum, own.gaiter_high_mmhg)
        highs = [target.site_mmhg[site][1] for site in JUDGED_SITES]
        assert highs == sorted(highs, reverse=True)
        assert target.site_mmhg[Landmark.GAITER] == (
            target.gaiter_low_mmhg,
            target.gaiter_high_mmhg,
        )


@pytest.mark.parametrize("purpose", list(Purpose))
@pytest.mark.parametrize("maximum", [20, 40, 60])
def test_no_sites_range_reaches_above_the_maximum(policy: Policy, purpose, maximum) -> None:
    target = target_range(purpose, maximum, policy)
    if target is not None:
        assert all(high <= maximum for _, high in target.site_mmhg.values())
