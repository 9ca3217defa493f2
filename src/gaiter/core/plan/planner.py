"""The one function that makes a plan."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import timedelta

from gaiter import __version__
from gaiter.core.case import Case
from gaiter.core.fabric import Material
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import LegShapeError
from gaiter.core.leg.completion import Completion, complete_measurements
from gaiter.core.leg.volume import limb_volume_ml
from gaiter.core.plan.alternatives import alternatives, left_out
from gaiter.core.plan.bench import Bench, LegBench
from gaiter.core.plan.design import Aim
from gaiter.core.plan.document import (
    CaseLabel,
    Fit,
    LegPlan,
    Plan,
    Status,
    SurfaceSummary,
    SystemPlan,
    TargetRange,
    Versions,
)
from gaiter.core.plan.hands import calibration_in_words, offsets_in_words
from gaiter.core.plan.leg_readings import leg_readings_in_words
from gaiter.core.plan.maxima import maxima_of
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.pressures import PlaceMaxima
from gaiter.core.plan.statements import CAUTIONS, LIMITS, SOURCES
from gaiter.core.plan.stock import in_stock
from gaiter.core.plan.suitability import Bearing, Patient, arguments, balance
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.plan.system_on_leg import LegTask, SystemOnLeg, computed
from gaiter.core.plan.systems import Trait, from_stock, materials_of
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.safety import LegDecision, Outcome, decide
from gaiter.core.words import NOTHING, SEMICOLON, Said, Value, joined

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
        Materials, whose sizes and curves the case's stock replaces, and the systems made of them.
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

    References
    ----------
    Thomas S. EWMA Journal 2003;3(1):21-23 (tension over radius); Al Khaburi et al. 2011 and Dale et
    al. 2004 (layers); Gordon et al. 2014, NATICK/TR-15/007 (proportions of the leg). Every plan
    holds them in ``sources``.

    Examples
    --------
    An ulcer and a system that is only for sprains:

    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.files.example_bench import example_case
    >>> from gaiter.files.policy_file import shipped_policy
    >>> only = frozenset({"light_support"})
    >>> made = plan(example_case(), shipped_policy(), shipped_catalogue(), systems=only)
    >>> made.legs["right"].status.value, "too little at rest" in made.legs["right"].excluded[0]
    ('cannot be reached', True)
    """
    return bench_of(case, policy, catalogue, seed=seed, samples=samples, systems=systems).plan


def bench_of(
    case: Case,
    policy: Policy,
    catalogue: BandageCatalogue,
    *,
    seed: int = DEFAULT_SEED,
    samples: int = SAMPLES,
    systems: frozenset[str] | None = None,
) -> Bench:
    """The plan of a case with what it was computed from.

    Parameters
    ----------
    case, policy, catalogue, seed, samples, systems
        Those of :func:`plan`.

    Returns
    -------
    Bench

    Raises
    ------
    UnknownMaterialError
        If the stock names a material that the catalogue does not have.

    Examples
    --------
    Where no system suits there is a reason, and nothing that could be changed by hand:

    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.files.example_bench import example_case
    >>> from gaiter.files.policy_file import shipped_policy
    >>> only = frozenset({"light_support"})
    >>> bench = bench_of(example_case(), shipped_policy(), shipped_catalogue(), systems=only)
    >>> bench.plan.legs["right"].status.value, dict(bench.legs["right"].made)
    ('cannot be reached', {})
    """
    stock = in_stock(case, catalogue)
    safety = decide(case, policy)
    planned: dict[Side, LegPlan] = {}
    benches: dict[Side, LegBench] = {}
    for side in case.legs:
        task = _task(case, side, safety.legs[side], policy, stock, samples, seed)
        if isinstance(task, LegPlan):
            planned[side] = task
            continue
        planned[side], benches[side] = _planned(task, catalogue, systems)
    made = Plan(
        case=CaseLabel.of(case),
        today=case.today,
        versions=Versions(
            gaiter=__version__,
            policy=policy.label,
            policy_changes=policy.changes,
            policy_sha256=policy.sha256,
            catalogue_sha256=catalogue.sha256,
            systems_sha256=catalogue.systems_sha256,
            systems_changes=catalogue.systems_changes,
        ),
        seed=seed,
        samples=samples,
        theory_remainder=policy["theory_remainder_median"],
        bandager=case.bandager.training.value,
        person_reasons=safety.person_reasons,
        legs=planned,
        assumptions=(*_assumptions(case), *_theory(case, policy)),
        limits=LIMITS,
        cautions=CAUTIONS,
        sources=SOURCES,
    )
    return Bench(made, benches)


def _bare_plan(case: Case, side: Side, decision: LegDecision) -> LegPlan:
    leg = case.legs[side]
    return LegPlan(
        side=side,
        purpose=leg.purpose.value,
        status=Status.STOPPED,
        status_reason=decision.said,
        decision=decision,
        wound_place=leg.wound.place if leg.wound else None,
    )


def _task(
    case: Case,
    side: Side,
    decision: LegDecision,
    policy: Policy,
    stock: Mapping[str, Material],
    samples: int,
    seed: int,
) -> LegTask | LegPlan:
    """What is to be planned on a leg; where nothing can be, its plan with the reason."""
    leg, base = case.legs[side], _bare_plan(case, side, decision)

    def unreached(reason: Said) -> LegPlan:
        return base.model_copy(update={"status": Status.CANNOT_BE_REACHED, "status_reason": reason})

    if decision.outcome is Outcome.STOP:
        return base
    if decision.maximum_mmhg is None:
        return base.model_copy(update={"status": Status.NOT_YET})
    if decision.aim is None:
        return unreached(
            Said(
                "nothing to aim at under {maximum:g} mmHg is known",
                {"maximum": decision.maximum_mmhg},
                "no_aim",
            )
        )
    if leg.findings.foot_collapsed:
        return unreached(
            Said(
                "the foot is collapsed, a shape outside the model: bandage it by hand, with a "
                "sensor",
                code="collapsed_foot",
            )
        )
    completion = complete_measurements(leg, case.person.sex)
    try:
        bandaged_leg = BandagedLeg(completion.measurements)
    except LegShapeError as error:
        return unreached(error.said)
    maxima = maxima_of(decision, policy)
    aim = Aim(
        target_range(decision.aim, maxima, policy),
        maxima,
        policy["chance_above_maximum"],
        policy["rise_allowed_percent"] / 100,
    )
    return LegTask(
        Patient(case, leg, decision), side, completion, bandaged_leg, aim, policy, stock,
        samples, seed,
    )  # fmt: skip


def _planned(
    task: LegTask, catalogue: BandageCatalogue, wanted: frozenset[str] | None
) -> tuple[LegPlan, LegBench]:
    """The plan of a leg that may be compressed, and the bench of its systems."""
    case, aim, policy = task.patient.case, task.aim, task.policy
    made, excluded = _ranked(task, catalogue, wanted)
    systems = [one.plan for one in made]
    others, not_worn = alternatives(task.patient)
    reached = bool(systems) and systems[0].outcome is not Fit.CANNOT_BE_REACHED
    reason = task.patient.decision.said
    if not reached:
        reason = Said("no system can be made from the stock", code="no_stock")
        if systems:
            reason = systems[0].outcome_reason
        reason = joined(filter(None, (reason, _would_be_with(task, catalogue, wanted))), SEMICOLON)
    leg = _bare_plan(case, task.side, task.patient.decision).model_copy(
        update={
            "status": Status.PLANNED if reached else Status.CANNOT_BE_REACHED,
            "status_reason": reason,
            "target": TargetRange(
                gaiter_low_mmhg=aim.target.gaiter_low_mmhg,
                gaiter_high_mmhg=aim.target.gaiter_high_mmhg,
                source=task.patient.decision.aim.said if task.patient.decision.aim else NOTHING,
            ),
            "headline": _headline(aim, systems if reached else ()),
            "maxima": PlaceMaxima(**asdict(aim.maxima)),
            "guard_foot": True,
            "chance_allowed": aim.allowed_chance_above,
            "redo_from_chance": policy["redo_from_chance"],
            "take_off_from_chance": policy["take_off_from_chance"],
            "surface": _summary(task.completion, task.bandaged_leg),
            "systems": tuple(systems),
            "alternatives": others,
            "excluded": (*excluded, *not_worn),
            "next_visit": (
                case.today + timedelta(days=systems[0].change_days) if reached else None
            ),
        }
    )
    return leg, LegBench(task, {one.plan.name: one for one in made})


def _ranked(
    task: LegTask, catalogue: BandageCatalogue, wanted: frozenset[str] | None = None
) -> tuple[list[SystemOnLeg], list[Said]]:
    """Every system that can be made and suits, best first, and why the others are left out."""
    ranked, excluded = [], []
    ankle = task.bandaged_leg.measured.girth_cm[Landmark.ANKLE]
    for ideal in catalogue.systems_for(ankle):
        if wanted is not None and ideal.name not in wanted:
            continue
        system, missing = from_stock(ideal, task.stock)
        if missing:
            excluded.append(left_out(ideal.name, ideal.title, missing))
            continue
        materials = materials_of(system, task.stock)
        found = arguments(task.patient, system, materials)
        out = [argument.text for argument in found if argument.verdict is Bearing.OUT]
        if out:
            excluded.append(left_out(system.name, system.title, joined(out, SEMICOLON)))
            continue
        made = computed(system, materials, found, task)
        ranked.append(made)
    fitting = [one.plan for one in ranked if one.plan.outcome is Fit.FITS]
    likeliest = max((one.chance_every_site_in_range for one in fitting), default=0.0)
    ranked.sort(key=lambda made: _order(made, task.patient, likeliest))
    return ranked, excluded


def _order(made: SystemOnLeg, patient: Patient, likeliest: float) -> tuple[float, ...]:
    """What sorts systems, best first; the earlier counts before the later."""
    plan = made.plan
    return (
        _RANK[plan.outcome],
        patient.asks_for_inelastic and Trait.INELASTIC not in made.system.traits,
        # No reason outweighs pressures that come true less than half as often (our choice).
        plan.chance_every_site_in_range < likeliest / 2,
        -balance(made.arguments),
        # A prescriber accepts an overstated place by name; that does not outweigh a reason.
        plan.outcome is not Fit.FITS,
        -round(plan.chance_every_site_in_range, 2),
        len(plan.layers),
        sum(layer.rolls for layer in plan.layers),
    )


def _would_be_with(
    task: LegTask, catalogue: BandageCatalogue, wanted: frozenset[str] | None
) -> Said:
    """What would reach the range if it were in stock."""
    if set(task.stock) >= set(catalogue.materials):
        return NOTHING
    made, _excluded = _ranked(
        replace(task, stock={**catalogue.materials, **task.stock}), catalogue, wanted
    )
    fit = [one.plan.title.lower() for one in made if _RANK[one.plan.outcome] == 0]
    if not fit:
        return NOTHING
    return Said(
        "it could be reached with {system}, which is not in stock", {"system": Said(fit[0])}
    )


def _headline(aim: Aim, systems: Sequence[SystemPlan]) -> Said:
    """Aim, likely and never above as three numbers; the likely one is the first system's."""
    values: dict[str, Value] = {
        "low": aim.target.gaiter_low_mmhg,
        "high": aim.target.gaiter_high_mmhg,
        "maximum": aim.maximum_mmhg,
    }
    if not systems:
        return Said(
            "Aim {low:g}–{high:g}, never above {maximum:g} mmHg at the gaiter", values, "headline"
        )
    values["likely"] = next(
        site.median_mmhg for site in systems[0].sites if site.landmark is Landmark.GAITER
    )
    return Said(
        "Aim {low:g}–{high:g}, likely {likely:.0f}, never above {maximum:g} mmHg at the gaiter",
        values,
        "headline",
    )


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
        depth_over_width=dict(measured.depth_over_width),
    )


_GENERIC = (
    "Materials are generic: pressure class and extension class stand for the fabric until a bench "
    "test replaces them."
)
_OWN_CURVES = (
    "Materials other than {own} are generic: pressure class and extension class stand for the "
    "fabric until a bench test replaces them."
)


def _theory(case: Case, policy: Policy) -> tuple[Said, ...]:
    """What stands behind measured over theory: the clinic's sensor, and each leg's own readings."""
    legs = [said for side in case.legs for said in leg_readings_in_words(case, side, policy)]
    clinic = calibration_in_words(case.calibration, policy)
    if legs and case.calibration is None:
        # "No reading stands behind the pressures" would contradict what follows.
        clinic = Said(
            "Before this leg's own readings measured over theory is taken as {shipped:.2f}, by "
            "policy.",
            {"shipped": policy["theory_remainder_median"]},
            "not_calibrated",
        )
    return (clinic, *offsets_in_words(case.calibration), *legs)


def _assumptions(case: Case) -> tuple[Said, ...]:
    statements = []
    if case.stock is None:
        statements.append(
            Said("Stock was not given: every material of the catalogue is taken as there.")
        )
    own = [Said(key) for key, item in (case.stock or {}).items() if item.curve is not None]
    statements.append(Said(_OWN_CURVES, {"own": joined(own)}) if own else Said(_GENERIC))
    wool = (case.stock or {}).get("orthopaedic_wool")
    if wool is None or wool.thickness_mm is None:
        statements.append(
            Said(
                "Thickness of the wool is assumed (0 to 5.65 mm a layer, no published value): "
                "measure the girth again over the wool and plan with it."
            )
        )
    return tuple(statements)
