"""Pages: numbers of the core, fixed query counts, and bad input answered without loss."""

import json
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.core.plan import Plan
from gaiter.records.ledger import broken_at
from gaiter.records.models import AuditEntry, Episode, Note, Person, PlanRecord, StockItem
from gaiter.records.visit.case import assembled, case_of, stock_mapping
from tests.clinic import PASSWORD


def save(client, clinic, *entries):
    body = {"entries": [{"path": p, "text": t, "base": b} for p, t, b in entries]}
    return client.post(
        reverse("save-visit", args=[clinic.visit.pk]), json.dumps(body), "application/json"
    ).json()


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
    for site in (
        next(iter(Plan.model_validate_json(recorded.document).legs.values())).systems[0].sites
    ):
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
    assert system.by_hand == ("long stretch elastic: stretch 40%",)


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


def test_an_override_needs_password_reason_and_words(clinic, signed_in) -> None:
    clinic.fill({"person.breathless_lying": True})
    client = signed_in("prescriber")
    address = reverse("override", args=[clinic.visit.pk])
    given = {
        "reason": "specialist agreed",
        "words": "Heart team agreed today.",
        "code": "breathless_lying",
        "aim_low_mmhg": "10",
        "aim_high_mmhg": "20",
        "maximum_mmhg": "25",
    }
    assert client.post(address, given).status_code == 400
    assert client.post(address, {**given, "password": PASSWORD}).status_code == 302
    for name in ("visit", "design"):
        page = client.get(reverse(name, args=[clinic.visit.pk])).content.decode()
        assert "Heart team agreed today." in page


def test_boxes_are_saved_and_what_is_wrong_is_answered_box_by_box(clinic, signed_in) -> None:
    answer = save(
        signed_in("bandager"), clinic,
        ("leg.wound.side", "inner", 0), ("leg.girth_cm.instep", "240", 0), ("no.box", "x", 0),
    )  # fmt: skip
    assert [s["path"] for s in answer["saved"]] == ["leg.wound.side"]
    assert answer["problems"][0]["problem"].endswith("this looks like millimetres, give 24 cm")
    assert answer["problems"][1]["problem"] == "There is no such box."


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


@pytest.mark.parametrize(
    "body", ["", "[]", "{}", '{"entries": [1]}', '{"entries": [{"path": "x"}]}']
)
def test_a_broken_save_is_answered(clinic, signed_in, body) -> None:
    response = signed_in("bandager").post(
        reverse("save-visit", args=[clinic.visit.pk]), body, "application/json",
        headers={"Accept": "application/json"},
    )  # fmt: skip
    assert response.status_code == 400
    assert "load it again" in response.json()["problem"]


AWKWARD = ["<script>alert(1)</script>", "مريم الحداد", "Zoë 😀", "Robert'); DROP TABLE x;--"]


@pytest.mark.parametrize("name", AWKWARD)
def test_awkward_names_are_kept_and_never_run(clinic, signed_in, name) -> None:
    client = signed_in("bandager")
    client.post(reverse("new-person"), {"name": name, "birth_date": "1950-01-01", "number": "T-2"})
    made = Person.objects.latest("pk")
    assert made.name == name
    page = client.get(reverse("person", args=[made.pk])).content.decode()
    assert "<script>alert" not in page
    found = client.get(reverse("people"), {"find": name}).content.decode()
    assert "T-2" in found


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"birth_date": "1951-02-30"}, "Give a date such as"),
        ({"birth_date": "1700-01-01"}, "from 1890 to today"),
        ({"birth_date": "2999-01-01"}, "from 1890 to today"),
        ({"name": ""}, "required"),
        ({"name": "x" * 500}, "at most 120"),
        ({"number": "T-1"}, "in the record already"),
        ({"number": "---"}, "letters or digits"),
    ],
)
def test_a_bad_person_is_answered_and_stays_in_the_form(clinic, signed_in, changes, words) -> None:
    given = {
        "name": "Bo",
        "birth_date": "1950-01-01",
        "number": "T-9",
        "phone": "555 77",
        **changes,
    }
    response = signed_in("bandager").post(reverse("new-person"), given)
    assert response.status_code == 400
    page = response.content.decode()
    assert words in page
    assert "555 77" in page
    assert Person.objects.count() == 1


def test_a_form_sent_twice_counts_once(clinic, signed_in) -> None:
    client = signed_in("bandager")
    for _ in range(2):
        response = client.post(
            reverse("note", args=[clinic.episode.pk]), {"words": "once", "once": "token"}
        )
        assert response.status_code == 302
    assert Note.objects.count() == 1


@pytest.mark.parametrize("words", ["", "x" * 10_001])
def test_a_note_too_short_or_long_is_refused(clinic, signed_in, words) -> None:
    response = signed_in("bandager").post(
        reverse("note", args=[clinic.episode.pk]), {"words": words, "once": "t"}
    )
    assert response.status_code == 400
    assert b"1 to 10000 characters" in response.content


def test_a_file_of_the_wrong_kind_is_refused(clinic, signed_in) -> None:
    client = signed_in("bandager")
    for name, content in (("x.svg", b"<svg/>"), ("x.jpg", b"MZ")):
        response = client.post(
            reverse("add-file", args=[clinic.episode.pk]),
            {"kind": "photo", "once": name, "file": SimpleUploadedFile(name, content)},
        )
        assert response.status_code == 400
        assert b"neither a JPEG" in response.content
    missing = client.post(reverse("add-file", args=[clinic.episode.pk]), {"once": "x"})
    assert b"Choose a file first" in missing.content


def test_a_leg_is_opened_once(clinic, signed_in) -> None:
    client = signed_in("bandager")
    address = reverse("open-leg", args=[clinic.person.pk])
    assert client.post(address, {"side": "left", "once": "a"}).status_code == 302
    assert b"open episode already" in client.post(address, {"side": "left", "once": "b"}).content
    assert client.post(address, {"side": "middle"}).status_code == 400
    assert Episode.objects.count() == 2


@pytest.mark.parametrize("text", ["", "soon", "1999-01-01", "2999-01-01"])
def test_an_impossible_next_visit_is_refused(clinic, signed_in, text) -> None:
    response = signed_in("bandager").post(
        reverse("sign-visit", args=[clinic.visit.pk]), {"next_visit": text}
    )
    assert response.status_code == 400
    clinic.visit.refresh_from_db()
    assert clinic.visit.signed_at is None


CURVE = "curve = { usual_stretch = 0.5, usual_tension_n_per_cm = 1.02, locking_stretch = 3.3 }"


def test_a_bench_tested_curve_is_kept_and_used_in_plans(clinic, signed_in) -> None:
    client = signed_in("manager")
    item = {"material": "long_stretch_elastic", "width_cm": "10", "rolls": "9", "low_at": "2"}
    for wrong, words in (
        ("hello", "copy it whole"),
        ("curve = { usual_stretch = 9 }", "0.01 to 3"),
    ):
        answer = client.post(reverse("stock"), {**item, "curve": wrong})
        assert words in answer.content.decode()
        assert wrong in answer.content.decode()
    assert client.post(reverse("stock"), {**item, "curve": CURVE}).status_code == 302
    assert b"own bench test" in client.get(reverse("stock")).content
    stock = case_of(assembled(clinic.visit)).stock
    assert stock["long_stretch_elastic"].curve.usual_tension_n_per_cm == 1.02
    kept = stock_mapping()["long_stretch_elastic"]["curve"]
    page = client.get(reverse("stock-item", args=[StockItem.objects.get().pk])).content.decode()
    assert f"usual_stretch = {kept['usual_stretch']:g}" in page


def test_a_shelf_is_changed_and_counted(clinic, signed_in) -> None:
    client = signed_in("manager")
    client.post(
        reverse("stock"), {"material": "zinc_paste", "width_cm": "8", "rolls": "4", "low_at": "2"}
    )
    item = StockItem.objects.get()
    again = client.post(
        reverse("stock"), {"material": "zinc_paste", "width_cm": "8", "rolls": "4", "low_at": "2"}
    )
    assert b"on the shelf in that width already" in again.content
    changed = {"width_cm": "7.5", "relaxed_length_cm": "", "thickness_mm": "", "low_at": "9"}
    assert client.post(reverse("stock-item", args=[item.pk]), changed).status_code == 302
    for change, status in (("-1", 302), ("lots", 400), ("-99", 400)):
        answer = client.post(reverse("count-stock", args=[item.pk]), {"change": change})
        assert answer.status_code == status, change
    item.refresh_from_db()
    assert (item.width_cm, item.low_at, item.rolls) == (7.5, 9, 3)


def test_opening_and_exporting_a_record_are_audited(clinic, signed_in) -> None:
    client = signed_in("bandager")
    for name, pk in (("leg", clinic.episode.pk), ("case-file", clinic.visit.pk)):
        client.get(reverse(name, args=[pk]))
    verbs = set(AuditEntry.objects.values_list("verb", flat=True))
    assert {"open record", "export case"} <= verbs
    assert broken_at() is None


# What a page asks of the database; more than this is a slip, whatever is in the record.
QUERIES = {"today": 17, "people": 6, "leg": 60, "visit": 30, "stock": 5, "check": 31}


@pytest.mark.parametrize("name", QUERIES)
def test_queries_do_not_grow_with_the_record(
    clinic, signed_in, name, django_assert_max_num_queries
) -> None:
    clinic.approved()
    client = signed_in("prescriber")
    args = {"leg": [clinic.episode.pk], "visit": [clinic.visit.pk], "check": [clinic.visit.pk]}
    address = reverse(name, args=args.get(name, []))
    client.get(address)
    for number in range(4):
        client.post(
            reverse("new-person"),
            {"name": f"N{number}", "birth_date": "1950-01-01", "number": f"Q-{number}"},
        )
        client.post(reverse("open-leg", args=[Person.objects.latest("pk").pk]), {"side": "left"})
        client.post(reverse("note", args=[clinic.episode.pk]), {"words": "n", "once": f"q{number}"})
    with django_assert_max_num_queries(QUERIES[name]):
        assert client.get(address).status_code == 200


def test_the_strictest_headers_stand_on_every_page(clinic, signed_in) -> None:
    response = signed_in("bandager").get(reverse("today"))
    policy = response["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert response["Cache-Control"] == "no-store"
    assert response["X-Frame-Options"] == "DENY"


def test_logs_name_no_patient(clinic, signed_in, caplog) -> None:
    import logging

    from gaiter.web.frame.logs import JsonFormatter

    records = []
    handler = logging.Handler()
    handler.emit = records.append
    logger = logging.getLogger("gaiter.requests")
    logger.addHandler(handler)
    try:
        client = signed_in("bandager")
        client.get(reverse("people"), {"find": "Ada Invented"})
        client.get(reverse("leg", args=[clinic.episode.pk]))
    finally:
        logger.removeHandler(handler)
    lines = [json.loads(JsonFormatter().format(record)) for record in records]
    assert [line["route"] for line in lines] == ["people/", "legs/<int:pk>/"]
    assert "Ada" not in json.dumps(lines)


def test_signed_visits_bring_the_leg_back_on_its_day(clinic, signed_in) -> None:
    client = signed_in("bandager")
    day = clinic.visit.day + timedelta(days=7)
    client.post(reverse("sign-visit", args=[clinic.visit.pk]), {"next_visit": day.isoformat()})
    page = client.get(reverse("today"), {"show": "all"}).content.decode()
    assert f"{day.day} {day:%b %Y}" in page
