"""When the arterial test is due again: six months, three at risk, a week after a change.

RNAO (six-monthly); who is at risk, and the week, are our choice (see the policy's sources).
"""

from datetime import date, timedelta

import pytest

from gaiter.core.safety.rule import Scene
from gaiter.core.safety.rules import measuring

TODAY = date(2026, 11, 25)
WOUND = {"leg.findings.wound": "leg", "leg.wound.place": "gaiter", "leg.wound.side": "inner"}
HEALTHY = {"arms.left_mmhg": 100, "leg.arterial.posterior_tibial_mmhg": 105}


def after(policy, days: int, **answers) -> Scene:
    day = TODAY - timedelta(days=days)
    return Scene.where({**HEALTHY, "leg.arterial.measured_on": day, **answers}, policy, today=TODAY)


@pytest.mark.parametrize(
    ("answers", "risk"),
    [
        ({}, False),
        ({"person.diabetes": True}, True),
        ({"person.kidney_disease": True}, True),
        ({"person.rheumatoid_arthritis": True}, True),
        ({"leg.arterial.posterior_tibial_mmhg": 90}, True),  # 0.90 is disease
        ({"leg.arterial.posterior_tibial_mmhg": 91}, False),
        ({**WOUND, "leg.wound.duration_weeks": 12}, True),
        ({**WOUND, "leg.wound.duration_weeks": 11}, False),
        ({"leg.findings.wound": "leg"}, True),  # of unknown age
    ],
)
def test_disease_and_a_wound_that_stands_long_are_a_risk(policy, answers, risk) -> None:
    scene = Scene.where({**HEALTHY, **answers}, policy)
    assert measuring.at_risk(scene) is risk
    assert measuring.interval_days(scene) == (92 if risk else 183)


@pytest.mark.parametrize(
    ("days", "answers", "due"),
    [
        (183, {}, False),
        (184, {}, True),
        (92, {"person.diabetes": True}, False),
        (93, {"person.diabetes": True}, True),
        (7, {"leg.findings.worse": True}, False),
        (8, {"leg.findings.worse": True}, True),
        (8, {"leg.findings.worse": False}, False),
    ],
)
def test_it_is_due_the_day_after_its_interval(policy, days, answers, due) -> None:
    scene = after(policy, days, **answers)
    assert measuring.test_age_days(scene) == days
    assert measuring.test_due(scene) is due


def test_without_a_test_or_its_day_there_is_no_age_and_nothing_to_repeat(policy) -> None:
    for scene in (
        Scene.where(HEALTHY, policy),
        Scene.where({"leg.arterial.measured_on": TODAY}, policy, today=TODAY),
    ):
        assert measuring.test_age_days(scene) is None
        assert measuring.test_due(scene) is False
