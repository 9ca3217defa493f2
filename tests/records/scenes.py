"""What six writers do at once with each action, and what must be true afterwards.

A scene prepares a clinic and gives six calls, each with rows of its own that it read before
anybody wrote, and a judge of what came of them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import Any

from gaiter.core.applied.document import Applied
from gaiter.core.landmark import HABIT_HEIGHTS
from gaiter.core.plan.supplies import rolls_to_take
from gaiter.records.actions import (
    accounts,
    checks,
    people,
    plans,
    practice,
    readings,
    shelf,
    stops,
    visits,
)
from gaiter.records.actions.checks import GOOD_ANSWERS
from gaiter.records.actions.readings import Read
from gaiter.records.actions.visits import Typed
from gaiter.records.ledger import Actor
from gaiter.records.models import (
    Account,
    AppliedRecord,
    Attempt,
    BandageEvent,
    Bandaging,
    CallBack,
    Check,
    Deed,
    Entry,
    Episode,
    Note,
    OverrideRecord,
    Person,
    PlanRecord,
    ProvisionalRecord,
    Reading,
    Role,
    StandingOrder,
    StockItem,
    StockMove,
    StopAction,
    StoredFile,
    Visit,
)
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.in_force import plan_in_force
from gaiter.records.visit.case import assembled, case_of
from gaiter.web.plan.desk import computed_plan
from gaiter.web.practice.task import practice_case
from tests.clinic import Clinic, attempt_of
from tests.records.actions.test_stops import NO_TEST
from tests.records.writers import SIX, Came

WORDS = "Spoken to on the telephone today."
ANKLE = "leg.girth_cm.ankle"


@dataclass(frozen=True)
class Scene:
    """Six calls; how many of them succeed, what the others are told, and what is true then."""

    calls: Sequence[Callable[[], Any]]
    winners: int
    told: str = ""
    true_then: Callable[[list[Came]], bool] = lambda _came: True


def six(call: Callable[[int], Callable[[], Any]]) -> list[Callable[[], Any]]:
    return [call(number) for number in range(SIX)]


def six_on(row: Any, act: Callable[[int, Any], Any]) -> list[Callable[[], Any]]:
    """Six calls about one row, each with its own copy, read by now."""
    return [partial(act, number, own(row)) for number in range(SIX)]


def own(row: Any) -> Any:
    """A row as another request has read it."""
    return type(row).objects.get(pk=row.pk)


def nurse(clinic: Clinic) -> Actor:
    return clinic.actor(Role.BANDAGER)


def doctor(clinic: Clinic) -> Actor:
    return clinic.actor(Role.PRESCRIBER)


def soon(clinic: Clinic, days: int = 1) -> date:
    return clinic.visit.day + timedelta(days=days)


def put_on(clinic: Clinic) -> Bandaging:
    return plans.record_bandaging(nurse(clinic), clinic.visit, clinic.approved(), soon(clinic))


def signed(clinic: Clinic) -> Visit:
    return visits.sign_visit(nurse(clinic), own(clinic.visit), soon(clinic))


def rows(model: Any, count: int, **which: Any) -> Callable[[list[Came]], bool]:
    return lambda _came: model.objects.filter(**which).count() == count


# Accounts.


def add_account(c: Clinic) -> Scene:
    manager = c.actor(Role.MANAGER)
    calls = six(
        lambda n: (
            lambda: accounts.add_account(
                manager, username="rowan", name=f"Rowan {n}", initials="RO", role=Role.BANDAGER
            )
        )
    )
    return Scene(calls, 1, "taken", rows(Account, 1, username="rowan"))


def set_password(c: Clinic) -> Scene:
    manager = c.actor(Role.MANAGER)

    def call(n: int) -> Callable[[], Any]:
        theirs = own(c.accounts[Role.LEARNER])
        return lambda: accounts.set_password(manager, theirs, f"a long new password {n}")

    def true_then(_came: list[Came]) -> bool:
        now = own(c.accounts[Role.LEARNER])
        return sum(now.check_password(f"a long new password {n}") for n in range(SIX)) == 1

    return Scene(six(call), SIX, "", true_then)


def change_account(c: Clinic) -> Scene:
    """Two managers, each sent away three times: one of them stays."""
    manager = c.actor(Role.MANAGER)
    second = accounts.add_account(
        manager, username="second", name="Second", initials="SE", role=Role.MANAGER
    )
    both = (c.accounts[Role.MANAGER], second)

    def call(n: int) -> Callable[[], Any]:
        theirs = own(both[n % 2])
        return lambda: accounts.change_account(manager, theirs, role=Role.LEARNER)

    return Scene(six(call), 3, "last manager", rows(Account, 1, role=Role.MANAGER))


# Checks.


def record_check(c: Clinic) -> Scene:
    bandaging = put_on(c)
    calls = six_on(
        bandaging,
        lambda n, one: checks.record_check(nurse(c), one, "after", GOOD_ANSWERS, words=str(n)),
    )
    return Scene(calls, SIX, "", rows(Check, SIX))


def record_deed(c: Clinic) -> Scene:
    bandaging = put_on(c)
    bad = {**GOOD_ANSWERS, "colour": "white", "pain": "9"}
    checks.record_check(nurse(c), bandaging, "after", bad)
    for kind in ("taken_off", "not_recovered"):
        checks.record_deed(nurse(c), bandaging, kind)
    calls = six_on(
        bandaging, lambda n, one: checks.record_deed(nurse(c), one, "handed_over", f"Ward {n}")
    )
    return Scene(calls, 1, "no emergency", rows(Deed, 1, kind="handed_over"))


def record_came_off(c: Clinic) -> Scene:
    put_on(c)
    calls = six_on(
        c.episode, lambda n, one: checks.record_came_off(nurse(c), one, "taken_off", str(n), "")
    )
    return Scene(calls, SIX, "", rows(BandageEvent, SIX))


# People.


def add_person(c: Clinic) -> Scene:
    born = c.person.born
    calls = six(
        lambda n: lambda: people.add_person(nurse(c), name=f"Bo {n}", birth_date=born, number="T-2")
    )
    return Scene(calls, 1, "in the record already", rows(Person, 2))


def change_person(c: Clinic) -> Scene:
    """Six people who are given the same number: one of them has it."""
    six_of_them = [
        people.add_person(nurse(c), name="Bo", birth_date=c.person.born, number=f"S-{n}")
        for n in range(6)
    ]

    def call(n: int) -> Callable[[], Any]:
        one = own(six_of_them[n])
        return lambda: people.change_person(nurse(c), one, number="T-9", phone=str(n))

    def true_then(_came: list[Came]) -> bool:
        return sorted(one.number for one in Person.objects.all()).count("T-9") == 1

    return Scene(six(call), 1, "belongs to another", true_then)


def open_episode(c: Clinic) -> Scene:
    calls = six_on(c.person, lambda _n, one: people.open_episode(nurse(c), one, "left"))
    return Scene(calls, 1, "open episode already", rows(Episode, 1, side="left"))


def close_episode(c: Clinic) -> Scene:
    outcomes = [*Episode.Outcome.values, "healed"]
    calls = six_on(c.episode, lambda n, one: people.close_episode(nurse(c), one, outcomes[n]))

    def true_then(came: list[Came]) -> bool:
        (won,) = [outcomes[n] for n, one in enumerate(came) if one.error is None]
        return own(c.episode).outcome == won

    return Scene(calls, 1, "closed already", true_then)


def change_outcome(c: Clinic) -> Scene:
    people.close_episode(nurse(c), c.episode, "moved")
    calls = six_on(c.episode, lambda _n, one: people.change_outcome(nurse(c), one, "healed", WORDS))
    return Scene(calls, 1, "its outcome already", rows(Note, 1))


def write_note(c: Clinic) -> Scene:
    calls = six_on(c.episode, lambda n, one: people.write_note(nurse(c), one, f"note {n}"))
    return Scene(
        calls,
        SIX,
        "",
        lambda _c: {n.words for n in Note.objects.all()} == {f"note {n}" for n in range(SIX)},
    )


def ask_for_call(c: Clinic) -> Scene:
    calls = six_on(c.episode, lambda n, one: people.ask_for_call(nurse(c), one, f"why {n}"))
    return Scene(calls, SIX, "", rows(CallBack, SIX))


def return_call(c: Clinic) -> Scene:
    asked = people.ask_for_call(nurse(c), c.episode, "why")
    calls = six_on(asked, lambda n, one: people.return_call(nurse(c), one, f"outcome {n}"))

    def true_then(came: list[Came]) -> bool:
        (won,) = [n for n, one in enumerate(came) if one.error is None]
        return own(asked).outcome == f"outcome {won}"

    return Scene(calls, 1, "returned already", true_then)


def record_bandage_event(c: Clinic) -> Scene:
    calls = six_on(
        c.episode, lambda n, one: people.record_bandage_event(nurse(c), one, "loosened", str(n))
    )
    return Scene(calls, SIX, "", rows(BandageEvent, SIX))


def store_file(c: Clinic) -> Scene:
    calls = six_on(
        c.episode,
        lambda n, one: people.store_file(nurse(c), one, "other", str(n), b"%PDF-1.4 " + bytes([n])),
    )
    return Scene(
        calls,
        SIX,
        "",
        lambda _c: {bytes(f.content)[-1] for f in StoredFile.objects.all()} == set(range(SIX)),
    )


# Plans and stock.


def propose_plan(c: Clinic) -> Scene:
    case = case_of(assembled(c.visit))
    plan = computed_plan(case)
    calls = six_on(c.visit, lambda _n, one: plans.propose_plan(nurse(c), one, plan, case))
    return Scene(
        calls,
        SIX,
        "",
        lambda _c: (
            (
                PlanRecord.objects.filter(state="proposed").count(),
                PlanRecord.objects.filter(state="superseded").count(),
            )
            == (1, SIX - 1)
        ),
    )


def approve_plan(c: Clinic) -> Scene:
    plan = c.proposed()
    calls = six_on(plan, lambda _n, one: plans.approve_plan(doctor(c), one))
    return Scene(calls, 1, "only one that waits", rows(PlanRecord, 1, state="approved"))


def withdraw_plan(c: Clinic) -> Scene:
    plan = c.approved()
    calls = six_on(plan, lambda n, one: plans.withdraw_plan(doctor(c), one, f"{WORDS} {n}"))

    def true_then(came: list[Came]) -> bool:
        (won,) = [n for n, one in enumerate(came) if one.error is None]
        return own(plan).ended_why == f"{WORDS} {won}"

    return Scene(calls, 1, "ended already", true_then)


def void_plan(c: Clinic) -> Scene:
    plan = c.approved()
    calls = six_on(plan, lambda n, one: plans.void_plan(doctor(c), one, str(n)))
    return Scene(calls, 1, "ended already", lambda _c: plan_in_force(c.episode) is None)


def leave_order(c: Clinic) -> Scene:
    day = nurse(c).today
    calls = six(
        lambda n: (
            lambda: plans.leave_order(
                doctor(c), person=None, maximum_mmhg=20 + n, words=WORDS, starts=day, ends=day
            )
        )
    )
    return Scene(calls, SIX, "", rows(StandingOrder, SIX))


def revoke_order(c: Clinic) -> Scene:
    day = nurse(c).today
    order = plans.leave_order(
        doctor(c), person=None, maximum_mmhg=20, words=WORDS, starts=day, ends=day
    )
    calls = six_on(order, lambda _n, one: plans.revoke_order(doctor(c), one))
    return Scene(calls, 1, "has ended already", rows(StandingOrder, 0, revoked_at=None))


def stocked(c: Clinic) -> tuple[PlanRecord, dict[tuple[str, float], int]]:
    """A plan in force, and twenty rolls of everything it takes."""
    plan = c.approved()
    counts = rolls_to_take(leg_of(plan_of(plan)).systems[0])
    for material, width_cm in counts:
        plans.set_stock_item(
            c.actor(Role.MANAGER), None, material=material, width_cm=width_cm, rolls=20
        )
    return plan, dict(counts)


def on_the_shelf() -> dict[tuple[str, float], int]:
    return {(i.material, i.width_cm): i.rolls for i in StockItem.objects.all()}


def record_bandaging(c: Clinic) -> Scene:
    plan, counts = stocked(c)
    calls = six_on(c.visit, lambda _n, one: plans.record_bandaging(nurse(c), one, plan, soon(c)))
    left = {key: 20 - rolls for key, rolls in counts.items()}
    return Scene(
        calls, 1, "on already", lambda _c: Bandaging.objects.count() == 1 and on_the_shelf() == left
    )


def stock_change(c: Clinic) -> Scene:
    """Four rolls on the shelf; six people take one each."""
    item = plans.set_stock_item(
        c.actor(Role.MANAGER), None, material="orthopaedic-wool", width_cm=10.0, rolls=4
    )
    calls = six_on(item, lambda _n, one: plans.stock_change(nurse(c), one, -1, "taken"))
    return Scene(calls, 4, "the shelf has 0", lambda _c: own(item).rolls == 0)


def set_stock_item(c: Clinic) -> Scene:
    manager = c.actor(Role.MANAGER)
    calls = six(
        lambda n: (
            lambda: plans.set_stock_item(
                manager, None, material="orthopaedic-wool", width_cm=10.0, rolls=n
            )
        )
    )
    return Scene(calls, 1, "on the shelf in that width already", rows(StockItem, 1))


def undo_bandaging(c: Clinic) -> Scene:
    plan, counts = stocked(c)
    bandaging = plans.record_bandaging(nurse(c), c.visit, plan, soon(c))
    calls = six_on(
        bandaging, lambda _n, one: shelf.undo_bandaging(nurse(c), one, "pressed by mistake")
    )
    return Scene(calls, 1, "undone already", lambda _c: on_the_shelf() == dict.fromkeys(counts, 20))


# Practice and readings.


def record_attempt(c: Clinic) -> Scene:
    made = attempt_of(nurse(c))
    plan = computed_plan(practice_case("ordinary-leg"))
    applied = Applied.model_validate_json(made.document)
    calls = six(
        lambda _n: (
            lambda: practice.record_attempt(
                nurse(c), task="ordinary-leg", limb="limb", plan=plan, applied=applied
            )
        )
    )
    return Scene(calls, SIX, "", rows(Attempt, SIX + 1))


def record_readings(c: Clinic) -> Scene:
    """Six people read the same three marks; whoever comes second has read nothing new."""
    bandaging = put_on(c)
    layer = next(x for x in leg_of(plan_of(bandaging.plan)).systems[0].layers if x.fabric)
    read = [
        Read("spacing", layer.number, place.value, layer.mark_spacing_cm) for place in HABIT_HEIGHTS
    ]
    calls = six_on(bandaging, lambda _n, one: readings.record_readings(nurse(c), one, read))
    return Scene(
        calls,
        1,
        "Nothing new was read",
        lambda _c: (Reading.objects.count(), AppliedRecord.objects.count()) == (len(read), 1),
    )


# Stops.


def override_stops(c: Clinic) -> Scene:
    c.fill({"person.breathless_lying": True})
    calls = six_on(
        c.visit,
        lambda n, one: stops.override_stops(
            doctor(c),
            one,
            code="breathless_lying",
            aim_low_mmhg=10,
            aim_high_mmhg=20,
            maximum_mmhg=20 + n,
            reason="specialist agreed",
            words=WORDS,
        ),
    )
    # The first sets the stop aside; for the others it stands no more.
    return Scene(calls, 1, "does not stand", rows(OverrideRecord, 1, withdrawn_at=None))


def withdraw_override(c: Clinic) -> Scene:
    c.fill({"person.breathless_lying": True})
    made = stops.override_stops(
        doctor(c),
        c.visit,
        code="breathless_lying",
        aim_low_mmhg=10,
        aim_high_mmhg=20,
        maximum_mmhg=25,
        reason="specialist agreed",
        words=WORDS,
    )
    calls = six_on(made, lambda _n, one: stops.withdraw_override(doctor(c), one))
    return Scene(calls, 1, "again already", rows(OverrideRecord, 0, withdrawn_at=None))


def choose_provisional(c: Clinic) -> Scene:
    c.fill(NO_TEST)
    calls = six_on(c.visit, lambda _n, one: stops.choose_provisional(doctor(c), one, WORDS))
    return Scene(calls, SIX, "", rows(ProvisionalRecord, 1, withdrawn_at=None))


def withdraw_provisional(c: Clinic) -> Scene:
    c.fill(NO_TEST)
    stops.choose_provisional(doctor(c), c.visit, WORDS)
    calls = six_on(c.visit, lambda _n, one: stops.withdraw_provisional(doctor(c), one))
    return Scene(calls, 1, "No provisional level", rows(ProvisionalRecord, 0, withdrawn_at=None))


def record_stop_action(c: Clinic) -> Scene:
    c.fill({"leg.findings.gangrene": True})
    calls = six_on(
        c.visit,
        lambda n, one: stops.record_stop_action(
            nurse(c), one, code="gangrene", referred_to=f"Team {n}", on=one.day
        ),
    )
    return Scene(calls, SIX, "", rows(StopAction, SIX))


def clear_stop(c: Clinic) -> Scene:
    c.fill({"leg.findings.gangrene": True})
    stops.record_stop_action(nurse(c), c.visit, code="gangrene", referred_to="Team", on=c.visit.day)
    signed(c)
    calls = six_on(c.episode, lambda _n, one: stops.clear_stop(doctor(c), one, "gangrene", WORDS))
    return Scene(calls, 1, "No stop of this name")


# Visits.


def open_visit(c: Clinic) -> Scene:
    signed(c)
    calls = six_on(c.episode, lambda _n, one: visits.open_visit(nurse(c), one))
    return Scene(
        calls,
        SIX,
        "",
        lambda came: (
            (len({one.value.pk for one in came}), Visit.objects.filter(signed_at=None).count())
            == (1, 1)
        ),
    )


def save_entries(c: Clinic) -> Scene:
    base = c.visit.entries.get(path=ANKLE).pk
    calls = six_on(
        c.visit, lambda n, one: visits.save_entries(nurse(c), one, [Typed(ANKLE, 24.0 + n, base)])
    )

    def true_then(came: list[Came]) -> bool:
        kept = c.visit.entries.filter(path=ANKLE).order_by("value").values_list("value", "state")
        new = [row for row in kept if row[0] >= 24.0]
        return [value for value, _s in new] == [24.0 + n for n in range(SIX)] and sorted(
            state for _v, state in new
        ) == ["current"] + ["rival"] * (SIX - 1)

    return Scene(calls, SIX, "", true_then)


def settle_clash(c: Clinic) -> Scene:
    """Two values; three people choose the one, three the other: the first choice counts."""
    base = c.visit.entries.get(path=ANKLE).pk
    for value in (24.0, 25.0):
        visits.save_entries(nurse(c), c.visit, [Typed(ANKLE, value, base)])
    both = [c.visit.entries.get(path=ANKLE, value=value).pk for value in (24.0, 25.0)]
    calls = six_on(c.visit, lambda n, one: visits.settle_clash(nurse(c), one, ANKLE, both[n % 2]))

    def true_then(came: list[Came]) -> bool:
        (won,) = {both[n % 2] for n, one in enumerate(came) if one.error is None}
        return Entry.objects.get(visit=c.visit, path=ANKLE, state="current").pk == won

    return Scene(calls, 3, "no longer there", true_then)


def sign_visit(c: Clinic) -> Scene:
    def call(n: int) -> Callable[[], Any]:
        one = own(c.visit)
        who = c.actor((Role.BANDAGER, Role.PRESCRIBER)[n % 2])
        return lambda: visits.sign_visit(who, one, soon(c, n + 1))

    def true_then(came: list[Came]) -> bool:
        (won,) = [n for n, one in enumerate(came) if one.error is None]
        now = own(c.visit)
        hand = c.accounts[(Role.BANDAGER, Role.PRESCRIBER)[won % 2]]
        return (now.signed_by_id, now.next_visit) == (hand.pk, soon(c, won + 1))

    return Scene(six(call), 1, "signed already", true_then)


def answer_none_present(c: Clinic) -> Scene:
    signed(c)
    visit = visits.open_visit(nurse(c), c.episode)
    calls = six_on(visit, lambda _n, one: visits.answer_none_present(nurse(c), one))

    def true_then(came: list[Came]) -> bool:
        (won,) = [one.value for one in came if one.error is None]
        return visit.entries.count() == len(won) > 0

    return Scene(calls, 1, "Nothing is left", true_then)


def moves_of(item: StockItem) -> int:
    return sum(StockMove.objects.filter(item=item).values_list("change", flat=True))
