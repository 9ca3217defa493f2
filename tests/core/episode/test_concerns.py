"""What asks for somebody, on both sides of each limit, worked out by hand."""

from datetime import date, timedelta

import pytest

from gaiter.core.episode import (
    Lateness,
    above_maximum,
    arterial_due,
    girth_drift,
    lateness,
    wound_stalled,
)
from gaiter.core.policy import Policy
from gaiter.core.safety import RULES, Reason, RuleKind, Subject
from tests.core.safety.test_decision import BOUNDARIES, TABLE, A, right
from tests.made_up_language import made_up, ordinary_letters
from tests.strategies import case, with_pressures

DAY = date(2026, 11, 25)


def with_value(policy: Policy, name: str, value: float) -> Policy:
    changed = policy.values[name].model_copy(update={"value": value})
    return policy.model_copy(update={"values": {**policy.values, name: changed}})


@pytest.mark.parametrize(
    ("days", "how"),
    [(-1, Lateness.NOT_YET), (0, Lateness.DUE), (1, Lateness.OVERDUE), (2, Lateness.OVERDUE),
     (3, Lateness.MISSED)],
)  # fmt: skip
def test_a_visit_is_missed_after_two_days(policy, days, how) -> None:
    assert lateness(DAY, DAY + timedelta(days=days), policy) is how


def test_the_policy_says_after_how_many_days(policy) -> None:
    assert lateness(DAY, DAY + timedelta(days=3), with_value(policy, "missed_after_days", 3)) is (
        Lateness.OVERDUE
    )


# The policy says a change of 5 % (shipped). Pressure goes with planned over now:
# 23 / 22 = 1.0455 (5 %, but less than 5), 23 / 21.9 = 1.0502, 23 / 24.2 = 0.9504 (less than 5
# lost), 23 / 24.3 = 0.9465.
@pytest.mark.parametrize(
    ("now_cm", "words"),
    [
        (23.0, None), (22.0, None), (24.2, None),
        (21.9, "ankle 23 → 21.9 cm since the plan: the same stretch presses about 5% more"),
        (24.3, "ankle 23 → 24.3 cm since the plan: the same stretch presses about 5% less"),
        (20.0, "ankle 23 → 20 cm since the plan: the same stretch presses about 15% more"),
    ],
)  # fmt: skip
def test_a_girth_drifts_from_five_per_cent_on(policy, now_cm, words) -> None:
    said = girth_drift(23.0, now_cm, policy)
    assert (said.text if said else None) == words


def test_exactly_the_policys_share_is_drift(policy) -> None:
    # 25 / 20 - 1 = 0.25, which a float holds exactly.
    assert girth_drift(25.0, 20.0, with_value(policy, "drift_share", 0.25)) is not None
    assert girth_drift(25.0, 20.0, with_value(policy, "drift_share", 0.26)) is None


def areas(*rows: tuple[int, float]) -> list[tuple[date, float]]:
    """Areas so many days before the last [cm2]."""
    return [(DAY - timedelta(days=days), area) for days, area in rows]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], None),
        ([(0, 10.0)], None),
        # 27 days tell nothing yet, 28 do.
        ([(27, 10.0), (0, 10.0)], None),
        ([(28, 10.0), (0, 10.0)], "wound 0% smaller since 28 Oct (reassess under 20% in 4 weeks)"),
        # A fifth smaller is enough, a little less is not.
        ([(28, 10.0), (0, 7.9)], None),
        ([(28, 10.0), (0, 8.1)], "wound 19% smaller since 28 Oct (reassess under 20% in 4 weeks)"),
        ([(28, 10.0), (0, 13.0)], "wound 30% larger since 28 Oct (reassess under 20% in 4 weeks)"),
        # The latest one that is old enough counts, not the first.
        ([(56, 20.0), (29, 9.0), (7, 8.5), (0, 8.5)],
         "wound 6% smaller since 27 Oct (reassess under 20% in 4 weeks)"),
        ([(56, 8.6), (29, 20.0), (0, 8.5)], None),
        # A wound that was closed and is open has no share of nothing.
        ([(28, 0.0), (0, 2.0)], "wound 0% smaller since 28 Oct (reassess under 20% in 4 weeks)"),
    ],
)  # fmt: skip
def test_a_wound_stalls_under_a_fifth_in_four_weeks(policy, rows, words) -> None:
    said = wound_stalled(areas(*rows), policy)
    assert (said.text if said else None) == words


def test_exactly_the_policys_share_is_enough(policy) -> None:
    # 1 - 6 / 8 = 0.25, which a float holds exactly.
    rows = areas((28, 8.0), (0, 6.0))
    assert wound_stalled(rows, with_value(policy, "stall_share", 0.25)) is None
    assert wound_stalled(rows, with_value(policy, "stall_share", 0.26)) is not None
    assert wound_stalled(rows, with_value(with_value(policy, "stall_share", 0.26),
                                          "stall_weeks", 5)) is None  # fmt: skip


@pytest.mark.parametrize(("read", "above"), [(39.9, False), (40.0, False), (40.1, True)])
def test_a_reading_above_the_maximum_is_said(read, above) -> None:
    said = above_maximum(read, 40.0)
    assert (said is not None) is above
    if said is not None:
        assert said.text == "sensor read 40.1 mmHg, above the maximum 40"


# Six-monthly for an ordinary leg (RNAO): after 183 days, not on the last of them.
@pytest.mark.parametrize(("tested", "due"), [("2026-05-26", False), ("2026-05-25", True)])
def test_the_arterial_test_is_due_after_half_a_year(policy, tested, due) -> None:
    days = (DAY - date.fromisoformat(tested)).days
    assert (days > policy["arterial_test_days"]) is due
    said = arterial_due(right(case(**{f"{A}measured_on": tested})))
    assert (said.text if said else None) == (
        f"The arterial test is {days} days old (limit 183)" if due else None
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({f"{A}dorsalis_pedis_mmhg": None, f"{A}posterior_tibial_mmhg": None}, "No ABI (ABPI)"),
        ({f"{A}measured_on": None}, "The date of the arterial test has not been said"),
        ({f"{A}lying_flat": False}, "Measured not lying flat, which reads falsely high"),
        ({f"{A}measured_on": "2025-11-25", "legs.right.tolerated_mmhg": 34},
         "The arterial test is 365 days old (limit 183)"),
        ({"legs.right.findings.gangrene": None}, None),
        ({"legs.right.findings.claudication": True, f"{A}toe_mmhg": 110}, None),
    ],
)  # fmt: skip
def test_what_is_due_is_what_a_rule_about_arteries_asks_for_first(changes, words) -> None:
    said = arterial_due(right(case(**changes)))
    assert (said.text if said else None) == words


def test_a_rule_of_another_program_asks_for_nothing() -> None:
    decision = right(case())
    fired = Reason(code="unknown", kind=RuleKind.FIRST, text="Ask: it.", source="", strength="")
    assert arterial_due(decision.model_copy(update={"reasons": (fired,)})) is None


def test_what_is_the_matter_keeps_its_values_in_every_language() -> None:
    decisions = [right(case(**changes)) for changes, *_rest in TABLE]
    decisions += [right(with_pressures(*pressures)) for pressures, *_rest in BOUNDARIES]
    reasons = [
        reason
        for decision in decisions
        for reason in decision.reasons
        if RULES[reason.code].subject is Subject.ARTERIES
    ]
    for reason in reasons:
        assert reason.text.startswith(reason.matter.text)
        assert ": " not in reason.matter.template
        assert ordinary_letters(reason.matter.told(made_up)) == []


def test_no_english_is_left_of_a_concern(policy) -> None:
    for said in (
        girth_drift(23.0, 20.0, policy),
        girth_drift(23.0, 26.0, policy),
        wound_stalled(areas((28, 10.0), (0, 10.0)), policy),
        wound_stalled(areas((28, 10.0), (0, 12.0)), policy),
        above_maximum(50, 40),
    ):
        assert ordinary_letters(said.told(made_up)) == []
        assert said.code
