"""Ways of working on one leg for ``headline.py``: measure, plan, apply, read, apply once more.

Everything the tool does is done by the tool, from a measured leg and what was read; everything
that happens to the bandage happens in :mod:`benchmarks.worlds`. Chance depends on the leg, the
bandage and the attempt alone, never on the way of working.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt

from benchmarks.task import Bandage, Job, Off, Subject, Task, told_as_planned
from benchmarks.worlds.hands import (
    Hands,
    Planned,
    Work,
    drawn_person,
    drawn_work,
    in_place,
    laid_tension,
    off_cm,
    settled_tension,
    with_steady_hands,
)
from gaiter.core.applied.calibration import BandageReading, bandage_reading
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Calibration, Training
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark, Side
from gaiter.core.plan.document import Fit
from gaiter.core.plan.laying import FOOT_TURNS
from gaiter.core.spread import sums

Array = npt.NDArray[np.float64]

BANDAGES_PER_LEG = 2


@dataclass(frozen=True)
class Way:
    """One way of working.

    Attributes
    ----------
    title : str
        For the table.
    planned_for : Training
        Hands that the plan reckons with.
    cv : float
        Spread of the hands that bandage.
    gauge, redo : bool
        Whether marks are watched, and the bandage is judged and done once more.
    sensor : tuple of Landmark
        Where the judgement knows a sensor's value, on the inner side.
    calibrated_on : int
        Bandages that the clinic had read before.
    """

    title: str
    planned_for: Training = Training.TRAINED
    cv: float = 0.18
    gauge: bool = False
    redo: bool = False
    sensor: tuple[Landmark, ...] = ()
    calibrated_on: int = 0


_AT_GAITER = (Landmark.GAITER,)

WAYS: Mapping[str, Way] = {
    "1": Way("untrained hands", Training.UNTRAINED, 0.40),
    "2": Way("trained hands"),
    "3": Way("trained, live feedback", Training.TRAINED_WITH_FEEDBACK, 0.11),
    "4": Way("trained, mark gauge", gauge=True),
    "5": Way("gauge, one redo", gauge=True, redo=True),
    "5s": Way("gauge, one redo, sensor", gauge=True, redo=True, sensor=_AT_GAITER),
    "6": Way("as 5, after 5 readings", gauge=True, redo=True, calibrated_on=5),
    "7": Way("as 5, after 20 readings", gauge=True, redo=True, calibrated_on=20),
    "8": Way("as 5, after 50 readings", gauge=True, redo=True, calibrated_on=50),
    "8s": Way(
        "as 8, and sensor at redo", gauge=True, redo=True, sensor=_AT_GAITER, calibrated_on=50
    ),
}


@dataclass(frozen=True)
class Result:
    """What became of one bandage.

    Attributes
    ----------
    in_range, at_gaiter, too_much : bool
        Every judged site in its range; the gaiter in its; some judged site above its own
        maximum.
    planned : bool
        Whether there was a plan; without one nothing is laid, and it counts as a miss.
    fits, promised : bool, float
        Whether the plan called the system fit, and its chance for every site.
    advice : str
        What the judgement said of the first bandage; empty where nobody judged.
    first_in_range, first_too_much : bool
        The same of the first bandage; both are equal where it stayed on.
    off : tuple of int
        By judged site: -1 below its range, 1 above, 0 in it.
    likely_mmhg, true_mmhg : tuple of float
        By judged site: likely in the plan, and of the bandage that stayed.
    """

    in_range: bool
    at_gaiter: bool
    too_much: bool
    fits: bool
    promised: float
    advice: str
    first_in_range: bool
    first_too_much: bool
    off: tuple[int, ...]
    likely_mmhg: tuple[float, ...] = ()
    true_mmhg: tuple[float, ...] = ()
    planned: bool = True


UNPLANNED = Result(
    in_range=False, at_gaiter=False, too_much=False, fits=False, promised=0.0, advice="",
    first_in_range=False, first_too_much=False, off=(), planned=False,
)  # fmt: skip


def carried_out(task: Task, way: Way, bandage: int) -> tuple[Result, Applied | None]:
    """One bandage of a plan by one way of working, and the first judgement of it.

    Parameters
    ----------
    task : Task
        The plan.
    way : Way
        How it is worked.
    bandage : int
        Which bandage of this leg, from 1: decides person and rolls.
    """
    job, layers = task.subject.job, len(task.pressing)
    constants, without = job.setting.constants, job.setting.without
    rng = job.rng(bandage, 0)
    hands = Hands(drawn_person(rng, constants), way.cv, way.gauge)
    rolls = 1 + rng.uniform(-constants.roll_spread, constants.roll_spread, layers)
    if Off.HANDS in without:
        hands, rolls = replace(hands, cv=0.0, gauge=False), np.ones(layers)
    # A bandage done again is the same person's with the same rolls.
    first = _applied(task, hands, _work(job, bandage, 1, layers))
    pressure = task.pressure(first, rolls)
    applied, last = None, pressure
    if way.redo:
        applied = _judged(task, way, first, rolls, bandage)
        if applied.advice in (Advice.REDO, Advice.TAKE_OFF):
            again = _once_more(task, hands, _work(job, bandage, 2, layers), first, applied)
            last = task.pressure(again, rolls)
    return _result(task, pressure, last, applied), applied


def _work(job: Job, bandage: int, attempt: int, layers: int) -> Work:
    """Chance of one application, with what is switched off."""
    work = drawn_work(job.rng(bandage, attempt), layers, job.setting.constants)
    if Off.HANDS in job.setting.without:
        work = with_steady_hands(work)
    return in_place(work) if Off.PLACE in job.setting.without else work


def _result(
    task: Task,
    first: Mapping[Landmark, float],
    last: Mapping[Landmark, float],
    applied: Applied | None,
) -> Result:
    before, after = task.in_range(first), task.in_range(last)
    return Result(
        in_range=all(after.values()),
        at_gaiter=after[Landmark.GAITER],
        too_much=task.above_maximum(last),
        fits=task.system.outcome is Fit.FITS,
        promised=task.system.chance_every_site_in_range,
        advice=applied.advice.value if applied else "",
        first_in_range=all(before.values()),
        first_too_much=task.above_maximum(first),
        off=tuple(
            int(last[site.landmark] > site.high_mmhg) - int(last[site.landmark] < site.low_mmhg)
            for site in task.sites
        ),
        likely_mmhg=tuple(site.likely_mmhg for site in task.sites),
        true_mmhg=tuple(last[site.landmark] for site in task.sites),
    )


def _applied(task: Task, hands: Hands, work: Work) -> Bandage:
    return Bandage(
        tuple(
            _one_layer(task, task.layer(number), hands, work, number)
            for number in range(len(task.pressing))
        )
    )


def _one_layer(
    task: Task, layer: Planned, hands: Hands, work: Work, number: int
) -> tuple[Planned, Array, Array]:
    constants = task.subject.job.setting.constants
    laid = laid_tension(layer, hands, work, number, constants)
    return layer, settled_tension(layer, laid, work, constants), off_cm(layer, work, number)


def _once_more(task: Task, hands: Hands, work: Work, first: Bandage, applied: Applied) -> Bandage:
    """Done again as advised: from a turn of a layer with its spacing, or all of it."""
    redo = applied.redo
    if redo is None:
        return _applied(task, hands, work)
    numbers = [layer.number for layer in task.pressing]
    at, layers = numbers.index(redo.layer), []
    for number, old in enumerate(first.layers):
        if number < at:
            layers.append(old)
            continue
        if number > at:  # it lay over the redone layer and came off with it
            layers.append(_one_layer(task, task.layer(number), hands, work, number))
            continue
        curve = old[0].curve
        if curve is None:
            raise ValueError("only a layer that stretches is laid again to a spacing")
        tension = float(curve.tension_n_per_cm(redo.mark_spacing_cm / 10 - 1))
        new, settled, off = _one_layer(task, task.layer(number, tension), hands, work, number)
        kept = np.arange(len(settled)) < redo.from_turn - 1
        layers.append((new, np.where(kept, old[1], settled), np.where(kept, old[2], off)))
    return Bandage(tuple(layers))


def _judged(task: Task, way: Way, lies: Bandage, rolls: Array, bandage: int) -> Applied:
    """The tool's judgement; contradictory readings are read once again, then taken as they are."""
    rng = task.subject.job.rng(bandage, 3)
    true = task.at_sensors(lies, rolls)
    applied = applied_pressure(task.plan, _readings(task, way, lies, true, rng))
    if applied.advice is Advice.READ_AGAIN:
        again = _readings(task, way, lies, true, rng)
        applied = applied_pressure(task.plan, again.model_copy(update={"confirmed": True}))
    return applied


def _readings(
    task: Task,
    way: Way,
    lies: Bandage,
    true: Mapping[Landmark, float],
    rng: np.random.Generator,
) -> Readings:
    """Spacings at three heights of every layer with marks, and the sensor's values if any."""
    constants = task.subject.job.setting.constants
    spacings = []
    landmarks = task.laid[0].padded_leg.surface.landmark_s_cm
    for layer, (planned, tension, off_cm_) in zip(task.pressing, lies.layers, strict=True):
        if planned.curve is None:  # without stretch its marks tell nothing
            continue
        inner = planned.inner
        middle = (planned.low_cm + planned.high_cm)[:, inner] / 2 + off_cm_
        up = planned.presses & (np.arange(len(middle)) >= FOOT_TURNS)
        for height in HABIT_HEIGHTS:
            away = np.where(up, np.abs(middle - landmarks[height]), np.inf)
            here = tension[int(np.argmin(away))]
            cm = _spacing_cm(planned.curve, here, constants.marks_sd_cm, rng)
            spacings.append({"layer": layer.number, "place": height, "cm": cm})
    errors = constants.sensor_sd_mmhg * rng.standard_normal(len(way.sensor) or 1)
    seat = 1 + task.subject.truth.seat
    sensor = [
        {"place": site, "mmhg": round(true[site] * seat + off)}
        for site, off in zip(way.sensor, errors, strict=False)
    ]
    return Readings.model_validate(
        {
            "schema": "gaiter.readings/1",
            "side": Side.RIGHT,
            "system": task.system.name,
            "spacings": spacings,
            "sensor": sensor,
        }
    )


def _spacing_cm(
    curve: StretchCurve, tension_n_per_cm: float, marks_sd_cm: float, rng: np.random.Generator
) -> float:
    stretch = float(curve.stretch_for(tension_n_per_cm))
    cm = 10 * (1 + stretch) + marks_sd_cm * rng.standard_normal()
    # Nobody writes down less than relaxed marks, or marks that the fabric cannot reach.
    most = min(30.0, 10 * (1 + curve.locking_stretch) - 0.1)
    return round(float(np.clip(cm, 10, most)), 1)


# Ways that no clinic needs a sensor's history for; the last of them also makes the history.
TEACHES = "5s"
BEFORE_READINGS = ("1", "2", "3", "4", "5", "5s")
AFTER_READINGS = ("6", "7", "8", "8s")


@cache
def _compiled() -> None:
    """The tool's compiled sums, loaded once in each process."""
    sums.load(1)


@dataclass(frozen=True)
class Before:
    """A leg's bandages by every way that needs no calibration.

    Attributes
    ----------
    results : mapping
        By way.
    taught : list of BandageReading
        What the sensor taught.
    as_planned : str
        What is said of a bandage laid exactly as planned for trained hands.
    """

    results: Mapping[str, list[Result]]
    taught: list[BandageReading]
    as_planned: str


def before_readings(job: Job, ways: Collection[str]) -> Before:
    """One leg before the clinic has learnt from its sensor, by some of the ways."""
    _compiled()
    subject = Subject(job)
    tasks: dict[Training, Task | None] = {}
    results: dict[str, list[Result]] = {}
    taught: list[BandageReading] = []
    for key in (key for key in BEFORE_READINGS if key in ways):
        way = WAYS[key]
        if way.planned_for not in tasks:
            tasks[way.planned_for] = subject.planned(way.planned_for, None)
        results[key] = []
        task = tasks[way.planned_for]
        if task is None:
            results[key] = [UNPLANNED] * BANDAGES_PER_LEG
            continue
        # The clinic's sensor reads more bandages of a leg than are counted.
        last = max(BANDAGES_PER_LEG, job.taught) if way.sensor else BANDAGES_PER_LEG
        for bandage in range(1, last + 1):
            result, applied = carried_out(task, way, bandage)
            if bandage <= BANDAGES_PER_LEG:
                results[key].append(result)
            if way.sensor and applied and (reading := bandage_reading(applied)):
                taught.append(reading)
    usual = tasks.get(Training.TRAINED)
    return Before(results, taught, told_as_planned(usual) if usual else "")


def after_readings(
    job: Job, learnt: Mapping[int, Calibration], ways: Collection[str]
) -> dict[str, list[Result]]:
    """A leg's bandages by every way that plans with what the clinic's sensor taught."""
    _compiled()
    subject = Subject(job)
    found: dict[str, list[Result]] = {}
    tasks: dict[int, Task | None] = {}
    for key in (key for key in AFTER_READINGS if key in ways):
        way = WAYS[key]
        count = way.calibrated_on
        if count not in tasks:
            tasks[count] = subject.planned(Training.TRAINED, learnt[count])
        task = tasks[count]
        found[key] = [
            UNPLANNED if task is None else carried_out(task, way, bandage)[0]
            for bandage in range(1, BANDAGES_PER_LEG + 1)
        ]
    return found
