"""The same leg on the same day says the same on every page, paper and command.

Stops are walked by test_every_stop.py; here what is not yet, reduced, full, provisional, set aside.
"""

import html
import json
from typing import Any

import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.records.actions.stops import choose_provisional, override_stops
from gaiter.records.models import Role
from gaiter.records.read.documents import leg_of
from gaiter.records.visit.case import assembled, case_of, safety_case_of
from gaiter.records.visit.decided import decision_of
from gaiter.web.plan.desk import computed_plan

WORDS = "Spoken to on the telephone today."
# What is typed; what is chosen about it; how the headline starts; the exit code.
LEGS: dict[str, tuple[dict[str, Any], str, str, int]] = {
    "full": ({}, "", "Full: aim", 0),
    "reduced": ({"leg.findings.claudication": True, "leg.arterial.toe_mmhg": 110}, "",
                "Reduced: aim", 0),
    "arteries": ({f"leg.arterial.{name}": 100 for name in
                  ("dorsalis_pedis_mmhg", "posterior_tibial_mmhg")}, "", "Reduced: aim", 0),
    "not yet": ({"leg.arterial.lying_flat": None}, "", "Not yet: ask or measure this first; no", 4),
    "provisional": ({"leg.arterial.lying_flat": None}, "provisional",
                    "Not yet: ask or measure this first; provisional level, aim", 4),
    "set aside": ({"leg.findings.stent": True}, "override", "Reduced: aim 15–25, never above 30",
                  0),
}  # fmt: skip


@pytest.mark.parametrize("name", LEGS)
def test_every_surface_says_the_same(clinic, signed_in, tmp_path, name) -> None:
    typed, chosen, starts, code = LEGS[name]
    clinic.fill(typed)
    visit, doctor = clinic.visit, clinic.actor(Role.PRESCRIBER)
    if chosen == "provisional":
        choose_provisional(doctor, visit, WORDS)
    if chosen == "override":
        override_stops(
            doctor, visit, code="stent", aim_low_mmhg=15, aim_high_mmhg=25, maximum_mmhg=30,
            reason="specialist agreed", words=WORDS,
        )  # fmt: skip
    decision = decision_of(assembled(visit))
    said = decision.headline
    assert said.startswith(starts)

    browser = signed_in(Role.BANDAGER)
    pages = [
        f"/visits/{visit.pk}/", f"/visits/{visit.pk}/live/", f"/visits/{visit.pk}/plan/",
        f"/legs/{clinic.episode.pk}/", f"/legs/{clinic.episode.pk}/papers/vascular/",
    ]  # fmt: skip
    for page in pages:
        text = html.unescape(browser.get(page).content.decode())
        assert said in text, page

    leg = leg_of(computed_plan(case_of(assembled(visit))))
    assert leg.decision == decision
    assert bool(leg.systems) is (decision.maximum_mmhg is not None)

    path = tmp_path / "case.json"
    path.write_text(safety_case_of(assembled(visit)).model_dump_json(by_alias=True))
    answer = CliRunner().invoke(app, ["safety", str(path), "--json"])
    assert answer.exit_code == code
    told = json.loads(answer.output)["legs"]["right"]
    assert (told["headline"], told["maximum_mmhg"]) == (said, decision.maximum_mmhg)
