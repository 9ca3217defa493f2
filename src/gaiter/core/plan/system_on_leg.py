"""One bandage system on one leg: designed, or as somebody changed it, with its plan."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from gaiter.core.bandage.wool import build_for
from gaiter.core.case import Bandager, Leg
from gaiter.core.fabric import Material
from gaiter.core.landmark import Side
from gaiter.core.leg.completion import Completion
from gaiter.core.plan.adjust import Adjustment, chosen_by_hand
from gaiter.core.plan.assemble import DesignedSystem, system_plan
from gaiter.core.plan.design import Aim, Design
from gaiter.core.plan.document import SystemPlan
from gaiter.core.plan.hands import spread_inputs, what_habits_change
from gaiter.core.plan.layers import PressingLayer
from gaiter.core.plan.leg_readings import inputs_of_leg
from gaiter.core.plan.padded_leg import BandagedLeg, Padding, Sampling
from gaiter.core.plan.pads import JudgedPlace, padded
from gaiter.core.plan.search import best_design, fixed_design
from gaiter.core.plan.steep import steepness_of
from gaiter.core.plan.suitability import (
    Argument,
    Bearing,
    Patient,
    arguments,
    change_days,
    regular_change_days,
    steep_argument,
)
from gaiter.core.plan.systems import System
from gaiter.core.plan.verdict import FitVerdict, verdict_in_these_hands, verdict_of
from gaiter.core.policy import Policy
from gaiter.core.words import NOTHING, Said


@dataclass(frozen=True)
class LegTask:
    """One leg that may be compressed, and everything its systems are judged by.

    Attributes
    ----------
    patient : Patient
        Person, leg and decision.
    side : Side
        Which leg.
    completion : Completion
        Its measurements, completed where some were left out.
    bandaged_leg : BandagedLeg
        The leg's shape, bare and under padding.
    aim : Aim
        Range and maxima.
    policy : Policy
        Local policy.
    stock : Mapping[str, Material]
        What can be taken.
    samples, seed : int
        Size and seed of the spread.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> task = example_bench().legs["right"].task
    >>> task.leg.girth_cm.ankle, task.bandager.training.value
    (22.5, 'trained')
    """

    patient: Patient
    side: Side
    completion: Completion
    bandaged_leg: BandagedLeg
    aim: Aim
    policy: Policy
    stock: Mapping[str, Material]
    samples: int
    seed: int

    @property
    def leg(self) -> Leg:
        """The leg of the case.

        Returns
        -------
        Leg
        """
        return self.patient.leg

    @property
    def bandager(self) -> Bandager:
        """Whoever bandages.

        Returns
        -------
        Bandager
        """
        return self.patient.case.bandager


@dataclass(frozen=True)
class SystemOnLeg:
    """A system as it lies on a leg.

    Attributes
    ----------
    system : System
        Its layers, with what the stock has.
    materials : sequence of Material
        One for each layer.
    bare : Design
        The design without pads; changes by hand start from the computed one.
    design : Design
        The design over its pads.
    plan : SystemPlan
        What is written down of it.
    arguments : tuple[Argument, ...]
        What speaks for and against it, what its design gives included.

    Examples
    --------
    Wool presses nothing, so the design has one layer of the system's two:

    >>> from gaiter.files.example_bench import example_bench
    >>> made = example_bench().legs["right"].made["one_elastic"]
    >>> len(made.materials), len(made.plan.layers), len(made.design.layers)
    (2, 2, 1)
    >>> made.bare.padded_leg.pads_cm, made.design.padded_leg.pads_cm == {
    ...     place: mm / 10 for place, mm in made.plan.pads_mm.items()
    ... }
    ({}, True)
    """

    system: System
    materials: Sequence[Material]
    bare: Design
    design: Design
    plan: SystemPlan
    arguments: tuple[Argument, ...]


def computed(
    system: System, materials: Sequence[Material], found: Sequence[Argument], task: LegTask
) -> SystemOnLeg:
    """A system with the design that most likely answers the aim.

    Parameters
    ----------
    system : System
        With what the stock has.
    materials : sequence of Material
        One for each layer.
    found : sequence of Argument
        What speaks for and against it before it is designed.
    task : LegTask
        The leg and what its systems are judged by.

    Returns
    -------
    SystemOnLeg

    Examples
    --------
    The same question has the same answer:

    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> made = leg.made["one_elastic"]
    >>> computed(made.system, made.materials, made.arguments, leg.task).plan == made.plan
    True
    """
    work = _Work(system, materials, task)
    bare = work.designed(task.bandager)
    design, places = padded(bare, task.aim, {})
    verdict = verdict_in_these_hands(
        design, places, task.aim, task.bandager.training, work.designed
    )
    for_hands = NOTHING
    if any(layer.material.key in task.bandager.habits for layer in work.pressing):
        strangers = work.designed(Bandager(training=task.bandager.training))
        for_hands = what_habits_change(bare, strangers, task.bandager)
    return work.finished(bare, design, places, verdict, found, for_hands=for_hands)


def changed(was: SystemOnLeg, adjustment: Adjustment, task: LegTask) -> SystemOnLeg:
    """A computed system as somebody changed it; where nothing is changed, the same.

    Parameters
    ----------
    was : SystemOnLeg
        As it was computed.
    adjustment : Adjustment
        What is changed.
    task : LegTask
        The leg and what its systems are judged by.

    Returns
    -------
    SystemOnLeg

    Raises
    ------
    InputError
        If a change lies outside what its material allows.

    Examples
    --------
    Marks 15 cm apart; round the calf pressure goes with the tension, which 471.278 x 2 x 0.976 / 23
    makes 40 mmHg on the reference ankle of 23 cm:

    >>> from gaiter.core.plan.adjust import LayerChange
    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> was = leg.made["one_elastic"]
    >>> half = Adjustment("one_elastic", {"long_stretch_elastic": LayerChange(stretch=0.5)})
    >>> now = changed(was, half, leg.task)
    >>> now.plan.layers[1].mark_spacing_cm
    15.0
    >>> tensions = [one.plan.layers[1].tensions_n_per_cm[1] for one in (now, was)]
    >>> round(471.278 * 2 * tensions[0] / 23, 2)
    40.0
    >>> means = [
    ...     site.ring_mean_mmhg
    ...     for one in (now, was) for site in one.plan.sites if site.landmark == "calf"
    ... ]
    >>> abs(means[0] / means[1] - tensions[0] / tensions[1]) < 0.001
    True
    """
    if adjustment.changes_nothing:
        return was
    work = _Work(was.system, was.materials, task, adjustment)
    hand = chosen_by_hand(adjustment, work.pressing, was.bare)
    sampling = work.sampling(task.bandager)
    bare = fixed_design(work.padded_leg, work.pressing, hand, task.aim, sampling)
    pads_cm = {place: mm / 10 for place, mm in adjustment.pads_mm.items()}
    design, places = padded(bare, task.aim, pads_cm)
    verdict = verdict_of(design, places, task.aim, by_hand=True)
    found = arguments(task.patient, was.system, was.materials)
    return work.finished(bare, design, places, verdict, found, by_hand=adjustment.in_words())


class _Work:
    """What designing and writing down one system on one leg have in common."""

    def __init__(
        self,
        system: System,
        materials: Sequence[Material],
        task: LegTask,
        adjustment: Adjustment | None = None,
    ) -> None:
        self.system, self.materials, self.task = system, materials, task
        soft = [m.thickness.planned_cm for m in materials if m.thickness is not None]
        even_cm, layer_cm = sum(soft), max(soft, default=0.0)
        build = build_for(task.leg, task.bandaged_leg.bare, even_cm)
        start = (adjustment and adjustment.start) or task.bandaged_leg.measured.start
        end = (adjustment and adjustment.end) or system.end
        self.padding = Padding(even_cm, layer_cm, build, end, start)
        self.padded_leg = task.bandaged_leg.under(self.padding)
        self.pressing = [
            PressingLayer(recipe, material)
            for recipe, material in zip(system.layers, materials, strict=True)
            if material.presses
        ]

    def sampling(self, by: Bandager) -> Sampling:
        task = self.task
        inputs = spread_inputs(self.system.name, self.materials, task.patient.case, by, task.policy)
        inputs = inputs_of_leg(inputs, task.patient.case, task.side, task.policy)
        return Sampling(inputs, task.samples, task.seed)

    def designed(self, by: Bandager) -> Design:
        return best_design(self.padded_leg, self.pressing, self.task.aim, self.sampling(by))

    def finished(
        self,
        bare: Design,
        design: Design,
        places: tuple[JudgedPlace, ...],
        verdict: FitVerdict,
        found: Sequence[Argument],
        *,
        by_hand: tuple[Said, ...] = (),
        for_hands: Said = NOTHING,
    ) -> SystemOnLeg:
        system, task = self.system, self.task
        said = (*found, *_by_design(design, task))
        against = [a.text for a in said if a.verdict is Bearing.AGAINST]
        short_cm = self.padded_leg.wool.short_cm
        if short_cm > 0:
            against.append(
                Said(
                    "the leg is {short:.0f} cm too thin for what wool can build up",
                    {"short": short_cm},
                    "too_thin",
                )
            )
        verdict = replace(
            verdict,
            reasons_for=tuple(a.text for a in said if a.verdict is Bearing.FOR),
            reasons_against=(*against, *system.substituted),
        )
        days, why = change_days(task.patient, system.change_days)
        built = DesignedSystem(
            system=system,
            materials=self.materials,
            design=design,
            padding=self.padding,
            bandaged_leg=task.bandaged_leg,
            leg=task.leg,
            aim=task.aim,
            policy=task.policy,
            change_days=days,
            change_reason=why,
            regular_days=regular_change_days(task.patient, system.change_days),
            places=places,
            by_hand=by_hand,
            for_hands=for_hands,
        )
        plan = system_plan(built, verdict)
        return SystemOnLeg(system, self.materials, bare, design, plan, said)


def _by_design(design: Design, task: LegTask) -> tuple[Argument, ...]:
    """Arguments that only the design can give."""
    steepness, target = steepness_of(design), task.aim.target
    too_steep = steepness.too_steep(target.gaiter_low_mmhg, target.gaiter_high_mmhg, task.policy)
    # Poor arteries need what is inelastic, and inelastic is steep: there it is read twice instead.
    if not too_steep or task.patient.asks_for_inelastic:
        return ()
    return (steep_argument(steepness),)
