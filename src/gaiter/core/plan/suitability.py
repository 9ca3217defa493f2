"""Which system suits this patient: published choice rules as reasons for, against, or out.

Each rule looks at the case and a system's traits. Weights only order what fits: a rule about
safety or harm counts more than one about comfort (our choice, no source).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from gaiter.core.case import Case, Footwear, Leg, Mobility, Purpose, Training
from gaiter.core.fabric import Material
from gaiter.core.plan.borne import allergic_to, not_tolerated
from gaiter.core.plan.steep import Steepness
from gaiter.core.plan.systems import System, Trait
from gaiter.core.safety import Effect, LegDecision, Outcome
from gaiter.core.words import SEMICOLON, Said, joined, sourced


class Bearing(StrEnum):
    """How a reason bears on a system."""

    FOR = "for"
    AGAINST = "against"
    OUT = "out"


_HARM, _HEALING, _COMFORT = 4, 2, 1
# A range that ends here or below is mild compression (Wounds UK: mild, up to 20 mmHg).
_LOW_MMHG = 20.0


@dataclass(frozen=True)
class Argument:
    """One reason for or against a system, or for leaving it out.

    Attributes
    ----------
    verdict : Bearing
        For, against, or out.
    weight : int
        1 for comfort, 2 for healing, 4 for harm (our choice).
    text : Said
        The reason with its source.

    Examples
    --------
    One about harm outweighs one about healing:

    >>> harm = Argument(Bearing.AGAINST, 4, Said("elastic keeps its pressure at rest"))
    >>> balance([harm, Argument(Bearing.FOR, 2, Said("elastic works without a calf pump"))])
    -2
    """

    verdict: Bearing
    weight: int
    text: Said


@dataclass(frozen=True)
class Patient:
    """What the rules look at.

    Attributes
    ----------
    case : Case
        Person and bandager.
    leg : Leg
        The leg of the case.
    decision : LegDecision
        What is allowed on it.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> patient = example_bench().legs["right"].task.patient
    >>> patient.exudate, patient.friable, patient.poor_arteries
    ('moderate', False, False)
    >>> mixed = patient.decision.model_copy(update={"effects": {Effect.INELASTIC}})
    >>> mixed = replace(patient, decision=mixed)
    >>> mixed.asks_for_inelastic, mixed.inelastic_only, mixed.poor_arteries
    (True, False, True)
    """

    case: Case
    leg: Leg
    decision: LegDecision

    @property
    def asks_for_inelastic(self) -> bool:
        """Whether the arteries allow compression best with inelastic material.

        Returns
        -------
        bool
        """
        return bool(self.decision.effects & {Effect.INELASTIC, Effect.INELASTIC_ONLY})

    @property
    def inelastic_only(self) -> bool:
        """Whether the arteries allow compression with inelastic material only.

        Returns
        -------
        bool
        """
        return Effect.INELASTIC_ONLY in self.decision.effects

    @property
    def poor_arteries(self) -> bool:
        """Whether arterial findings lower or question the level.

        Returns
        -------
        bool
        """
        return self.asks_for_inelastic or Effect.QUESTIONS_LEVEL in self.decision.effects

    @property
    def exudate(self) -> str | None:
        """Exudate of the wound.

        Returns
        -------
        str or None
            None when not said or no wound.
        """
        return self.leg.wound.exudate if self.leg.wound else None

    @property
    def friable(self) -> bool:
        """Whether skin or wound tears easily.

        Returns
        -------
        bool
        """
        wound = self.leg.wound
        return bool(self.leg.findings.skin_fragile or (wound and wound.friable))


_MEMORY, _PRACTICE = Said("from memory, not verified"), Said("common practice, no source")
_OURS = Said("our choice")
_COCHRANE = Said("O'Meara et al., Cochrane 2012")
_MOSTI = Said("Mosti et al. 2012, J Vasc Surg 55:122")
_MEDICATED = Said("Nursing Times, medicated bandages")

Rule = Callable[[Patient, frozenset[Trait], Sequence[Material]], Argument | None]


def arguments(patient: Patient, system: System, materials: Sequence[Material]) -> list[Argument]:
    """Every argument for and against a system for a patient, those of its list last.

    Parameters
    ----------
    patient : Patient
        Case, leg and decision.
    system : System
        With what the stock has.
    materials : sequence of Material
        One for each layer, from the skin outwards.

    Returns
    -------
    list[Argument]
        Each with its source; its code is the rule's name.

    References
    ----------
    O'Meara et al., Cochrane 2012 (healing by system); Mosti et al. 2012, J Vasc Surg 55:122
    (inelastic on poor arteries); Mosti & Partsch 2008, Phlebology 23:287 (walking); Damstra et al.
    2008, Dermatol Surg 34:773 (loss in a day). What rests on practice or memory says so.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> made = leg.made["one_elastic"]
    >>> [one.verdict.value for one in arguments(leg.task.patient, made.system, made.materials)]
    ['for']
    >>> person = leg.task.patient.case.person.model_copy(update={"does_not_tolerate": ("elastic",)})
    >>> case = leg.task.patient.case.model_copy(update={"person": person})
    >>> patient = replace(leg.task.patient, case=case)
    >>> [one.verdict.value for one in arguments(patient, made.system, made.materials)]
    ['out', 'for']
    """
    found = [
        replace(argument, text=replace(argument.text, code=rule.__name__.strip("_")))
        for rule in RULES
        if (argument := rule(patient, system.traits, materials)) is not None
    ]
    listed = [
        *(Argument(Bearing.FOR, _COMFORT, text) for text in system.reasons_for),
        *(Argument(Bearing.AGAINST, _COMFORT, text) for text in system.reasons_against),
    ]
    return [*found, *listed]


def balance(found: Sequence[Argument]) -> int:
    """Weight of the arguments for, less that of those against.

    Parameters
    ----------
    found : sequence of Argument
        Those that leave a system out do not count here.

    Returns
    -------
    int

    Examples
    --------
    >>> balance([Argument(Bearing.FOR, 2, Said("a")), Argument(Bearing.AGAINST, 1, Said("b"))])
    1
    """
    signs = {Bearing.FOR: 1, Bearing.AGAINST: -1, Bearing.OUT: 0}
    return sum(signs[argument.verdict] * argument.weight for argument in found)


def _argue(verdict: Bearing, weight: int, text: Said, source: Said) -> Argument:
    return Argument(verdict, weight, sourced(text, source))


def _allergy(
    p: Patient, _traits: frozenset[Trait], materials: Sequence[Material]
) -> Argument | None:
    words = allergic_to(p.case.person, materials)
    return (
        _argue(Bearing.OUT, _HARM, joined(words, SEMICOLON), Said("Rabe et al. 2020"))
        if words
        else None
    )


def _purpose(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    support = p.leg.purpose is Purpose.SUPPORT
    if Trait.SUPPORT in traits and not support:
        return _argue(
            Bearing.OUT,
            _HARM,
            Said("presses too little at rest for this purpose"),
            Said("BS 7505 type 2"),
        )
    if support and Trait.LIGHT not in traits:
        return _argue(
            Bearing.OUT, _HARM, Said("a sprain or tendinitis needs light support only"), _PRACTICE
        )
    if support and Trait.SUPPORT in traits:
        return _argue(Bearing.FOR, _HEALING, Said("light support, free at the toes"), _PRACTICE)
    return None


def _level(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    offered_low = p.decision.aim is not None and p.decision.aim.offered_low
    strong = p.leg.purpose in (Purpose.VENOUS_ULCER, Purpose.OEDEMA) and not offered_low
    if traits & {Trait.LIGHT, Trait.REDUCED} and p.decision.outcome is Outcome.FULL and strong:
        return _argue(
            Bearing.OUT, _HEALING,
            Said("full compression is allowed and heals better than reduced"),
            _COCHRANE,
        )  # fmt: skip
    return None


def _arteries(
    p: Patient, traits: frozenset[Trait], materials: Sequence[Material]
) -> Argument | None:
    elastic = [material.title.lower() for material in materials if material.kind == "elastic"]
    if p.inelastic_only and elastic:
        return _argue(
            Bearing.OUT, _HARM,
            Said(
                "only inelastic may be used on these arteries, and {material} is elastic",
                {"material": Said(elastic[0])},
            ),
            _MOSTI,
        )  # fmt: skip
    if not p.asks_for_inelastic:
        return None
    if Trait.INELASTIC in traits:
        return _argue(
            Bearing.FOR, _HARM,
            Said("inelastic: low at rest, high on walking, as these arteries need"),
            _MOSTI,
        )  # fmt: skip
    return _argue(
        Bearing.AGAINST, _HARM,
        Said("elastic keeps its pressure at rest; poor arteries need inelastic"),
        _MOSTI,
    )  # fmt: skip


def _reduced_inelastic(
    p: Patient, traits: frozenset[Trait], _m: Sequence[Material]
) -> Argument | None:
    if not (p.asks_for_inelastic and {Trait.REDUCED, Trait.INELASTIC} <= traits):
        return None
    return _argue(
        Bearing.FOR, _HARM,
        Said(
            "short-stretch at reduced tension, made for a maximum of 40 mmHg; confirm it with a "
            "sensor at the gaiter or a second look"
        ),
        Said("Mosti et al. 2012, J Vasc Surg 55:122; sensor or second look: our choice"),
    )  # fmt: skip


def _low_aim(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    """A bandage that others re-lay: what it gives when it is laid tighter than planned."""
    aim, by = p.decision.aim, p.case.person.rebandaged_by
    low = aim is not None and aim.high_mmhg <= _LOW_MMHG
    if not (low and by in ("carer", "self") and Trait.LIGHT in traits):
        return None
    return _argue(
        Bearing.FOR, _COMFORT,
        Said("made for a low pressure: the {by} laying it tighter adds least", {"by": Said(by)}),
        Said("our choice; BS 7505 type 3a, order of 20 mmHg"),
    )  # fmt: skip


def _calf_pump(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    mobility = p.case.person.mobility
    still = mobility in (Mobility.CHAIR, Mobility.BED) or bool(p.leg.findings.ankle_stiff)
    if still and Trait.INELASTIC in traits:
        return _argue(
            Bearing.AGAINST,
            _HEALING,
            Said("without a calf pump inelastic works poorly at rest"),
            _MEMORY,
        )
    if still and Trait.ELASTIC in traits:
        return _argue(Bearing.FOR, _HEALING, Said("elastic works without a calf pump"), _MEMORY)
    if mobility is Mobility.WALKS and not still and Trait.INELASTIC in traits:
        return _argue(
            Bearing.FOR, _COMFORT, Said("walks: inelastic gives a high working pressure"),
            Said("Mosti & Partsch 2008, Phlebology 23:287"),
        )  # fmt: skip
    return None


def _healing(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    if p.leg.purpose is not Purpose.VENOUS_ULCER or p.asks_for_inelastic:
        return None
    if Trait.MANY_LAYERS in traits and Trait.ELASTIC in traits:
        return _argue(
            Bearing.FOR, _HEALING, Said("four layers heal faster than short-stretch, HR 1.31"),
            _COCHRANE,
        )  # fmt: skip
    if Trait.ELASTIC in traits and Trait.LIGHT not in traits:
        return _argue(
            Bearing.FOR, _COMFORT, Said("several components with an elastic one heal more ulcers"),
            Said("O'Meara et al., Cochrane 2012, RR 1.83"),
        )  # fmt: skip
    return None


def _swelling(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    if (p.leg.findings.pitting_grade or 0) >= 3 and Trait.INELASTIC in traits:
        return _argue(
            Bearing.FOR, _HEALING, Said("much swelling: inelastic, changed twice a week"), _MEMORY
        )
    return None


def _exudate(
    p: Patient, _traits: frozenset[Trait], materials: Sequence[Material]
) -> Argument | None:
    if p.exudate != "heavy":
        return None
    closed = [material.title.lower() for material in materials if not material.breathes]
    if closed:
        return _argue(
            Bearing.AGAINST,
            _HEALING,
            Said("heavy exudate: {material} does not breathe", {"material": Said(closed[0])}),
            _PRACTICE,
        )
    return _argue(Bearing.FOR, _HEALING, Said("heavy exudate: every layer breathes"), _PRACTICE)


def _friable_paste(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    unsure = p.case.bandager.training is Training.UNTRAINED
    if Trait.PASTE in traits and p.friable and unsure:
        return _argue(
            Bearing.OUT, _HARM, Said("zinc paste on friable skin needs sure hands"), _PRACTICE
        )
    if Trait.PASTE in traits and p.friable:
        return _argue(
            Bearing.AGAINST, _HEALING, Said("zinc paste drags on friable skin when it is changed"),
            _PRACTICE,
        )  # fmt: skip
    return None


def _unsure_hands(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    if p.case.bandager.training is not Training.UNTRAINED:
        return None
    if Trait.PASTE in traits:
        return _argue(
            Bearing.AGAINST, _HEALING,
            Said("untrained hands: zinc paste is pleated without tension"),
            _PRACTICE,
        )  # fmt: skip
    if Trait.MANY_LAYERS in traits:
        return _argue(
            Bearing.AGAINST,
            _HEALING,
            Said("untrained hands: every layer adds their error"),
            _PRACTICE,
        )
    return None


def _eczema(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    skin = p.leg.findings
    if Trait.PASTE not in traits:
        return None
    if skin.skin_eczema or skin.skin_weeping:
        return _argue(
            Bearing.FOR, _HARM, Said("zinc paste treats the eczema under the bandage"),
            _MEDICATED,
        )  # fmt: skip
    return _argue(
        Bearing.AGAINST, _COMFORT,
        Said("ulcer-leg skin is easily sensitised; no eczema asks for paste"),
        _MEDICATED,
    )  # fmt: skip


def _tolerance(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    words = joined(not_tolerated(p.case.person, traits), SEMICOLON)
    return _argue(Bearing.OUT, _HARM, words, Said("this record")) if words else None


def _next_to_skin(
    p: Patient, _traits: frozenset[Trait], materials: Sequence[Material]
) -> Argument | None:
    if materials[0].key != "coarse_gauze":
        return None
    bony = bool(p.leg.wound and p.leg.wound.over_bone)
    if p.poor_arteries or bony:
        return _argue(
            Bearing.OUT, _HARM,
            Said("coarse gauze next to the skin marks it, over bony places or with poor arteries"),
            _PRACTICE,
        )  # fmt: skip
    return _argue(Bearing.AGAINST, _HEALING, Said("coarse gauze next to the skin"), _PRACTICE)


def _footwear(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    if Trait.MANY_LAYERS not in traits:
        return None
    if p.case.person.footwear is Footwear.ORDINARY_SHOE:
        return _argue(
            Bearing.AGAINST, _COMFORT, Said("too bulky for an ordinary shoe"),
            Said("J Foot Ankle Res 2016 (ankle range −2.51°)"),
        )  # fmt: skip
    if p.case.person.footwear in (Footwear.CAM_BOOT, Footwear.WIDE_SHOE):
        return _argue(Bearing.FOR, _COMFORT, Said("the shoe or boot has room for it"), _PRACTICE)
    return None


def _rebandaging(p: Patient, traits: frozenset[Trait], _m: Sequence[Material]) -> Argument | None:
    by = p.case.person.rebandaged_by
    hard = Trait.MANY_LAYERS in traits or Trait.PASTE in traits
    if by in ("carer", "self") and hard:
        return _argue(
            Bearing.AGAINST,
            _HEALING,
            Said("the {by} cannot put it on again", {"by": Said(by)}),
            _PRACTICE,
        )
    if by in ("carer", "self") and Trait.COHESIVE not in traits:
        return _argue(
            Bearing.FOR, _COMFORT, Said("the {by} can put it on again", {"by": Said(by)}), _PRACTICE
        )
    if by == "nobody" and Trait.INELASTIC in traits and Trait.PASTE not in traits:
        return _argue(
            Bearing.AGAINST, _HEALING,
            Said("nobody re-bandages: inelastic loses a third to a half of its pressure in a day"),
            Said("Damstra et al. 2008, Dermatol Surg 34:773"),
        )  # fmt: skip
    return None


RULES: tuple[Rule, ...] = (
    _allergy, _purpose, _level, _tolerance, _next_to_skin, _arteries, _reduced_inelastic,
    _friable_paste, _unsure_hands, _eczema, _calf_pump, _healing, _swelling, _exudate,
    _rebandaging, _footwear, _low_aim,
)  # fmt: skip


def steep_argument(steepness: Steepness) -> Argument:
    """The reason against a fabric whose curve is too steep for these hands.

    Parameters
    ----------
    steepness : Steepness
        What 2 mm more on the marks and the hands do at the gaiter [mmHg].

    Returns
    -------
    Argument
        Against, as one of healing (our choice).

    Examples
    --------
    >>> steep_argument(Steepness(40.0, 47.0, 30.0)).text.values["reason"].text[:65]
    'steep: 2 mm more on the marks take it from 40 to 47 mmHg, and the'
    """
    return _argue(
        Bearing.AGAINST, _HEALING,
        Said(
            "steep: 2 mm more on the marks take it from {likely:.0f} to {more:.0f} mmHg, and these "
            "hands alone spread it over {hands:.0f} mmHg, wider than the range",
            {
                "likely": steepness.likely_mmhg,
                "more": steepness.two_more_mmhg,
                "hands": steepness.hands_mmhg,
            },
        ),
        _OURS,
    )  # fmt: skip


def regular_change_days(patient: Patient, usual_days: int) -> int:
    """Days between changes once the first bandage has been looked at.

    Parameters
    ----------
    patient : Patient
        Exudate and swelling count.
    usual_days : int
        The system's own, weekly at most.

    Returns
    -------
    int
        At most 3, twice weekly, with heavy exudate or much swelling.

    References
    ----------
    Weekly: UK general-practice reference page. Twice weekly: from memory, not verified.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> patient = example_bench().legs["right"].task.patient
    >>> swollen = patient.leg.findings.model_copy(update={"pitting_grade": 3})
    >>> swollen = replace(patient, leg=patient.leg.model_copy(update={"findings": swollen}))
    >>> regular_change_days(patient, 7), regular_change_days(swollen, 7)
    (7, 3)
    """
    wet = patient.exudate == "heavy" or (patient.leg.findings.pitting_grade or 0) >= 3
    return min(usual_days, 3) if wet else usual_days


_FIRST_CHECK_DAYS = 2


def change_days(patient: Patient, usual_days: int) -> tuple[int, Said]:
    """Days to the next change or check, and why; a new bandage is looked at within two days.

    Parameters
    ----------
    patient : Patient
        Whether the leg bore compression before, and what the decision asks.
    usual_days : int
        The system's own, weekly at most.

    Returns
    -------
    int, Said
        Days, and what sets them.

    References
    ----------
    First check after 24 to 48 hours: NICE CKS, from memory, not verified.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> days, why = change_days(example_bench().legs["right"].task.patient, 7)
    >>> days, why.text
    (2, 'first check of a new bandage within 24 to 48 hours')
    """
    days = regular_change_days(patient, usual_days)
    why = Said("usual for this system")
    if days < usual_days:
        why = Said("heavy exudate or much swelling")
    first = patient.decision.first_look_days
    if first is not None and first < days:
        days = first
        why = Said("every reduced bandage is looked at within {hours} hours", {"hours": 24 * first})
    if patient.leg.tolerated_mmhg is None and days > _FIRST_CHECK_DAYS:
        return _FIRST_CHECK_DAYS, Said("first check of a new bandage within 24 to 48 hours")
    return days, why
