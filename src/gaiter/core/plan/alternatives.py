"""What else compresses, for self-care, refusal, or where no trained hands are: not laid in turns.

Generic kinds only. The level is what sources name for the kind, not computed on this leg.
"""

from collections.abc import Callable
from dataclasses import dataclass

from gaiter.core.case import Allergen, Footwear, Training
from gaiter.core.plan.document import Alternative
from gaiter.core.plan.suitability import Patient
from gaiter.core.words import NOTHING, Said, sourced, words

_PRACTICE, _MEMORY = Said("common practice, no source"), Said("from memory, not verified")


@dataclass(frozen=True)
class _Kind:
    """One generic kind: what it gives at most at the ankle [mmHg] and what it is like."""

    name: str
    title: str
    most_mmhg: float
    level: Said
    elastic: bool
    allergens: frozenset[Allergen]


ADJUSTABLE_WRAP = _Kind(
    "adjustable_wrap",
    "Adjustable wrap",
    40.0,
    Said("set again as the leg shrinks (40 mmHg and above in ESVS 2022, from memory)"),
    elastic=False,
    allergens=frozenset(),
)
TUBULAR = _Kind(
    "tubular_layers",
    "Tubular elastic bandage, one to three layers",
    18.0,
    Said(
        "one layer 14 (11–18) mmHg at the gaiter, 17 at the calf (40 volunteers, Ann Vasc Dis "
        "2020;13:410); layers add"
    ),
    elastic=True,
    allergens=frozenset({Allergen.RUBBER_ACCELERATORS}),
)
STOCKINGS = _Kind(
    "two_layer_stockings",
    "Two-layer stockings",
    40.0,
    Said(
        "about 35–40 mmHg at the ankle with both layers on, about 20 with one (hosiery kits; "
        "levels from memory, not verified)"
    ),
    elastic=True,
    allergens=frozenset({Allergen.RUBBER_ACCELERATORS}),
)
KINDS = (ADJUSTABLE_WRAP, TUBULAR, STOCKINGS)

_Reason = Callable[[Patient, _Kind], Said]


def alternatives(patient: Patient) -> tuple[tuple[Alternative, ...], tuple[Said, ...]]:
    """What may be worn instead of a bandage, with reasons, and what is left out and why.

    Parameters
    ----------
    patient : Patient
        Case, leg and decision; the decision allows compression.

    Returns
    -------
    tuple[Alternative, ...], tuple[Said, ...]
        Kinds that may be worn, best first; each with the pressure that its source names.

    References
    ----------
    Tubular bandage: 40 volunteers, Ann Vasc Dis 2020;13:410. Inelastic on poor arteries: Mosti et
    al. 2012, J Vasc Surg 55:122. Levels of wraps and stockings: from memory, not verified.

    Examples
    --------
    Elastic kinds are left out where the arteries ask for inelastic:

    >>> from dataclasses import replace
    >>> from gaiter.core.safety import Effect
    >>> from gaiter.files.example_bench import example_bench
    >>> patient = example_bench().legs["right"].task.patient
    >>> mixed = patient.decision.model_copy(update={"effects": {Effect.INELASTIC}})
    >>> [one.name for one in alternatives(replace(patient, decision=mixed))[0]]
    ['adjustable_wrap']
    """
    found, excluded = [], []
    for kind in KINDS:
        out = _excluded(patient, kind)
        if out:
            excluded.append(left_out(kind.name, kind.title, out))
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


def left_out(name: str, title: str, why: Said) -> Said:
    """What is not offered, by its title, and why.

    Parameters
    ----------
    name, title : str
        Key, and name for a reader.
    why : Said
        The reason.

    Returns
    -------
    Said
        Its code is the key.

    Examples
    --------
    >>> left_out("four_layer", "Four layers", Said("wool is not in stock")).text
    'Four layers: wool is not in stock'
    """
    return Said("{title}: {why}", {"title": Said(title), "why": why}, name)


def _excluded(p: Patient, kind: _Kind) -> Said:
    shared = kind.allergens & set(p.case.person.allergies or ())
    if shared:
        return Said(
            "allergy to {allergens}, which it may contain",
            {"allergens": words(sorted(allergen.value for allergen in shared))},
        )
    if kind.elastic and (p.asks_for_inelastic or p.inelastic_only):
        return sourced(
            Said("elastic keeps its pressure at rest; these arteries need inelastic"),
            Said("Mosti et al. 2012, J Vasc Surg 55:122"),
        )
    maximum = p.decision.maximum_mmhg or 0.0
    values = {"most": kind.most_mmhg, "maximum": maximum}
    if kind is STOCKINGS and kind.most_mmhg > maximum:
        return Said("both layers give up to {most:g} mmHg, the maximum is {maximum:g}", values)
    if kind is TUBULAR and kind.most_mmhg > maximum:
        return Said("even one layer gives up to {most:g} mmHg, the maximum is {maximum:g}", values)
    return NOTHING


def _level(p: Patient, kind: _Kind) -> Said:
    """What it gives; a wrap is set by hand and never above this leg's maximum."""
    if kind is not ADJUSTABLE_WRAP:
        return kind.level
    most = min(kind.most_mmhg, p.decision.maximum_mmhg or 0.0)
    return Said(
        "set by its own gauge, here never above {most:g} mmHg; {level}",
        {"most": most, "level": kind.level},
    )


def _self_care(p: Patient, kind: _Kind) -> Said:
    by = p.case.person.rebandaged_by
    if by in ("self", "carer") and kind is not TUBULAR:
        return sourced(Said("the {by} can put it on and take it off", {"by": Said(by)}), _MEMORY)
    return NOTHING


def _no_trained_hands(p: Patient, kind: _Kind) -> Said:
    if p.case.bandager.training is not Training.UNTRAINED:
        return NOTHING
    if kind is ADJUSTABLE_WRAP:
        return sourced(Said("no trained hands: its own gauge sets the pressure"), _MEMORY)
    return sourced(Said("no trained hands: its size sets the pressure"), _PRACTICE)


def _refusal(p: Patient, kind: _Kind) -> Said:
    refused = set(p.case.person.does_not_tolerate)
    if refused & {"elastic", "cohesive"} and not kind.elastic:
        return sourced(Said("instead of what was not tolerated"), _PRACTICE)
    return NOTHING


def _shoe(p: Patient, kind: _Kind) -> Said:
    if p.case.person.footwear is Footwear.ORDINARY_SHOE and kind is STOCKINGS:
        return sourced(
            Said("fits an ordinary shoe; the ankle moves freely"), Said("J Foot Ankle Res 2016")
        )
    return NOTHING


def _small_wound(p: Patient, kind: _Kind) -> Said:
    wound = p.leg.wound
    if kind is STOCKINGS and wound and p.exudate in ("none", "light"):
        return sourced(
            Said("healed as many ulcers as four layers, 70.9 and 70.4 %"),
            Said("VenUS IV, from memory"),
        )
    return NOTHING


def _shrinking(p: Patient, kind: _Kind) -> Said:
    if kind is ADJUSTABLE_WRAP and (p.leg.findings.pitting_grade or 0) >= 3:
        return sourced(Said("is set again as the leg shrinks"), _MEMORY)
    return NOTHING


def _wet(p: Patient, kind: _Kind) -> Said:
    if kind is STOCKINGS and p.exudate == "heavy":
        return sourced(Said("heavy exudate: it soils; bandage first"), _MEMORY)
    return NOTHING


def _fragile(p: Patient, kind: _Kind) -> Said:
    if kind is STOCKINGS and p.friable:
        return sourced(
            Said("pulling it on shears fragile skin"), Said("review of technique, read in part")
        )
    return NOTHING


def _straight_tube(_p: Patient, kind: _Kind) -> Said:
    if kind is TUBULAR:
        return sourced(
            Said("a straight tube presses harder on the calf than at the gaiter"),
            Said("Ann Vasc Dis 2020"),
        )
    return NOTHING


def _swollen(p: Patient, kind: _Kind) -> Said:
    if kind is STOCKINGS and (p.leg.findings.pitting_grade or 0) >= 3:
        return sourced(Said("measured on a swollen leg it is too wide in a week"), _PRACTICE)
    return NOTHING


_FOR: tuple[_Reason, ...] = (
    _self_care, _no_trained_hands, _refusal, _shoe, _small_wound, _shrinking,
)  # fmt: skip
_AGAINST: tuple[_Reason, ...] = (_straight_tube, _wet, _fragile, _swollen)
