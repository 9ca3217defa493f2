"""Every form does what it says, once, by whoever may."""

from datetime import timedelta

import pytest
from django.urls import reverse

from gaiter.records.actions.checks import GOOD_ANSWERS
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.models import (
    Account,
    AppliedRecord,
    BandageEvent,
    CallBack,
    Check,
    Episode,
    OverrideRecord,
    Person,
    Reading,
    StandingOrder,
    StoredFile,
)
from gaiter.records.read.documents import leg_of, plan_of
from tests.clinic import PASSWORD
from tests.records.actions.test_people import photo
from tests.web.as_shown import as_shown


@pytest.fixture
def doctor(clinic):
    from django.test import Client

    client = Client()
    client.force_login(
        clinic.accounts["prescriber"], backend="django.contrib.auth.backends.ModelBackend"
    )
    return client


def sent(client, name, /, *args, **form):
    response = client.post(reverse(name, args=args), form)
    assert response.status_code == 302, response.content.decode()[-800:]
    return response


def test_a_call_is_asked_for_and_returned(clinic, nurse) -> None:
    sent(nurse, "call", clinic.episode.pk, why="daughter rang", once="1")
    sent(nurse, "call-returned", CallBack.objects.get().pk, outcome="told her")
    page = nurse.get(reverse("leg", args=[clinic.episode.pk])).content.decode()
    assert "told her" in page
    again = nurse.post(
        reverse("call-returned", args=[CallBack.objects.get().pk]), {"outcome": "again"}
    )
    assert again.status_code == 400


def test_a_bandage_taken_off_stands_on_the_leg(clinic, nurse) -> None:
    sent(nurse, "leg-event", clinic.episode.pk, kind="taken_off", words="too tight", once="1")
    assert BandageEvent.objects.get().words == "too tight"
    assert "bandage taken off" in nurse.get(reverse("today")).content.decode()


def test_an_episode_is_closed_and_its_record_stays(clinic, nurse) -> None:
    sent(nurse, "close-episode", clinic.episode.pk, outcome="healed")
    assert Episode.objects.get().outcome == "healed"
    assert "Closed on" in nurse.get(reverse("leg", args=[clinic.episode.pk])).content.decode()
    assert nurse.post(reverse("start-visit", args=[clinic.episode.pk])).status_code == 302


def test_a_photo_is_kept_and_shown_again(clinic, nurse) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    sent(nurse, "add-file", clinic.episode.pk, kind="photo", once="1",
         file=SimpleUploadedFile("x.jpg", photo()))  # fmt: skip
    shown = nurse.get(reverse("stored-file", args=[StoredFile.objects.get().pk]))
    assert shown["Content-Type"] == "image/jpeg"
    assert shown.content.startswith(b"\xff\xd8")


def test_identifiers_are_corrected(clinic, nurse) -> None:
    shown = as_shown(nurse, reverse("change-person", args=[clinic.person.pk]))
    sent(nurse, "change-person", clinic.person.pk, name="Ada Corrected", birth_date="1951-03-15",
         number="T-1", phone="", **shown)  # fmt: skip
    assert Person.objects.get().born.day == 15
    assert (
        "Ada Corrected" in nurse.get(reverse("people"), {"find": "ada corrected"}).content.decode()
    )


def test_an_order_is_left_with_the_password_and_ended(clinic, doctor) -> None:
    today = clinic.actor().today
    form = {
        "number": "T-1", "maximum_mmhg": "40", "words": "While I am away.", "starts": today,
        "ends": today + timedelta(days=3), "password": PASSWORD,
    }  # fmt: skip
    for wrong in ({"password": "no"}, {"number": "T-99"}, {"ends": today - timedelta(days=1)}):
        assert doctor.post(reverse("orders"), {**form, **wrong}).status_code == 400
    sent(doctor, "orders", **form)
    order = StandingOrder.objects.get()
    assert order.person == clinic.person
    sent(doctor, "end-order", order.pk)
    assert "No order is in force" in doctor.get(reverse("orders")).content.decode()


def test_an_override_is_withdrawn(clinic, doctor) -> None:
    clinic.fill({"person.breathless_lying": True})
    sent(doctor, "override", clinic.visit.pk, reason="specialist agreed", maximum_mmhg="25",
         code="breathless_lying", aim_low_mmhg="10", aim_high_mmhg="20",
         words="Heart team agreed.", password=PASSWORD)  # fmt: skip
    sent(doctor, "withdraw-override", OverrideRecord.objects.get().pk)
    page = doctor.get(reverse("live-visit", args=[clinic.visit.pk])).content.decode()
    assert "Stop and refer" in page


def test_a_hard_stop_is_not_set_aside(clinic, doctor) -> None:
    clinic.fill({"leg.findings.gangrene": True})
    answer = doctor.post(
        reverse("override", args=[clinic.visit.pk]),
        {"reason": "specialist agreed", "maximum_mmhg": "25", "words": "Ten letters.",
         "password": PASSWORD},
    )  # fmt: skip
    assert answer.status_code == 400
    assert not OverrideRecord.objects.exists()


def test_a_bandage_is_put_on_checked_and_read(clinic, nurse) -> None:
    plan = clinic.approved()
    layer = next(x for x in leg_of(plan_of(plan)).systems[0].layers if x.mark_spacing_cm)
    spacing = f"spacing-{layer.number}-calf"
    off_by = clinic.visit.day + timedelta(days=2)
    for wrong in ("", clinic.visit.day):
        answer = nurse.post(
            reverse("bandaged", args=[clinic.visit.pk]), {"plan": plan.pk, "off_by": wrong}
        )
        assert answer.status_code == 400
    sent(nurse, "bandaged", clinic.visit.pk, plan=plan.pk, off_by=off_by, once="1")
    bandaging = clinic.visit.bandagings.get()
    good = dict(GOOD_ANSWERS)
    open_box = nurse.post(
        reverse("answer-check", args=[bandaging.pk]), {**good, "moment": "after", "pain": ""}
    )
    assert b"Pain must be" in open_box.content
    sent(nurse, "answer-check", bandaging.pk, **{**good, "pain": "1"}, moment="after", once="2")
    assert Check.objects.get().bad == []
    assert nurse.post(
        reverse("readings", args=[bandaging.pk]), {spacing: "lots"}
    ).status_code == 400  # fmt: skip
    assert not Reading.objects.exists()
    answer = nurse.post(
        reverse("readings", args=[bandaging.pk]),
        {spacing: "14,6", f"overlap-{layer.number}-": "4.8", "sensor-0-gaiter": "", "once": "3"},
    )
    assert answer.status_code == 302
    assert Reading.objects.get(kind="spacing").value == 14.6
    page = nurse.get(reverse("check", args=[clinic.visit.pk])).content.decode()
    assert AppliedRecord.objects.get().advice in page
    # What is in the boxes already is not read a second time.
    again = nurse.post(reverse("readings", args=[bandaging.pk]), {spacing: "14.6"})
    assert b"Nothing new was read" in again.content


def test_a_plan_of_another_leg_is_not_bandaged_here(clinic, nurse) -> None:
    plan = clinic.approved()
    nurse.post(reverse("open-leg", args=[clinic.person.pk]), {"side": "left"})
    other = Episode.objects.get(side="left").visits.get()
    answer = nurse.post(
        reverse("bandaged", args=[other.pk]),
        {"plan": plan.pk, "off_by": other.day + timedelta(days=7)},
    )
    assert answer.status_code == 404


def test_what_was_found_today_closes_the_bandage_form(clinic, nurse) -> None:
    clinic.approved()
    clinic.fill({"leg.findings.rest_pain": True})
    page = nurse.get(reverse("check", args=[clinic.visit.pk])).content.decode()
    assert "Do not bandage today" in page
    assert "The bandage is on</button>" not in page


def test_a_password_is_changed_with_the_present_one(clinic, nurse) -> None:
    form = {"unit": "cm", "new_password": "another long password"}
    assert nurse.post(reverse("own"), {**form, "password": "no"}).status_code == 400
    sent(nurse, "own", **form, password=PASSWORD)
    assert Account.objects.get(username="bandager").check_password("another long password")


def test_a_manager_changes_an_account_and_makes_a_link(clinic, signed_in) -> None:
    one = clinic.accounts["bandager"]
    client = signed_in("manager")
    form = {"name": "New Name", "initials": "NN", "role": "bandager", "training": "untrained"}
    address = reverse("account", args=[one.pk])
    sent(client, "account", one.pk, **as_shown(client, address), **form)
    one.refresh_from_db()
    assert (one.name, one.training, one.is_active) == ("New Name", "untrained", False)
    shut = client.post(reverse("account", args=[one.pk]), {"link": "1"})
    assert (shut.status_code, b"may not sign in" in shut.content) == (400, True)
    sent(client, "account", one.pk, **as_shown(client, address), **form, is_active="on")
    page = client.post(reverse("account", args=[one.pk]), {"link": "1"}).content.decode()
    assert "/welcome/#" in page


def test_bandaging_twice_with_one_press_counts_once(clinic, nurse) -> None:
    plan = clinic.approved()
    form = {"plan": plan.pk, "off_by": clinic.visit.day + timedelta(days=2), "once": "same"}
    for _ in range(2):
        nurse.post(reverse("bandaged", args=[clinic.visit.pk]), form)
    assert clinic.visit.bandagings.count() == 1


def test_a_later_record_of_bandaging_needs_the_plan_in_force(clinic) -> None:
    old = clinic.approved()
    clinic.approved()
    old.refresh_from_db()
    with pytest.raises(ValueError, match="Only an approved plan"):
        record_bandaging(clinic.actor(), clinic.visit, old, clinic.visit.day + timedelta(days=7))


def test_contradictory_readings_are_read_again_and_then_stand(clinic, nurse) -> None:
    plan = clinic.approved()
    bandaging = record_bandaging(
        clinic.actor(), clinic.visit, plan, clinic.visit.day + timedelta(days=2)
    )
    system = leg_of(plan_of(plan)).systems[0]
    layer = next(layer for layer in system.layers if layer.fabric)
    wide = f"{layer.mark_spacing_cm:g}"
    form = {
        f"spacing-{layer.number}-ankle": "10.1",
        f"spacing-{layer.number}-calf": wide,
        f"spacing-{layer.number}-below_knee": wide,
    }
    sent(nurse, "readings", bandaging.pk, **form)
    page = nurse.get(reverse("check", args=[clinic.visit.pk])).content.decode()
    assert AppliedRecord.objects.get().advice == "read again"
    assert 'name="confirmed"' in page
    sent(nurse, "readings", bandaging.pk, **form, confirmed="yes")
    assert AppliedRecord.objects.last().advice != "read again"
    page = nurse.get(reverse("check", args=[clinic.visit.pk])).content.decode()
    assert "Read twice and still so:" in page
