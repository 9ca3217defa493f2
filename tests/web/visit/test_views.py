"""The visit page: red flags first, the decision at once, and what is done about a stop."""

import json
import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.core.safety import Subject, screen_paths
from gaiter.records.actions.people import open_episode
from gaiter.records.actions.plans import leave_order
from gaiter.records.actions.visits import open_visit
from gaiter.records.append_only import lifted
from gaiter.records.models import OverrideRecord, ProvisionalRecord, StopAction, Visit
from gaiter.records.visit.boxes import BoxKind, box_path, boxes
from tests.clinic import PASSWORD, small_clinic


@pytest.fixture
def empty(db):
    """A clinic with one visit in which nothing was said."""
    return small_clinic()


def browser(clinic, role) -> Client:
    client = Client()
    client.force_login(clinic.accounts[role], backend="django.contrib.auth.backends.ModelBackend")
    return client


def page_of(clinic, role="bandager", visit=None) -> str:
    address = reverse("visit", args=[(visit or clinic.visit).pk])
    return browser(clinic, role).get(address).content.decode()


def decision(page: str) -> str:
    """The part that stands on top, as a reader sees it."""
    top = page.split('data-slot="headline"', 1)[1].split("<nav", 1)[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", top))


def aside(page: str) -> str:
    return page.split('data-slot="safety"', 1)[1].split('id="sign"', 1)[0]


def box(page: str, path: str) -> str:
    part = page.split(f'data-path="{path}"', 1)[1]
    return part.split('class="clash"', 1)[0]


def without_arteries(clinic) -> None:
    """Everything was asked and looked at; no artery was measured."""
    paths = [e.path for e in clinic.visit.entries.all() if e.path.startswith(("arms.", "leg.art"))]
    clinic.fill(dict.fromkeys(paths))


def test_a_caliper_has_its_boxes_with_one_line_on_how_to_use_it(clinic) -> None:
    page = page_of(clinic)
    assert "Width and depth, if you can take them" in page
    assert "side to side at the same height as the girth, with a caliper" in page
    before, after = page.split('data-path="leg.width_cm.ankle"')
    assert 'data-path="leg.position_cm.calf"' in before
    assert 'data-path="leg.depth_cm.calf"' in after
    clinic.fill({"leg.width_cm.ankle": 6.0})
    missing = page_of(clinic).split('data-slot="missing"', 1)[1].split('class="measuring"', 1)[0]
    assert "Depth of the ankle, front to back at its girth" in missing
    # 5 pi is 15.7 cm, where the tape read more than 20.
    clinic.fill({"leg.width_cm.ankle": 5.0, "leg.depth_cm.ankle": 5.0})
    assert "make a girth of about 16 cm" in page_of(clinic)


def test_the_screen_comes_before_everything_and_asks_what_the_rules_ask(empty) -> None:
    page = page_of(empty)
    first = page.split('id="section-screen"', 1)[1].split('id="section-look"', 1)[0]
    asked = [box_path(path) for path in screen_paths() if path != "person.age_years"]
    places = [first.index(f'data-path="{path}"') for path in asked]
    assert places[0] == min(places)
    assert page.index('id="section-screen"') < page.index('id="section-measure"')
    titles = re.findall(r"<h3[^>]*>\s*([^<]+?)\s*<", first)
    subjects = [subject.value for subject in Subject if subject.value in titles]
    assert [title for title in titles if title in subjects] == subjects
    for path in ("arms.left_mmhg", "arms.unusable", "leg.arterial.toe_mmhg"):
        assert f'data-path="{path}"' in first


def test_a_red_flag_stops_at_once_with_no_girth_taken(empty) -> None:
    empty.fill({"leg.findings.gangrene": True})
    page = page_of(empty)
    assert "Stop and refer: no compression" in decision(page)
    assert "vascular team" in decision(page)
    assert "give a table" not in page
    assert "the decision does not wait for them" in page


def test_an_empty_visit_says_not_yet_and_how_much_is_to_ask(empty) -> None:
    said = decision(page_of(empty))
    assert "Not yet: ask or measure this first" in said
    assert "questions still to ask" in said


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"toes.colour": "bluer"}, "Toes bluer"),
        ({"toes.warmth": "cold", "toes.colour": "white"}, "Toes white, toes cold"),
        ({"toes.feeling": "no toe"}, "No feeling in the toes"),
        ({"toes.movement": "no toe"}, "Toes do not move"),
        ({"look.pain": 10}, "Pain 10 of 10"),
    ],
)
def test_the_toes_and_pain_of_today_change_the_decision(clinic, given, words) -> None:
    assert "Full: aim 20–30, never above 60 mmHg" in decision(page_of(clinic))
    clinic.fill(given)
    said = decision(page_of(clinic))
    assert "Stop and refer" in said
    assert words in said


def test_one_press_from_the_page_says_by_whom_and_when(empty) -> None:
    client = browser(empty, "bandager")
    address = reverse("none-present", args=[empty.visit.pk])
    assert client.post(address).status_code == 302
    page = page_of(empty)
    assert re.search(r"Asked all of these, none present: Invented bandager, \d\d:\d\d", page)
    assert 'form="press"' not in page
    assert client.post(address).status_code == 400


def test_a_bad_answer_of_last_time_stands_out(empty) -> None:
    empty.fill({"leg.findings.new_pain": True})
    actor, visit = empty.actor(), empty.visit
    with lifted():
        Visit.objects.filter(pk=visit.pk).update(
            day=visit.day - timedelta(days=7), signed_at=actor.now, signed_by=actor.account
        )
    later = open_visit(actor, empty.episode)
    page = page_of(empty, visit=later)
    assert "1 bad answer of last time to look at again" in decision(page)
    classes = page.split('data-path="leg.findings.new_pain"', 1)[0].rsplit('class="box', 1)[1]
    assert "again" in classes.split('"', 1)[0]
    assert "counts: yes" in box(page, "leg.findings.new_pain")


def test_a_sign_that_is_present_asks_since_when(empty) -> None:
    since = "leg.findings.clot.old_signs.whole_leg_swollen"
    opening = re.compile(rf'data-path="{re.escape(since)}"[^>]*\shidden')
    assert opening.search(page_of(empty))
    empty.fill({"leg.findings.clot.signs.whole_leg_swollen": True})
    assert not opening.search(page_of(empty))


def test_what_contradicts_is_named_and_leaves_not_yet(clinic) -> None:
    clinic.fill({"leg.findings.antibiotics_started": True})
    page = page_of(clinic)
    assert "Not yet: answers contradict each other" in decision(page)
    assert "name the infection" in aside(page)


@pytest.mark.parametrize(
    ("given", "beside", "not_beside"),
    [
        (
            {"leg.arterial.toe_mmhg": 11},
            ["leg.arterial.toe_mmhg"],
            ["leg.arterial.dorsalis_pedis_mmhg", "arms.left_mmhg"],
        ),
        (
            {"leg.arterial.dorsalis_pedis_mmhg": 20, "leg.arterial.posterior_tibial_mmhg": 21},
            ["leg.arterial.dorsalis_pedis_mmhg", "leg.arterial.posterior_tibial_mmhg"],
            ["arms.left_mmhg"],
        ),
    ],
)
def test_a_unit_is_questioned_beside_its_box(clinic, given, beside, not_beside) -> None:
    clinic.fill(given)
    page = page_of(clinic)
    for path in beside:
        assert "looks like kilopascals" in box(page, path)
    for path in not_beside:
        assert "looks like kilopascals" not in box(page, path)
    live = browser(clinic, "bandager").get(reverse("live-visit", args=[clinic.visit.pk]))
    assert f'data-asked="{beside[0]}"' in live.content.decode()


def test_a_stop_is_referred_on_the_page(empty) -> None:
    empty.fill({"leg.findings.gangrene": True})
    client = browser(empty, "bandager")
    address = reverse("refer", args=[empty.visit.pk])
    given = {"code": "gangrene", "referred_to": "Dr Vale, vascular", "words": "Seen at noon."}
    assert client.post(address, given).status_code == 400
    assert client.post(address, {**given, "on": "2099-01-01"}).status_code == 400
    assert client.post(address, {**given, "on": date.today().isoformat()}).status_code == 302
    action = StopAction.objects.get()
    assert (action.code, action.referred_to) == ("gangrene", "Dr Vale, vascular")
    page = page_of(empty)
    assert "Referred to Dr Vale, vascular on" in aside(page)
    assert "Seen at noon." in aside(page)
    assert 'name="referred_to"' not in page


def test_soft_stops_have_a_form_each_and_never_one_for_all(clinic) -> None:
    clinic.fill({"person.breathless_lying": True, "leg.findings.necrosis_risk": True})
    page = page_of(clinic, "prescriber")
    codes = re.findall(r'name="code" value="(\w+)"', page.split("Set this one stop aside", 1)[1])
    assert codes == ["necrosis_risk", "breathless_lying"]
    given = {
        "code": "necrosis_risk", "reason": "specialist agreed", "words": "Vascular team agreed.",
        "aim_low_mmhg": "15", "aim_high_mmhg": "20", "maximum_mmhg": "25", "password": PASSWORD,
    }  # fmt: skip
    doctor = browser(clinic, "prescriber")
    assert doctor.post(reverse("override", args=[clinic.visit.pk]), given).status_code == 302
    assert [one.code for one in OverrideRecord.objects.all()] == ["necrosis_risk"]
    page = page_of(clinic, "prescriber")
    assert "Stop and refer" in decision(page)
    assert "aim 15–20, never above 25 mmHg; specialist agreed" in " ".join(page.split())
    clinic.fill({"person.breathless_lying": False})
    assert "aim 15–20, never above 25 mmHg" in decision(page_of(clinic))


def test_a_bandager_sees_no_form_to_set_a_stop_aside(clinic) -> None:
    clinic.fill({"person.breathless_lying": True})
    page = page_of(clinic, "bandager")
    assert "A prescriber may set this stop aside" in page
    assert 'name="aim_low_mmhg"' not in page


def test_a_hard_stop_has_no_form_to_set_it_aside(clinic) -> None:
    clinic.fill({"person.breathless_lying": True, "leg.findings.gangrene": True})
    page = page_of(clinic, "prescriber")
    assert 'name="aim_low_mmhg"' not in page


def test_what_a_stop_asks_first_is_listed_and_its_button_is_not_there(clinic) -> None:
    clinic.fill({"leg.findings.new_pain": True})
    page = aside(page_of(clinic, "prescriber"))
    assert "the arteries measured today" in page
    assert 'name="aim_low_mmhg"' not in page
    clinic.fill({"leg.arterial.measured_on": date.today().isoformat()})
    page = aside(page_of(clinic, "prescriber"))
    assert 'name="aim_low_mmhg"' in page
    assert 'name="vascular_by"' not in page


def test_a_vascular_decision_is_asked_by_name_where_the_rule_asks_it(clinic) -> None:
    ankles = {"leg.arterial.dorsalis_pedis_mmhg": 76, "leg.arterial.posterior_tibial_mmhg": 76}
    clinic.fill(ankles)
    page = aside(page_of(clinic, "prescriber"))
    assert "a toe pressure of at least 30 mmHg" in page
    assert 'name="vascular_by"' not in page
    clinic.fill({"leg.arterial.toe_mmhg": 60})
    page = aside(page_of(clinic, "prescriber"))
    assert 'name="vascular_by" required' in page
    assert "vascular specialist who decided, by name, and the day" not in page


def test_the_provisional_level_is_for_a_prescriber_or_a_clinics_order(clinic) -> None:
    without_arteries(clinic)
    assert "Choose the provisional level" not in page_of(clinic, "bandager")
    page = page_of(clinic, "prescriber")
    assert "Choose the provisional level" in page
    assert "at most 20 mmHg" in page
    leave_order(
        clinic.actor("prescriber"), person=None, maximum_mmhg=30, words="Immediate care.",
        starts=date.today(), ends=date.today() + timedelta(days=30),
    )  # fmt: skip
    assert "Choose the provisional level" in page_of(clinic, "bandager")
    nurse, address = browser(clinic, "bandager"), reverse("provisional", args=[clinic.visit.pk])
    given = {"words": "Weeping leg, probe is broken."}
    assert nurse.post(address, given).status_code == 400
    assert nurse.post(address, {**given, "password": PASSWORD}).status_code == 302
    chosen = ProvisionalRecord.objects.get()
    assert chosen.by == clinic.accounts["bandager"]
    assert "never above 20 mmHg at the gaiter" in decision(page_of(clinic))
    assert nurse.post(reverse("no-provisional", args=[clinic.visit.pk])).status_code == 302
    assert "no compression until then" in decision(page_of(clinic))


@pytest.mark.parametrize("path", ["leg.findings.gangrene", "leg.findings.rest_pain"])
def test_no_provisional_level_with_a_red_flag_unasked(clinic, path) -> None:
    without_arteries(clinic)
    clinic.fill({path: None})
    assert "provisional level" not in page_of(clinic, "prescriber")


def test_the_lower_start_is_offered_first_and_only_a_prescriber_raises_it(clinic) -> None:
    page = page_of(clinic, "bandager")
    assert "Offered first: 20–30 mmHg; the prescriber may choose the full range." in page
    full = re.compile(r'value="full"[^>]*\sdisabled')
    assert full.search(box(page, "leg.start"))
    assert not full.search(box(page_of(clinic, "prescriber"), "leg.start"))
    body = {"entries": [{"path": "leg.start", "text": "full", "base": 0}]}
    address = reverse("save-visit", args=[clinic.visit.pk])
    nurse, doctor = browser(clinic, "bandager"), browser(clinic, "prescriber")
    answer = nurse.post(address, json.dumps(body), "application/json")
    assert "Only a prescriber" in answer.content.decode()
    assert "aim 20–30" in decision(page_of(clinic))
    doctor.post(address, json.dumps(body), "application/json")
    assert "aim 30–50, never above 60 mmHg" in decision(page_of(clinic))


@pytest.mark.parametrize("name", ["none-present", "refer", "provisional", "no-provisional"])
def test_a_learner_and_a_manager_change_no_visit(clinic, name) -> None:
    for role in ("learner", "manager"):
        answer = browser(clinic, role).post(reverse(name, args=[clinic.visit.pk]))
        assert answer.status_code == 403


def test_a_signed_visit_has_no_form_of_a_stop(clinic) -> None:
    clinic.fill({"person.breathless_lying": True})
    Visit.objects.update(signed_at=clinic.actor().now, signed_by=clinic.accounts["bandager"])
    page = page_of(clinic, "prescriber")
    for field in ('name="referred_to"', 'name="aim_low_mmhg"', 'form="press"'):
        assert field not in page


def test_the_other_leg_of_the_person_starts_with_its_own_screen(clinic) -> None:
    other = open_visit(clinic.actor(), open_episode(clinic.actor(), clinic.person, "left"))
    said = decision(page_of(clinic, visit=other))
    assert "Not yet" in said


def save(client, clinic, *entries):
    body = {"entries": [{"path": p, "text": t, "base": b} for p, t, b in entries]}
    return client.post(
        reverse("save-visit", args=[clinic.visit.pk]), json.dumps(body), "application/json"
    ).json()


def test_boxes_are_saved_and_what_is_wrong_is_answered_box_by_box(clinic, signed_in) -> None:
    answer = save(
        signed_in("bandager"), clinic,
        ("leg.wound.side", "inner", 0), ("leg.girth_cm.instep", "240", 0), ("no.box", "x", 0),
    )  # fmt: skip
    assert [s["path"] for s in answer["saved"]] == ["leg.wound.side"]
    assert answer["problems"][0]["problem"].endswith("this looks like millimetres, give 24 cm")
    assert answer["problems"][1]["problem"] == "There is no such box."


def test_what_only_a_prescriber_may_choose_takes_no_other_box_with_it(clinic, signed_in) -> None:
    lines = (
        ("leg.wound.side", "inner", 0), ("leg.start", "full", 0), ("leg.wound.length_cm", "3", 0),
    )  # fmt: skip
    answer = save(signed_in("bandager"), clinic, *lines)
    assert [s["path"] for s in answer["saved"]] == ["leg.wound.side", "leg.wound.length_cm"]
    (said,) = answer["problems"]
    assert said["path"] == "leg.start"
    assert said["problem"].startswith("Only a prescriber may choose the full range")
    assert not clinic.visit.entries.filter(path="leg.start").exists()
    answer = save(signed_in("prescriber"), clinic, *lines)
    assert "leg.start" in [s["path"] for s in answer["saved"]]


def test_what_another_typed_is_text_in_what_is_put_in_place(clinic, signed_in) -> None:
    """Scripts put this part in place as HTML: no words in it are any."""
    words = "<img src=x onerror=alert(1)>"
    save(signed_in("prescriber"), clinic, ("care.note", words, 0))
    (saved,) = save(signed_in("bandager"), clinic, ("care.note", "another", 0))["saved"]
    assert saved["clash"]
    assert "&lt;img src=x onerror" in saved["html"]
    assert "<img" not in saved["html"]


def test_inches_are_kept_as_centimetres(clinic, signed_in) -> None:
    client = signed_in("bandager")
    client.post(reverse("own"), {"unit": "in"})
    base = clinic.visit.entries.get(path="leg.girth_cm.ankle", state="current").pk
    save(client, clinic, ("leg.girth_cm.ankle", "9.5", base))
    entry = clinic.visit.entries.get(path="leg.girth_cm.ankle", state="current")
    assert entry.value == pytest.approx(24.13)
    page = client.get(reverse("visit", args=[clinic.visit.pk])).content.decode()
    assert 'value="9.5"' in page


def test_a_clash_is_answered_with_both_values_and_settled(clinic, signed_in) -> None:
    base = clinic.visit.entries.get(path="leg.girth_cm.ankle", state="current").pk
    save(signed_in("bandager"), clinic, ("leg.girth_cm.ankle", "24", base))
    answer = save(signed_in("prescriber"), clinic, ("leg.girth_cm.ankle", "25", base))
    html = answer["saved"][0]["html"]
    assert "24 cm – Invented bandager" in html
    assert "25 cm – Invented prescriber" in html
    rival = clinic.visit.entries.get(path="leg.girth_cm.ankle", state="rival")
    signed_in("prescriber").post(
        reverse("settle-visit", args=[clinic.visit.pk]),
        {"path": "leg.girth_cm.ankle", "entry": rival.pk},
    )
    assert clinic.visit.entries.get(path="leg.girth_cm.ankle", state="current").value == 25


@pytest.mark.parametrize("sign", ["\ud800", "\x00", "a\udfffb"])
def test_what_no_database_can_hold_takes_no_other_box_with_it(clinic, signed_in, sign) -> None:
    """Half a character in one box left every other box of the page unsaved, for ever."""
    answer = save(
        signed_in("bandager"), clinic,
        ("care.note", sign, 0), ("leg.wound.side", "inner", 0), (sign, "x", 0),
        ("leg.girth_cm.instep", sign, 0), ("leg.wound.length_cm", "3", 0),
    )  # fmt: skip
    assert [s["path"] for s in answer["saved"]] == ["leg.wound.side", "leg.wound.length_cm"]
    said = {problem["path"]: problem["problem"] for problem in answer["problems"]}
    assert said.keys() == {"care.note", "leg.girth_cm.instep", sign}
    assert said["care.note"].startswith("The text holds a character that cannot be kept")


def test_of_a_box_sent_often_the_last_counts_once(clinic, signed_in) -> None:
    sent = [("care.note", f"note {number}", 0) for number in range(600)]
    answer = save(signed_in("bandager"), clinic, *sent)
    assert len(answer["saved"]) == 1
    assert clinic.visit.entries.get(path="care.note").words == "note 599"


def test_a_choice_sent_often_is_kept_once(clinic, signed_in) -> None:
    path = next(box.path for box in boxes().values() if box.kind is BoxKind.MANY)
    choice = boxes()[path].choices[0]
    base = clinic.visit.entries.get(path=path, state="current").pk
    save(signed_in("bandager"), clinic, (path, [choice] * 600, base))
    assert clinic.visit.entries.get(path=path, state="current").value == [choice]


@pytest.mark.parametrize(
    "body",
    [
        "", "[]", "{}", '{"entries": [1]}', '{"entries": [{"path": "x"}]}', "[" * 100_000,
        *(
            f'{{"entries": [{{"path": "leg.wound.side", "text": {text}, "base": {base}}}]}}'
            for text, base in (
                ('"inner"', '"2_3"'), ('"inner"', "1e999"), ('"inner"', "nan"), ('"inner"', "1.5"),
                ('"inner"', "null"), ("null", "0"), ("{}", "0"), ("[1]", "0"),
                ('"inner"', "9" * 5000),
            )
        ),
    ],
)  # fmt: skip
def test_a_broken_save_is_answered(clinic, signed_in, body) -> None:
    response = signed_in("bandager").post(
        reverse("save-visit", args=[clinic.visit.pk]), body, "application/json",
        headers={"Accept": "application/json"},
    )  # fmt: skip
    assert response.status_code == 400
    assert "load it again" in response.json()["problem"]


@pytest.mark.parametrize("kind", ["multipart/form-data; boundary=edge", "text/plain", ""])
def test_a_save_of_another_kind_is_answered(clinic, signed_in, kind) -> None:
    """A form with files is read as it arrives, and its body was asked for after that."""
    body = b'--edge\r\nContent-Disposition: form-data; name="entries"\r\n\r\n[]\r\n--edge--\r\n'
    address = reverse("save-visit", args=[clinic.visit.pk])
    response = signed_in("bandager").generic("POST", address, body, kind)
    assert response.status_code == 400
    assert "load it again" in response.content.decode()


@pytest.mark.parametrize("text", ["", "soon", "1999-01-01", "2999-01-01"])
def test_an_impossible_next_visit_is_refused(clinic, signed_in, text) -> None:
    response = signed_in("bandager").post(
        reverse("sign-visit", args=[clinic.visit.pk]), {"next_visit": text}
    )
    assert response.status_code == 400
    clinic.visit.refresh_from_db()
    assert clinic.visit.signed_at is None


def test_signed_visits_bring_the_leg_back_on_its_day(clinic, signed_in) -> None:
    client = signed_in("bandager")
    day = clinic.visit.day + timedelta(days=7)
    client.post(reverse("sign-visit", args=[clinic.visit.pk]), {"next_visit": day.isoformat()})
    page = client.get(reverse("today"), {"show": "all"}).content.decode()
    assert f"{day.day} {day:%b %Y}" in page
