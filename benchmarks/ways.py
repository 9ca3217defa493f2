"""Ways of working on one leg for ``headline.py``: measure, plan, apply, read, apply once more.

Everything the tool does is done by the tool, from a measured leg and what was read; everything
that happens to the bandage happens in :mod:`benchmarks.truth`. Chance depends on the leg, the
bandage and the attempt alone, never on the way of working.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from benchmarks import truth
from benchmarks.task import Bandage, Job, Subject, Task, told_as_planned
from gaiter.core.applied.calibration import BandageReading, bandage_reading
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Calibration, Training
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark, Side
from gaiter.core.plan.document import Fit
from gaiter.core.plan.laying import FOOT_TURNS
from gaiter.core.spread import sums

Array = npt.NDArray[np.float64]

MAXIMUM_MMHG = 60.0
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
    gauge, redo, sensor : bool
        Whether marks are watched, the bandage is judged and done once more, and the judgement
        knows the gaiter's sensor value.
    calibrated_on : int
        Bandages that the clinic had read before.
    """

    title: str
    planned_for: Training = Training.TRAINED
    cv: float = 0.18
    gauge: bool = False
    redo: bool = False
    sensor: bool = False
    calibrated_on: int = 0


WAYS: Mapping[str, Way] = {
    "1": Way("untrained hands", Training.UNTRAINED, 0.40),
    "2": Way("trained hands"),
    "3": Way("trained, live feedback", Training.TRAINED_WITH_FEEDBACK, 0.11),
    "4": Way("trained, mark gauge", gauge=True),
    "5": Way("gauge, one redo", gauge=True, redo=True),
    "5s": Way("gauge, one redo, sensor", gauge=True, redo=True, sensor=True),
    "6": Way("as 5, after 5 readings", gauge=True, redo=True, calibrated_on=5),
    "7": Way("as 5, after 20 readings", gauge=True, redo=True, calibrated_on=20),
    "8": Way("as 5, after 50 readings", gauge=True, redo=True, calibrated_on=50),
    "8s": Way("as 8, and sensor at redo", gauge=True, redo=True, sensor=True, calibrated_on=50),
}


@dataclass(frozen=True)
class Result:
    """What became of one bandage.

    Attributes
    ----------
    in_range, at_gaiter, too_much : bool
        Every judged site in its range; the gaiter in its; some judged site above 60 mmHg.
    fits, promised : bool, float
        Whether the plan called the system fit, and its chance for every site.
    advice : str
        What the judgement said of the first bandage; empty where nobody judged.
    first_in_range, first_too_much : bool
        The same of the first bandage; both are equal where it stayed on.
    off : tuple of int
        By judged site: -1 below its range, 1 above, 0 in it.
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
    rng = job.rng(bandage, 0)
    person = truth.drawn_person(rng)
    rolls = 1 + rng.uniform(-truth.ROLL_SPREAD, truth.ROLL_SPREAD, layers)
    # A bandage done again is the same person's with the same rolls.
    first = _applied(task, way, person, truth.drawn_work(job.rng(bandage, 1), layers))
    pressure = task.pressure(first, rolls)
    applied, last = None, pressure
    if way.redo:
        applied = _judged(task, way, first, pressure, bandage)
        if applied.advice in (Advice.REDO, Advice.TAKE_OFF):
            work = truth.drawn_work(job.rng(bandage, 2), layers)
            last = task.pressure(_once_more(task, way, person, work, first, applied), rolls)
    return _result(task, pressure, last, applied), applied


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
        too_much=max(last.values()) > MAXIMUM_MMHG,
        fits=task.system.outcome is Fit.FITS,
        promised=task.system.chance_every_site_in_range,
        advice=applied.advice.value if applied else "",
        first_in_range=all(before.values()),
        first_too_much=max(first.values()) > MAXIMUM_MMHG,
        off=tuple(
            int(last[site.landmark] > site.target_high_mmhg)
            - int(last[site.landmark] < site.target_low_mmhg)
            for site in task.system.sites
            if site.landmark in last
        ),
    )


def _applied(task: Task, way: Way, person: truth.Person, work: truth.Work) -> Bandage:
    return Bandage(
        tuple(
            _one_layer(task.layer(number), way, person, work, number)
            for number in range(len(task.pressing))
        )
    )


def _one_layer(
    layer: truth.Planned, way: Way, person: truth.Person, work: truth.Work, number: int
) -> tuple[truth.Planned, Array, Array]:
    laid = truth.laid_tension(layer, way.cv, person, work, number, gauge=way.gauge)
    return layer, truth.places_cm(layer, work, number), truth.settled_tension(layer, laid, work)


def _once_more(
    task: Task,
    way: Way,
    person: truth.Person,
    work: truth.Work,
    first: Bandage,
    applied: Applied,
) -> Bandage:
    """Done again as advised: from a turn of a layer with its spacing, or all of it."""
    redo = applied.redo
    if redo is None:
        return _applied(task, way, person, work)
    numbers = [layer.number for layer in task.pressing]
    at, layers = numbers.index(redo.layer), []
    for number, old in enumerate(first.layers):
        if number < at:
            layers.append(old)
            continue
        if number > at:  # it lay over the redone layer and came off with it
            layers.append(_one_layer(task.layer(number), way, person, work, number))
            continue
        tension = float(old[0].curve.tension_n_per_cm(redo.mark_spacing_cm / 10 - 1))
        new, places, settled = _one_layer(task.layer(number, tension), way, person, work, number)
        kept = np.arange(len(settled)) < redo.from_turn - 1
        layers.append((new, np.where(kept, old[1], places), np.where(kept, old[2], settled)))
    return Bandage(tuple(layers))


def _judged(
    task: Task, way: Way, lies: Bandage, pressure: Mapping[Landmark, float], bandage: int
) -> Applied:
    """The tool's judgement; contradictory readings are read once again, then taken as they are."""
    rng = task.subject.job.rng(bandage, 3)
    applied = applied_pressure(task.plan, _readings(task, way, lies, pressure, rng))
    if applied.advice is Advice.READ_AGAIN:
        again = _readings(task, way, lies, pressure, rng)
        applied = applied_pressure(task.plan, again.model_copy(update={"confirmed": True}))
    return applied


def _readings(
    task: Task,
    way: Way,
    lies: Bandage,
    pressure: Mapping[Landmark, float],
    rng: np.random.Generator,
) -> Readings:
    """Spacings at three heights of every layer, and the gaiter's sensor value if there is one."""
    spacings = []
    landmarks = task.laid[0].padded_leg.surface.landmark_s_cm
    for layer, (planned, places, tension) in zip(task.pressing, lies.layers, strict=True):
        middle = places.mean(axis=0)
        up = planned.presses & (np.arange(len(middle)) >= FOOT_TURNS)
        for height in HABIT_HEIGHTS:
            off = np.where(up, np.abs(middle - landmarks[height]), np.inf)
            cm = _spacing_cm(planned, tension[int(np.argmin(off))], rng)
            spacings.append({"layer": layer.number, "place": height, "cm": cm})
    off = truth.SENSOR_SD_MMHG * rng.standard_normal()
    value = round(pressure[Landmark.GAITER] * (1 + task.subject.truth.seat) + off)
    return Readings.model_validate(
        {
            "schema": "gaiter.readings/1",
            "side": Side.RIGHT,
            "system": task.system.name,
            "spacings": spacings,
            "sensor": [{"place": Landmark.GAITER, "mmhg": value}] if way.sensor else [],
        }
    )


def _spacing_cm(planned: truth.Planned, tension_n_per_cm: float, rng: np.random.Generator) -> float:
    stretch = float(planned.curve.stretch_for(tension_n_per_cm))
    cm = 10 * (1 + stretch) + truth.MARKS_SD_CM * rng.standard_normal()
    # Nobody writes down less than relaxed marks, or marks that the fabric cannot reach.
    most = min(30.0, 10 * (1 + planned.curve.locking_stretch) - 0.1)
    return round(float(np.clip(cm, 10, most)), 1)


# Ways that no clinic needs a sensor's history for; the last of them also makes the history.
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


def before_readings(job: Job) -> Before:
    """One leg before the clinic has learnt from its sensor."""
    _compiled()
    subject = Subject(job)
    tasks: dict[Training, Task | None] = {}
    results: dict[str, list[Result]] = {}
    taught: list[BandageReading] = []
    for key in BEFORE_READINGS:
        way = WAYS[key]
        if way.planned_for not in tasks:
            tasks[way.planned_for] = subject.planned(way.planned_for, None)
        results[key] = []
        for bandage in range(1, BANDAGES_PER_LEG + 1):
            task = tasks[way.planned_for]
            if task is None:
                continue
            result, applied = carried_out(task, way, bandage)
            results[key].append(result)
            if way.sensor and applied and (reading := bandage_reading(applied)):
                taught.append(reading)
    usual = tasks[Training.TRAINED]
    return Before(results, taught, told_as_planned(usual) if usual else "")


def after_readings(job: Job, learnt: Mapping[int, Calibration]) -> dict[str, list[Result]]:
    """A leg's bandages by every way that plans with what the clinic's sensor taught."""
    _compiled()
    subject = Subject(job)
    tasks = {
        count: subject.planned(Training.TRAINED, calibration)
        for count, calibration in learnt.items()
    }
    return {
        key: [
            carried_out(task, way, bandage)[0]
            for bandage in range(1, BANDAGES_PER_LEG + 1)
            if (task := tasks[way.calibrated_on]) is not None
        ]
        for key, way in ((key, WAYS[key]) for key in AFTER_READINGS)
    }
