"""Every stop reaches every surface: decision, visit, Today, leg page, plan, bandage page, sheet,
``gaiter safety`` and the letters. Walks the rules, so that a new one is walked as well."""

import html
import json
from datetime import date
from typing import Any

import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.core.case import SafetyCase
from gaiter.core.safety import RULES, Outcome
from gaiter.records.ledger import action
from gaiter.records.models import Role
from gaiter.records.read.documents import leg_of
from gaiter.records.visit.boxes import box_path
from gaiter.records.visit.case import assembled, case_of, safety_case_of
from gaiter.records.visit.decided import decision_of
from gaiter.sheets.content import sheet_content
from gaiter.web.plan.desk import computed_plan
from tests.core.safety.test_decision import BOUNDARIES, TABLE

STOPS = [code for code, rule in RULES.items() if rule.stops]
ARTERIAL = {row[3]: row[0] for row in BOUNDARIES if row[3] in STOPS}
FOUND = {row[1]: row[0] for row in reversed(TABLE) if row[1] in STOPS}
FOUND["tcpo2_hard"] = {"legs.right.arterial.tcpo2_mmhg": 19}
FOUND["tcpo2_stop"] = {"legs.right.arterial.tcpo2_mmhg": 25}


def typed(code: str) -> dict[str, Any]:
    """What is put into boxes so that a rule stops the leg."""
    if code in ARTERIAL:
        arm, ankle, toe = ARTERIAL[code]
        numbers = {"arms.left_mmhg": arm, "arms.right_mmhg": arm, "leg.arterial.toe_mmhg": toe}
        ankles = ("dorsalis_pedis_mmhg", "posterior_tibial_mmhg")
        return numbers | {f"leg.arterial.{name}": ankle for name in ankles}
    return {
        box_path(path.replace("legs.right.", "leg.")): value
        for path, value in FOUND[code].items()
        if path not in ("person.age_years", "person.other_leg_compressed", "arms")
    }


@pytest.fixture
def stopped(clinic, request):
    """A visit at which one rule stops the leg; some need another person or another leg."""
    code = request.param
    if code == "child":
        born = date(date.today().year - 10, 1, 1).isoformat()
        with action(clinic.actor(), "change person", clinic.person) as act:
            act.change(clinic.person, birth_date=born)
        clinic.visit.episode.person.refresh_from_db()
    if code == "heart_failure_class_3_both_legs":
        from gaiter.records.actions.people import open_episode
        from gaiter.records.actions.visits import open_visit
        from tests.clinic import Clinic

        left = open_episode(clinic.actor(), clinic.person, "left")
        other = Clinic(clinic.accounts, clinic.person, left, open_visit(clinic.actor(), left))
        other.fill()
        other.approved()
    clinic.fill(typed(code))
    return code, clinic


def text_of(response: Any) -> str:
    assert response.status_code == 200
    return html.unescape(response.content.decode())


@pytest.mark.parametrize("stopped", STOPS, indirect=True)
def test_a_stop_is_said_everywhere(stopped, signed_in, tmp_path) -> None:
    code, clinic = stopped
    visit, episode = clinic.visit, clinic.episode
    decision = decision_of(assembled(visit))
    assert decision.outcome is Outcome.STOP
    assert code in decision.limiting
    said = next(reason.text for reason in decision.reasons if reason.code == code)

    browser = signed_in(Role.BANDAGER)
    for page in (
        f"/visits/{visit.pk}/", f"/visits/{visit.pk}/live/", f"/visits/{visit.pk}/plan/",
    ):  # fmt: skip
        text = text_of(browser.get(page))
        assert "Stop and refer: no compression" in text, page
        assert said in text, page
    danger = RULES[code].danger.lower()
    for page in ("/", f"/legs/{episode.pk}/"):
        assert danger in text_of(browser.get(page)).lower(), page
    assert said in text_of(browser.get(f"/legs/{episode.pk}/papers/vascular/"))
    assert "DO NOT BANDAGE" in text_of(browser.get(f"/legs/{episode.pk}/papers/home-nurse/"))

    plan = computed_plan(case_of(assembled(visit)))
    leg = leg_of(plan)
    assert leg.systems == ()
    assert said in [stop["text"] for stop in sheet_content(plan, leg)["stops"]]

    path = tmp_path / "case.json"
    path.write_text(safety_case_of(assembled(visit)).model_dump_json(by_alias=True))
    answer = CliRunner().invoke(app, ["safety", str(path), "--json"])
    assert answer.exit_code == 3
    legs = json.loads(answer.output)["legs"]
    assert said in [reason["text"] for reason in legs["right"]["reasons"]]
    assert SafetyCase.model_validate_json(path.read_text())


def test_every_stop_is_walked() -> None:
    assert set(STOPS) == set(ARTERIAL) | set(FOUND)
    assert len(STOPS) > 30
