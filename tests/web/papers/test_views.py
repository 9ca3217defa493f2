"""Papers: the plan in force and the decision of the day, never one without the other."""

import pytest
from django.urls import reverse

from gaiter.core.safety import RULES
from gaiter.outlets.papers.content import PAPERS
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.visit.decided import decision_at

STOPPED = {"leg.findings.rest_pain": True}


@pytest.fixture
def text_of(clinic, signed_in):
    """The text of a paper."""
    client = signed_in("bandager")

    def text(kind: str) -> str:
        address = reverse("paper", args=[clinic.episode.pk, kind])
        return client.get(address, {"as": "text"}).content.decode()

    return text


@pytest.mark.parametrize("kind", PAPERS)
def test_papers_are_filled_from_the_record(clinic, signed_in, text_of, kind) -> None:
    clinic.approved()
    client = signed_in("bandager")
    page = client.get(reverse("paper", args=[clinic.episode.pk, kind])).content.decode()
    assert page.count("patient label") == (2 if kind == "home-nurse" else 1)
    assert 'class="pinned"' in page
    text = text_of(kind)
    # The leaflet goes home without a name on it but the clinic's own label.
    assert ("Ada Invented" in text) is (kind != "leaflet")
    if kind == "home-nurse":
        assert "DO NOT BANDAGE" not in text
        assert "Never more than 60 mmHg" in text
        assert "Return slip" in text
    if kind == "chart-note":
        assert "Girth at the ankle, the smallest: 23.5 cm" in text


@pytest.mark.parametrize("kind", ["chart-note", "vascular", "heart-failure", "dermatology",
                                  "home-nurse"])  # fmt: skip
@pytest.mark.parametrize("planned", [True, False])
def test_each_stop_of_the_day_reaches_the_letter(clinic, text_of, kind, planned) -> None:
    if planned:
        clinic.approved()
    clinic.fill({**STOPPED, "person.breathless_lying": True, "leg.findings.gangrene": True})
    text = text_of(kind)
    for reason in decision_at(clinic.visit).stops:
        assert reason.text in text
    assert len(decision_at(clinic.visit).stops) == 3
    assert "Never more than" not in text


def test_the_order_of_a_stopped_leg_says_do_not_bandage_first(clinic, text_of) -> None:
    clinic.approved()
    clinic.fill(STOPPED)
    text = text_of("home-nurse")
    first = text.split("\n\n")[1]
    assert first.startswith("DO NOT BANDAGE")
    assert "Pain at rest in the foot" in first
    assert "10 cm marks" not in text


def test_the_order_of_a_leg_that_waits_says_do_not_bandage(clinic, text_of) -> None:
    clinic.approved()
    clinic.fill({"person.heart_failure_class": None})
    assert text_of("home-nurse").split("\n\n")[1].startswith("DO NOT BANDAGE")


def test_the_order_without_a_plan_says_do_not_bandage(text_of) -> None:
    assert "No plan is in force" in text_of("home-nurse").split("\n\n")[1]


def test_an_alarm_stands_on_top_of_letter_and_order(clinic, text_of) -> None:
    made = record_bandaging(clinic.actor(), clinic.visit, clinic.approved(), tomorrow(clinic))
    record_check(clinic.actor(), made, "after", {**GOOD_ANSWERS, "warmth": "cold"})
    for kind in ("home-nurse", "vascular", "chart-note"):
        text = text_of(kind)
        assert "TAKE IT OFF NOW" in text
        assert "10 cm marks" not in text or "Not to be bandaged now." in text
    assert "Keep it on" not in text_of("leaflet")


def tomorrow(clinic):
    from datetime import timedelta

    return clinic.visit.day + timedelta(days=1)


def test_a_leaflet_for_a_bandaged_leg_keeps_it_on_and_names_the_emergencies(
    clinic, text_of
) -> None:
    clinic.approved()
    text = text_of("leaflet")
    assert "Keep it on day and night" in text
    assert "Walk as much as you can" in text
    emergency = text[text.index("Call the emergency number") :]
    for words in ("your chest hurts", "suddenly breathless", "calf suddenly swells"):
        assert words in emergency


def test_a_leaflet_for_a_stopped_leg_does_not_keep_it_on(clinic, text_of) -> None:
    clinic.approved()
    clinic.fill(STOPPED)
    text = text_of("leaflet")
    assert "Keep it on" not in text
    assert "must not be bandaged under pressure now" in text
    assert "do not put it up high" in text


def test_a_leaflet_follows_mobility_allergy_and_who_looks(clinic, text_of) -> None:
    clinic.fill(
        {
            "person.mobility": "bed", "person.allergies": ["latex"],
            "person.can_report_pain": False, "person.daily_observer": "Mrs Finch",
            "person.can_be_taken_off": True, "person.pregnancy": True,
        }
    )  # fmt: skip
    clinic.approved()
    text = text_of("leaflet")
    assert "walk" not in text.lower()
    assert "heel must not lie on the bed" in text
    assert "LATEX" in text
    assert "LATEX ALLERGY" in text_of("home-nurse")
    assert "Mrs Finch" in text
    assert "bad headache" in text


def test_reasons_name_rules_that_exist(clinic) -> None:
    assert {reason.code for reason in decision_at(clinic.visit).reasons} <= set(RULES)
