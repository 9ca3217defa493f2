"""The plan page: designed, changed by hand, approved."""

import json

import pytest
from django.urls import reverse
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.core.plan import Plan
from gaiter.records.models import PlanRecord, Role
from tests.clinic import PASSWORD, attempt_of


def test_the_plan_page_and_the_command_give_the_same_plan(clinic, signed_in, tmp_path) -> None:
    client = signed_in("prescriber")
    case = tmp_path / "case.json"
    case.write_bytes(client.get(reverse("case-file", args=[clinic.visit.pk])).content)
    result = CliRunner().invoke(app, ["plan", str(case), "--out", str(tmp_path), "--json"])
    assert result.exit_code == 0, result.output
    client.post(reverse("propose", args=[clinic.visit.pk]))
    recorded = PlanRecord.objects.get()
    made = json.loads(recorded.document)
    # The page also records which skin it showed as often above its maximum.
    (leg,) = made["legs"].values()
    assert leg["systems"][0].pop("often_above")
    leg["systems"][0]["often_above"] = []
    # The fingerprint covers that as well.
    printed = json.loads((tmp_path / "plan.json").read_text())
    assert made.pop("written") != printed.pop("written")
    assert made == printed
    page = client.get(reverse("design", args=[clinic.visit.pk])).content.decode()
    system = next(iter(Plan.model_validate_json(recorded.document).legs.values())).systems[0]
    (judged_round,) = system.round_words
    assert f"<p>{judged_round.text}</p>" in page
    for site in system.sites:
        assert f"<b>{site.median_mmhg:.0f}</b>" in page
        assert f"{site.low_mmhg:.0f}–{site.high_mmhg:.0f}" in page


def test_a_change_by_hand_is_recorded_as_one(clinic, signed_in) -> None:
    client = signed_in("prescriber")
    asked = "system=wool_gauze_long_stretch&stretch.long_stretch_elastic=40"
    part = client.get(
        reverse("design", args=[clinic.visit.pk]) + "?" + asked, headers={"X-Part": "design"}
    )
    assert b"Changed by hand:" in part.content
    client.post(reverse("propose", args=[clinic.visit.pk]), {"asked": asked})
    plan = Plan.model_validate_json(PlanRecord.objects.get().document)
    system = next(iter(plan.legs.values())).systems[0]
    assert [one.text for one in system.by_hand] == ["long stretch elastic: stretch 40%"]


def test_a_bandager_sees_the_short_form_and_changes_nothing(clinic, signed_in) -> None:
    client = signed_in("bandager")
    address = reverse("design", args=[clinic.visit.pk])
    page = client.get(address + "?system=wool_gauze_long_stretch&stretch.long_stretch_elastic=40")
    assert b"data-live-form" not in page.content
    assert b"Changed by hand" not in page.content


@pytest.mark.parametrize(
    "asked",
    [
        "system=nothing_such",
        "system=wool_gauze_long_stretch&stretch.long_stretch_elastic=lots",
        "system=wool_gauze_long_stretch&stretch.long_stretch_elastic=900",
        "system=wool_gauze_long_stretch&pattern.long_stretch_elastic=knot",
        "end=ear",
        "pad.front ankle tendon=99",
    ],
)
def test_a_control_that_cannot_be_is_answered_in_words(clinic, signed_in, asked) -> None:
    response = signed_in("prescriber").get(
        reverse("design", args=[clinic.visit.pk]) + "?" + asked, headers={"X-Part": "design"}
    )
    assert response.status_code == 400
    assert b'role="alert"' in response.content


def test_approval_asks_for_the_password_and_for_an_unchanged_visit(clinic, signed_in) -> None:
    record = clinic.proposed()
    client = signed_in("prescriber")
    address = reverse("approve", args=[record.pk])
    assert client.post(address, {"password": "wrong"}).status_code == 400
    clinic.fill({"leg.girth_cm.ankle": 25.0})
    changed = client.post(address, {"password": PASSWORD})
    assert b"plan anew" in changed.content
    clinic.fill({"leg.girth_cm.ankle": 23.5})
    assert client.post(address, {"password": PASSWORD}).status_code == 302
    record.refresh_from_db()
    assert record.state == "approved"
    assert client.get(reverse("sheet-file", args=[record.pk])).content.startswith(b"%PDF")


def test_a_waiting_plan_has_no_sheet(clinic, signed_in) -> None:
    response = signed_in("bandager").get(reverse("sheet-file", args=[clinic.proposed().pk]))
    assert response.status_code == 400
    assert b"was not approved: there is no sheet" in response.content


def test_a_plan_is_made_for_named_hands(clinic, signed_in) -> None:
    for _ in range(4):
        # Habits are known by material: the attempts are with what this leg is to get.
        attempt_of(clinic.actor(Role.BANDAGER), -0.1, "wool_gauze_cohesive")
    named = clinic.accounts[Role.BANDAGER]
    client = signed_in("bandager")
    page = client.get(reverse("design", args=[clinic.visit.pk]), {"hands": named.pk})
    assert f"Made for {named.initials}:" in page.content.decode()
    client.post(reverse("propose", args=[clinic.visit.pk]), {"asked": f"hands={named.pk}"})
    plan = clinic.visit.plans.get()
    assert "Made for" in plan.document
    # The visit still says its own training; the plan for somebody named is no older for that.
    shown = signed_in("prescriber").get(reverse("plan", args=[plan.pk])).content.decode()
    assert "plan anew" not in shown
    for wrong in ("999", "x"):
        answer = client.get(reverse("design", args=[clinic.visit.pk]), {"hands": wrong})
        assert answer.status_code == 400
