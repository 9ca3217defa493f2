"""What else compresses, for self-care, refusal, or where no trained hands are: not laid in turns.

Generic kinds only. The level is what sources name for the kind, not computed on this leg.
"""

from collections.abc import Callable
from dataclasses import dataclass

from gaiter.core.case import Allergen, Footwear, Training
from gaiter.core.plan.document import Alternative
from gaiter.core.plan.suitability import Patient

_PRACTICE, _MEMORY = "common practice, no source", "from memory, not verified"


@dataclass(frozen=True)
class _Kind:
    """One generic kind: what it gives at most at the ankle [mmHg] and what it is like."""

    name: str
    title: str
    most_mmhg: float
    level: str
    elastic: bool
    allergens: frozenset[Allergen]


ADJUSTABLE_WRAP = _Kind(
    "adjustable_wrap",
    "Adjustable wrap",
    40.0,
    "set again as the leg shrinks (40 mmHg and above in ESVS 2022, from memory)",
    elastic=False,
    allergens=frozenset(),
)
TUBULAR = _Kind(
    "tubular_layers",
    "Tubular elastic bandage, one to three layers",
    18.0,
    "one layer 14 (11–18) mmHg at the gaiter, 17 at the calf (40 volunteers, Ann Vasc Dis "
    "2020;13:410); layers add",
    elastic=True,
    allergens=frozenset({Allergen.RUBBER_ACCELERATORS}),
)
STOCKINGS = _Kind(
    "two_layer_stockings",
    "Two-layer stockings",
    40.0,
    "about 35–40 mmHg at the ankle with both layers on, about 20 with one (hosiery kits; "
    "levels from memory, not verified)",
    elastic=True,
    allergens=frozenset({Allergen.RUBBER_ACCELERATORS}),
)
KINDS = (ADJUSTABLE_WRAP, TUBULAR, STOCKINGS)

_Reason = Callable[[Patient, _Kind], str]


def alternatives(patient: Patient) -> tuple[tuple[Alternative, ...], tuple[str, ...]]:
    """What may be worn instead of a bandage, with reasons, and what is left out and why.

    Parameters
    ----------
    patient : Patient
        Case, leg and decision; the decision allows compression.

    Returns
    -------
    tuple[Alternative, ...], tuple[str, ...]
    """
    found, excluded = [], []
    for kind in KINDS:
        out = _excluded(patient, kind)
        if out:
            excluded.append(f"{kind.title}: {out}")
            continue
        found.append(
            Alternative(
                name=kind.name,
                title=kind.title,
                level=_level(patient, kind),
                reasons_for=tuple(filter(None, (rule(patient, kind) for rule in _FOR))),
                reasons_against=tuple(filter(None, (rule(patient, kind) for rule in _AGAINST))),
            )
        )
    # What has most for it first; equal ones stay in order.
    found.sort(key=lambda one: len(one.reasons_against) - len(one.reasons_for))
    return tuple(found), tuple(excluded)


def _excluded(p: Patient, kind: _Kind) -> str:
    shared = kind.allergens & set(p.case.person.allergies or ())
    if shared:
        return f"allergy to {', '.join(sorted(shared))}, which it may contain"
    if kind.elastic and (p.asks_for_inelastic or p.inelastic_only):
        return (
            "elastic keeps its pressure at rest; these arteries need inelastic "
            "(Mosti et al. 2012, J Vasc Surg 55:122)"
        )
    maximum = p.decision.maximum_mmhg or 0.0
    if kind is STOCKINGS and kind.most_mmhg > maximum:
        return f"both layers give up to {kind.most_mmhg:g} mmHg, the maximum is {maximum:g}"
    if kind is TUBULAR and kind.most_mmhg > maximum:
        return f"even one layer gives up to {kind.most_mmhg:g} mmHg, the maximum is {maximum:g}"
    return ""


def _level(p: Patient, kind: _Kind) -> str:
    """What it gives; a wrap is set by hand and never above this leg's maximum."""
    if kind is not ADJUSTABLE_WRAP:
        return kind.level
    most = min(kind.most_mmhg, p.decision.maximum_mmhg or 0.0)
    return f"set by its own gauge, here never above {most:g} mmHg; {kind.level}"


def _self_care(p: Patient, kind: _Kind) -> str:
    if p.case.person.rebandaged_by in ("self", "carer") and kind is not TUBULAR:
        return f"the {p.case.person.rebandaged_by} can put it on and take it off ({_MEMORY})"
    return ""


def _no_trained_hands(p: Patient, kind: _Kind) -> str:
    if p.case.bandager.training is not Training.UNTRAINED:
        return ""
    if kind is ADJUSTABLE_WRAP:
        return f"no trained hands: its own gauge sets the pressure ({_MEMORY})"
    return f"no trained hands: its size sets the pressure ({_PRACTICE})"


def _refusal(p: Patient, kind: _Kind) -> str:
    refused = set(p.case.person.does_not_tolerate)
    if refused & {"elastic", "cohesive"} and not kind.elastic:
        return f"instead of what was not tolerated ({_PRACTICE})"
    return ""


def _shoe(p: Patient, kind: _Kind) -> str:
    if p.case.person.footwear is Footwear.ORDINARY_SHOE and kind is STOCKINGS:
        return "fits an ordinary shoe; the ankle moves freely (J Foot Ankle Res 2016)"
    return ""


def _small_wound(p: Patient, kind: _Kind) -> str:
    wound = p.leg.wound
    if kind is STOCKINGS and wound and p.exudate in ("none", "light"):
        return "healed as many ulcers as four layers, 70.9 and 70.4 % (VenUS IV, from memory)"
    return ""


def _shrinking(p: Patient, kind: _Kind) -> str:
    if kind is ADJUSTABLE_WRAP and (p.leg.findings.pitting_grade or 0) >= 3:
        return f"is set again as the leg shrinks ({_MEMORY})"
    return ""


def _wet(p: Patient, kind: _Kind) -> str:
    if kind is STOCKINGS and p.exudate == "heavy":
        return f"heavy exudate: it soils; bandage first ({_MEMORY})"
    return ""


def _fragile(p: Patient, kind: _Kind) -> str:
    if kind is STOCKINGS and p.friable:
        return "pulling it on shears fragile skin (review of technique, read in part)"
    return ""


def _straight_tube(_p: Patient, kind: _Kind) -> str:
    if kind is TUBULAR:
        return "a straight tube presses harder on the calf than at the gaiter (Ann Vasc Dis 2020)"
    return ""


def _swollen(p: Patient, kind: _Kind) -> str:
    if kind is STOCKINGS and (p.leg.findings.pitting_grade or 0) >= 3:
        return f"measured on a swollen leg it is too wide in a week ({_PRACTICE})"
    return ""


_FOR: tuple[_Reason, ...] = (
    _self_care, _no_trained_hands, _refusal, _shoe, _small_wound, _shrinking,
)  # fmt: skip
_AGAINST: tuple[_Reason, ...] = (_straight_tube, _wet, _fragile, _swollen)
