"""A place beside its maximum: hand-made pressures, worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.bandage.wool import Build, WoolBuild
from gaiter.core.landmark import LEG_SITES
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan.padded_leg import PaddedLeg
from gaiter.core.plan.pads import OVERSTATED_PLACES, _judged, padded, rises_of, worst_of
from gaiter.core.pressure.padding import PADDING_STEPS_CM


def judged(name: str, pressures: list[float], maximum_mmhg: float):
    aim = SimpleNamespace(
        maxima=SimpleNamespace(of=lambda _name: maximum_mmhg), allowed_chance_above=0.025
    )
    return _judged(name, np.array(pressures), aim)


# 1000 bandages: so many at 70 mmHg, the others at 50, under a maximum of 60.
@pytest.mark.parametrize(("above", "exceeds"), [(25, False), (26, True)])
def test_the_foot_is_judged_by_the_chance_that_policy_allows(above: int, exceeds: bool) -> None:
    assert judged("instep", [70.0] * above + [50.0] * (1000 - above), 60).exceeds is exceeds


@pytest.mark.parametrize(("above", "exceeds"), [(40, False), (60, True)])
def test_a_bony_place_is_judged_by_its_95th_percentile(above: int, exceeds: bool) -> None:
    assert judged("tibial crest", [130.0] * above + [90.0] * (1000 - above), 120).exceeds is exceeds


def test_what_exceeds_is_worse_than_what_stands_higher() -> None:
    """The instep exceeds by its chance while a bony place stands nearer to its own maximum."""
    foot = judged("instep", [61.0] * 30 + [30.0] * 970, 60)
    bony = judged("tibial crest", [119.0] * 1000, 120)
    assert foot.exceeds
    assert worst_of([foot, bony]) is foot


def test_the_places_that_the_surface_overstates_are_these_three() -> None:
    assert set(OVERSTATED_PLACES) == {"front ankle tendon", "Achilles tendon", "instep"}


def test_a_pressure_at_the_maximum_is_not_above_it() -> None:
    assert judged("instep", [60.0] * 1000, 60).chance_above == 0
    assert judged("instep", [60.0] * 999 + [60.1], 60).chance_above == 0.001
    at_it = judged("tibial crest", [120.0] * 1000, 120)
    assert (at_it.exceeds, at_it.chance_above) == (False, 0)


def test_the_leg_too_is_judged_by_the_chance_and_bone_is_not() -> None:
    """3 % above, while the 95th percentile stands within the maximum."""
    pressures = [70.0] * 30 + [50.0] * 970
    found = {name: judged(name, pressures, 60).exceeds for name in ("instep", "calf", "heel")}
    assert found == {"instep": True, "calf": True, "heel": False}


@pytest.mark.parametrize(
    ("means", "allowed", "rise"),
    [
        # A quarter, 32 to 40 mmHg, is not more than a quarter.
        ((32.0, 40.0), 0.25, None),
        ((32.0, 40.0), 0.24, ("gaiter", 25.0)),
        # Twice the pressure, however little there is; nothing rises from nothing.
        ((0.5, 1.0), 0.05, ("gaiter", 100.0)),
        ((0.0, 30.0), 0.05, None),
        # The highest counts, also where the next is nearly as high, and of equals the first.
        ((25.0, 35.0, 34.95), 0.05, ("gaiter", 40.0)),
        ((25.0, 35.0, 35.0), 0.05, ("gaiter", 40.0)),
        ((25.0, 34.95, 35.0), 0.05, ("calf", 40.0)),
    ],
)
def test_a_rise_is_told_from_the_lowest_to_the_highest_above_what_is_allowed(
    means, allowed, rise
) -> None:
    found = rises_of(dict(zip(LEG_SITES, means, strict=False)), allowed)
    if rise is None:
        assert found == ()
    else:
        (only,) = found
        assert (only.lower.value, only.upper.value) == ("ankle", rise[0])
        assert only.percent == pytest.approx(rise[1])


# --- which pad is laid, on a tube of radius 4 cm: a pad of t lets 4 / (4 + t) arrive ------------


class Tube:
    """A bandage that presses alike everywhere, but for the sampled pressures of one place.

    Under a pad the place reads what ``under`` says of its thickness; what was tried is kept.
    """

    def __init__(self, name: str, samples: list[float], map_mmhg: float, under) -> None:
        limb = round_limb(4)
        wool = WoolBuild(Build.EVEN, 0 * limb.s_cm, "", 0, 0.0)
        self.padded_leg = PaddedLeg(limb, wool, ())
        self.name, self.under, self.tried = name, under, []
        self.pressure_mmhg = np.full((len(self.padded_leg.names), len(samples)), 10.0)
        self.pressure_mmhg[self.padded_leg.names.index(name)] = samples
        self.pressure_map_mmhg = np.full(limb.section_cm.shape[1:], map_mmhg)

    def at_places(self, padded_leg: PaddedLeg, names: list[str]) -> np.ndarray:
        self.tried.append(padded_leg.pads_cm[self.name])
        return np.full((len(names), 8), self.under(self.tried[-1]))

    def with_pads(self, pads_cm: dict[str, float]) -> "Tube":
        self.padded_leg = self.padded_leg.under_pads(pads_cm)
        return self


def pad_of(tube: Tube, maximum: float) -> float:
    aim = SimpleNamespace(
        maxima=SimpleNamespace(of=lambda _name: maximum), allowed_chance_above=0.025
    )
    _design, places = padded(tube, aim, {})
    return next(place.pad_cm for place in places if place.name == tube.name)


def high_in(many: int, high: float = 80.0) -> list[float]:
    """1000 samples of which so many are high and the others 40."""
    return [40.0] * (1000 - many) + [high] * many


@pytest.mark.parametrize(
    ("name", "many", "map_mmhg"),
    # The 95th percentile of bone, the 97.5th of the foot; how much the map reads is no matter.
    [("heel", 52, 100.0), ("instep", 27, 100.0), ("heel", 52, 0.9)],
)
def test_pads_are_tried_from_the_one_that_the_map_finds_enough(name, many, map_mmhg) -> None:
    """64.5 of 80 mmHg may arrive: 1 cm lets four fifths, 64, and 0.8 cm still 67."""
    tube = Tube(name, high_in(many), map_mmhg, under=lambda _cm: 63.0)
    assert pad_of(tube, 64.5) == 1.0
    assert tube.tried == [1.0]


def test_a_thicker_pad_is_tried_where_the_samples_ask_for_one() -> None:
    tube = Tube("heel", high_in(100), 100.0, under=lambda cm: 60.0 if cm >= 1.5 else 70.0)
    assert pad_of(tube, 64.5) == pytest.approx(next(cm for cm in PADDING_STEPS_CM if cm >= 1.5))
    assert tube.tried[0] == 1.0


@pytest.mark.parametrize(
    ("name", "pad_cm"), [("heel", 0.0), ("Achilles tendon", PADDING_STEPS_CM[-1])]
)
def test_where_no_pad_answers_only_an_overstated_place_has_the_thickest(name, pad_cm) -> None:
    # By the samples, and by the map alone: 2 cm let two thirds of 80 mmHg arrive.
    for maximum in (64.5, 40.5):
        tube = Tube(name, high_in(100), 100.0, under=lambda _cm: 75.0)
        assert pad_of(tube, maximum) == pad_cm
