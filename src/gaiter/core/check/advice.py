"""What the patient is told, by diagnosis and findings: the leaflet and the patient's page."""

from collections.abc import Collection
from dataclasses import dataclass

from gaiter.core.case.findings import FOOT_WOUNDS, WoundPlace
from gaiter.core.case.leg import Purpose
from gaiter.core.case.person import Mobility
from gaiter.core.safety import RULES, LegDecision, Outcome, RuleKind, Subject
from gaiter.core.words import Said

_OF_BLOOD = (Subject.RED_FLAGS, Subject.TOES, Subject.VESSELS, Subject.ARTERIES)
_HOLDING_BACK = (RuleKind.HARD_STOP, RuleKind.SOFT_STOP, RuleKind.FIRST, RuleKind.CAP)
# An old test of a stable leg holds back what may be raised, not what is said of its arteries.
_SAYS_NOTHING_OF_BLOOD = ("arterial_overdue_stable",)
_WRITE = "____________________"


@dataclass(frozen=True)
class PatientFacts:
    """What the words to a patient depend on.

    Attributes
    ----------
    outcome : Outcome
        Today's decision for the leg.
    bandaged : bool
        True where the leg is bandaged under pressure by a plan in force.
    purpose : str
        What the bandage is for.
    codes : Collection[str]
        Codes of every rule that fired.
    poor_arteries : bool
        True where the arteries hold the pressure back, or are not known to be good.
    mobility : Mobility or None
        How the person gets about; None: not said.
    reports_pain : bool or None
        Whether the person feels and can report pain; None: not said.
    observer : str
        Who looks at the toes every day; empty: nobody is named.
    latex : bool
        True where an allergy to latex is on record.
    wound_place : WoundPlace or None
        Where the wound lies.

    Examples
    --------
    >>> PatientFacts(Outcome.STOP, bandaged=True, purpose="oedema").allowed
    False
    """

    outcome: Outcome
    bandaged: bool
    purpose: str
    codes: Collection[str] = ()
    poor_arteries: bool = False
    mobility: Mobility | None = None
    reports_pain: bool | None = None
    observer: str = ""
    latex: bool = False
    wound_place: WoundPlace | None = None

    @property
    def allowed(self) -> bool:
        """True where a bandage lies and nothing stops it; a chosen provisional level counts.

        Returns
        -------
        bool

        Examples
        --------
        >>> PatientFacts(Outcome.STOP, bandaged=True, purpose="oedema").allowed
        False
        """
        return self.bandaged and self.outcome is not Outcome.STOP


@dataclass(frozen=True)
class PatientAdvice:
    """The words, in order.

    Attributes
    ----------
    opening : tuple[Said, ...]
        What the bandage does, or that there is none for now.
    every_day : tuple[Said, ...]
        Moving, resting, looking.
    also_call : tuple[Said, ...]
        More reasons to call the same day than everybody has.
    tell : tuple[Said, ...]
        What to tell whoever bandages.

    Examples
    --------
    >>> PatientAdvice((), ("Walk as much as you can.",), (), ()).every_day
    ('Walk as much as you can.',)
    """

    opening: tuple[Said, ...]
    every_day: tuple[Said, ...]
    also_call: tuple[Said, ...]
    tell: tuple[Said, ...]


def poor_arteries(decision: LegDecision, purpose: str) -> bool:
    """Whether the arteries hold the pressure back, or are not known to be good.

    Parameters
    ----------
    decision : LegDecision
        Today's decision for the leg.
    purpose : str
        What the bandage is for; mixed disease always counts.

    Returns
    -------
    bool

    Examples
    --------
    >>> poor_arteries(LegDecision.model_construct(reasons=()), Purpose.MIXED_DISEASE)
    True
    >>> poor_arteries(LegDecision.model_construct(reasons=()), Purpose.OEDEMA)
    False
    """
    if purpose == Purpose.MIXED_DISEASE:
        return True
    holding = {reason.code for reason in decision.reasons if reason.kind in _HOLDING_BACK}
    return any(
        RULES[code].subject in _OF_BLOOD
        for code in holding.difference(_SAYS_NOTHING_OF_BLOOD)
        if code in RULES
    )


def patient_advice(facts: PatientFacts) -> PatientAdvice:
    """What the patient is told about the bandage, or about the leg that has none.

    Parameters
    ----------
    facts : PatientFacts
        Decision of today and what is known of the person.

    Returns
    -------
    PatientAdvice
        Never 'keep it on' for a leg that is stopped or waits; never 'put your leg up' with poor
        arteries; never 'walk' for somebody in a chair or in bed.

    Examples
    --------
    >>> stopped = PatientFacts(Outcome.STOP, bandaged=False, purpose="oedema")
    >>> patient_advice(stopped).opening[0].text
    'Your leg must not be bandaged under pressure now.'
    """
    return PatientAdvice(
        opening=tuple(map(Said, _opening(facts))),
        every_day=(*map(Said, (*_moving(facts), *_resting(facts))), *_looking(facts)),
        also_call=tuple(map(Said, _also_call(facts))),
        tell=tuple(map(Said, _tell(facts))),
    )


def _opening(facts: PatientFacts) -> tuple[str, ...]:
    if facts.outcome is Outcome.STOP:
        return (
            "Your leg must not be bandaged under pressure now.",
            "If a bandage or a compression stocking is on this leg, take it off. Put none on until "
            "the clinic tells you so.",
        )
    if not facts.allowed:
        return (
            "Your leg is not bandaged under pressure yet: something has to be measured or asked "
            "first.",
            "Put on no bandage and no compression stocking until the clinic tells you so.",
        )
    does = (
        "It holds and protects the joint."
        if facts.purpose == Purpose.SUPPORT
        else "It brings down the swelling."
        if facts.wound_place is None
        else "It brings down the swelling and helps the wound to heal."
    )
    return (does, "Keep it on day and night until your next visit, and keep it dry.")


def _moving(facts: PatientFacts) -> tuple[str, ...]:
    if facts.mobility in (Mobility.CHAIR, Mobility.BED):
        return (
            "Move your foot up and down at the ankle ten times every hour, as far as you can; "
            "somebody may move it for you.",
        )
    if facts.wound_place in FOOT_WOUNDS:
        return ("Walk only as much as the clinic has told you, in the shoe you were given.",)
    if facts.poor_arteries:
        return ("Walk as far as it does not hurt; stand still when your calf hurts.",)
    if facts.mobility is None:
        return ("Move your foot up and down at the ankle as often as you can.",)
    return ("Walk as much as you can.",)


def _resting(facts: PatientFacts) -> tuple[str, ...]:
    rest = (
        "Rest with your leg level or a little down; do not put it up high."
        if facts.poor_arteries
        else "Put your leg up when you sit, and move your ankle."
    )
    if facts.mobility is not Mobility.BED:
        return (rest,)
    heel = (
        "Your heel must not lie on the bed: a soft pillow lengthwise under the calf keeps it free."
    )
    return (heel, rest) if facts.poor_arteries else (heel,)


def _looking(facts: PatientFacts) -> tuple[Said, ...]:
    if facts.reports_pain is False or "cannot_report_pain" in facts.codes:
        return (
            Said(
                "Every day somebody looks at the toes for you – colour, warmth, movement – and "
                "takes the bandage off when in doubt: {who}",
                {"who": facts.observer or _WRITE},
            ),
        )
    return (Said("Look at your toes every morning and evening: colour, warmth, movement."),)


def _also_call(facts: PatientFacts) -> tuple[str, ...]:
    found: list[str] = []
    if _any(facts, "heart", "weight_gain", "breathless"):
        found.append("you gain 2 kg or more within a few days")
    if _any(facts, "pregnancy"):
        found.append(
            "you are pregnant or have just given birth and have a bad headache, see flashes, or "
            "your face or hands swell: call the maternity unit as well"
        )
    if _any(facts, "sickle"):
        found.append("you have a pain crisis: take the bandage off as well")
    if _any(facts, "raynaud"):
        found.append("your toes change colour in the cold and do not come back in the warm")
    return tuple(found)


def _tell(facts: PatientFacts) -> tuple[str, ...]:
    if facts.latex:
        return ("You are allergic to LATEX: tell everybody who bandages or dresses your leg.",)
    return ()


def _any(facts: PatientFacts, *starts: str) -> bool:
    # A question that was never asked says nothing about the person.
    return any(code.startswith(starts) and not code.endswith("_not_said") for code in facts.codes)


def codes_of(decision: LegDecision) -> frozenset[str]:
    """Codes of every rule that fired.

    Parameters
    ----------
    decision : LegDecision
        Today's decision for the leg.

    Returns
    -------
    frozenset[str]

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> codes_of(LegDecision.model_construct(reasons=(SimpleNamespace(code="sepsis"),)))
    frozenset({'sepsis'})
    """
    return frozenset(reason.code for reason in decision.reasons)
