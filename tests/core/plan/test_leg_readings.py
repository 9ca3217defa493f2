"""What a sensor read on a leg goes into that leg's next plan, and into no other's."""

from datetime import date

import numpy as np
import pytest
from pydantic import ValidationError

from gaiter.core.case import Calibration, Case, LegReading, Remainder, SiteOffset
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import plan as plan_of
from gaiter.core.plan.leg_readings import inputs_of_leg, known_leg, leg_readings_in_words, newest
from gaiter.core.policy import Policy
from gaiter.core.spread.draws import Hands, SpreadInputs
from gaiter.files.catalogue_file import shipped_catalogue
from tests.made_up_language import made_up, ordinary_letters
from tests.strategies import case, case_mapping

SYSTEM = "wool_gauze_long_stretch"
LEVEL, SD = 0.9, 0.15
BEFORE = SpreadInputs((Hands(0.1, 0.1),), LEVEL, float(np.expm1(1.96 * SD)))


def read(ratio: float, site="gaiter", on="2026-11-01", system=SYSTEM, **changes) -> LegReading:
    """40 mmHg by theory, known to a logarithm of 0.1; as much as 3 mmHg of 40 is 0.075."""
    given = {
        "on": on, "site": site, "system": system, "mmhg": 40.0, "theory_mmhg": 40.0 / ratio,
        "theory_sd_percent": 100 * float(np.expm1(0.1)),
    }  # fmt: skip
    return LegReading.model_validate({**given, **changes})


def after(*readings: LegReading, before: SpreadInputs = BEFORE, level=lambda _: LEVEL):
    made = known_leg(before, readings, level)
    return np.log(made.remainder_median / before.remainder_median), made.level_log_sd


def test_one_reading_is_the_normal_posterior_by_hand() -> None:
    """Level 0.15 and leg 0.10 before, together 0.0325 as a variance.

    At the gaiter 0.10 of its curvature, 0.075 of the sensor and 0.1 of theory are an error of
    0.025625. The mean goes 0.0325 / (0.0325 + 0.025625) = 0.559 of the way; what is left is
    0.0325 x 0.025625 / 0.058125.
    """
    moved, sd = after(read(0.7))
    assert moved == pytest.approx(0.55914 * np.log(0.7 / 0.9), rel=1e-4)
    assert sd == pytest.approx((0.0325 * 0.025625 / 0.058125) ** 0.5, rel=1e-4)


def test_days_at_one_site_share_its_curvature() -> None:
    """Two days: 0.01 of curvature and half of 0.015625, so 0.0325 / (0.0325 + 0.0178125)."""
    moved, sd = after(read(0.7), read(0.7, on="2026-11-03"))
    assert moved == pytest.approx(0.64596 * np.log(0.7 / 0.9), rel=1e-4)
    assert sd == pytest.approx((0.0325 * 0.0178125 / 0.0503125) ** 0.5, rel=1e-4)
    # However often it is read, the site's own 0.10 stays.
    days = [read(0.7, on=f"2026-11-0{n}", theory_sd_percent=0.1) for n in range(1, 6)]
    assert after(*days)[1] > (0.0325 * 0.01 / 0.0425) ** 0.5


def test_two_sites_add_their_precisions() -> None:
    """The gaiter's 1 / 0.025625; the ankle's 0.20 and 0.20 beside its 0.015625: 1 / 0.095625."""
    moved, sd = after(read(0.7), read(1.1, "ankle"))
    precision = 1 / 0.0325 + 1 / 0.025625 + 1 / 0.095625
    pull = np.log(0.7 / 0.9) / 0.025625 + np.log(1.1 / 0.9) / 0.095625
    assert moved == pytest.approx(pull / precision, rel=1e-4)
    assert sd == pytest.approx(precision**-0.5, rel=1e-4)


def test_a_reading_as_expected_moves_nothing_and_never_widens() -> None:
    moved, sd = after(read(0.9))
    assert moved == pytest.approx(0, abs=1e-12)
    assert sd < SD
    # The ankle alone leaves 0.0325 x 0.095625 / 0.128125, which is wider than the level alone.
    assert SD < (0.0325 * 0.095625 / 0.128125) ** 0.5
    assert after(read(0.9, "ankle"))[1] == pytest.approx(SD)
    assert known_leg(BEFORE, (), lambda _: LEVEL) is BEFORE


def test_another_systems_reading_tells_how_the_leg_differs_from_that_system() -> None:
    """Paste is known to read 0.7 of theory: 0.7 on this leg is nothing new for any system."""
    levels = {"zinc_paste": 0.7, SYSTEM: 0.9}
    moved, _sd = after(read(0.7, system="zinc_paste"), level=levels.__getitem__)
    assert moved == pytest.approx(0, abs=1e-12)


def test_a_clinics_offset_is_taken_out_of_what_was_read() -> None:
    """Its ankles read 0.8 of the gaiter: 0.72 of theory there is 0.9, the level."""
    offset = SiteOffset(bandages=9, legs=5, median=0.8, range95=0.5)
    known = SpreadInputs(
        BEFORE.hands, LEVEL, BEFORE.remainder_range95, offsets=((Landmark.ANKLE, offset),)
    )
    assert after(read(0.72, "ankle"), before=known)[0] == pytest.approx(0, abs=1e-12)
    assert after(read(0.72, "ankle"))[0] < -0.01


def test_only_the_newest_days_count() -> None:
    days = [read(0.6, on=f"2026-10-{n:02d}") for n in range(1, 4)]
    new = [read(0.9, on=f"2026-11-{n:02d}") for n in range(1, 6)]
    assert newest([*days, *new]) == tuple(new)
    assert after(*new, *days)[0] == pytest.approx(0, abs=1e-12)
    both = [read(0.9, site, on="2026-11-05") for site in ("gaiter", "ankle")]
    assert len(newest([*new[:4], *both])) == 6


@pytest.mark.parametrize(("off", "counts"), [(-2.99, True), (-3.01, False), (3.01, False)])
def test_a_reading_that_no_leg_can_have_moves_nothing(off: float, counts: bool) -> None:
    """Level and leg 0.0325, curvature 0.01, sensor and theory 0.015625: 0.24109 together."""
    sd = (0.0325 + 0.01 + 0.015625) ** 0.5
    ratio = LEVEL * np.exp(off * sd)
    one = read(ratio)
    assert (known_leg(BEFORE, [one], lambda _: LEVEL) is not BEFORE) is counts
    # Beside another it is left out alone.
    both = after(read(0.8, on="2026-11-02"), one)
    assert (both == after(read(0.8, on="2026-11-02"))) is not counts


def test_what_is_left_out_is_said(policy: Policy) -> None:
    slip = read(0.25)
    (words,) = leg_readings_in_words(two_legs(slip), Side.RIGHT, policy)
    assert words.text.startswith("Right leg: sensor values too far from what a leg can have are")
    assert "in number 1;" in words
    assert ordinary_letters(words.told(made_up)) == []
    moved, left = leg_readings_in_words(two_legs(read(0.8), slip), Side.RIGHT, policy)
    assert (moved.code, left) == ("leg_readings", words)


def two_legs(*readings: LegReading) -> Case:
    """A right leg that was read before, and the same leg on the left, which was not."""
    told = [one.model_dump(mode="json") for one in readings]
    right = case_mapping()["legs"]["right"]
    return case(legs={"right": {**right, "sensor_readings": told}, "left": right})


def test_a_legs_readings_move_its_next_plan_and_no_other_legs(policy: Policy) -> None:
    low = [read(0.6, on=f"2026-11-0{day}") for day in (1, 3)]
    made = plan_of(
        two_legs(*low), policy, shipped_catalogue(), systems=frozenset({SYSTEM}), samples=512
    )
    own, other = (made.legs[side].systems[0] for side in (Side.RIGHT, Side.LEFT))
    assert other.basis.remainder_median == policy["theory_remainder_median"]
    expected = inputs_of_leg(
        SpreadInputs((), policy["theory_remainder_median"], policy["theory_remainder_range95"]),
        two_legs(*low), Side.RIGHT, policy,
    )  # fmt: skip
    assert own.basis.remainder_median == expected.remainder_median < 0.8
    assert own.basis.remainder_range95 == expected.remainder_range95 < 0.35
    # A leg that reads low is stretched more to reach the same pressure.
    assert own.layers[-1].stretch_percent > other.layers[-1].stretch_percent
    lower = 100 * (1 - expected.remainder_median / policy["theory_remainder_median"])
    said = [words for words in made.assumptions if words.code == "leg_readings"]
    assert [words.text for words in said] == [
        "Right leg: sensor values of its own on 2 days, the last 2026-11-03, stand behind the "
        f"pressures; measured over theory is taken {lower:.0f} % lower than without them."
    ]
    assert ordinary_letters(said[0].told(made_up)) == []
    # A clinic without a calibration is not said to have no reading behind the plan.
    (clinic,) = (words for words in made.assumptions if words.code == "not_calibrated")
    assert clinic.text.startswith("Before this leg's own readings measured over theory is taken as")


@pytest.mark.parametrize(("ratio", "word"), [(0.6, "lower"), (1.3, "higher")])
def test_one_day_is_told_by_its_date(policy: Policy, ratio: float, word: str) -> None:
    (words,) = leg_readings_in_words(two_legs(read(ratio)), Side.RIGHT, policy)
    assert words.text.startswith("Right leg: sensor values of its own, of 2026-11-01, stand behind")
    assert words.text.endswith(f" % {word} than without them.")
    assert leg_readings_in_words(two_legs(read(ratio)), Side.LEFT, policy) == []


def test_a_clinics_level_is_what_its_legs_differ_from(policy: Policy) -> None:
    clinic = Remainder(bandages=20, values=20, median=0.6, range95=0.2)
    known = two_legs(read(0.6)).model_copy(update={"calibration": Calibration(clinic=clinic)})
    before = SpreadInputs((), 0.6, 0.2)
    assert inputs_of_leg(before, known, Side.RIGHT, policy).remainder_median == pytest.approx(0.6)


def test_a_reading_of_a_day_to_come_is_refused() -> None:
    with pytest.raises(ValidationError, match=r"must be on or before today"):
        two_legs(read(0.9, on=date(2100, 1, 1).isoformat()))
