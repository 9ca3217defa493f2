"""Another language is a catalogue: no English reason reaches a page, whatever stands inside it."""

import html
import json
import re
from collections.abc import Iterable
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import translation

from gaiter import __version__
from gaiter.core.check import CHECK_BOXES, words
from gaiter.core.plan.system_catalogue import changed_by
from gaiter.core.plan.system_list import SystemList
from gaiter.core.policy import overlaid
from gaiter.core.words import Said, Several, Value
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from gaiter.records.actions.checks import record_check, record_deed
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.stops import override_stops, record_stop_action
from gaiter.records.models import Account, Role
from gaiter.records.read.alarm import open_alarm
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.holding import holding
from gaiter.records.visit.boxes import boxes
from gaiter.records.visit.case import assembled, case_or_problems, local_policy
from gaiter.records.visit.decided import decision_of
from gaiter.web.frame import views
from gaiter.web.practice.task import practice_mappings
from tests.made_up_language import made_up, ordinary_letters

pytestmark = pytest.mark.long

# What is found, so that many rules fire with many words inside.
FINDINGS = {
    "clot": {"leg.findings.clot.signs.calf_3_cm_larger": True,
             "leg.findings.clot.signs.pitting_only_this_leg": True},
    "heart": {"person.heart_failure_class": 3, "person.breathless_lying": True,
              "person.weight_gain_kg": 3},
    "toes": {"toes.colour": "white", "toes.feeling": "no toe", "look.pain": 8},
    "new pain": {"leg.findings.new_pain": True, "leg.findings.colour_change": True},
    "not asked": {"leg.findings.gangrene": None, "leg.findings.bypass": None,
                  "leg.findings.stent": None},
    "arteries": {"person.diabetes": True, "leg.findings.claudication": True,
                 "leg.arterial.dorsalis_pedis_mmhg": None, "leg.arterial.lying_flat": None},
    "skin": {"leg.findings.skin_fragile": True, "leg.findings.shape": "inverted bottle",
             "leg.findings.infection": "spreading"},
}  # fmt: skip


@pytest.fixture
def foreign(monkeypatch) -> None:
    """A catalogue that knows every msgid."""
    monkeypatch.setattr(translation._trans, "gettext", made_up, raising=False)
    # What is kept for speed is kept by language.
    monkeypatch.setattr(translation._trans, "get_language", lambda: "eo", raising=False)


def text_of(response) -> str:
    """What a page shows, without its marks."""
    assert response.status_code in (200, 400)
    page = re.sub(r"<(script|style).*?</\1>|<[^>]*>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(page))


def english(value: Value) -> Iterable[str]:
    """What is said in English, and every word or more inside it that is one of ours."""
    if isinstance(value, Several):
        for item in value.items:
            yield from english(item)
    elif isinstance(value, Said):
        if " " in value.text:
            yield value.text
        for inside in value.values.values():
            yield from english(inside)


def is_told(page: str, said: Said) -> bool:
    """Whether a page says it in the reader's language; never in English."""
    assert [text for text in english(said) if text in page] == []
    return " ".join(said.told(made_up).split()) in page


# What stands in ordinary letters in every language, beside names and numbers of this record.
UNITS = {"cm", "mm", "mmHg", "SHA"}


def english_left(response, *names: str) -> list[str]:
    """Words in ordinary letters on a page and in its pictures, names and units aside."""
    page = response.content.decode()
    page = re.sub(r"<(script|style).*?</\1>|<[^>]*>", " ", page, flags=re.S)
    page = re.sub(r"\s+", " ", html.unescape(page))
    for name in sorted(names, key=len, reverse=True):
        page = page.replace(name, " ")
    return [word for word in ordinary_letters(page) if word not in UNITS]


@pytest.mark.parametrize(
    "values",
    [{}, {"person.mobility": "chair", "person.rebandaged_by": "self",
          "person.footwear": "ordinary shoe", "person.does_not_tolerate": ["cohesive"],
          "leg.wound.exudate": "heavy", "leg.wound.dressing_thickness_mm": 12}],
    ids=["ordinary", "self-care"],
)  # fmt: skip
def test_no_english_is_left_on_the_pages_of_a_plan(clinic, signed_in, foreign, values) -> None:
    clinic.fill(values)
    record = clinic.approved()
    versions = plan_of(record).versions
    names = (
        "Gaiter", "Wound clinic", clinic.visit.episode.person.name, clinic.episode.reference,
        *Account.objects.values_list("name", flat=True), versions.gaiter, versions.policy,
        record.sha256,
    )  # fmt: skip
    browser = signed_in(Role.PRESCRIBER)
    for address in (
        reverse("plan", args=[record.pk]),
        f"/visits/{clinic.visit.pk}/plan/",
        reverse("steps", args=[record.pk]),
    ):
        page = browser.get(address)
        assert page.status_code == 200
        assert english_left(page, *names) == [], address


@pytest.mark.parametrize("name", FINDINGS)
def test_no_english_reason_reaches_a_page(clinic, signed_in, foreign, name) -> None:
    plan = clinic.approved()
    clinic.fill(FINDINGS[name])
    decision = decision_of(assembled(clinic.visit))
    assert len(decision.reasons) > 1
    found = holding(clinic.visit, plan)
    browser = signed_in(Role.PRESCRIBER)
    pages = {
        page: text_of(browser.get(address))
        for page, address in {
            "visit": f"/visits/{clinic.visit.pk}/",
            "live": f"/visits/{clinic.visit.pk}/live/",
            "design": f"/visits/{clinic.visit.pk}/plan/",
            "check": reverse("check", args=[clinic.visit.pk]),
            "leg": f"/legs/{clinic.episode.pk}/",
            "today": "/",
            "letter": f"/legs/{clinic.episode.pk}/papers/vascular/",
            "home nurse": f"/legs/{clinic.episode.pk}/papers/home-nurse/",
        }.items()
    }
    asked = ("screen_incomplete", "not_asked", "not_asked_caps")
    for reason in decision.reasons:
        told = {page for page, text in pages.items() if is_told(text, reason.said)}
        # Questions stand there as links to their boxes.
        assert reason.code in asked or told >= {"visit", "live"}, reason.code
    for page in ("visit", "live", "design", "leg", "letter"):
        assert is_told(pages[page], decision.said), page
    for change in found.reasons:
        assert is_told(pages["check"], change.said)
        assert is_told(pages["leg"], change.said)


def test_no_english_of_a_recorded_plan_reaches_its_page(clinic, signed_in, foreign) -> None:
    clinic.fill({"leg.findings.stent": True})
    override_stops(
        clinic.actor(Role.PRESCRIBER), clinic.visit, code="stent", aim_low_mmhg=15,
        aim_high_mmhg=25, maximum_mmhg=30, reason="specialist agreed",
        words="Spoken to on the telephone today.",
    )  # fmt: skip
    plan = clinic.approved()
    decision = decision_of(assembled(clinic.visit))
    browser = signed_in(Role.PRESCRIBER)
    page = text_of(browser.get(reverse("plan", args=[plan.pk])))
    assert is_told(page, decision.said)
    for reason in decision.reasons:
        assert is_told(page, reason.said), reason.code
    assert "Spoken to on the telephone today." in page
    leg = text_of(browser.get(f"/legs/{clinic.episode.pk}/"))
    override = next(reason for reason in decision.reasons if reason.code == "override")
    assert is_told(leg, override.said)


def test_no_english_of_a_check_and_its_alarm_reaches_a_page(clinic, signed_in, foreign) -> None:
    bandaging = record_bandaging(
        clinic.actor(), clinic.visit, clinic.approved(), clinic.visit.day + timedelta(days=1)
    )
    worst = {key: list(box.answers)[-1] for key, box in CHECK_BOXES.items()} | {"pain": "9"}
    check = record_check(clinic.actor(), bandaging, "after", worst)
    alarm = open_alarm(clinic.episode)
    assert alarm.failed == check.seen
    assert len(check.seen) == 9
    browser = signed_in(Role.BANDAGER)
    addresses = (reverse("check", args=[clinic.visit.pk]), f"/legs/{clinic.episode.pk}/")
    for address in addresses:
        page = text_of(browser.get(address))
        for said in (Said(alarm.headline), *alarm.failed, *alarm.next):
            assert is_told(page, said), said
    record_deed(clinic.actor(), bandaging, "taken_off")
    record_deed(clinic.actor(), bandaging, "not_recovered")
    page = text_of(browser.get(addresses[0]))
    for text in words.EMERGENCY_NEXT:
        assert is_told(page, Said(text)), text


def test_what_is_missing_of_a_check_is_asked_in_the_readers_language(
    clinic, signed_in, foreign
) -> None:
    bandaging = record_bandaging(
        clinic.actor(), clinic.visit, clinic.approved(), clinic.visit.day + timedelta(days=1)
    )
    browser = signed_in(Role.BANDAGER)
    answer = browser.post(reverse("answer-check", args=[bandaging.pk]), {"moment": "after"})
    page = text_of(answer)
    assert made_up("Answer every box; still open:") in page
    assert "still open" not in page


def test_a_stop_that_is_not_cleared_is_said_in_the_readers_language(
    clinic, signed_in, foreign
) -> None:
    plan = clinic.approved()
    clinic.fill({"leg.findings.gangrene": True})
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="A. Surgeon",
        on=clinic.visit.day, words="",
    )  # fmt: skip
    clinic.fill({"leg.findings.gangrene": False})
    page = text_of(signed_in(Role.BANDAGER).get(f"/legs/{clinic.episode.pk}/"))
    assert made_up("Stop: dead tissue.") in page
    assert "dead tissue" not in page
    assert "A. Surgeon" in page
    assert holding(clinic.visit, plan).holds
    assert local_policy().loosened == ()


def alert(response) -> str:
    """What a page refuses."""
    assert response.status_code == 400
    (told,) = re.findall(r'role="alert">(.*?)</p>', response.content.decode(), re.S)
    return html.unescape(re.sub(r"<[^>]*>", " ", told))


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_what_a_box_refuses_is_said_in_the_readers_language(
    clinic, signed_in, foreign, unit
) -> None:
    client = signed_in(Role.PRESCRIBER)
    Account.objects.filter(role=Role.PRESCRIBER).update(unit=unit)
    refused = []
    for text in ("99999", "q" * 12_000, "230"):
        entries = [{"path": path, "text": text, "base": 0} for path in boxes()]
        answer = client.post(
            reverse("save-visit", args=[clinic.visit.pk]), json.dumps({"entries": entries}),
            content_type="application/json",
        )  # fmt: skip
        refused += answer.json()["problems"]
    # Free words take a number.
    assert {one["path"] for one in refused} == set(boxes())
    for one in refused:
        words = set(ordinary_letters(one["problem"].replace("q", "")))
        assert words <= UNITS | {"in"}, one


@pytest.mark.parametrize(
    "values",
    [{"leg.girth_cm.ankle": 40.0, "leg.girth_cm.calf": 36.0}, {"leg.purpose": None},
     {"leg.findings.bypass": "none", "leg.findings.bypass_route": "deep"},
     {"leg.arterial.measured_on": "2099-01-01"}, {"leg.girth_cm.metatarsal_heads": None}],
    ids=lambda values: next(iter(values)),
)  # fmt: skip
def test_what_contradicts_is_said_in_the_readers_language(
    clinic, signed_in, foreign, values
) -> None:
    clinic.fill(values)
    problems = case_or_problems(assembled(clinic.visit))
    client = signed_in(Role.PRESCRIBER)
    visit = text_of(client.get(f"/visits/{clinic.visit.pk}/"))
    plan = text_of(client.get(f"/visits/{clinic.visit.pk}/plan/"))
    for problem in problems:
        assert is_told(visit, problem.said), problem.path
        assert is_told(plan, problem.said), problem.path


@pytest.mark.parametrize(
    "change",
    [
        {"log-unit": ""}, {"log-site-gaiter": "q"}, {"log-site-gaiter": ""},
        {"log-rest-from": "", "log-rest-to": ""}, {"log-rest-from": "500"},
        {"log-rest-to": "9000"}, {"log-unit": "kPa"}, {"log-time-unit": "iso"},
    ],
    ids=lambda change: " ".join(f"{name}={value}" for name, value in change.items()),
)  # fmt: skip
def test_what_a_sensors_log_lacks_is_said_in_the_readers_language(
    clinic, signed_in, foreign, change
) -> None:
    rows = "".join(f"{n},{38 + (n % 3) / 10}\n" for n in range(600))
    log = SimpleUploadedFile("log.csv", f"t,p\n{rows}".encode(), "text/csv")
    columns = {
        "limb": "limb", "log-time": "t", "log-time-unit": "s", "log-unit": "mmHg",
        "log-site-gaiter": "p", "log-rest-from": "10", "log-rest-to": "300", **change,
    }  # fmt: skip
    name = next(iter(practice_mappings()))
    sent = {"log": log, **columns}
    answer = signed_in(Role.LEARNER).post(reverse("practice-try", args=[name]), sent)
    names = {"log", "csv", "t", "p", "q", "s", "ms", "min", "iso", "kPa", "hPa", "cmH", "O"}
    assert set(ordinary_letters(alert(answer))) <= UNITS | names


def test_no_english_is_left_on_the_page_of_the_policy(
    clinic, signed_in, foreign, monkeypatch
) -> None:
    shipped = shipped_policy()
    stricter = {"value": 70, "source": "4242", "strength": "4343"}
    target = shipped.targets["venous ulcer"].model_dump() | {"gaiter_high_mmhg": 55}
    ours = overlaid(
        shipped,
        {"name": "44", "version": "1", "values": {"ankle_stop_mmhg": stricter},
         "targets": {"venous ulcer": target}},
        sha256="",
    )  # fmt: skip
    said = {"schema": "gaiter.systems/1", "name": "45", "version": "1", "without": ["four_layer"]}
    systems = changed_by(shipped_catalogue(), SystemList.model_validate(said), "")
    monkeypatch.setattr(views, "local_policy", lambda: ours)
    monkeypatch.setattr(views, "local_catalogue", lambda: systems)
    assert (len(ours.changes), len(systems.systems_changes)) == (2, 1)
    page = signed_in(Role.PRESCRIBER).get(reverse("policy"))
    names = ("Gaiter", "Wound clinic", *Account.objects.values_list("name", flat=True))
    assert english_left(page, __version__, *names, *ours.values) == []


@pytest.mark.parametrize("name", ["spacing-{}-ankle", "overlap-{}-", "sensor-0-gaiter"])
@pytest.mark.parametrize("text", ["q", "999"])
def test_a_reading_that_cannot_be_is_refused_in_the_readers_language(
    clinic, signed_in, foreign, name, text
) -> None:
    plan = clinic.approved()
    bandaging = record_bandaging(
        clinic.actor(), clinic.visit, plan, clinic.visit.day + timedelta(days=1)
    )
    layers = leg_of(plan_of(plan)).systems[0].layers
    number = next(layer.number for layer in layers if layer.fabric)
    answer = signed_in(Role.BANDAGER).post(
        reverse("readings", args=[bandaging.pk]), {name.format(number): text}
    )
    assert set(ordinary_letters(alert(answer))) <= UNITS | {"q"}
