"""Legs of the stories, put straight into the clinic that a server serves; see ``conftest.Desk``.

Each function runs in a process of its own beside the server, takes and returns plain values.
"""

from datetime import date, timedelta
from typing import Any

from gaiter.records.actions.people import add_person, open_episode
from gaiter.records.actions.plans import leave_order, record_bandaging, set_stock_item
from gaiter.records.actions.visits import open_visit
from gaiter.records.append_only import lifted
from gaiter.records.ledger import Actor, action
from gaiter.records.models import Account, Bandaging, Role, StockItem
from gaiter.records.read.documents import leg_of, plan_of
from tests.clinic import Clinic, small_clinic, whole_visit

# What is asked of arteries; a visit without them has everything else.
_ARTERIES = ("arms.", "leg.arterial.")


def accounts() -> None:
    """One account a role; user name and role are the same word."""
    small_clinic()


def _actor(role: str) -> Actor:
    return Actor(Account.objects.get(role=role), "127.0.0.1")


def leg(
    name: str,
    given: dict[str, Any] | None = None,
    *,
    whole: bool = True,
    arteries: bool = True,
    plan: str = "",
    days_ago: int = 0,
    on: bool = False,
) -> dict[str, Any]:
    """Somebody's leg with one visit: whole or empty, with ``given`` over it.

    ``plan`` is "proposed" or "approved"; ``on`` puts the bandage on; ``days_ago`` signs the visit
    on an earlier day, so that the next one is begun on the page.
    """
    nurse = _actor(Role.BANDAGER)
    person = add_person(
        nurse, name=name, birth_date=date(1951, 3, 14), number=name[-12:], invented=True
    )
    episode = open_episode(nurse, person, "right")
    made = Clinic(
        {one.role: one for one in Account.objects.all()}, person, episode,
        open_visit(nurse, episode),
    )  # fmt: skip
    typed = whole_visit() if whole else {}
    if not arteries:
        typed = {path: value for path, value in typed.items() if not path.startswith(_ARTERIES)}
    if typed | (given or {}):
        made.fill(typed | (given or {}))
    answer: dict[str, Any] = {
        "leg": episode.pk, "visit": made.visit.pk, "reference": episode.reference
    }  # fmt: skip
    if plan:
        record = made.approved() if plan == "approved" else made.proposed()
        layers = leg_of(plan_of(record)).systems[0].layers
        answer |= {
            "plan": record.pk,
            "marks": [f"{one.mark_spacing_cm:.1f}" for one in layers if one.mark_spacing_cm],
        }
        if on:
            off_by = made.visit.day + timedelta(days=2)
            answer["bandaging"] = record_bandaging(nurse, made.visit, record, off_by).pk
    if days_ago:
        with action(nurse, "sign visit", made.visit) as act, lifted():
            act.change(
                made.visit, day=date.today() - timedelta(days=days_ago), signed_at=nurse.now,
                signed_by=nurse.account, next_visit=date.today(),
            )  # fmt: skip
    return answer


def shelf(plan_of_leg: dict[str, Any], rolls: int) -> None:
    """Stocks every material of a leg's plan."""
    from gaiter.records.models import PlanRecord

    record = PlanRecord.objects.get(pk=plan_of_leg["plan"])
    for layer in leg_of(plan_of(record)).systems[0].layers:
        if not StockItem.objects.filter(material=layer.material).exists():
            set_stock_item(
                _actor(Role.MANAGER), None, material=layer.material, width_cm=layer.width_cm,
                rolls=rolls, low_at=0,
            )  # fmt: skip


def rolls() -> int:
    """Rolls on the shelf, of whatever material."""
    return sum(StockItem.objects.values_list("rolls", flat=True))


def bandagings(visit: int) -> list[bool]:
    """Each time that a bandage of a visit was said to be on, and whether it was undone."""
    found = Bandaging.objects.filter(visit_id=visit).order_by("pk")
    return [one.undone_at is not None for one in found]


def clinic_order(maximum_mmhg: float) -> None:
    """The clinic's standing order, from today for a month."""
    leave_order(
        _actor(Role.PRESCRIBER), person=None, maximum_mmhg=maximum_mmhg,
        words="Immediate care before the test.", starts=date.today(),
        ends=date.today() + timedelta(days=30),
    )  # fmt: skip
