"""The check page: TAKE IT OFF NOW first and full width, and what follows it."""

from datetime import timedelta

import pytest
from django.urls import reverse

from gaiter.core.check import CHECK_BOXES
from gaiter.core.check.words import EMERGENCY_NEXT
from gaiter.core.sensor_site import SENSOR_SITES
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.models import Check, Reading
from gaiter.records.read.alarm import State, open_alarm

BAD = {**GOOD_ANSWERS, "colour": "paler", "warmth": "cold", "pain": "8"}


def page_of(client, clinic, name="check") -> str:
    pk = clinic.episode.pk if name == "leg" else clinic.visit.pk
    return client.get(reverse(name, args=[pk])).content.decode()


def answer(client, bandaging, answers, moment="after"):
    return client.post(
        reverse("answer-check", args=[bandaging.pk]), {**answers, "moment": moment}, follow=True
    ).content.decode()


def act(client, bandaging, kind, words=""):
    address = reverse("record-deed", args=[bandaging.pk])
    return client.post(address, {"kind": kind, "words": words}, follow=True)


def test_paler_cold_and_in_pain_is_answered_by_take_it_off_now_first(
    clinic, nurse, bandaging, settings
) -> None:
    settings.GAITER.__dict__["phone"] = "555 0100"
    page = answer(nurse, bandaging, BAD)
    work = page[page.index('<main id="work">') :]
    assert work.index("TAKE IT OFF NOW") < work.index("<h1>")
    alarm = work[work.index('class="alarm alarm-stop"') : work.index("</section>")]
    for words in ("paler (before the bandage same)", "cold (before the bandage warm)", "8 (before",
                  "10 minutes later look at colour", "555 0100", "Ada Invented", "It is off",
                  'data-sign="octagon"'):  # fmt: skip
        assert words in alarm, words


@pytest.mark.parametrize("name", ["visit", "design", "check"])
def test_every_page_of_the_visit_says_so_until_resolved(clinic, nurse, bandaging, name) -> None:
    record_check(clinic.actor(), bandaging, "after", BAD)
    for kind, said in (
        ("called", "TAKE IT OFF NOW"), ("taken_off", "look at the toes again"),
        ("not_recovered", "SAME-DAY VASCULAR EMERGENCY"), ("handed_over", "Handed over"),
    ):  # fmt: skip
        act(nurse, bandaging, kind, "Vascular registrar, 10:40")
        assert said in page_of(nurse, clinic, name)


def test_an_emergency_says_what_to_do_and_whom_to_call(clinic, nurse, bandaging) -> None:
    record_check(clinic.actor(), bandaging, "after", BAD)
    act(nurse, bandaging, "taken_off")
    page = act(nurse, bandaging, "not_recovered").content.decode()
    for words in (*EMERGENCY_NEXT, "the vascular team on call, or the emergency number"):
        assert words in page


def test_a_resolved_alarm_is_gone_and_the_visit_is_signed(clinic, nurse, bandaging) -> None:
    record_check(clinic.actor(), bandaging, "after", BAD)
    sign = reverse("sign-visit", args=[clinic.visit.pk])
    form = {"next_visit": clinic.visit.day + timedelta(days=1)}
    assert b"TAKE IT OFF NOW" in nurse.post(sign, form).content
    act(nurse, bandaging, "taken_off")
    assert b"look at the toes" in nurse.post(sign, form).content
    act(nurse, bandaging, "recovered")
    assert 'id="alarm"' not in page_of(nurse, clinic)
    assert nurse.post(sign, form).status_code == 302


def test_a_tight_edge_is_answered_by_loosen_and_look_again(clinic, nurse, bandaging) -> None:
    page = answer(nurse, bandaging, {**GOOD_ANSWERS, "fingers": "no"})
    assert "Loosen it and look again" in page
    assert 'class="alarm alarm-watch"' in page
    assert "TAKE IT OFF NOW" not in page
    act(nurse, bandaging, "loosened")
    assert "TAKE IT OFF NOW" in act(nurse, bandaging, "not_recovered").content.decode()


def test_what_answers_nothing_is_refused_in_words(clinic, nurse, bandaging) -> None:
    record_check(clinic.actor(), bandaging, "after", BAD)
    page = act(nurse, bandaging, "loosened")
    assert page.status_code == 400
    assert b"loosening is no answer" in page.content


def test_a_stopped_leg_without_a_plan_says_its_decision_here_too(clinic, nurse) -> None:
    """The page once said only that no plan was approved."""
    clinic.fill({"leg.findings.gangrene": True})
    text = page_of(nurse, clinic)
    assert "Stop and refer: no compression" in text
    assert "No plan is approved for this leg" in text


def test_only_a_prescriber_clears_a_leg(clinic, nurse, bandaging) -> None:
    record_check(clinic.actor(), bandaging, "after", BAD)
    for kind in ("taken_off", "not_recovered"):
        act(nurse, bandaging, kind)
    act(nurse, bandaging, "handed_over", "Vascular registrar, 10:40")
    assert act(nurse, bandaging, "cleared", "Seen, all is well.").status_code == 403
    assert open_alarm(clinic.episode).state is State.HANDED_OVER


def test_every_answer_of_every_box_can_be_given_and_shows_what_was_before(
    clinic, nurse, bandaging
) -> None:
    page = page_of(nurse, clinic)
    for key, box in CHECK_BOXES.items():
        for answer_ in box.answers:
            assert f'name="{key}" value="{answer_}"' in page
    assert "before: warm" in " ".join(page.split()).replace("</span>", "")


def test_boxes_left_open_keep_what_was_answered(clinic, nurse, bandaging) -> None:
    page = nurse.post(
        reverse("answer-check", args=[bandaging.pk]),
        {**GOOD_ANSWERS, "pain": "", "warmth": "cool", "moment": "walked"},
    ).content.decode()
    assert "Pain must be a whole number" in page
    assert 'name="warmth" value="cool" required checked' in page
    assert not Check.objects.exists()


@pytest.mark.parametrize("name", ["visit", "design", "check"])
def test_name_birth_date_side_and_reference_are_pinned(clinic, nurse, name) -> None:
    page = page_of(nurse, clinic, name)
    pinned = page[page.index('class="pinned"') :]
    pinned = pinned[: pinned.index("</p>")]
    for words in ("Ada Invented", "14 Mar 1951", "right", clinic.episode.reference):
        assert words in pinned


def test_side_and_wound_stand_beside_the_drawing(clinic, nurse, bandaging) -> None:
    page = " ".join(page_of(nurse, clinic).split())
    caption = page[page.index("<figcaption>") : page.index("</figcaption>")]
    assert "Right leg" in caption
    assert "wound: inner ankle" in caption


def test_a_sensor_has_a_box_for_each_place_and_says_where_it_lies(clinic, nurse, bandaging) -> None:
    """The gaiter first, the ankle beside it; what is typed is kept by its place."""
    page = page_of(nurse, clinic)
    names = [f'name="sensor-0-{place}"' for place in ("gaiter", "ankle", "calf", "below_knee")]
    places = [page.index(name) for name in names]
    assert places == sorted(places)
    for site in SENSOR_SITES.values():
        assert site.where in page
    typed = {"sensor-0-gaiter": "33", "sensor-0-ankle": "15", "sensor--1-calf": "9"}
    nurse.post(reverse("readings", args=[bandaging.pk]), typed)
    kept = Reading.objects.values_list("place", "value")
    assert set(kept) == {("gaiter", 33.0), ("ankle", 15.0)}
