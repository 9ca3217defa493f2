"""What is aimed at under a maximum: published ranges of the policy, a prescriber's own first."""

import pytest

from gaiter.core.case import Override, Purpose
from gaiter.core.policy import Policy, overlaid
from gaiter.core.safety import aim_under


def words(aim) -> str | None:
    return None if aim is None else aim.words


@pytest.mark.parametrize(
    ("purpose", "maximum", "aimed"),
    [
        (Purpose.VENOUS_ULCER, 60, "30–50"),
        (Purpose.VENOUS_ULCER, 50, "30–50"),
        (Purpose.VENOUS_ULCER, 49, "20–30"),  # 18-35 of maintenance starts lower
        (Purpose.VENOUS_ULCER, 40, "20–30"),
        (Purpose.VENOUS_ULCER, 29, "10–20"),
        (Purpose.VENOUS_ULCER, 20, "10–20"),
        (Purpose.VENOUS_ULCER, 19, None),
        (Purpose.MAINTENANCE, 60, "18–35"),
        (Purpose.SUPPORT, 60, "10–20"),
    ],
)
def test_the_strongest_range_that_is_safe(policy: Policy, purpose, maximum, aimed) -> None:
    assert words(aim_under(purpose, maximum, policy)) == aimed


def test_a_range_that_just_fits_is_the_purposes_own(policy: Policy) -> None:
    own = policy.targets[Purpose.VENOUS_ULCER].source
    assert aim_under(Purpose.VENOUS_ULCER, 50, policy).source == own


def test_a_milder_range_says_why(policy: Policy) -> None:
    aim = aim_under(Purpose.VENOUS_ULCER, 40, policy)
    assert "venous ulcer asks for 30–50 mmHg; under a maximum of 40 mmHg" in aim.source
    assert not aim.offered_low


@pytest.mark.parametrize(
    ("purpose", "aimed", "offered"),
    [(Purpose.VENOUS_ULCER, "20–30", True), (Purpose.MAINTENANCE, "20–30", True),
     (Purpose.MIXED_DISEASE, "20–30", False), (Purpose.PALLIATIVE, "10–20", False)],
)  # fmt: skip
def test_a_lower_start_takes_the_range_of_the_first_days(policy, purpose, aimed, offered) -> None:
    """Start lower and step up (Therapeutic Guidelines Australia); never a higher range."""
    aim = aim_under(purpose, 60, policy, lower_start=True)
    assert (aim.words, aim.offered_low) == (aimed, offered)


def test_a_lower_start_under_a_low_maximum_goes_lower_still(policy: Policy) -> None:
    aim = aim_under(Purpose.VENOUS_ULCER, 20, policy, lower_start=True)
    assert (aim.words, aim.offered_low) == ("10–20", True)


def test_first_days_that_reach_as_high_are_no_lower_start(policy: Policy) -> None:
    same = {"gaiter_low_mmhg": 20, "gaiter_high_mmhg": 35, "source": "invented"}
    changed = overlaid(
        policy, {"name": "n", "version": "1", "targets": {"first days": same}}, sha256="x" * 64
    )
    assert not aim_under(Purpose.MAINTENANCE, 60, changed, lower_start=True).offered_low


@pytest.mark.parametrize(
    ("maximum", "aimed"), [(60, "20–30"), (30, "20–30"), (26, "20–26"), (21, "20–21"), (20, None)]
)
def test_a_prescribers_own_aim_comes_first(policy: Policy, maximum, aimed) -> None:
    own = Override(
        code="stent", aim_low_mmhg=20, aim_high_mmhg=30, maximum_mmhg=40,
        reason="specialist agreed", words="The vascular team agreed.", by="Dr Invented",
    )  # fmt: skip
    assert words(aim_under(Purpose.VENOUS_ULCER, maximum, policy, override=own)) == aimed
