"""Makes the demo clinic through the same actions as its users, with a backdated clock."""

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any

from django.utils import timezone

from gaiter.core.errors import InputError
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark, Side
from gaiter.core.plan import LegPlan, Status
from gaiter.core.plan import plan as plan_of_case
from gaiter.core.safety import RULES
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.operations.demo.people import ACCOUNTS, EVERY_VISIT, ORDINARY, PASSWORD, SPECS, Spec
from gaiter.records.actions.accounts import add_account
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check, record_deed
from gaiter.records.actions.people import (
    add_person,
    ask_for_call,
    close_episode,
    open_episode,
    record_bandage_event,
    write_note,
)
from gaiter.records.actions.plans import (
    approve_plan,
    leave_order,
    propose_plan,
    record_bandaging,
    set_stock_item,
    stock_change,
    to_accept,
)
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.actions.stops import override_stops, record_stop_action
from gaiter.records.actions.teams import change_team, make_team
from gaiter.records.actions.visits import (
    Typed,
    open_visit,
    save_entries,
    sign_visit,
)
from gaiter.records.demonstration import mark_demonstration
from gaiter.records.ledger import Actor
from gaiter.records.models import (
    Account,
    Bandaging,
    Check,
    Deed,
    Episode,
    Person,
    PlanRecord,
    Reading,
    StockItem,
    Visit,
)
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.holding import holding
from gaiter.records.read.in_force import latest_off_by, plan_in_force
from gaiter.records.read.visible import CLINICAL_ROLES, teams_count
from gaiter.records.sealing import blind_index
from gaiter.records.visit.case import (
    VisitError,
    assembled,
    case_of,
    local_catalogue,
    local_policy,
)
from gaiter.records.visit.decided import decision_of, stops_without_action

_MEASURE_ALL_DAYS = 28


def make_demo(say: Callable[[str], None], specs: tuple[Spec, ...] = SPECS) -> None:
    """Accounts, stock and every leg.

    Raises
    ------
    InputError
        If the database already holds anybody: a demo is never mixed with a clinic.
    """
    if Account.objects.exists() or Person.objects.exists():
        raise InputError(
            "The database already holds accounts or people: make the demo in an empty folder."
        )
    nobody = Actor(None, "demo")
    mark_demonstration(nobody)
    accounts = {
        username: add_account(
            nobody, username=username, name=name, initials=initials, role=role,
            training=training, password=PASSWORD, demo=True,
        )
        for username, name, initials, role, training in ACCOUNTS
    }  # fmt: skip
    if teams_count():
        _one_team(nobody, list(accounts.values()))
    _stock(Actor(accounts["alder"], "demo"))
    for number, spec in enumerate(specs, start=1):
        say(f"{number} of {len(specs)}: {spec.name}, {spec.side} leg")
        _Maker(accounts, spec, number).make()
    _count(Actor(accounts["alder"], "demo"))
    today = timezone.localdate()
    leave_order(
        Actor(accounts["mercer"], "demo"),
        person=None, maximum_mmhg=40, starts=today, ends=today + timedelta(days=14),
        words="Invented: while I am away, computed plans up to 40 mmHg for legs seen before.",
    )  # fmt: skip


def _one_team(actor: Actor, accounts: list[Account]) -> None:
    """Everybody clinical in one team, which then treats every invented person."""
    clinical = [account for account in accounts if account.role in CLINICAL_ROLES]
    team = make_team(actor, "Everybody")
    change_team(actor, team, name=team.name, active=True, accounts=clinical)


# Enough for every visit of the invented past, then counted down to what makes each state show.
_DELIVERED = 600
_COUNTED = {"orthopaedic_wool": 60, "coarse_gauze": 44, "zinc_paste": 6, "light_elastic": 3}


def _stock(actor: Actor) -> None:
    for key, material in shipped_catalogue().materials.items():
        for width in material.widths_cm:
            set_stock_item(actor, None, material=key, width_cm=width, rolls=_DELIVERED, low_at=5)


def _count(actor: Actor) -> None:
    for item in StockItem.objects.all():
        change = _COUNTED.get(item.material, 30) - item.rolls
        stock_change(actor, item, change, "counted")


class _Maker:
    """Makes one leg."""

    def __init__(self, accounts: dict[str, Account], spec: Spec, number: int) -> None:
        self.accounts, self.spec, self.number = accounts, spec, number
        self.today = timezone.localdate()

    def actor(self, username: str, day: date, hour: int, minute: int = 0) -> Actor:
        """Somebody at a time of a day."""
        at = timezone.make_aware(datetime.combine(day, time(hour, minute)))
        return Actor(self.accounts[username], "demo", min(at, timezone.now()))

    def make(self) -> None:
        """Person, episode, visits, and what else happened."""
        spec = self.spec
        first = self.today - timedelta(
            days=spec.last_days_ago + spec.every_days * max(spec.visits - 1, 0)
        )
        if not spec.visits:
            first = self.today
        episode = open_episode(self.actor("mercer", first, 8, 30), self._person(first), spec.side)
        for index in range(spec.visits):
            day = first + timedelta(days=index * spec.every_days)
            self._visit(episode, index, day)
        for part in spec.story:
            getattr(self, "_" + part.replace(" ", "_"), self._nothing)(episode)

    def _nothing(self, episode: Episode) -> None:
        """A part of the story that the visits tell."""

    def _person(self, first: date) -> Person:
        number = f"HF-{1000 + self.number}"
        if self.spec.name == "Edda Quill":
            number = "HF-1005"
        index = blind_index(number, "number")
        known = Person.objects.filter(number_index=index).first()
        return known or add_person(
            self.actor("mercer", first, 8),
            name=self.spec.name, birth_date=date.fromisoformat(self.spec.born), number=number,
            phone=f"555 01{self.number:02d}", invented=True,
        )  # fmt: skip

    def _values(self, index: int, day: date) -> dict[str, Any]:
        """What is entered at one visit."""
        spec = self.spec
        whole = {**ORDINARY, **spec.changes, "person.sex": spec.sex}
        everything = index == 0 or (index * spec.every_days) % _MEASURE_ALL_DAYS == 0
        values = dict(whole) if everything else {}
        values |= EVERY_VISIT
        if index:
            for path in [p for p in values if p.startswith(("arms.", "leg.arterial."))]:
                del values[path]
        if index == spec.visits - 1:
            values |= spec.last
        if index == 0 and spec.tested_days_ago is not None:
            last = self.today - timedelta(days=spec.last_days_ago)
            tested = min(last - timedelta(days=spec.tested_days_ago), day)
            values["leg.arterial.measured_on"] = tested.isoformat()
        share = index / max(spec.visits - 1, 1)
        ankle = whole["leg.girth_cm.ankle"]
        to = spec.ankle_to_cm or ankle - 0.4
        values["leg.girth_cm.ankle"] = round(ankle + share * (to - ankle), 1)
        values["leg.girth_cm.calf"] = round(whole["leg.girth_cm.calf"] - share * (ankle - to), 1)
        if whole.get("leg.wound.length_cm"):
            kept = spec.heals**index
            for name in ("length", "width"):
                path = f"leg.wound.{name}_cm"
                values[path] = max(round(whole[path] * kept, 1), 0.2)
        return {path: value for path, value in values.items() if value is not None}

    def _visit(self, episode: Episode, index: int, day: date) -> None:
        spec = self.spec
        last = index == spec.visits - 1
        visit = open_visit(self.actor("rowan", day, 9), episode)
        self._save("rowan", visit, self._values(index, day), 9)
        if last and "override" in spec.story:
            override_stops(
                self.actor("mercer", day, 9, 20), visit, code="breathless_lying",
                aim_low_mmhg=10, aim_high_mmhg=20, maximum_mmhg=25, reason="specialist agreed",
                words="Invented: the heart team saw her this morning and agrees to light support.",
            )  # fmt: skip
        plan = self._plan(visit, day, waits=last and "plan waits" in spec.story, first=index == 0)
        if plan is not None and plan.state == PlanRecord.State.APPROVED:
            self._bandage(visit, plan, day, last)
        if last and {"plan waits", "alarm", "sensor high"} & set(spec.story):
            return
        decision = decision_of(assembled(visit))
        for stop in stops_without_action(visit, decision):
            record_stop_action(
                self.actor("mercer", day, 9, 50), visit, code=stop.code, on=day,
                referred_to=f"{RULES[stop.code].refer} (invented)",
            )  # fmt: skip
        days = spec.back_in_days if last else spec.every_days
        anew = plan is not None and plan.visit_id == visit.pk
        if decision.first_look_days is not None and anew:
            days = min(days, decision.first_look_days)
        sign_visit(self.actor("rowan", day, 10, 30), visit, day + timedelta(days=days))

    def _save(self, who: str, visit: Visit, values: dict[str, Any], hour: int) -> None:
        typed = [Typed(path, value, 0) for path, value in values.items()]
        save_entries(self.actor(who, visit.day, hour, 10), visit, typed)

    def _plan(self, visit: Visit, day: date, *, waits: bool, first: bool) -> PlanRecord | None:
        """A plan at the first visit, one that waits, or the one in force."""
        force = None if first or waits else plan_in_force(visit.episode)
        if force is not None and holding(visit, force).holds:
            return force
        try:
            case = case_of(assembled(visit))
        except VisitError as error:  # a slip in the specs, not in what a user typed
            raise InputError(f"{self.spec.name}: {error}") from error
        plan = plan_of_case(case, local_policy(), local_catalogue())
        leg = plan.legs[Side(self.spec.side)]
        if leg.status is not Status.PLANNED:
            note = f"Invented: {leg.status_reason}. Referred the same day."
            write_note(self.actor("mercer", day, 9, 40), visit.episode, note)
            return None
        record = propose_plan(self.actor("rowan", day, 9, 30), visit, plan, case)
        if waits:
            return record
        accepted = to_accept(leg.systems[0])
        return approve_plan(self.actor("mercer", day, 9, 45), record, accepted)

    def _bandage(self, visit: Visit, plan: PlanRecord, day: date, last: bool) -> None:
        story = self.spec.story if last else ()
        off_by = latest_off_by(plan, visit)
        bandaging = record_bandaging(self.actor("rowan", day, 10), visit, plan, off_by)
        if "bad check" in story:
            record_check(
                self.actor("rowan", day, 10, 10), bandaging, Check.Moment.AFTER,
                {**GOOD_ANSWERS, "warmth": "cold", "pain": "5"},
                words="Invented: toes cold after five minutes.",
            )  # fmt: skip
            if "alarm" not in story:
                self._came_off(bandaging, day)
        else:
            record_check(
                self.actor("rowan", day, 10, 10), bandaging, Check.Moment.AFTER, GOOD_ANSWERS
            )
        if last:
            record_readings(
                self.actor("rowan", day, 10, 5), bandaging, self._marks(leg_of(plan_of(plan)))
            )
        if "sensor high" in story:
            # The alarm of this leg stands.
            high = Read(Reading.Kind.SENSOR, 0, Landmark.GAITER, plan.maximum_mmhg + 6)
            record_readings(self.actor("sedge", day, 10, 20), bandaging, [high])

    def _came_off(self, bandaging: Bandaging, day: date) -> None:
        """Taken off at once, the prescriber called, and the toes came back."""
        for minute, kind, words in (
            (12, Deed.Kind.TAKEN_OFF, ""),
            (14, Deed.Kind.CALLED, "Invented: no bandage today."),
            (23, Deed.Kind.RECOVERED, "Invented: warm again."),
        ):
            actor = self.actor("rowan", day, 10, minute)
            record_deed(actor, bandaging, kind, words)

    def _marks(self, leg: LegPlan) -> list[Read]:
        """Invented readings: a hand a little loose up the leg, sensors on every third leg."""
        system = leg.systems[0]
        stray = 0.1 * (self.number % 3 - 1)
        read = [
            Read(
                Reading.Kind.SPACING, layer.number, height.value,
                round(max((layer.mark_spacing_cm or 0.0) + off + stray, 10.0), 1),
            )
            for layer in system.layers
            if layer.fabric
            for height, off in zip(HABIT_HEIGHTS, (0.0, -0.2, -0.3), strict=True)
        ]  # fmt: skip
        if self.number % 3 == 0:
            at = {site.landmark: site for site in system.sites}
            share = 0.82 + 0.04 * (self.number % 5)
            # The sensor of this clinic reads a little low on the flat inner ankle.
            for place, mmhg in (
                (Landmark.GAITER, at[Landmark.GAITER].median_mmhg),
                (Landmark.ANKLE, 0.9 * (at[Landmark.ANKLE].inner_mmhg or 0.0)),
            ):
                read.append(Read(Reading.Kind.SENSOR, 0, place, round(share * mmhg)))
        return read

    def _half_filled(self, episode: Episode) -> None:
        visit = open_visit(self.actor("rowan", self.today, 8, 50), episode)
        some = {
            path: value
            for path, value in {**ORDINARY, **EVERY_VISIT}.items()
            if path.startswith(("person.", "look.", "toes.", "leg.purpose"))
        }
        some |= {"leg.girth_cm.ankle": 24.2, "leg.girth_cm.calf": 38.1}
        self._save("rowan", visit, some, 8)

    def _two_differ(self, episode: Episode) -> None:
        visit = open_visit(self.actor("rowan", self.today, 8, 55), episode)
        self._save("rowan", visit, {"leg.girth_cm.ankle": 23.1, "look.pain": 2}, 9)
        other = [Typed("leg.girth_cm.ankle", 23.9, 0)]
        save_entries(self.actor("sedge", self.today, 9, 12), visit, other)

    def _call(self, episode: Episode) -> None:
        ask_for_call(
            self.actor("sedge", self.today, 8, 5), episode,
            "Invented: his daughter asks whether he may shower with the bandage on.",
        )  # fmt: skip

    def _taken_off(self, episode: Episode) -> None:
        record_bandage_event(
            self.actor("wicket", self.today - timedelta(days=1), 19), episode, "taken_off",
            "Invented: toes went pale in the evening; colour came back at once.",
        )  # fmt: skip

    def _healed(self, episode: Episode) -> None:
        close_episode(self.actor("mercer", self.today - timedelta(days=13), 11), episode, "healed")
