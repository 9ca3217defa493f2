"""The one function that makes a plan."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gaiter import __version__
from gaiter.core.case import Case, Leg, Training
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.completion import Completion, complete_measurements
from gaiter.core.leg.volume import limb_volume_ml
from gaiter.core.material import Catalogue, Material, Thickness
from gaiter.core.plan.assemble import Verdict, padding_thickness_cm, system_plan
from gaiter.core.plan.design import Aim, Design, best_design
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
from gaiter.core.plan.fitting import Fitting
from gaiter.core.plan.statements import CAUTIONS, LIMITS, SOURCES
from gaiter.core.plan.systems import SYSTEMS, System
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.pressure.spread import SpreadInputs
from gaiter.core.safety import LegDecision, Outcome, decide

SAMPLES = 2048
DEFAULT_SEED = 20261

# Reasons that allow compression only with inelastic material.
_ASK_FOR_INELASTIC = ("ankle_brachial_reduced", "ankle_brachial_stop", "toe_brachial_reduced")
_RANK = {Fit.FITS: 0, Fit.NOT_IN_THESE_HANDS: 1, Fit.CANNOT_BE_REACHED: 2}


def plan(
    case: Case,
    policy: Policy,
    catalogue: Catalogue,
    *,
    seed: int = DEFAULT_SEED,
    samples: int = SAMPLES,
) -> Plan:
    """The bandaging plan for every leg of a case.

    Parameters
    ----------
    case : Case
        One person, one day.
    policy : Policy
        Local policy.
    catalogue : Catalogue
        Materials; the case's stock replaces sizes.
    seed, samples : int
        Seed and size (a power of two) of the spread; the same give the same plan.

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
    materials = _in_stock(case, catalogue)
    safety = decide(case, policy)
    legs = {
        side: _leg_plan(
            case, side, safety.legs[side], policy, materials, seed=seed, samples=samples
        )
        for side in case.legs
    }
    return Plan(
        case=CaseLabel(reference=case.reference, invented=case.invented),
        today=case.today,
        versions=Versions(
            gaiter=__version__,
            policy=policy.label,
            policy_changes=policy.changes,
            policy_sha256=policy.sha256,
            catalogue_sha256=catalogue.sha256,
        ),
        seed=seed,
        samples=samples,
        bandager=case.bandager.training.value,
        person_reasons=safety.person_reasons,
        legs=legs,
        assumptions=_assumptions(case),
        limits=LIMITS,
        cautions=CAUTIONS,
        sources=SOURCES,
    )


class UnknownMaterialError(ValueError):
    """The stock names a material that the catalogue does not have."""

    def __init__(self, key: str, known: Sequence[str]) -> None:
        self.key, self.known = key, tuple(known)
        super().__init__(
            f"stock.{key} is not in the catalogue; it has {', '.join(known)}: correct the name"
        )


def _in_stock(case: Case, catalogue: Catalogue) -> dict[str, Material]:
    """Materials that can be used, with the clinic's own sizes."""
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
        materials[key] = catalogue[key].model_copy(update=own)
    return materials


@dataclass(frozen=True)
class _Task:
    """One leg that may be compressed, and everything its systems are judged by."""

    case: Case
    leg: Leg
    decision: LegDecision
    fitting: Fitting
    aim: Aim
    policy: Policy
    seed: int
    samples: int


def _leg_plan(
    case: Case,
    side: Side,
    decision: LegDecision,
    policy: Policy,
    materials: dict[str, Material],
    *,
    seed: int,
    samples: int,
) -> LegPlan:
    leg = case.legs[side]
    base = LegPlan(
        side=side,
        purpose=leg.purpose.value,
        status=Status.STOPPED,
        status_reason=decision.headline,
        decision=decision,
    )
    if decision.outcome is Outcome.STOP:
        return base
    if not decision.maximum_mmhg:
        return base.model_copy(update={"status": Status.NOT_YET})
    target = target_range(leg.purpose, decision.maximum_mmhg, policy)
    if target is None:
        reason = f"no target range of the policy lies under {decision.maximum_mmhg:g} mmHg"
        return base.model_copy(update={"status": Status.CANNOT_BE_REACHED, "status_reason": reason})
    completion = complete_measurements(leg, case.person.sex)
    fitting = Fitting(completion.measurements)
    aim = Aim(target, decision.maximum_mmhg, policy["chance_above_maximum"])
    task = _Task(case, leg, decision, fitting, aim, policy, seed, samples)
    systems, excluded = [], []
    for system in SYSTEMS:
        reason = _why_not(system, case, materials)
        if reason:
            excluded.append(f"{system.title}: {reason}")
        else:
            chosen = [materials[recipe.material] for recipe in system.layers]
            systems.append(_fitted(system, chosen, task))
    systems.sort(key=lambda s: (_RANK[s.outcome], bool(s.reasons_against), -_chance(s)))
    reached = bool(systems) and systems[0].outcome is not Fit.CANNOT_BE_REACHED
    best = systems[0].outcome_reason if systems else "no system can be made from the stock"
    return base.model_copy(
        update={
            "status": Status.PLANNED if reached else Status.CANNOT_BE_REACHED,
            "status_reason": decision.headline if reached else best,
            "target": TargetRange(
                gaiter_low_mmhg=target.gaiter_low_mmhg,
                gaiter_high_mmhg=target.gaiter_high_mmhg,
                source=target.source,
            ),
            "surface": _summary(completion, fitting),
            "systems": tuple(systems),
            "excluded": tuple(excluded),
        }
    )


def _chance(system: SystemPlan) -> float:
    return round(system.chance_every_site_in_range, 2)


def _why_not(system: System, case: Case, materials: dict[str, Material]) -> str:
    """Why a system is left out; empty when it can be used."""
    for recipe in system.layers:
        if recipe.material not in materials:
            return f"{recipe.material.replace('_', ' ')} is not in stock"
        allergic = set(materials[recipe.material].allergens) & set(case.person.allergies or ())
        if allergic:
            return (
                f"allergy to {', '.join(sorted(allergic))}, which "
                f"{materials[recipe.material].title.lower()} may contain"
            )
    return ""


def _fitted(system: System, materials: Sequence[Material], task: _Task) -> SystemPlan:
    ground = task.fitting.under(padding_thickness_cm(materials))
    recipe, pressing = next(
        (recipe, material)
        for recipe, material in zip(system.layers, materials, strict=True)
        if material.presses
    )

    def designed(training: Training) -> Design:
        inputs = _spread_inputs(materials, training, task.policy)
        return best_design(
            ground, recipe, pressing, task.aim, inputs, samples=task.samples, seed=task.seed
        )

    training = task.case.bandager.training
    design = designed(training)
    verdict = _verdict(design, task.aim)
    if verdict.fit is not Fit.FITS and training is not Training.TRAINED_WITH_FEEDBACK:
        steadier = _verdict(designed(Training.TRAINED_WITH_FEEDBACK), task.aim)
        if steadier.fit is Fit.FITS:
            verdict = Verdict(
                Fit.NOT_IN_THESE_HANDS,
                f"{verdict.reason}; someone trained, reading the pressure or the mark spacing "
                f"while bandaging, can reach it",
            )
    reasons_for, reasons_against = _for_and_against(pressing, task.decision)
    verdict = replace(verdict, reasons_for=reasons_for, reasons_against=reasons_against)
    return system_plan(
        system, materials, design, verdict, task.fitting, task.leg, task.aim, task.policy
    )


def _for_and_against(
    material: Material, decision: LegDecision
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What the arteries say of an elastic or inelastic layer."""
    asks_inelastic = any(reason.code in _ASK_FOR_INELASTIC for reason in decision.reasons)
    if not asks_inelastic:
        return (), ()
    if material.kind == "inelastic":
        return ("inelastic, as the arteries ask: low at rest, high when walking",), ()
    return (), ("elastic: it keeps its pressure at rest, which these arteries do not allow",)


def _spread_inputs(
    materials: Sequence[Material], training: Training, policy: Policy
) -> SpreadInputs:
    thicknesses = [m.thickness for m in materials if m.thickness is not None]
    return SpreadInputs(
        tension_cv=policy.hands[training].tension_cv,
        remainder_median=policy["theory_remainder_median"],
        remainder_range95=policy["theory_remainder_range95"],
        padding_cm=(
            sum(t.low_cm for t in thicknesses),
            sum(t.planned_cm for t in thicknesses),
            sum(t.high_cm for t in thicknesses),
        ),
    )


def _verdict(design: Design, aim: Aim) -> Verdict:
    """Fits when the likely middle at the gaiter reaches the range within the maximum."""
    middle = design.median_mmhg(Landmark.GAITER)
    low, high = aim.target.gaiter_low_mmhg, aim.target.gaiter_high_mmhg
    wanted = f"{low:g}–{high:g} mmHg at the gaiter"
    if not design.within:
        return Verdict(
            Fit.CANNOT_BE_REACHED,
            f"even at its least stretch it exceeds {aim.maximum_mmhg:g} mmHg in "
            f"{design.chance_above:.0%} of bandages",
        )
    if middle < low:
        return Verdict(
            Fit.CANNOT_BE_REACHED,
            f"{wanted} cannot be reached: within the maximum of {aim.maximum_mmhg:g} mmHg the "
            f"likely pressure is {middle:.0f} mmHg",
        )
    return Verdict(Fit.FITS, f"likely {middle:.0f} mmHg at the gaiter, wanted {wanted}")


def _summary(completion: Completion, fitting: Fitting) -> SurfaceSummary:
    measured = completion.measurements
    return SurfaceSummary(
        foot_length_cm=measured.foot_length_cm,
        position_cm=dict(measured.position_cm),
        start=measured.start,
        volume_ml=limb_volume_ml(measured),
        estimated=measured.estimated,
        questions=completion.questions,
        girth_cm=dict(measured.girth_cm),
        s_cm=dict(fitting.under(0.0).surface.landmark_s_cm),
    )


def _assumptions(case: Case) -> tuple[str, ...]:
    statements = []
    if case.stock is None:
        statements.append("Stock was not given: every material of the catalogue is taken as there.")
    statements.append(
        "Materials are generic: pressure class and extension class stand for the fabric until a "
        "bench test replaces them."
    )
    statements.append(
        "Thickness of the wool is assumed (0 to 5.65 mm a layer, no published value): measure the "
        "girth again over the wool and plan with it."
    )
    return tuple(statements)
