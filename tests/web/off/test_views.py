"""Loosened or off: recorded by whoever is there, with the reference on the tape."""

import pytest
from django.urls import reverse

from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.models import BandageEvent, Role
from gaiter.records.read.alarm import State, open_alarm

BAD = {**GOOD_ANSWERS, "colour": "paler", "warmth": "cold", "pain": "8"}


@pytest.mark.parametrize("role", list(Role))
def test_every_role_records_it_off_and_is_asked_for_the_look(
    clinic, signed_in, bandaging, role
) -> None:
    record_check(clinic.actor(), bandaging, "after", BAD)
    client = signed_in(role)
    form = {"reference": clinic.episode.reference, "kind": "taken_off", "words": ""}
    page = client.post(reverse("off"), form, follow=True).content.decode()
    assert "look at the toes again" in page
    assert "Ada Invented" not in page
    assert open_alarm(clinic.episode).state is State.LOOK
    client.post(reverse("off"), {**form, "after": "recovered"})
    assert open_alarm(clinic.episode) is None


def test_toes_that_do_not_come_back_at_home_are_an_emergency(clinic, signed_in, bandaging) -> None:
    client = signed_in("learner")
    form = {"reference": clinic.episode.reference, "kind": "taken_off", "after": "not_recovered"}
    page = client.post(reverse("off"), form, follow=True).content.decode()
    assert "SAME-DAY VASCULAR EMERGENCY" in page
    assert open_alarm(clinic.episode).state is State.EMERGENCY


def test_the_look_of_a_bandage_that_was_only_loosened_is_refused(clinic, nurse) -> None:
    form = {"reference": clinic.episode.reference, "kind": "loosened", "after": "recovered"}
    assert nurse.post(reverse("off"), form).status_code == 400
    assert not BandageEvent.objects.exists()


def test_a_reference_of_no_open_leg_is_said_and_nothing_is_written(nurse) -> None:
    answer = nurse.post(reverse("off"), {"reference": "ZZZZZ", "kind": "taken_off"})
    assert answer.status_code == 400
    assert "No open episode carries this reference" in answer.content.decode()
    assert not BandageEvent.objects.exists()


def test_the_form_shows_nothing_of_a_patient(clinic, nurse) -> None:
    text = nurse.get(reverse("off")).content.decode()
    assert clinic.person.name not in text
    assert clinic.episode.reference not in text
