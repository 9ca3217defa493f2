"""Rules about the whole person; they come before either leg."""

from collections.abc import Iterator

from gaiter.core.case import Case, Mobility
from gaiter.core.policy import Policy
from gaiter.core.safety.reason import Reason
from gaiter.core.safety.wording import fire


def person_reasons(case: Case, policy: Policy) -> Iterator[Reason]:
    """Reasons that hold for every leg of this person."""
    yield from _heart(case, policy)
    person, untested = case.person, policy["untested_maximum_mmhg"]
    unknown = [
        name
        for name, value in (
            ("diabetes", person.diabetes),
            ("kidney disease", person.kidney_disease),
        )
        if value is None
    ]
    if unknown:
        yield fire("diabetes_not_said", cap_mmhg=untested, missing=" and ".join(unknown))
    if person.can_report_pain is False:
        yield fire("cannot_report_pain", cap_mmhg=policy["reduced_maximum_mmhg"])
    elif person.can_report_pain is None:
        yield fire("can_report_pain_not_said")
    if person.rheumatoid_arthritis:
        yield fire("rheumatoid_arthritis")
    if person.mobility in (Mobility.CHAIR, Mobility.BED):
        yield fire("weak_calf_pump")
    if person.allergies is None:
        yield fire("allergies_not_said")
    for change in policy.loosened:
        yield fire("policy_loosened", change=change)


def _heart(case: Case, policy: Policy) -> Iterator[Reason]:
    person = case.person
    grade = person.heart_failure_class
    if grade == 4 or person.heart_failure_decompensated:
        yield fire("heart_failure_class_4")
    elif grade == 3:
        yield fire("heart_failure_class_3", cap_mmhg=policy["reduced_maximum_mmhg"])
        if len(case.legs) > 1 or case.person.other_leg_compressed:
            yield fire("heart_failure_class_3_both_legs")
    elif grade in (1, 2):
        yield fire("heart_failure_class_1_2", grade="I" if grade == 1 else "II")
    elif grade is None:
        yield fire("heart_failure_not_said", cap_mmhg=policy["untested_maximum_mmhg"])
    if person.breathless_lying:
        yield fire("breathless_lying")
    gain, limit = person.weight_gain_kg, policy["weight_gain_kg"]
    if gain is not None and gain >= limit:
        yield fire("weight_gain", gain=gain, limit=limit)
