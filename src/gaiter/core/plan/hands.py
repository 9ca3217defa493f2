"""The hands and the theory that a plan reckons with: what is published, or what was learnt."""

from collections.abc import Sequence
from typing import TypeGuard

import numpy as np

from gaiter.core.case import Bandager, Calibration, Case, Habit
from gaiter.core.fabric import Material
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark
from gaiter.core.plan.assemble import MARK_SPACING_RELAXED_CM
from gaiter.core.plan.design import Design
from gaiter.core.plan.layers import DesignedLayer
from gaiter.core.policy import Policy
from gaiter.core.spread.draws import Hands, SpreadInputs

# One slip of typing must not move every plan of a clinic; five bandages already helped in the
# headline benchmark (our choice).
COUNTS_FROM_BANDAGES = 5
_AT = {
    Landmark.ANKLE: "above the ankle",
    Landmark.CALF: "at the calf",
    Landmark.BELOW_KNEE: "below the knee",
}


def spread_inputs(
    system: str, materials: Sequence[Material], case: Case, bandager: Bandager, policy: Policy
) -> SpreadInputs:
    """How uncertain hands, theory and padding are for a system of these materials."""
    thicknesses = [m.thickness for m in materials if m.thickness is not None]
    stranger = Hands.of_spread(policy.hands[bandager.training].tension_cv)
    pressing = [material.key for material in materials if material.presses]
    habits = [bandager.habits.get(key) for key in pressing]
    measured = case.calibration.of(system) if _counts(case.calibration) else None
    return SpreadInputs(
        hands=tuple(_known_hands(habit) if habit else stranger for habit in habits),
        remainder_median=measured.median if measured else policy["theory_remainder_median"],
        remainder_range95=measured.range95 if measured else policy["theory_remainder_range95"],
        padding_cm=(
            sum(t.low_cm for t in thicknesses),
            sum(t.planned_cm for t in thicknesses),
            sum(t.high_cm for t in thicknesses),
        ),
    )


def _known_hands(habit: Habit) -> Hands:
    """Hands of a record; a height without readings is taken as planned."""
    at = [habit.heights.get(height) for height in HABIT_HEIGHTS]
    sure = [one.sure_percent for one in at if one]
    return Hands(
        bias_sd=float(np.log1p(sum(sure) / len(sure) / 100)),
        scatter_sd=float(np.log1p(habit.spread_percent / 100)),
        habit=tuple(float(np.log1p(one.tension_percent / 100)) if one else 0.0 for one in at),  # type: ignore[arg-type] # three heights
    )


def habit_in_words(habit: Habit) -> str:
    """One habit in words; a height is named when its bias is larger than what is unsure of it.

    Examples
    --------
    >>> from gaiter.core.case import HabitAt
    >>> at = HabitAt(tension_percent=-8.0, sure_percent=4.0)
    >>> habit_in_words(Habit(readings=12, heights={"calf": at}, spread_percent=11.0))
    'tends to 8 % too loose at the calf, ± 11 %, from 12 readings'
    """
    named = [
        f"{abs(at.tension_percent):.0f} % too {'tight' if at.tension_percent > 0 else 'loose'} "
        f"{_AT[height]}"
        for height, at in habit.heights.items()
        if abs(at.tension_percent) > at.sure_percent and abs(at.tension_percent) >= 1
    ]
    tends = f"tends to {', '.join(named)}" if named else "no habit that stands out"
    plural = "" if habit.readings == 1 else "s"
    return f"{tends}, ± {habit.spread_percent:.0f} %, from {habit.readings} reading{plural}"


def what_habits_change(design: Design, strangers: Design, bandager: Bandager) -> str:
    """What a plan for these hands asks that one for anybody of their training would not."""
    words = []
    for ours, theirs in zip(design.layers, strangers.layers, strict=True):
        habit = bandager.habits.get(ours.material.key)
        if habit is None:
            continue
        aim = _aim(ours, theirs)
        words.append(f"{ours.material.title.lower()}: {habit_in_words(habit)}; {aim}")
    who = bandager.initials or "this bandager"
    return f"Made for {who}: {'; '.join(words)}" if words else ""


def _aim(ours: DesignedLayer, theirs: DesignedLayer) -> str:
    """What to do otherwise than somebody unknown; how it lies is named only where it differs."""
    marks, others = (f"{MARK_SPACING_RELAXED_CM * (1 + one.stretch):.1f}" for one in (ours, theirs))
    if ours.laid.geometry == theirs.laid.geometry:
        if marks == others:
            return "the marks stay as for anybody"
        return f"aim for {marks} cm marks instead of {others}"
    how, instead = (
        f"{one.laid.geometry.pattern}, overlap {100 * one.laid.geometry.overlap:.0f} %"
        for one in (ours, theirs)
    )
    return f"{how} and {marks} cm marks instead of {instead} and {others} cm"


def _counts(calibration: Calibration | None) -> TypeGuard[Calibration]:
    """Whether a calibration rests on enough bandages to move a plan."""
    return calibration is not None and calibration.clinic.bandages >= COUNTS_FROM_BANDAGES


def calibration_in_words(calibration: Calibration | None, policy: Policy) -> str:
    """How many readings stand behind the theory remainder."""
    shipped = policy["theory_remainder_median"]
    if calibration is None:
        return (
            f"No reading of this clinic's sensor stands behind the pressures: measured over "
            f"theory is taken as {shipped:.2f}, by policy."
        )
    parts = [("this clinic", calibration.clinic), *calibration.systems.items()]
    words = "; ".join(
        f"{name.replace('_', ' ')} {one.median:.2f} (up to {100 * one.range95:.0f} % more or as "
        f"much less) from {one.values} values on {one.bandages} bandages"
        for name, one in parts
    )
    text = f"Measured over theory by this clinic's sensor: {words}; policy has {shipped:.2f}"
    if not _counts(calibration):
        text += f", which is taken until {COUNTS_FROM_BANDAGES} bandages were read"
    return f"{text}."
