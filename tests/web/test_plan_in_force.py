"""The same plan on every page of a leg, and pages of records that never plan again."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from gaiter.core.plan import planner
from gaiter.records.actions.plans import record_bandaging, void_plan, withdraw_plan
from gaiter.records.models import PlanRecord, Role
from gaiter.records.read.documents import leg_of, plan_of
from tests.clinic import PASSWORD


@pytest.fixture
def doctor(signed_in):
    return signed_in("prescriber")


def page(client, name, pk) -> str:
    return client.get(reverse(name, args=[pk])).content.decode()


def test_a_proposal_changes_no_page_that_is_bandaged_from(clinic, doctor) -> None:
    plan = clinic.approved()
    clinic.fill({"leg.girth_cm.calf": 36.0})
    proposal = clinic.proposed()
    leg, check = page(doctor, "leg", clinic.episode.pk), page(doctor, "check", clinic.visit.pk)
    for text in (leg, check):
        assert reverse("steps", args=[plan.pk]) in text
        assert reverse("steps", args=[proposal.pk]) not in text
    tab = page(doctor, "design", clinic.visit.pk)
    assert reverse("plan", args=[plan.pk]) in tab
    assert reverse("plan", args=[proposal.pk]) in tab
    layer = next(x for x in leg_of(plan_of(plan)).systems[0].layers if x.mark_spacing_cm)
    assert f"{layer.mark_spacing_cm:.1f}" in page(doctor, "steps", plan.pk)
    assert f"{layer.mark_spacing_cm:.1f}" in check


def test_the_plan_tab_says_still_right_or_what_changed(clinic, doctor) -> None:
    clinic.approved()
    assert "still right: likely" in page(doctor, "design", clinic.visit.pk)
    clinic.fill({"leg.girth_cm.ankle": 22.0, "leg.girth_cm.gaiter": 25.6})
    text = page(doctor, "design", clinic.visit.pk)
    assert re.search(r"changed because the \w+ is 1\.\d cm smaller: \d+ → \d+ mmHg", text)
    assert reverse("propose", args=[clinic.visit.pk]) in text


def test_a_leg_that_may_not_be_bandaged_today_is_not_said_to_have_changed(clinic, doctor) -> None:
    """It once said that the bandage "cannot be made for the leg of today"."""
    clinic.approved()
    clinic.fill({"leg.findings.rest_pain": None})
    text = page(doctor, "design", clinic.visit.pk)
    assert "Not yet" in text
    assert "On today" not in text


def test_pages_of_a_record_never_plan_again(clinic, doctor, monkeypatch) -> None:
    plan = clinic.approved()

    def planned(*_args, **_kwargs):
        raise AssertionError("a page of a record planned again")

    monkeypatch.setattr(planner, "computed", planned)
    for name in ("plan", "steps"):
        assert "<svg" in page(doctor, name, plan.pk)
    assert doctor.get(reverse("sheet-file", args=[plan.pk])).content.startswith(b"%PDF")


def test_a_proposal_is_withdrawn_on_its_page(clinic, doctor) -> None:
    proposal = clinic.proposed()
    assert "Withdraw the proposal" in page(doctor, "plan", proposal.pk)
    doctor.post(reverse("withdraw-plan", args=[proposal.pk]))
    proposal.refresh_from_db()
    assert proposal.state == "withdrawn"
    assert "Withdraw the proposal" not in page(doctor, "plan", proposal.pk)


def test_a_plan_that_ended_says_so_wherever_it_is_opened(clinic, doctor) -> None:
    plan = void_plan(clinic.actor(), clinic.approved(), "The ankle is 6 cm smaller.")
    for name in ("plan", "steps"):
        text = page(doctor, name, plan.pk)
        assert "Do not bandage from this plan: what was found ended it." in text
        assert "The ankle is 6 cm smaller" in text
    assert doctor.get(reverse("sheet-file", args=[plan.pk])).status_code == 400
    assert "The ankle is 6 cm smaller" in page(doctor, "leg", clinic.episode.pk)
    assert "The ankle is 6 cm smaller" in doctor.get(reverse("today")).content.decode()
    assert "No plan is approved" in page(doctor, "check", clinic.visit.pk)


def test_what_today_finds_stands_on_every_page_of_the_plan(clinic, doctor) -> None:
    plan = clinic.approved()
    clinic.fill({"leg.girth_cm.ankle": 17.3})
    words = "Girth at the ankle 23.5 → 17.3 cm"
    for name, pk in (
        ("plan", plan.pk), ("steps", plan.pk), ("check", clinic.visit.pk),
        ("leg", clinic.episode.pk), ("design", clinic.visit.pk),
    ):  # fmt: skip
        assert words in page(doctor, name, pk), name
    assert doctor.get(reverse("sheet-file", args=[plan.pk])).status_code == 400


def test_approval_shows_every_warning_that_designing_showed(clinic, doctor) -> None:
    design = page(doctor, "design", clinic.visit.pk)
    doctor.post(reverse("propose", args=[clinic.visit.pk]))
    record = PlanRecord.objects.get()
    above = leg_of(plan_of(record)).systems[0].often_above
    assert above
    approval = page(doctor, "plan", record.pk)
    for one in above:
        said = f"{one.area_cm2:.0f} cm² of skin above {one.limit_mmhg:.0f} mmHg"
        assert said in design
        assert said in approval


def test_a_place_above_its_maximum_is_accepted_by_name(clinic, doctor, monkeypatch) -> None:
    from gaiter.records.actions import plans
    from gaiter.web.plan import views

    places = ("instep", "Achilles tendon")
    for module in (plans, views):
        monkeypatch.setattr(module, "to_accept", lambda _system: places)
    record = clinic.proposed()
    address, form = reverse("approve", args=[record.pk]), {"password": PASSWORD}
    assert "Achilles tendon" in page(doctor, "plan", record.pk)
    answer = doctor.post(address, {**form, "accept": ["instep"]})
    assert answer.status_code == 400
    assert b"by name: Achilles tendon" in answer.content
    assert doctor.post(address, {**form, "accept": list(places)}).status_code == 302
    record.refresh_from_db()
    assert record.accepted == list(places)


def test_a_bandage_said_by_mistake_is_undone_on_the_check_page(clinic, doctor) -> None:
    day = clinic.visit.day + timedelta(days=2)
    one = record_bandaging(clinic.actor(), clinic.visit, clinic.approved(), day)
    text = page(doctor, "check", clinic.visit.pk)
    assert "The bandage is on</button>" not in text
    doctor.post(reverse("undo-bandaging", args=[one.pk]), {"why": "pressed by mistake"})
    assert "The bandage is on</button>" in page(doctor, "check", clinic.visit.pk)


def test_a_withdrawn_plan_leaves_nothing_to_bandage_from(clinic, doctor) -> None:
    plan = clinic.approved()
    withdraw_plan(clinic.actor(Role.PRESCRIBER), plan, "Heart team asks for none.")
    assert "No plan is approved" in page(doctor, "leg", clinic.episode.pk)
    assert "Heart team asks for none." in page(doctor, "leg", clinic.episode.pk)
