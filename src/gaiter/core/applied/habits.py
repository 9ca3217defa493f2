"""Technique record: how somebody's tension differs from the plan, by material and height.

Every mark spacing tells the tension of its turn over the planned one. At each of three heights
mean and spread are learnt together; the prior is the published spread of the training level. What
was learnt fades: gain from training kept for 2 to 4 weeks in two studies and was lost in a third
(Feben 2003, Br J Community Nurs 8:80-84), so half of it is held after ``HALF_LIFE_DAYS`` (our
choice).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from statistics import fmean

import numpy as np

from gaiter.core.applied.conjugate import MeanAndSpread, learnt
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.case.person import Habit, HabitAt
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark

HALF_LIFE_DAYS = 90.0
# The spread of a training level is believed like this many readings of the person's own
# (our choice): twice the shape of its inverse gamma.
_PRIOR_SHAPE = 3.0


@dataclass(frozen=True)
class HandReading:
    """One spacing as it tells of the hands.

    Attributes
    ----------
    on : date
        The day.
    material : str
        Catalogue key.
    height : Landmark
        One of ``HABIT_HEIGHTS``.
    log_tension, log_error : float
        Log of tension over planned tension, and its reading error.
    """

    on: date
    material: str
    height: Landmark
    log_tension: float
    log_error: float


def hand_readings(applied: Applied) -> list[HandReading]:
    """What one bandage tells of the hands that laid it; nothing while its readings are doubted."""
    if applied.advice is Advice.READ_AGAIN:
        return []
    return [
        HandReading(
            applied.today,
            layer.material,
            spacing.place,
            spacing.read_log_tension,
            spacing.read_log_error or 0.0,
        )
        for layer in applied.layers
        for spacing in layer.spacings
        if spacing.place in HABIT_HEIGHTS and spacing.read_log_tension is not None
    ]


def learnt_habits(
    readings: Iterable[HandReading], tension_cv: float, today: date
) -> dict[str, Habit]:
    """Habits by material, from one person's readings.

    Parameters
    ----------
    readings : iterable of HandReading
        In any order; those after ``today`` are left out.
    tension_cv : float
        Published spread of the person's training level.
    today : date
        What was learnt fades up to this day.

    Returns
    -------
    dict[str, Habit]
        Nothing for a material that was never read.
    """
    until = [reading for reading in readings if reading.on <= today]
    ordered = sorted(until, key=lambda r: (r.material, r.on))
    return {
        material: _habit(list(of_material), tension_cv, today)
        for material, of_material in groupby(ordered, key=lambda r: r.material)
    }


def _habit(readings: Sequence[HandReading], tension_cv: float, today: date) -> Habit:
    prior = MeanAndSpread.of_total(0.0, float(np.sqrt(np.log1p(tension_cv**2))), _PRIOR_SHAPE)
    beliefs = {
        height: _belief([r for r in readings if r.height is height], prior, today)
        for height in HABIT_HEIGHTS
    }
    variance = fmean(belief.variance for belief in beliefs.values())
    return Habit(
        readings=len(readings),
        heights={
            height: HabitAt(
                tension_percent=_percent(belief.mean), sure_percent=_percent(belief.mean_sd)
            )
            for height, belief in beliefs.items()
        },
        spread_percent=_percent(float(np.sqrt(variance))),
    )


def _belief(readings: Sequence[HandReading], prior: MeanAndSpread, today: date) -> MeanAndSpread:
    return learnt(
        prior,
        [reading.log_tension for reading in readings],
        [reading.log_error for reading in readings],
        [2 ** (-(today - reading.on).days / HALF_LIFE_DAYS) for reading in readings],
    )


def _percent(log: float) -> float:
    return 100 * float(np.expm1(log))
