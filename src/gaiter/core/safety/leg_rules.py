"""Rules about one leg apart from its arteries: red flags, clot, infection, nerves, skin."""

from collections.abc import Iterator

from gaiter.core.case import FOOT_WOUNDS, Case, ClotState, Infection, Leg, LegShape
from gaiter.core.policy import Policy
from gaiter.core.safety.clot import clot_likely, clot_score
from gaiter.core.safety.reason import Reason
from gaiter.core.safety.wording import fire

_STOPS_BY_THEMSELVES = (
    "rest_pain", "acute_ischaemia", "gangrene", "sepsis", "superficial_phlebitis",
    "septic_phlebitis", "massive_blue_swelling", "necrosis_risk",
)  # fmt: skip
_CAUTIONS_BY_THEMSELVES = ("skin_fragile", "skin_weeping", "skin_eczema", "ankle_stiff")


def leg_reasons(case: Case, leg: Leg, policy: Policy) -> Iterator[Reason]:
    """Reasons from symptoms, signs and wound of one leg."""
    findings = leg.findings
    yield from _screen(leg)
    for name in _STOPS_BY_THEMSELVES + _CAUTIONS_BY_THEMSELVES:
        if getattr(findings, name):
            yield fire(name)
    if findings.vasculitis_suspected:
        yield fire("vasculitis")
    if findings.malignancy_suspected:
        yield fire("malignancy")
    untested_trouble = leg.arterial.measured_on is None and (
        findings.new_pain or findings.colour_change
    )
    if untested_trouble:
        yield fire("new_pain_or_colour")
    yield from _clot(leg)
    yield from _infection(leg)
    yield from _sensation(case, leg, policy)
    if findings.shape not in (None, LegShape.ORDINARY):
        yield fire("shape", shape=findings.shape)
    if leg.wound is not None:
        if leg.wound.place in FOOT_WOUNDS:
            yield fire("foot_wound")
        if leg.wound.over_bone:
            yield fire("wound_over_bone")
    if leg.previous_level_mmhg is not None:
        yield fire("previous_level", level=leg.previous_level_mmhg)


def _screen(leg: Leg) -> Iterator[Reason]:
    """The red flags must have been looked for; what was not said is named."""
    findings = leg.findings
    looked_for = {
        "pain at rest": findings.rest_pain,
        "new pain": findings.new_pain,
        "colour change": findings.colour_change,
        "signs of sudden lack of blood": findings.acute_ischaemia,
        "gangrene": findings.gangrene,
        "sepsis": findings.sepsis,
        "infection": findings.infection,
        "clot": findings.clot.state,
    }
    missing = [name for name, value in looked_for.items() if value is None]
    if missing:
        yield fire("screen_incomplete", missing=", ".join(missing))


def _clot(leg: Leg) -> Iterator[Reason]:
    clot = leg.findings.clot
    score = f" (score {clot_score(clot.signs)})" if clot.signs is not None else ""
    likely = clot.state is None and clot.signs is not None and clot_likely(clot.signs)
    if clot.state is ClotState.SUSPECTED or likely:
        yield fire("clot_suspected", score=score)
    elif clot.state is ClotState.CONFIRMED:
        yield fire("clot_treated_acute" if clot.anticoagulated else "clot_untreated")
    elif clot.state is ClotState.TREATED:
        yield fire("clot_past")


def _infection(leg: Leg) -> Iterator[Reason]:
    findings = leg.findings
    if findings.infection is Infection.SPREADING:
        started = ", antibiotics have been started" if findings.antibiotics_started else ""
        yield fire("infection_spreading", antibiotics=started)
    elif findings.infection is Infection.LOCAL:
        yield fire("infection_local")


def _sensation(case: Case, leg: Leg, policy: Policy) -> Iterator[Reason]:
    sites, diabetes = leg.findings.absent_monofilament_sites, case.person.diabetes
    if sites is None and diabetes:
        yield fire("sensation_not_tested_diabetes", cap_mmhg=policy["untested_maximum_mmhg"])
    elif sites and diabetes:
        yield fire("sensation_lost_diabetes", sites=sites)
    elif sites:
        yield fire("sensation_reduced", sites=sites)
