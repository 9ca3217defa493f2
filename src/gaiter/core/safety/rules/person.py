"""The person: age, what makes harm likelier, and whether harm would be felt and told."""

from collections.abc import Callable

from gaiter.core.case import Mobility
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    AUSTRALIA,
    CHOICE,
    CONSENSUS,
    FIRES,
    GUIDELINE,
    LOCAL,
    MEMORY,
    OURS,
    RABE,
    TAYSIDE,
    Carry,
    Effect,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
)

_AGE, _REPORTS = "person.age_years", "person.can_report_pain"
_ALONE, _OBSERVER = "person.can_be_taken_off", "person.daily_observer"


def _said(name: str) -> Callable[[Scene], Fields | None]:
    def when(scene: Scene) -> Fields | None:
        return FIRES if getattr(scene.case.person, name) else None

    return when


def _child(scene: Scene) -> Fields | None:
    age, adult = scene.case.person.age_years, scene.policy["adult_from_years"]
    return {"age": age, "adult": adult} if age is not None and age < adult else None


def _cannot_report(scene: Scene) -> Fields | None:
    silent = scene.case.person.can_report_pain is False
    return {"cap": scene.policy["reduced_maximum_mmhg"]} if silent else None


def _silent_and_alone(scene: Scene) -> bool:
    person = scene.case.person
    return person.can_report_pain is False and not person.can_be_taken_off


def _reduced_start(scene: Scene) -> Fields | None:
    cap = scene.policy["start_maximum_mmhg"]
    return {"cap": cap} if _silent_and_alone(scene) else None


def _observer_missing(scene: Scene) -> Fields | None:
    named = (scene.case.person.daily_observer or "").strip()
    return FIRES if _silent_and_alone(scene) and not named else None


def _weak_pump(scene: Scene) -> Fields | None:
    return FIRES if scene.case.person.mobility in (Mobility.CHAIR, Mobility.BED) else None


def _allergies_unknown(scene: Scene) -> Fields | None:
    return FIRES if scene.case.person.allergies is None else None


RULES = (
    Rule(
        "child", Subject.PERSON, RuleKind.HARD_STOP,
        "{age} years old: this tool was made for adults, from {adult:g} years on, and no number in "
        "it holds for a child. Refer to a children's service.",
        "no source for children was read; our choice", CHOICE,
        when=_child, needs=(_AGE,), danger="a child", carry=Carry.STAYS, refer=Refer.PRESCRIBER,
        of_person=True, red_flag=True,
    ),
    Rule(
        "cannot_report_pain", Subject.PERSON, RuleKind.CAP,
        "Cannot report pain: start reduced, at most {cap:g} mmHg, name who looks, and look at the "
        "toes every day.",
        AUSTRALIA, GUIDELINE,
        when=_cannot_report, needs=(_REPORTS,), carry=Carry.STAYS, of_person=True, red_flag=True,
        effects=frozenset({Effect.DAILY_LOOK}),
    ),
    Rule(
        "silent_and_alone", Subject.PERSON, RuleKind.CAP,
        "Cannot report pain, and nobody is said to be there who can take it off: reduced start, at "
        "most {cap:g} mmHg, and a named person looks at the toes every day.",
        f"{AUSTRALIA} (cannot report pain); together with nobody there: our choice", CHOICE,
        when=_reduced_start, reads=(_REPORTS, _ALONE, _OBSERVER), carry=Carry.STAYS,
        of_person=True, effects=frozenset({Effect.DAILY_LOOK, Effect.START_LOW}),
    ),
    Rule(
        "observer_not_named", Subject.PERSON, RuleKind.FIRST,
        "Cannot report pain, and nobody is said to be there who can take it off: name who looks at "
        "the toes every day and may cut it off. No compression until then.",
        f"{AUSTRALIA} (cannot report pain); together with nobody there: our choice", CHOICE,
        when=_observer_missing, reads=(_REPORTS, _ALONE, _OBSERVER), carry=Carry.STAYS,
        of_person=True,
    ),
    Rule(
        "pregnancy", Subject.PERSON, RuleKind.CAUTION,
        "Pregnant or lately so: swelling of a sudden, headache, bad sight or pain under the ribs "
        "may be pre-eclampsia: maternity service today. Ask for signs of a clot at every visit; "
        "the clot score was not tested in pregnancy.",
        OURS, MEMORY,
        when=_said("pregnancy"), reads=("person.pregnancy",), carry=Carry.STAYS, of_person=True,
    ),
    Rule(
        "sickle_cell", Subject.PERSON, RuleKind.CAUTION,
        "Sickle cell disease: leg ulcers hurt and heal slowly; watch pain and toe colour, and ask "
        "the haematology team.",
        OURS, MEMORY,
        when=_said("sickle_cell"), reads=("person.sickle_cell",), carry=Carry.STAYS,
        of_person=True,
    ),
    Rule(
        "raynaud", Subject.PERSON, RuleKind.CAUTION,
        "Raynaud's phenomenon: toes may turn white or blue in the cold. Look at them warm, keep "
        "them warm, and ask a specialist where it is new.",
        OURS, MEMORY,
        when=_said("raynaud"), reads=("person.raynaud",), carry=Carry.STAYS, of_person=True,
    ),
    Rule(
        "rheumatoid_arthritis", Subject.PERSON, RuleKind.CAUTION,
        "Rheumatoid arthritis: the index may mislead and vasculitis is possible; refer.",
        TAYSIDE, LOCAL,
        when=_said("rheumatoid_arthritis"), reads=("person.rheumatoid_arthritis",),
        carry=Carry.STAYS, of_person=True,
    ),
    Rule(
        "weak_calf_pump", Subject.PERSON, RuleKind.CAUTION,
        "Does not walk: inelastic bandages work poorly at rest; add ankle exercises.",
        "haemodynamic reasoning", MEMORY,
        when=_weak_pump, reads=("person.mobility",), carry=Carry.STAYS, of_person=True,
    ),
    Rule(
        "allergies_not_said", Subject.PERSON, RuleKind.FLAG,
        "Allergies have not been asked about: ask before anything touches the skin.",
        RABE, CONSENSUS,
        when=_allergies_unknown, reads=("person.allergies",), carry=Carry.STAYS, of_person=True,
    ),
)  # fmt: skip
