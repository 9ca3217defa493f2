"""Somebody tries, in every role, to have a leg bandaged that must not be: nothing is written."""

import json
from contextlib import contextmanager
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.core.errors import InputError
from gaiter.records.actions import plans as plan_actions
from gaiter.records.actions.accounts import change_account
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.people import close_episode, open_episode
from gaiter.records.actions.plans import (
    approve_plan,
    leave_order,
    propose_plan,
    record_bandaging,
    withdraw_plan,
)
from gaiter.records.actions.shelf import undo_bandaging
from gaiter.records.actions.stops import (
    choose_provisional,
    clear_stop,
    override_stops,
    record_stop_action,
)
from gaiter.records.actions.visits import (
    Typed,
    answer_none_present,
    open_visit,
    save_entries,
    settle_clash,
    sign_visit,
)
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import AuditEntry, Bandaging, Check, Entry, Episode, PlanRecord, Role
from gaiter.records.read.alarm import open_alarm
from gaiter.records.visit.case import assembled, case_of
from gaiter.records.visit.decided import decision_at, uncleared_stops
from gaiter.web.plan.desk import computed_plan
from tests.clinic import PASSWORD, Clinic

NURSE, DOCTOR = Role.BANDAGER, Role.PRESCRIBER
WORDS = "Spoken to on the telephone today."


def tomorrow(clinic: Clinic, days: int = 2) -> date:
    return clinic.visit.day + timedelta(days=days)


def put_on(clinic: Clinic, plan: PlanRecord, role: str = NURSE) -> Bandaging:
    return record_bandaging(clinic.actor(role), clinic.visit, plan, tomorrow(clinic))


def bad_check(clinic: Clinic, bandaging: Bandaging) -> Check:
    answers = {**GOOD_ANSWERS, "colour": "white", "pain": "9"}
    return record_check(clinic.actor(), bandaging, "after", answers)


def written() -> tuple[int, ...]:
    """Rows of everything that decides whether a leg is bandaged."""
    plans = PlanRecord.objects.filter(state="approved").count()
    return plans, Bandaging.objects.filter(undone_at=None).count(), Check.objects.count()


CLINICAL_FORMS = [
    "save-visit", "settle-visit", "sign-visit", "none-present", "refer", "provisional",
    "no-provisional", "override", "bandaged", "propose", "approve", "withdraw-plan", "clear-stop",
    "start-visit", "close-episode", "change-outcome", "undo-bandaging", "answer-check", "readings",
]  # fmt: skip
PRESCRIBERS = ["override", "clear-stop", "approve"]


def aimed(clinic: Clinic, name: str) -> int:
    """Key of the row that a form of this name is about."""
    if name in ("clear-stop", "start-visit", "close-episode", "change-outcome"):
        return clinic.episode.pk
    if name in ("approve", "withdraw-plan"):
        return PlanRecord.objects.latest("pk").pk
    if name in ("undo-bandaging", "answer-check", "readings"):
        return Bandaging.objects.latest("pk").pk
    return clinic.visit.pk


@pytest.mark.parametrize("role", [Role.LEARNER, Role.MANAGER])
def test_learner_and_manager_write_nothing(clinic, signed_in, role) -> None:
    put_on(clinic, clinic.approved())
    browser, before = signed_in(role), (written(), AuditEntry.objects.count())
    for name in CLINICAL_FORMS:
        answer = browser.post(reverse(name, args=[aimed(clinic, name)]), {"password": PASSWORD})
        assert answer.status_code == 403, name
    assert (written(), AuditEntry.objects.count()) == before


@pytest.mark.parametrize("name", PRESCRIBERS)
def test_a_bandager_does_no_prescribers_work(clinic, signed_in, name) -> None:
    clinic.proposed()
    before = written()
    answer = signed_in(NURSE).post(
        reverse(name, args=[aimed(clinic, name)]),
        {"password": PASSWORD, "words": WORDS, "code": "gangrene"},
    )
    assert answer.status_code == 403
    assert written() == before


DIRECT = {
    "types": lambda c, a: save_entries(a, c.visit, [Typed("leg.findings.gangrene", False, 0)]),
    "presses": lambda c, a: answer_none_present(a, c.visit),
    "signs": lambda c, a: sign_visit(a, c.visit, tomorrow(c)),
    "settles": lambda c, a: settle_clash(a, c.visit, "leg.findings.gangrene", 1),
    "refers": lambda c, a: record_stop_action(
        a, c.visit, code="sepsis", referred_to="the ward", on=c.visit.day
    ),
    "bandages": lambda c, a: record_bandaging(
        a, c.visit, PlanRecord.objects.latest("pk"), tomorrow(c)
    ),
    "approves": lambda c, a: approve_plan(a, PlanRecord.objects.latest("pk")),
    "withdraws": lambda c, a: withdraw_plan(a, PlanRecord.objects.latest("pk"), WORDS),
    "clears": lambda c, a: clear_stop(a, c.episode, "sepsis", WORDS),
    "chooses": lambda c, a: choose_provisional(a, c.visit, WORDS),
    "closes": lambda c, a: close_episode(a, c.episode, "healed"),
    "proposes": lambda c, a: propose_plan(
        a, c.visit, computed_plan(case_of(assembled(c.visit))), case_of(assembled(c.visit))
    ),
    "checks": lambda c, a: record_check(
        a, Bandaging.objects.latest("pk"), "after", GOOD_ANSWERS
    ),
    "undoes": lambda c, a: undo_bandaging(a, Bandaging.objects.latest("pk"), "a mistake of mine"),
}  # fmt: skip


@pytest.mark.parametrize("role", [Role.LEARNER, Role.MANAGER])
def test_an_action_called_past_its_page_refuses_whoever_is_not_clinical(clinic, role) -> None:
    put_on(clinic, clinic.approved())
    clinic.fill({"leg.arterial.lying_flat": None})
    before = written()
    for name, act in DIRECT.items():
        with pytest.raises(InputError):
            act(clinic, clinic.actor(role))
        assert written() == before, name


HOSTILE = [
    "nan", "inf", "-inf", "1e308", "-5", "1e-300", "16 kPa", "17,5,3", "9" * 400, "<b>120</b>",
    "' OR 1=1", "０x50", "true", "null", "\x00", "½", "12 in", "∞",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_number_is_kept_nowhere(clinic, signed_in, text) -> None:
    paths = [
        "leg.arterial.toe_mmhg",
        "arms.left_mmhg",
        "leg.girth_cm.ankle",
        "person.weight_gain_kg",
    ]
    if text in ("-5", "1e-300"):
        paths.remove("person.weight_gain_kg")
    if text == "12 in":
        paths.remove("leg.girth_cm.ankle")
    before = Entry.objects.count()
    maximum = decision_at(clinic.visit).maximum_mmhg
    answer = signed_in(NURSE).post(
        reverse("save-visit", args=[clinic.visit.pk]),
        json.dumps({"entries": [{"path": p, "text": text, "base": 0} for p in paths]}),
        content_type="application/json",
    )
    assert answer.status_code == 200
    assert len(answer.json()["problems"]) == len(paths)
    assert Entry.objects.count() == before
    assert decision_at(clinic.visit).maximum_mmhg == maximum


@pytest.mark.parametrize(
    "body",
    ["", "{", "[]", "null", '{"entries": 5}', '{"entries": [{"path": "a"}]}',
     '{"entries": [{"path": "leg.findings.gangrene", "text": "no", "base": Infinity}]}',
     '{"entries": [{"path": "leg.findings.gangrene", "text": "no", "base": "x"}]}',
     '{"entries": ["x"]}'],
)  # fmt: skip
def test_a_hostile_body_is_refused_in_words(clinic, signed_in, body) -> None:
    browser, before = signed_in(NURSE), Entry.objects.count()
    browser.raise_request_exception = False
    answer = browser.post(
        reverse("save-visit", args=[clinic.visit.pk]), body, content_type="application/json"
    )
    assert answer.status_code == 400
    assert Entry.objects.count() == before


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("leg.arterial.measured_on", "2031-01-01"),
        ("leg.arterial.measured_on", "1900-01-01"),
        ("leg.arterial.toe_mmhg", 12),
        ("leg.arterial.lying_flat", False),
        ("toes.colour", "white"),
        ("look.pain", 9),
        ("leg.findings.antibiotics_started", True),
    ],
)
def test_a_plan_in_force_is_not_bandaged_after_it_was_typed(clinic, path, value) -> None:
    plan = clinic.approved()
    clinic.fill({path: value})
    with pytest.raises(InputError):
        put_on(clinic, plan)
    assert not Bandaging.objects.exists()


@pytest.mark.parametrize("off_by", ["", "nan", "31/12/2026", "1900-01-01", "9999-12-31", "<b>"])
def test_a_hostile_off_by_is_refused(clinic, signed_in, off_by) -> None:
    plan = clinic.approved()
    form = {"plan": plan.pk, "off_by": off_by}
    answer = signed_in(NURSE).post(reverse("bandaged", args=[clinic.visit.pk]), form)
    assert answer.status_code == 400
    assert not Bandaging.objects.exists()


@pytest.mark.parametrize("plan", ["", "abc", "1e308", "-1", "99999", "nan", "<b>", "9" * 40])
def test_a_plan_that_is_none_is_refused(clinic, signed_in, plan) -> None:
    clinic.approved()
    browser = signed_in(NURSE)
    browser.raise_request_exception = False
    form = {"plan": plan, "off_by": tomorrow(clinic).isoformat()}
    answer = browser.post(reverse("bandaged", args=[clinic.visit.pk]), form)
    assert answer.status_code == 404
    assert not Bandaging.objects.exists()


@pytest.mark.parametrize(
    "changes",
    [{"maximum_mmhg": text} for text in ("nan", "inf", "1e308", "-20", "41", "60", "4 0", "")]
    + [{"code": "gangrene"}, {"code": "all"}, {"code": ""}, {"reason": "because"},
       {"words": " " * 40}, {"words": "x" * 2001}, {"password": "wrong"}, {"aim_low_mmhg": "nan"},
       {"aim_high_mmhg": "39"}],
)  # fmt: skip
def test_an_override_that_is_not_whole_leaves_the_stop(clinic, signed_in, changes) -> None:
    clinic.fill({"leg.findings.stent": True})
    form = {
        "code": "stent", "aim_low_mmhg": "15", "aim_high_mmhg": "25", "maximum_mmhg": "30",
        "reason": "specialist agreed", "words": WORDS, "password": PASSWORD, **changes,
    }  # fmt: skip
    answer = signed_in(DOCTOR).post(reverse("override", args=[clinic.visit.pk]), form)
    assert answer.status_code == 400
    assert decision_at(clinic.visit).maximum_mmhg is None


@pytest.mark.parametrize(
    "changes",
    [{"on": "1900-01-01"}, {"on": "2099-01-01"}, {"on": "soon"}, {"code": "gangrene"},
     {"referred_to": "  "}, {"referred_to": "x" * 121}],
)  # fmt: skip
def test_a_referral_that_is_none_leaves_the_visit_open(clinic, signed_in, changes) -> None:
    clinic.fill({"leg.findings.stent": True})
    browser = signed_in(NURSE)
    form = {
        "code": "stent", "referred_to": "Vascular team", "on": clinic.visit.day.isoformat(),
        **changes,
    }  # fmt: skip
    assert browser.post(reverse("refer", args=[clinic.visit.pk]), form).status_code == 400
    with pytest.raises(InputError, match="to whom"):
        sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))


@pytest.mark.parametrize("day", ["", "1900-01-01", "9999-12-31", "tomorrow", "0"])
def test_a_hostile_next_visit_signs_nothing(clinic, signed_in, day) -> None:
    answer = signed_in(NURSE).post(
        reverse("sign-visit", args=[clinic.visit.pk]), {"next_visit": day}
    )
    assert answer.status_code == 400
    clinic.visit.refresh_from_db()
    assert clinic.visit.signed_at is None


def test_a_replayed_form_bandages_once(clinic, signed_in) -> None:
    plan, browser = clinic.approved(), signed_in(NURSE)
    form = {"plan": plan.pk, "off_by": tomorrow(clinic).isoformat(), "once": "form-1"}
    browser.post(reverse("bandaged", args=[clinic.visit.pk]), form)
    undo_bandaging(clinic.actor(), Bandaging.objects.get(), "the wrong leg")
    browser.post(reverse("bandaged", args=[clinic.visit.pk]), form)
    assert not Bandaging.objects.filter(undone_at=None).exists()


def other_leg(clinic: Clinic) -> Clinic:
    left = open_episode(clinic.actor(), clinic.person, "left")
    return Clinic(clinic.accounts, clinic.person, left, open_visit(clinic.actor(), left))


@pytest.mark.parametrize("by_page", [True, False])
def test_the_plan_of_another_leg_is_not_bandaged(clinic, signed_in, by_page) -> None:
    plan, other = clinic.approved(), other_leg(clinic)
    other.fill()
    if by_page:
        form = {"plan": plan.pk, "off_by": tomorrow(clinic).isoformat()}
        answer = signed_in(NURSE).post(reverse("bandaged", args=[other.visit.pk]), form)
        assert answer.status_code == 404
    else:
        with pytest.raises(InputError, match="another leg"):
            put_on(other, plan)
    assert not Bandaging.objects.exists()


@pytest.mark.parametrize("state", ["proposed", "superseded", "withdrawn", "voided"])
def test_only_a_plan_in_force_is_bandaged(clinic, state) -> None:
    plan = clinic.proposed()
    PlanRecord.objects.filter(pk=plan.pk).update(state=state)
    with pytest.raises(InputError, match="approved"):
        put_on(clinic, plan)


@pytest.mark.parametrize("state", ["superseded", "withdrawn", "voided", "approved"])
def test_only_a_proposal_is_approved(clinic, state) -> None:
    plan = clinic.proposed()
    PlanRecord.objects.filter(pk=plan.pk).update(state=state)
    with pytest.raises(InputError, match="only one that waits"):
        approve_plan(clinic.actor(DOCTOR), plan)


def test_nobody_bandages_at_a_signed_visit(clinic) -> None:
    plan = clinic.approved()
    sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))
    with pytest.raises(InputError, match="signed"):
        put_on(clinic, plan)
    assert not Bandaging.objects.exists()


@pytest.mark.parametrize("days", [1, 14])
def test_nobody_bandages_by_what_was_seen_another_day(clinic, days) -> None:
    """A visit left open: its toes and pain are of the day on which they were looked at."""
    plan = clinic.approved()
    later = Actor(clinic.accounts[NURSE], "", clinic.actor().now + timedelta(days=days))
    clinic.visit.refresh_from_db()
    with pytest.raises(InputError, match="of another day"):
        record_bandaging(later, clinic.visit, plan, tomorrow(clinic, days + 1))
    assert not Bandaging.objects.exists()


def test_nobody_bandages_a_closed_episode(clinic) -> None:
    plan = clinic.approved()
    close_episode(clinic.actor(), clinic.episode, "healed")
    visit = type(clinic.visit).objects.get(pk=clinic.visit.pk)
    with pytest.raises(InputError, match="closed"):
        record_bandaging(clinic.actor(), visit, plan, tomorrow(clinic))
    assert not Bandaging.objects.exists()


@pytest.mark.parametrize("what", ["override", "provisional"])
def test_a_signed_visit_is_not_decided_anew(clinic, what) -> None:
    if what == "override":
        clinic.fill({"leg.findings.stent": True})
        record_stop_action(
            clinic.actor(), clinic.visit, code="stent", referred_to="Team", on=clinic.visit.day
        )
    else:
        clinic.fill({"leg.arterial.lying_flat": None})
    sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))
    doctor = clinic.actor(DOCTOR)
    acts = {
        "override": lambda: override_stops(
            doctor, clinic.visit, code="stent", aim_low_mmhg=10, aim_high_mmhg=20,
            maximum_mmhg=30, reason="specialist agreed", words=WORDS,
        ),
        "provisional": lambda: choose_provisional(doctor, clinic.visit, WORDS),
    }  # fmt: skip
    with pytest.raises(InputError, match="signed"):
        acts[what]()
    assert decision_at(clinic.visit).maximum_mmhg is None


@pytest.mark.parametrize("role", [DOCTOR, NURSE])
def test_nobody_rewrites_a_signed_visit(clinic, role) -> None:
    """What was found and signed stays, whoever types something else afterwards."""
    clinic.fill({"leg.findings.gangrene": True})
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="Team", on=clinic.visit.day
    )
    sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))
    clinic.visit.refresh_from_db()
    base = clinic.visit.entries.get(path="leg.findings.gangrene", state="current").pk
    save_entries(clinic.actor(role), clinic.visit, [Typed("leg.findings.gangrene", False, base)])
    later = clinic.visit.entries.get(path="leg.findings.gangrene", state="after")
    for chosen in (later.pk, base):
        with pytest.raises(InputError, match="signed already"):
            settle_clash(clinic.actor(role), clinic.visit, "leg.findings.gangrene", chosen)
    assert clinic.visit.entries.get(pk=base).state == "current"
    assert decision_at(clinic.visit).maximum_mmhg is None
    assert [one.code for one in uncleared_stops(clinic.episode)] == ["gangrene"]


def test_a_contradiction_signs_no_stop_away(clinic) -> None:
    """Two boxes that contradict each other hid every stop from whoever signed."""
    clinic.fill({
        "leg.findings.gangrene": True, "leg.findings.infection": "none",
        "leg.findings.antibiotics_started": True,
    })  # fmt: skip
    assert "gangrene" in decision_at(clinic.visit).limiting
    with pytest.raises(InputError, match="antibiotics"):
        sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))


def test_a_stop_outlives_its_episode(clinic) -> None:
    """Closed and opened anew, the leg is the same leg."""
    clinic.fill({"leg.findings.gangrene": True})
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="Team", on=clinic.visit.day
    )
    sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))
    close_episode(clinic.actor(), clinic.episode, "moved")
    again = open_episode(clinic.actor(), clinic.person, "right")
    assert [one.code for one in uncleared_stops(again)] == ["gangrene"]
    new = Clinic(clinic.accounts, clinic.person, again, open_visit(clinic.actor(), again))
    new.fill()
    plan = new.proposed()
    with pytest.raises(InputError, match="not cleared"):
        approve_plan(clinic.actor(DOCTOR), plan)
    clear_stop(clinic.actor(DOCTOR), again, "gangrene", "Seen by the vascular team, healed.")
    assert uncleared_stops(again) == []
    put_on(new, approve_plan(clinic.actor(DOCTOR), plan))


def test_an_alarm_outlives_its_episode(clinic) -> None:
    bad_check(clinic, put_on(clinic, clinic.approved()))
    with pytest.raises(InputError, match="TAKE IT OFF NOW"):
        close_episode(clinic.actor(), clinic.episode, "moved")
    assert Episode.objects.get(pk=clinic.episode.pk).closed_on is None


def test_an_alarm_is_not_undone_with_its_bandage(clinic) -> None:
    plan = clinic.approved()
    bandaging = put_on(clinic, plan)
    bad_check(clinic, bandaging)
    undo_bandaging(clinic.actor(), bandaging, "pressed by mistake")
    assert open_alarm(clinic.episode).off
    with pytest.raises(InputError, match="TAKE IT OFF NOW"):
        put_on(clinic, plan)
    with pytest.raises(InputError, match="TAKE IT OFF NOW"):
        sign_visit(clinic.actor(), clinic.visit, tomorrow(clinic))
    with pytest.raises(InputError, match="already"):
        undo_bandaging(clinic.actor(), bandaging, "pressed by mistake")


@pytest.mark.parametrize("role", [DOCTOR, NURSE])
def test_a_plan_is_not_approved_for_a_leg_that_today_stops(clinic, role) -> None:
    """The approve page asks whether the case changed; the action itself asks the leg."""
    if role == NURSE:
        order(clinic)
    plan = clinic.proposed()
    clinic.fill({"leg.findings.gangrene": True})
    with pytest.raises(InputError, match="Stop and refer"):
        approve_plan(clinic.actor(role), plan)
    plan.refresh_from_db()
    assert plan.state == PlanRecord.State.PROPOSED


def order(clinic: Clinic, **changes: Any):
    given = {
        "person": None, "maximum_mmhg": 60, "words": WORDS, "starts": date.today(),
        "ends": date.today() + timedelta(days=30), **changes,
    }  # fmt: skip
    return leave_order(clinic.actor(DOCTOR), **given)


@pytest.mark.parametrize("what", ["low", "revoked", "demoted", "inactive", "to come", "another's"])
def test_an_order_that_does_not_cover_it_approves_nothing(clinic, what) -> None:
    from gaiter.records.actions.people import add_person
    from gaiter.records.actions.plans import revoke_order

    changes: dict[str, Any] = {}
    if what == "low":
        changes = {"maximum_mmhg": 30}
    if what == "to come":
        changes = {"starts": date.today() + timedelta(days=1)}
    if what == "another's":
        changes = {"person": add_person(
            clinic.actor(), name="Bo", birth_date=date(1950, 1, 1), number="T-2")}  # fmt: skip
    left, plan = order(clinic, **changes), clinic.proposed()
    manager = clinic.actor(Role.MANAGER)
    if what == "revoked":
        revoke_order(clinic.actor(DOCTOR), left)
    if what == "demoted":
        change_account(manager, clinic.accounts[DOCTOR], role=Role.LEARNER)
    if what == "inactive":
        change_account(manager, clinic.accounts[DOCTOR], is_active=False)
    with pytest.raises(NotAllowedError):
        approve_plan(clinic.actor(NURSE), plan)
    assert not PlanRecord.objects.filter(state="approved").exists()


@pytest.mark.parametrize("maximum", [float("nan"), float("inf"), -1.0, 0.0, 81.0, 1e308])
def test_an_order_of_no_pressure_is_not_left(clinic, maximum) -> None:
    with pytest.raises(InputError, match="maximum must be"):
        order(clinic, maximum_mmhg=maximum)


@pytest.mark.parametrize("found", ["stop", "not yet", "alarm", "uncleared"])
def test_no_sheet_is_printed_for_a_leg_that_must_not_be_bandaged(clinic, signed_in, found) -> None:
    plan, browser = clinic.approved(), signed_in(NURSE)
    if found == "stop":
        clinic.fill({"leg.findings.gangrene": True})
    elif found == "not yet":
        clinic.fill({"leg.arterial.lying_flat": None})
    elif found == "alarm":
        bad_check(clinic, put_on(clinic, plan))
    else:
        clinic.fill({"leg.findings.stent": True})
        record_stop_action(
            clinic.actor(), clinic.visit, code="stent", referred_to="Team", on=clinic.visit.day
        )
        # The plan survives only because the finding was taken back; nobody cleared the stop.
        type(clinic.visit).objects.filter(pk=clinic.visit.pk).update(
            signed_at=clinic.actor().now, signed_by=clinic.accounts[NURSE]
        )
        clinic.visit = open_visit(clinic.actor(), clinic.episode)
        clinic.fill()
    answer = browser.get(reverse("sheet-file", args=[plan.pk]))
    assert answer.status_code == 400
    assert b"%PDF" not in answer.content


def rival(monkeypatch, deed) -> None:
    """Somebody else writes in the moment before the action's own transaction opens."""
    real, done = plan_actions.action, []

    @contextmanager
    def slow(*args, **kwargs):
        if not done:
            done.append(True)
            deed()
        with real(*args, **kwargs) as act:
            yield act

    monkeypatch.setattr(plan_actions, "action", slow)


def test_a_plan_withdrawn_a_moment_ago_is_not_bandaged(clinic, monkeypatch) -> None:
    plan = clinic.approved()
    theirs = PlanRecord.objects.get(pk=plan.pk)
    rival(monkeypatch, lambda: withdraw_plan(clinic.actor(DOCTOR), theirs, WORDS))
    with pytest.raises(InputError, match="approved"):
        put_on(clinic, plan)
    assert not Bandaging.objects.exists()


def test_a_bandage_put_on_a_moment_ago_is_not_put_on_again(clinic, monkeypatch) -> None:
    plan = clinic.approved()
    rival(monkeypatch, lambda: put_on(clinic, plan, DOCTOR))
    with pytest.raises(InputError, match="on already"):
        put_on(clinic, plan)
    assert Bandaging.objects.count() == 1


def test_gangrene_typed_a_moment_ago_stops_the_bandage(clinic, monkeypatch) -> None:
    plan = clinic.approved()
    rival(monkeypatch, lambda: clinic.fill({"leg.findings.gangrene": True}, DOCTOR))
    with pytest.raises(InputError, match="Stop and refer"):
        put_on(clinic, plan)
    assert not Bandaging.objects.exists()
    plan.refresh_from_db()
    assert plan.state == PlanRecord.State.VOIDED


def test_an_order_ended_a_moment_ago_approves_nothing(clinic, monkeypatch) -> None:
    from gaiter.records.actions.plans import revoke_order

    left, plan = order(clinic), clinic.proposed()
    rival(monkeypatch, lambda: revoke_order(clinic.actor(DOCTOR), left))
    with pytest.raises(NotAllowedError):
        approve_plan(clinic.actor(NURSE), plan)
    plan.refresh_from_db()
    assert plan.state == PlanRecord.State.PROPOSED


def test_a_page_of_another_browser_shows_no_stale_plan(clinic, signed_in) -> None:
    plan, browser = clinic.approved(), signed_in(NURSE)
    assert browser.get(reverse("sheet-file", args=[plan.pk])).status_code == 200
    doctor = Client()
    doctor.force_login(clinic.accounts[DOCTOR], backend="django.contrib.auth.backends.ModelBackend")
    doctor.post(reverse("withdraw-plan", args=[plan.pk]), {"words": WORDS})
    form = {"plan": plan.pk, "off_by": tomorrow(clinic).isoformat()}
    answer = browser.post(reverse("bandaged", args=[clinic.visit.pk]), form)
    assert answer.status_code == 400
    assert browser.get(reverse("sheet-file", args=[plan.pk])).status_code == 400
    assert not Bandaging.objects.exists()
