"""The one function that makes a plan."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import timedelta
from functools import cached_property

from gaiter import __version__
from gaiter.core.bandage.coverage import Patch
from gaiter.core.bandage.wool import build_for
from gaiter.core.case import Bandager, Case, Leg, Training
from gaiter.core.errors import InputError
from gaiter.core.fabric import Material, StretchCurve, Thickness
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import LegShapeError
from gaiter.core.leg.completion import Completion, complete_measurements
from gaiter.core.leg.volume import limb_volume_ml
from gaiter.core.plan.adjust import Adjustment, chosen_by_hand
from gaiter.core.plan.alternatives import alternatives
from gaiter.core.plan.assemble import DesignedSystem, FitVerdict, system_plan
from gaiter.core.plan.design import Aim, Design, PressingLayer, best_design, fixed_design
from gaiter.core.plan.document import (
    CaseLabel,
    Fit,
    LegPlan,
    PlaceMaxima,
    Plan,
    Status,
    SurfaceSummary,
    SystemPlan,
    TargetRange,
    Versions,
)
from gaiter.core.plan.hands import calibration_in_words, spread_inputs, what_habits_change
from gaiter.core.plan.laying import BandagedLeg, Padding, Sampling
from gaiter.core.plan.maxima import maxima_of
from gaiter.core.plan.pads import JudgedPlace, padded, rises_of, worst_of
from gaiter.core.plan.statements import CAUTIONS, LIMITS, SOURCES
from gaiter.core.plan.steep import steepness_of
from gaiter.core.plan.suitability import (
    Argument,
    Bearing,
    Patient,
    arguments,
    balance,
    change_days,
    regular_change_days,
    steep_argument,
)
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.plan.systems import System, Trait, from_stock, materials_of
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.safety import LegDecision, Outcome, decide

SAMPLES = 4096
DEFAULT_SEED = 20261

_RANK = {
    Fit.FITS: 0,
    Fit.TO_ACCEPT: 0,
    Fit.NOT_IN_THESE_HANDS: 1,
    Fit.CANNOT_BE_REACHED: 2,
}


def plan(
    case: Case,
    policy: Policy,
    catalogue: BandageCatalogue,
    *,
    seed: int = DEFAULT_SEED,
    samples: int = SAMPLES,
    systems: frozenset[str] | None = None,
) -> Plan:
    """The bandaging plan for every leg of a case.

    Parameters
    ----------
    case : Case
        One person, one day.
    policy : Policy
        Local policy.
    catalogue : BandageCatalogue
        Materials and the bandage systems made of them; the case's stock replaces sizes and curves.
    seed, samples : int
        Seed and size (a power of two) of the spread; the same give the same plan.
    systems : frozenset[str] or None
        Names of the only systems to plan; None: every one.

    Returns
    -------
    Plan
        A leg that may not be compressed, or on which no system reaches its range, carries the
        reason instead of a system.

    Raises
    ------
    UnknownMaterialError
        If the stock names a material that the catalogue does not have.
    """
    return Workbench(case, policy, catalogue, seed=seed, samples=samples, systems=systems).plan


class Workbench:
    """A case with everything computed for it kept, so that a change by hand answers at once.

    Parameters are those of :func:`plan`. Not safe for use by two threads at a time.
    """

    def __init__(
        self,
        case: Case,
        policy: Policy,
        catalogue: BandageCatalogue,
        *,
        seed: int = DEFAULT_SEED,
        samples: int = SAMPLES,
        systems: frozenset[str] | None = None,
    ) -> None:
        self.case, self.policy, self.catalogue = case, policy, catalogue
        self._wanted = systems
        self.stock = _in_stock(case, catalogue)
        self._sample = (samples, seed)
        self._tasks: dict[Side, _Task] = {}

    @cached_property
    def plan(self) -> Plan:
        """The computed plan of every leg."""
        case, policy, (samples, seed) = self.case, self.policy, self._sample
        safety = decide(case, policy)
        return Plan(
            case=CaseLabel.of(case),
            today=case.today,
            versions=Versions(
                gaiter=__version__,
                policy=policy.label,
                policy_changes=policy.changes,
                policy_sha256=policy.sha256,
                catalogue_sha256=self.catalogue.sha256,
                systems_sha256=self.catalogue.systems_sha256,
                systems_changes=self.catalogue.systems_changes,
            ),
            seed=seed,
            samples=samples,
            theory_remainder=policy["theory_remainder_median"],
            bandager=case.bandager.training.value,
            person_reasons=safety.person_reasons,
            legs={side: self._leg_plan(side, safety.legs[side]) for side in case.legs},
            assumptions=(*_assumptions(case), calibration_in_words(case.calibration, policy)),
            limits=LIMITS,
            cautions=CAUTIONS,
            sources=SOURCES,
        )

    def adjusted(self, side: Side, adjustment: Adjustment) -> LegPlan:
        """The leg's plan with one system changed by hand and put first.

        Parameters
        ----------
        side : Side
            A leg whose plan has systems.
        adjustment : Adjustment
            The system and what to change; nothing changed gives the computed system.

        Returns
        -------
        LegPlan
            Maximum and target range stay; a system beyond them says so in its outcome.

        Raises
        ------
        InputError
            If the leg has no such system, or a change lies outside what its material allows.
        """
        leg_plan = self.plan.legs[side]
        task = self._tasks.get(side)
        computed = next((s for s in leg_plan.systems if s.name == adjustment.system), None)
        if task is None or computed is None:
            known = ", ".join(system.name for system in leg_plan.systems) or "none"
            raise InputError(
                f"system must be one planned for the {side} leg ({known}); received "
                f"{adjustment.system}: choose one of them"
            )
        made = computed if adjustment.changes_nothing else self._changed(task, adjustment)
        rest = tuple(system for system in leg_plan.systems if system.name != made.name)
        usable = made.outcome is not Fit.CANNOT_BE_REACHED
        return leg_plan.model_copy(
            update={
                "systems": (made, *rest),
                "status": Status.PLANNED if usable else Status.CANNOT_BE_REACHED,
                "status_reason": leg_plan.decision.headline if usable else made.outcome_reason,
                "next_visit": (
                    self.case.today + timedelta(days=made.change_days) if usable else None
                ),
            }
        )

    def bandaged_leg(self, side: Side) -> BandagedLeg | None:
        """The leg with everything laid on it so far; None where it has no plan."""
        task = self._tasks.get(side)
        return task.bandaged_leg if task else None

    def often_above_maximum(self, side: Side, system: str) -> tuple[Patch, ...]:
        """Skin that most bandages press above the leg's maximum, as the system was made last.

        Sums thousands of bandages over the whole skin: meant for a process that has loaded the
        compiled sums (:func:`gaiter.core.spread.sums.load`).
        """
        task = self._tasks[side]
        return task.shown[system].often_above(task.aim.maximum_mmhg)

    def _changed(self, task: "_Task", adjustment: Adjustment) -> SystemPlan:
        ankle = task.bandaged_leg.measured.girth_cm[Landmark.ANKLE]
        ideal = next(s for s in self.catalogue.systems_for(ankle) if s.name == adjustment.system)
        system, _rest = from_stock(ideal, self.stock)
        materials = materials_of(system, self.stock)
        found = arguments(task.patient, system, materials)
        made, _found = _fitted(system, materials, found, task, adjustment)
        return made

    def _leg_plan(self, side: Side, decision: LegDecision) -> LegPlan:
        case, policy, stock = self.case, self.policy, self.stock
        leg = case.legs[side]
        base = LegPlan(
            side=side,
            purpose=leg.purpose.value,
            status=Status.STOPPED,
            status_reason=decision.headline,
            decision=decision,
            wound_place=leg.wound.place if leg.wound else None,
        )
        if decision.outcome is Outcome.STOP:
            return base
        if decision.maximum_mmhg is None:
            return base.model_copy(update={"status": Status.NOT_YET})

        def unreached(reason: str) -> LegPlan:
            return base.model_copy(
                update={"status": Status.CANNOT_BE_REACHED, "status_reason": reason}
            )

        if decision.aim is None:
            return unreached(f"nothing to aim at under {decision.maximum_mmhg:g} mmHg is known")
        maxima = maxima_of(decision, policy)
        target = target_range(decision.aim, maxima.leg_mmhg, policy)
        if leg.findings.foot_collapsed:
            return unreached(
                "the foot is collapsed, a shape outside the model: bandage it by hand, with a "
                "sensor"
            )
        completion = complete_measurements(leg, case.person.sex)
        try:
            bandaged_leg = BandagedLeg(completion.measurements)
        except LegShapeError as error:
            return unreached(str(error))
        aim = Aim(
            target,
            maxima,
            policy["chance_above_maximum"],
            policy["rise_allowed_percent"] / 100,
        )
        task = _Task(
            Patient(case, leg, decision), bandaged_leg, aim, policy, *self._sample, self._wanted
        )
        self._tasks[side] = task
        systems, excluded = _fitted_systems(task, stock, self.catalogue)
        others, left_out = alternatives(task.patient)
        reached = bool(systems) and systems[0].outcome is not Fit.CANNOT_BE_REACHED
        reason = decision.headline
        if not reached:
            reason = (
                systems[0].outcome_reason if systems else "no system can be made from the stock"
            )
            reason += _would_be_with(task, stock, self.catalogue)
        return base.model_copy(
            update={
                "status": Status.PLANNED if reached else Status.CANNOT_BE_REACHED,
                "status_reason": reason,
                "target": TargetRange(
                    gaiter_low_mmhg=target.gaiter_low_mmhg,
                    gaiter_high_mmhg=target.gaiter_high_mmhg,
                    source=target.source,
                ),
                "headline": _headline(aim, systems if reached else ()),
                "maxima": PlaceMaxima(**asdict(maxima)),
                "guard_foot": True,
                "chance_allowed": aim.allowed_chance_above,
                "redo_from_chance": policy["redo_from_chance"],
                "take_off_from_chance": policy["take_off_from_chance"],
                "surface": _summary(completion, bandaged_leg),
                "systems": tuple(systems),
                "alternatives": others,
                "excluded": (*excluded, *left_out),
                "next_visit": (
                    case.today + timedelta(days=systems[0].change_days) if reached else None
                ),
            }
        )


class UnknownMaterialError(InputError):
    """The stock names a material that the catalogue does not have."""

    def __init__(self, key: str, known: Sequence[str]) -> None:
        self.key, self.known = key, tuple(known)
        super().__init__(
            f"stock.{key} is not in the catalogue; it has {', '.join(known)}: correct the name"
        )


def _in_stock(case: Case, catalogue: BandageCatalogue) -> dict[str, Material]:
    """Materials that can be used, with the clinic's own sizes and curves."""
    if case.stock is None:
        return dict(catalogue.materials)
    materials = {}
    for key, item in case.stock.items():
        if key not in catalogue.materials:
            raise UnknownMaterialError(key, list(catalogue.materials))
        if item.rolls == 0:
            continue
        own: dict[str, object] = {
            name: value
            for name in ("widths_cm", "relaxed_length_cm")
            if (value := getattr(item, name)) is not None
        }
        if item.thickness_mm is not None:
            cm = item.thickness_mm / 10
            own["thickness"] = Thickness(low_cm=cm, high_cm=cm, source="measured by the clinic")
        if item.curve is not None:
            own["measured"] = StretchCurve(**item.curve.model_dump())
        materials[key] = catalogue[key].model_copy(update=own)
    return materials


@dataclass(frozen=True)
class _Task:
    """One leg that may be compressed, and everything its systems are judged by."""

    patient: Patient
    bandaged_leg: BandagedLeg
    aim: Aim
    policy: Policy
    samples: int
    seed: int
    wanted: frozenset[str] | None = None
    designs: dict[str, Design] = field(default_factory=dict)
    shown: dict[str, Design] = field(default_factory=dict)

    @property
    def leg(self) -> Leg:
        return self.patient.leg

    @property
    def training(self) -> Training:
        return self.patient.case.bandager.training


def _fitted_systems(
    task: _Task, stock: Mapping[str, Material], catalogue: BandageCatalogue
) -> tuple[list[SystemPlan], list[str]]:
    """Every system that can be made and suits, best first, and why the others are left out."""
    ranked, excluded = [], []
    ankle = task.bandaged_leg.measured.girth_cm[Landmark.ANKLE]
    for ideal in catalogue.systems_for(ankle):
        if task.wanted is not None and ideal.name not in task.wanted:
            continue
        system, missing = from_stock(ideal, stock)
        if missing:
            excluded.append(f"{ideal.title}: {missing}")
            continue
        materials = materials_of(system, stock)
        found = arguments(task.patient, system, materials)
        out = [argument.text for argument in found if argument.verdict is Bearing.OUT]
        if out:
            excluded.append(f"{system.title}: {'; '.join(out)}")
            continue
        made, found = _fitted(system, materials, found, task)
        chance = round(made.chance_every_site_in_range, 2)
        rolls = sum(layer.rolls for layer in made.layers)
        # A prescriber accepts an overstated place by name; that does not outweigh a reason.
        key = (
            _RANK[made.outcome],
            task.patient.asks_for_inelastic and Trait.INELASTIC not in system.traits,
            -balance(found),
            made.outcome is not Fit.FITS,
            -chance,
            len(made.layers),
            rolls,
        )
        ranked.append((key, made))
    ranked.sort(key=lambda entry: entry[0])
    return [made for _key, made in ranked], excluded


def _would_be_with(task: _Task, stock: Mapping[str, Material], catalogue: BandageCatalogue) -> str:
    """What would reach the range if it were in stock."""
    if set(stock) >= set(catalogue.materials):
        return ""
    systems, _rest = _fitted_systems(task, {**catalogue.materials, **stock}, catalogue)
    fit = [system.title.lower() for system in systems if _RANK[system.outcome] == 0]
    return f"; it could be reached with {fit[0]}, which is not in stock" if fit else ""


def _fitted(
    system: System,
    materials: Sequence[Material],
    found: Sequence[Argument],
    task: _Task,
    adjustment: Adjustment | None = None,
) -> tuple[SystemPlan, list[Argument]]:
    """The plan of one system, and every argument about it, those that its design gives included."""
    soft = [m.thickness.planned_cm for m in materials if m.thickness is not None]
    even, layer = sum(soft), max(soft, default=0.0)
    build = build_for(task.leg, task.bandaged_leg.bare, even)
    start = (adjustment and adjustment.start) or task.bandaged_leg.measured.start
    end = (adjustment and adjustment.end) or system.end
    padding = Padding(even, layer, build, end, start)
    padded_leg = task.bandaged_leg.under(padding)
    pressing = [
        PressingLayer(recipe, material)
        for recipe, material in zip(system.layers, materials, strict=True)
        if material.presses
    ]

    bandager = task.patient.case.bandager

    def designed(by: Bandager) -> Design:
        return best_design(padded_leg, pressing, task.aim, sampling(by))

    def sampling(by: Bandager) -> Sampling:
        inputs = spread_inputs(system.name, materials, task.patient.case, by, task.policy)
        return Sampling(inputs, task.samples, task.seed)

    for_hands = ""
    if adjustment is None:
        bare = designed(bandager)
        task.designs[system.name] = bare
        design, places = padded(bare, task.aim, {})
        verdict = _in_these_hands(design, places, task, designed)
        if any(layer.material.key in bandager.habits for layer in pressing):
            strangers = designed(Bandager(training=bandager.training))
            for_hands = what_habits_change(bare, strangers, bandager)
    else:
        hand = chosen_by_hand(adjustment, pressing, task.designs[system.name])
        bare = fixed_design(padded_leg, pressing, hand, task.aim, sampling(bandager))
        chosen = {place: mm / 10 for place, mm in adjustment.pads_mm.items()}
        design, places = padded(bare, task.aim, chosen)
        verdict = _verdict(design, places, task.aim, by_hand=True)
    found = [*found, *_by_design(design, task)]
    task.shown[system.name] = design
    against = [a.text for a in found if a.verdict is Bearing.AGAINST]
    if padded_leg.wool.short_cm > 0:
        against.append(
            f"the leg is {padded_leg.wool.short_cm:.0f} cm too thin for what wool can build up"
        )
    verdict = replace(
        verdict,
        reasons_for=tuple(a.text for a in found if a.verdict is Bearing.FOR),
        reasons_against=(*against, *system.substituted),
    )
    days, why = change_days(task.patient, system.change_days)
    built = DesignedSystem(
        system, materials, design, padding, task.bandaged_leg, task.leg, task.aim, task.policy,
        days, why, regular_change_days(task.patient, system.change_days),
        places=places,
        by_hand=adjustment.in_words() if adjustment else (),
        for_hands=for_hands,
    )  # fmt: skip
    return system_plan(built, verdict), found


def _by_design(design: Design, task: _Task) -> list[Argument]:
    """Arguments that only the design can give."""
    steepness, target = steepness_of(design), task.aim.target
    too_steep = steepness.too_steep(target.gaiter_low_mmhg, target.gaiter_high_mmhg, task.policy)
    # Poor arteries need what is inelastic, and inelastic is steep: there it is read twice instead.
    if not too_steep or task.patient.asks_for_inelastic:
        return []
    return [steep_argument(steepness)]


def _headline(aim: Aim, systems: Sequence[SystemPlan]) -> str:
    """Aim, likely and never above as three numbers; the likely one is the first system's."""
    target = aim.target
    likely = ""
    for system in systems[:1]:
        site = next(one for one in system.sites if one.landmark is Landmark.GAITER)
        likely = f"likely {site.median_mmhg:.0f}, "
    return (
        f"Aim {target.gaiter_low_mmhg:g}–{target.gaiter_high_mmhg:g}, {likely}never above "
        f"{aim.maximum_mmhg:g} mmHg at the gaiter"
    )


def _in_these_hands(
    design: Design,
    places: Sequence[JudgedPlace],
    task: _Task,
    designed: Callable[[Bandager], Design],
) -> FitVerdict:
    """The verdict, and whether steadier hands would reach what these do not."""
    verdict = _verdict(design, places, task.aim)
    usable = verdict.fit is not Fit.CANNOT_BE_REACHED
    if usable or task.training is Training.TRAINED_WITH_FEEDBACK:
        return verdict
    steadier, on_it = padded(
        designed(Bandager(training=Training.TRAINED_WITH_FEEDBACK)), task.aim, {}
    )
    if _verdict(steadier, on_it, task.aim).fit is Fit.CANNOT_BE_REACHED:
        return verdict
    marks = 10 * (1 + steadier.layers[-1].stretch)
    safe = design.within and not _cannot(places)
    return replace(
        verdict,
        # What exceeds a maximum in these hands is no plan for them, whoever else could do it.
        fit=Fit.NOT_IN_THESE_HANDS if safe else Fit.CANNOT_BE_REACHED,
        reason=f"{verdict.reason}; someone trained, reading the pressure or the mark spacing "
        f"while bandaging, can reach likely {steadier.median_mmhg(Landmark.GAITER):.0f} "
        f"mmHg with marks {marks:.1f} cm apart",
    )


def _cannot(places: Sequence[JudgedPlace]) -> list[JudgedPlace]:
    """Places above their maximum that neither a pad nor the surface's overstating answers."""
    return [one for one in places if one.exceeds and one.may_be_padded and not one.overstated]


def _verdict(
    design: Design, places: Sequence[JudgedPlace], aim: Aim, *, by_hand: bool = False
) -> FitVerdict:
    """Fits when the likely middle reaches the range and every place is within its maximum."""
    middle = design.median_mmhg(Landmark.GAITER)
    low, high = aim.target.gaiter_low_mmhg, aim.target.gaiter_high_mmhg
    wanted = f"{low:g}–{high:g} mmHg at the gaiter"
    likely = f"likely {middle:.0f} mmHg at the gaiter, wanted {low:g}–{high:g}"
    rises = rises_of(design.ring_mmhg, aim.allowed_rise)
    if not design.within:
        return FitVerdict(
            Fit.CANNOT_BE_REACHED,
            f"{'as changed' if by_hand else 'even at its mildest'} it exceeds "
            f"{aim.maximum_mmhg:g} mmHg in {design.chance_above:.0%} of bandages",
            rises=rises,
        )
    if cannot := _cannot(places):
        worst = worst_of(cannot)
        return FitVerdict(
            Fit.CANNOT_BE_REACHED, f"{_place_words(worst)}: keep turns off it", rises=rises
        )
    if middle < low and not by_hand:
        return FitVerdict(
            Fit.CANNOT_BE_REACHED,
            f"{wanted} cannot be reached: within the maximum of {aim.maximum_mmhg:g} mmHg the "
            f"likely pressure is {middle:.0f} mmHg",
            rises=rises,
        )
    to_accept = [one for one in places if one.exceeds]
    words = [_place_words(worst_of(places))]
    words += [_place_words(one) for one in to_accept if one is not worst_of(places)]
    words += [
        f"in means round the leg it rises from the {rise.lower.label} to the {rise.upper.label}, "
        f"{rise.lower_mmhg:.0f} to {rise.upper_mmhg:.0f} mmHg, by {rise.percent:.0f} %"
        for rise in rises
    ]
    reason = "; ".join((likely if middle >= low else f"{likely}: below it", *words))
    if not to_accept and not rises:
        return FitVerdict(Fit.FITS, reason)
    names = (*(one.name for one in to_accept), *(rise.name for rise in rises))
    return FitVerdict(Fit.TO_ACCEPT, reason, to_accept=names, rises=rises)


def _place_words(place: JudgedPlace) -> str:
    """One place with its number and its maximum."""
    pad = f" with a pad of {10 * place.pad_cm:.0f} mm" if place.pad_cm > 0 else ""
    if not place.exceeds:
        return (
            f"the worst place is the {place.name}, up to {place.high_mmhg:.0f} of "
            f"{place.maximum_mmhg:.0f} mmHg{pad}"
        )
    even = f" even{pad}" if pad else ""
    above = f"the {place.name} has up to {place.high_mmhg:.0f} mmHg{even}, its maximum is "
    marked = " (surface overstates this place)" if place.overstated else ""
    return f"{above}{place.maximum_mmhg:.0f} mmHg{marked}"


def _summary(completion: Completion, bandaged_leg: BandagedLeg) -> SurfaceSummary:
    measured = completion.measurements
    return SurfaceSummary(
        foot_length_cm=measured.foot_length_cm,
        position_cm=dict(measured.position_cm),
        start=measured.start,
        volume_ml=limb_volume_ml(measured),
        estimated=measured.estimated,
        questions=completion.questions,
        girth_cm=dict(measured.girth_cm),
        s_cm=dict(bandaged_leg.bare.landmark_s_cm),
    )


def _assumptions(case: Case) -> tuple[str, ...]:
    statements = []
    if case.stock is None:
        statements.append("Stock was not given: every material of the catalogue is taken as there.")
    own = {key for key, item in (case.stock or {}).items() if item.curve is not None}
    generic = (
        "Materials are generic" if not own else f"Materials other than {', '.join(own)} are generic"
    )
    statements.append(
        f"{generic}: pressure class and extension class stand for the fabric until a bench test "
        f"replaces them."
    )
    wool = (case.stock or {}).get("orthopaedic_wool")
    if wool is None or wool.thickness_mm is None:
        statements.append(
            "Thickness of the wool is assumed (0 to 5.65 mm a layer, no published value): measure "
            "the girth again over the wool and plan with it."
        )
    return tuple(statements)
