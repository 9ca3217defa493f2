"""The outcome of a design and its one sentence, on pressures set by hand."""

from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.case import Training
from gaiter.core.landmark import Landmark
from gaiter.core.plan.document import Fit
from gaiter.core.plan.maxima import Maxima
from gaiter.core.plan.pads import JudgedPlace
from gaiter.core.plan.verdict import (
    beyond_help,
    place_in_words,
    verdict_in_these_hands,
    verdict_of,
)
from gaiter.core.spread.sampling import Band
from tests.core.plan.hand_made import ELASTIC, aim, built

LEVEL = dict.fromkeys((Landmark.ANKLE, Landmark.GAITER, Landmark.CALF), 40.0)


def place(name: str, high: float, maximum: float, *, exceeds: bool, pad_cm: float = 0.0):
    return JudgedPlace(name, Band(high / 2, 1.0, high), high, 0.0, maximum, pad_cm, exceeds)


FINE = place("shin edge", 100.4, 120, exceeds=False, pad_cm=0.4)


def design(likely: float = 40.0, *, within: bool = True, above: float = 0.0, rings=LEVEL):
    made = built("orthopaedic_wool", ELASTIC).design
    made = replace(
        made,
        pressure_mmhg=np.full_like(made.pressure_mmhg, likely),
        within=within,
        chance_above=above,
    )
    made.__dict__["ring_mmhg"] = rings
    return made


def test_in_range_and_within_every_maximum_it_fits() -> None:
    verdict = verdict_of(design(), [FINE, place("heel", 50, 120, exceeds=False)], aim())
    assert verdict.fit is Fit.FITS
    assert verdict.reason.text == (
        "likely 40 mmHg at the gaiter, wanted 30–50; the worst place is the shin edge, up to 100 "
        "of 120 mmHg with a pad of 4 mm"
    )
    assert verdict.to_accept == verdict.rises == ()


@pytest.mark.parametrize(
    ("likely", "by_hand", "fit"),
    [
        (30.0, False, Fit.FITS),
        (29.9, False, Fit.CANNOT_BE_REACHED),
        (29.9, True, Fit.FITS),
    ],
)
def test_the_lowest_of_the_range_is_reached_and_below_it_only_by_hand(likely, by_hand, fit) -> None:
    verdict = verdict_of(design(likely), [FINE], aim(), by_hand=by_hand)
    assert verdict.fit is fit
    if fit is Fit.CANNOT_BE_REACHED:
        assert verdict.reason.text == (
            "30–50 mmHg at the gaiter cannot be reached: within the maximum of 60 mmHg the likely "
            "pressure is 30 mmHg"
        )
    else:
        assert (": below it" in verdict.reason) is (likely < 30)


@pytest.mark.parametrize(
    ("by_hand", "start"), [(True, "as changed"), (False, "even at its mildest")]
)
def test_above_the_maximum_too_often_it_cannot_be_reached(by_hand: bool, start: str) -> None:
    over = design(within=False, above=0.074)
    wanted = replace(aim(), maxima=Maxima(60, 78, 55, 120))
    for site, maximum in ((Landmark.CALF, 60), (Landmark.ANKLE, 78)):
        at_site = replace(over, above_at=site)
        verdict = verdict_of(at_site, [FINE], wanted, by_hand=by_hand)
        assert verdict.fit is Fit.CANNOT_BE_REACHED
        assert verdict.reason.text == (
            f"{start} it exceeds {maximum} mmHg in 7% of bandages ({site.label})"
        )


def test_a_bony_place_that_no_pad_cures_ends_the_fit_and_the_worst_is_named() -> None:
    less = place("heel", 130, 120, exceeds=True)
    worse = place("inner ankle bone", 150, 120, exceeds=True, pad_cm=2.0)
    verdict = verdict_of(design(), [less, worse, FINE], aim())
    assert verdict.fit is Fit.CANNOT_BE_REACHED
    assert verdict.reason.text == (
        "the inner ankle bone has up to 150 mmHg even with a pad of 20 mm, its maximum is 120 "
        "mmHg: keep turns off it"
    )


def test_where_the_surface_overstates_a_prescriber_may_accept_by_name() -> None:
    tendon = place("Achilles tendon", 150, 120, exceeds=True, pad_cm=2.0)
    instep = place("instep", 66, 60, exceeds=True)
    verdict = verdict_of(design(), [instep, tendon, FINE], aim())
    assert verdict.fit is Fit.TO_ACCEPT
    assert verdict.to_accept == ("instep", "Achilles tendon")
    assert verdict.reason.text == (
        "likely 40 mmHg at the gaiter, wanted 30–50; the Achilles tendon has up to 150 mmHg even "
        "with a pad of 20 mm, its maximum is 120 mmHg (surface overstates this place); the instep "
        "has up to 66 mmHg, its maximum is 60 mmHg (surface overstates this place)"
    )


def test_a_rise_towards_the_knee_is_accepted_by_name_too() -> None:
    rings = {Landmark.ANKLE: 30.0, Landmark.GAITER: 36.0}
    verdict = verdict_of(design(rings=rings), [FINE], aim())
    assert verdict.fit is Fit.TO_ACCEPT
    assert verdict.to_accept == ("rise from the ankle to the gaiter",)
    assert verdict.reason.text.endswith(
        "in means round the leg it rises from the ankle to the gaiter, 30 to 36 mmHg, by 20 %"
    )
    assert [round(rise.percent) for rise in verdict.rises] == [20]


def test_only_places_that_a_pad_may_answer_are_beyond_help() -> None:
    heel, gaiter = (place(name, 150, 100, exceeds=True) for name in ("heel", "gaiter"))
    tendon = place("Achilles tendon", 150, 100, exceeds=True)
    assert beyond_help([FINE, gaiter, tendon, heel]) == [heel]


def test_a_place_without_a_pad_names_none() -> None:
    assert place_in_words(place("heel", 99.6, 120, exceeds=False)).text == (
        "the worst place is the heel, up to 100 of 120 mmHg"
    )


def in_hands(training: Training, *, within: bool = True, bony: float = 100.0, steadier=42.0):
    """A design that misses its range, and what the same gives in steadier hands."""
    places = [place("heel", bony, 120, exceeds=bony > 120)]
    asked = []

    def designed(by):
        asked.append(by.training)
        return design(steadier)

    limits = aim()
    roomy = replace(limits, maxima=replace(limits.maxima, foot_mmhg=500, bony_mmhg=500))
    made = design(20.0, within=within, above=0.1)
    return verdict_in_these_hands(made, places, roomy, training, designed), asked


def test_hands_that_cannot_hear_what_trained_ones_with_feedback_reach() -> None:
    """Marks of the steadier design: 10 cm times 1.42."""
    verdict, asked = in_hands(Training.UNTRAINED)
    assert verdict.fit is Fit.NOT_IN_THESE_HANDS
    assert verdict.reason.text.endswith("can reach likely 42 mmHg with marks 14.2 cm apart")
    assert asked == [Training.TRAINED_WITH_FEEDBACK]


@pytest.mark.parametrize(("within", "bony"), [(False, 100.0), (True, 130.0)])
def test_what_exceeds_a_maximum_in_these_hands_is_no_plan_for_them(within, bony) -> None:
    verdict, _ = in_hands(Training.TRAINED, within=within, bony=bony)
    assert verdict.fit is Fit.CANNOT_BE_REACHED
    assert "someone trained" in verdict.reason


def test_where_steadier_hands_fail_too_nothing_is_promised() -> None:
    verdict, _ = in_hands(Training.TRAINED, steadier=20.0)
    assert verdict.fit is Fit.CANNOT_BE_REACHED
    assert "someone trained" not in verdict.reason


def test_the_steadiest_hands_are_not_asked_again() -> None:
    verdict, asked = in_hands(Training.TRAINED_WITH_FEEDBACK)
    assert verdict.fit is Fit.CANNOT_BE_REACHED
    assert asked == []
