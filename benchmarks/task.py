"""One leg of the headline benchmark: measured and planned by the tool, bandaged in truth."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from pathlib import Path

import numpy as np
import numpy.typing as npt

from benchmarks.worlds.anatomical import Anatomical
from benchmarks.worlds.bodies import Bodies, bodies
from benchmarks.worlds.constants import Constants
from benchmarks.worlds.hands import Planned
from benchmarks.worlds.level import Level
from benchmarks.worlds.patches import Patches
from benchmarks.worlds.truth import SITES, Lying, Under, World
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Calibration, Leg, Purpose, Sex, Training
from gaiter.core.cohort.legs import case_for
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark, Side
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import points_at
from gaiter.core.plan import Plan, SystemPlan, plan
from gaiter.core.plan.document import Layer
from gaiter.core.plan.laying import FOOT_TURNS, HOLDING_TURNS, LaidLayer
from gaiter.core.plan.pressures import SitePressure
from gaiter.core.plan.rebuilt import bandaged_leg_of, laid_layers
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.policy import Policy

Array = npt.NDArray[np.float64]

SAMPLES = 1024
# A sensor probe under the last turns is read half a disc inside the end, as the tool takes it.
_IN_FROM_THE_END_CM = 2.5
# What a plan reckons a mean clinic to read at the gaiter, over the girth formula: the reading
# site's share times the theory remainder, see docs/method.md.
PLANNED_LEVEL = 0.75


class Off(StrEnum):
    """What can be switched off to see what it costs."""

    HANDS = "hands"
    CLINIC = "clinic"
    LEG = "leg"
    PLACE = "place"
    AIM = "aim"


@dataclass(frozen=True)
class Setting:
    """World, constants and tool of a run, the same for every leg.

    Attributes
    ----------
    seed : int
        Of all chance.
    system : str
        Bandage system.
    world : str
        ``level``, ``anatomical`` or ``bodies``.
    policy, catalogue
        The tool's.
    constants : Constants
        The world's.
    without : frozenset of Off
        What is switched off: tension errors of hands, rolls and ends; clinics that differ from
        what a plan reckons; what no tape tells of a leg, and the tape's error; where turns stray;
        what keeps a plan from the middle of the gaiter's range (maxima, steps of stretch).
    bodies : Path or None
        Folder of the whole bodies.
    """

    seed: int
    system: str
    world: str
    policy: Policy
    catalogue: BandageCatalogue
    constants: Constants = field(default_factory=Constants)
    without: frozenset[Off] = frozenset()
    bodies: Path | None = None


@dataclass(frozen=True)
class Job:
    """One leg of one clinic; ``number`` decides its chance together with the setting's seed.

    ``body`` is its number among the whole bodies where the world is made of them; ``taught`` is
    how many of its bandages the clinic's sensor reads.
    """

    number: int
    clinic: int
    sex: Sex | None
    leg: LegMeasurements
    setting: Setting
    body: int | None = None
    taught: int = 0

    def rng(self, *part: int) -> np.random.Generator:
        """Chance of one part of this leg's story."""
        return np.random.default_rng([self.setting.seed, self.number, *part])

    @property
    def world(self) -> World:
        """The world that the leg is of."""
        setting = self.setting
        if setting.world == "level":
            return Level()
        if setting.world == "anatomical":
            return Anatomical()
        if setting.bodies is None or self.body is None:
            raise ValueError("the world of bodies needs the folder that holds them")
        return Bodies(bodies(setting.bodies)[self.body])


class Subject:
    """A leg with its truth, and plans made of it from the tape alone."""

    def __init__(self, job: Job) -> None:
        self.job, self.world = job, job.world
        constants, without = job.setting.constants, job.setting.without
        typical = Off.LEG in without
        rng = job.rng(0)
        strays, tape_cm = constants.unmeasured_share, constants.tape_cm
        skin = dict(job.leg.girth_cm)
        for site in (Landmark.GAITER, Landmark.BELOW_KNEE):
            off = rng.uniform(-strays, strays)
            # Whole bodies are measured there, and keep their girth.
            skin[site] *= 1 + (off if job.body is None else 0)
        taped = {site: rng.uniform(-tape_cm, tape_cm) * (not typical) for site in skin}
        self.measured = {site: round(girth + taped[site], 1) for site, girth in skin.items()}
        self.tape_off_cm = {site: skin[site] - self.measured[site] for site in skin}
        level = PLANNED_LEVEL if Off.CLINIC in without else constants.clinics[job.clinic]
        self.truth = self.world.leg(job.rng(10), constants, level, typical=typical)

    def planned(self, training: Training, calibration: Calibration | None) -> "Task | None":
        """The plan for such hands; None where the leg cannot be planned."""
        job, setting = self.job, self.job.setting
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
        case = case_for(leg, job.sex, Purpose.VENOUS_ULCER, training, setting.policy)
        case = case.model_copy(update={"calibration": calibration})
        made = plan(
            case,
            setting.policy,
            setting.catalogue,
            samples=SAMPLES,
            systems=frozenset({setting.system}),
        )
        return Task(self, made) if made.legs[Side.RIGHT].systems else None


@dataclass(frozen=True)
class Bandage:
    """One bandage as it lies: every layer with its settled tension and how far turns strayed."""

    layers: tuple[tuple[Planned, Array, Array], ...]


@dataclass(frozen=True)
class Judged:
    """A judged site as the plan's document has it: its range, its own maximum, what is likely."""

    landmark: Landmark
    low_mmhg: float
    high_mmhg: float
    maximum_mmhg: float
    likely_mmhg: float
    girth_cm: float


def judged(site: SitePressure) -> Judged:
    """The site, or an error where the plan lacks what it is judged by."""
    low, high, most = site.target_low_mmhg, site.target_high_mmhg, site.maximum_mmhg
    if low is None or high is None or most is None:
        raise ValueError(f"the plan must name range and maximum of the {site.landmark.label}")
    return Judged(site.landmark, low, high, most, site.median_mmhg, site.girth_cm)


class Task:
    """One plan carried out on one leg."""

    def __init__(self, subject: Subject, made: Plan) -> None:
        self.subject, self.plan = subject, made
        self.system: SystemPlan = made.legs[Side.RIGHT].systems[0]

    @cached_property
    def laid(self) -> list[LaidLayer]:
        """The planned layers laid on the planned leg: where each turn should lie."""
        return laid_layers(bandaged_leg_of(self.plan.legs[Side.RIGHT]), self.system)

    @cached_property
    def pressing(self) -> list[Layer]:
        """Layers that press, from the skin outwards."""
        return [layer for layer in self.system.layers if layer.presses]

    @cached_property
    def sites(self) -> list[Judged]:
        """What is judged, with its range and its own maximum."""
        return [judged(site) for site in self.system.sites if site.landmark in SITES]

    @cached_property
    def pulled(self) -> float:
        """Tension over the plan's: 1, or what brings its likely gaiter to its range's middle."""
        if Off.AIM not in self.subject.job.setting.without:
            return 1.0
        gaiter = next(site for site in self.sites if site.landmark is Landmark.GAITER)
        return float(np.sqrt(gaiter.low_mmhg * gaiter.high_mmhg) / gaiter.likely_mmhg)

    def layer(self, number: int, up_leg_n_per_cm: float | None = None) -> Planned:
        """A layer as the plan, or advice with another tension up the leg, asks for it."""
        layer, laid = self.pressing[number], self.laid[number]
        if layer.tensions_n_per_cm is None:
            raise ValueError("a pressing layer has tensions")
        foot, up = layer.tensions_n_per_cm
        turns = np.arange(laid.strips.turns)
        tension = np.where(turns < FOOT_TURNS, foot, up_leg_n_per_cm or up) * self.pulled
        tension[:HOLDING_TURNS] = 0
        bands, path = laid.strips.bands, laid.strips.path
        return Planned(
            bands.low_s_cm,
            bands.high_s_cm,
            (bands.low_slope + bands.high_slope) / 2,
            tension,
            layer.fabric.curve if layer.fabric else None,
            points_at(laid.padded_leg.surface, path.s_cm, path.angle),
            path.turn,
            laid.strips.width_cm,
        )

    @cached_property
    def under(self) -> Under:
        """Every site: which turns lie over it, and with what curvature, in truth."""
        surface, leg = self.laid[0].padded_leg.surface, self.subject.truth
        even = self.system.padding.even_cm
        s, girth, wool, below = {}, {}, {}, {}
        for one in self.sites:
            site = one.landmark
            at = surface.landmark_s_cm[site]
            s[site] = min(at, surface.end_s_cm - _IN_FROM_THE_END_CM)
            below[site] = at - s[site]
            # Padding of the plan, with the wool as it lies in place of what the plan takes.
            planned = (one.girth_cm - self.subject.measured[site]) / (2 * np.pi)
            wool[site] = max(planned - even + leg.wool_cm, 0.0)
            skin = self.subject.measured[site] + self.subject.tape_off_cm[site]
            girth[site] = skin + 2 * np.pi * wool[site]
        layers = tuple(self.layer(number) for number in range(len(self.pressing)))
        return self.subject.world.under(leg, Lying(layers, s, girth, wool, below))

    def pressure(self, bandage: Bandage, rolls: Array) -> dict[Landmark, float]:
        """True pressure at the judged sites, as each is judged [mmHg]."""
        return self._pressures(self.under.judged, bandage, rolls)

    def at_sensors(self, bandage: Bandage, rolls: Array) -> dict[Landmark, float]:
        """True pressure on the inner side, where sensors lie [mmHg]."""
        return self._pressures(self.under.read, bandage, rolls)

    def _pressures(
        self, under: Mapping[Landmark, Patches], bandage: Bandage, rolls: Array
    ) -> dict[Landmark, float]:
        leg = self.subject.truth
        shares = [roll * (leg.further_share if n else 1.0) for n, roll in enumerate(rolls.tolist())]
        tensions = [tension for _, tension, _ in bandage.layers]
        offs = [off for _, _, off in bandage.layers]
        return {
            site: leg.soft_mmhg(site, patches.rigid_mmhg(tensions, offs, shares))
            for site, patches in under.items()
        }

    def above_maximum(self, pressure: Mapping[Landmark, float]) -> bool:
        """Whether some site exceeds its own maximum of the plan."""
        maxima = {site.landmark: site.maximum_mmhg for site in self.sites}
        return any(mmhg > maxima[site] for site, mmhg in pressure.items())

    def in_range(self, pressure: Mapping[Landmark, float]) -> dict[Landmark, bool]:
        """Which judged sites lie in their range."""
        return {
            site.landmark: site.low_mmhg <= pressure[site.landmark] <= site.high_mmhg
            for site in self.sites
        }


def told_as_planned(task: Task) -> str:
    """What the tool says of a bandage whose every mark is read exactly as planned."""
    spacings = [
        {"layer": layer.number, "place": height, "cm": layer.mark_spacing_cm}
        for layer in task.pressing
        if layer.mark_spacing_cm is not None
        for height in HABIT_HEIGHTS
    ]
    readings = Readings.model_validate(
        {"schema": "gaiter.readings/1", "side": Side.RIGHT, "system": task.system.name,
         "spacings": spacings}
    )  # fmt: skip
    return applied_pressure(task.plan, readings).advice.value
