"""One leg of the headline benchmark: measured and planned by the tool, bandaged in truth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from benchmarks import truth
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Calibration, Leg, Purpose, Sex, Training
from gaiter.core.cohort.legs import case_for
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark, Side
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.plan import Plan, SystemPlan, plan
from gaiter.core.plan.document import Layer
from gaiter.core.plan.laying import FOOT_TURNS, HOLDING_TURNS, LaidLayer
from gaiter.core.plan.rebuilt import bandaged_leg_of, laid_layers
from gaiter.core.policy import Policy

Array = npt.NDArray[np.float64]

SAMPLES = 1024
# How far a girth strays from the regression that stands for it where the cohort lacks it, and a
# tape from the girth, evenly: assumptions.
_UNMEASURED_SHARE, _TAPE_CM = 0.07, 0.5
# A sensor probe under the last turns is read half a disc inside the end, as the tool takes it.
_IN_FROM_THE_END_CM = 2.5


@dataclass(frozen=True)
class Job:
    """One leg of one clinic; ``number`` decides its chance together with ``seed``.

    ``ankle`` replaces the bounds of the ankle's aspect in the truth.
    """

    number: int
    seed: int
    clinic: int
    sex: Sex | None
    leg: LegMeasurements
    system: str
    policy: Policy
    catalogue: Catalogue
    ankle: tuple[float, float] | None = None

    def rng(self, *part: int) -> np.random.Generator:
        """Chance of one part of this leg's story."""
        return np.random.default_rng([self.seed, self.number, *part])


class Subject:
    """A leg with its truth, and plans made of it from the tape alone."""

    def __init__(self, job: Job) -> None:
        self.job = job
        rng = job.rng(0)
        given = job.leg.girth_cm
        skin = dict(given)
        for site in (Landmark.GAITER, Landmark.BELOW_KNEE):
            skin[site] *= 1 + rng.uniform(-_UNMEASURED_SHARE, _UNMEASURED_SHARE)
        self.measured = {
            site: round(girth + rng.uniform(-_TAPE_CM, _TAPE_CM), 1) for site, girth in skin.items()
        }
        self.tape_off_cm = {site: skin[site] - self.measured[site] for site in skin}
        self.truth = truth.drawn_leg(rng, truth.CLINIC_LEVELS[job.clinic], job.ankle)

    def planned(self, training: Training, calibration: Calibration | None) -> "Task | None":
        """The plan for such hands; None where the leg cannot be planned."""
        job = self.job
        leg = Leg.model_validate(
            {
                "purpose": Purpose.VENOUS_ULCER,
                "foot_length_cm": round(job.leg.foot_length_cm, 1),
                "girth_cm": self.measured,
                "position_cm": {
                    place: round(cm, 1)
                    for place, cm in job.leg.position_cm.items()
                    if place is not Landmark.HEEL_INSTEP
                },
            }
        )
        case = case_for(leg, job.sex, Purpose.VENOUS_ULCER, training, job.policy)
        case = case.model_copy(update={"calibration": calibration})
        made = plan(
            case, job.policy, job.catalogue, samples=SAMPLES, systems=frozenset({job.system})
        )
        return Task(self, made) if made.legs[Side.RIGHT].systems else None


@dataclass(frozen=True)
class Bandage:
    """One bandage as it lies: every layer's settled tension and places."""

    layers: tuple[tuple[truth.Planned, Array, Array], ...]


class Task:
    """One plan carried out on one leg."""

    def __init__(self, subject: Subject, made: Plan) -> None:
        self.subject, self.plan = subject, made
        self.system: SystemPlan = made.legs[Side.RIGHT].systems[0]

    @cached_property
    def laid(self) -> list[LaidLayer]:
        """The planned layers laid on the planned leg: where each turn should lie."""
        return laid_layers(bandaged_leg_of(self.plan.legs[Side.RIGHT]), self.system)

    @property
    def pressing(self) -> list[Layer]:
        """Layers that press, from the skin outwards."""
        return [layer for layer in self.system.layers if layer.presses]

    def layer(self, number: int, up_leg_n_per_cm: float | None = None) -> truth.Planned:
        """A layer as the plan, or advice with another tension up the leg, asks for it."""
        layer, laid = self.pressing[number], self.laid[number]
        if layer.fabric is None or layer.tensions_n_per_cm is None:
            raise ValueError("this benchmark takes systems whose pressing layers stretch")
        foot, up = layer.tensions_n_per_cm
        turns = np.arange(laid.strips.turns)
        tension = np.where(turns < FOOT_TURNS, foot, up_leg_n_per_cm or up)
        tension[:HOLDING_TURNS] = 0
        # The inner side is a quarter of the way round from the front.
        inner = laid.strips.bands.low_s_cm.shape[1] // 4
        bands = laid.strips.bands
        return truth.Planned(
            bands.low_s_cm[:, inner], bands.high_s_cm[:, inner], tension, layer.fabric.curve
        )

    def pressure(self, bandage: Bandage, rolls: Sequence[float]) -> dict[Landmark, float]:
        """True pressure at the judged sites [mmHg]."""
        surface, leg = self.laid[0].padded_leg.surface, self.subject.truth
        padding, found = self.system.padding, {}
        layers = [(*one, roll) for one, roll in zip(bandage.layers, rolls, strict=True)]
        for site in self.system.sites:
            if site.landmark not in truth.SITES:
                continue
            # Padded girth of the plan, with the tape's error and the wool put right.
            girth = (
                site.girth_cm
                + self.subject.tape_off_cm[site.landmark]
                - 2 * np.pi * (padding.even_cm - leg.wool_cm)
            )
            s = min(surface.landmark_s_cm[site.landmark], surface.end_s_cm - _IN_FROM_THE_END_CM)
            found[site.landmark] = truth.site_pressure_mmhg(leg, site.landmark, s, girth, layers)
        return found

    def in_range(self, pressure: Mapping[Landmark, float]) -> dict[Landmark, bool]:
        """Which judged sites lie in their range."""
        return {
            site.landmark: site.target_low_mmhg <= pressure[site.landmark] <= site.target_high_mmhg
            for site in self.system.sites
            if site.landmark in pressure
        }


def told_as_planned(task: Task) -> str:
    """What the tool says of a bandage whose every mark is read exactly as planned."""
    spacings = [
        {"layer": layer.number, "place": height, "cm": layer.mark_spacing_cm}
        for layer in task.pressing
        for height in HABIT_HEIGHTS
    ]
    readings = Readings.model_validate(
        {"schema": "gaiter.readings/1", "side": Side.RIGHT, "system": task.system.name,
         "spacings": spacings}
    )  # fmt: skip
    return applied_pressure(task.plan, readings).advice.value
