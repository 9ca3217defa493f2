"""Rolls that a bandage takes from the shelf, and a bandage undone that puts them back."""

from collections.abc import Mapping

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.actions.closed import require_open
from gaiter.records.ledger import Action, Actor, action
from gaiter.records.models import BandageEvent, Bandaging, Check, StockItem, StockMove, Visit
from gaiter.records.words import kept_words

# Deeds of a check after which the bandage is off.
_OFF = (Check.Deed.REDONE, Check.Deed.TAKEN_OFF)


def bandage_on(visit: Visit) -> Bandaging | None:
    """The bandage of a visit that is on: neither undone nor taken off since."""
    last = visit.bandagings.filter(undone_at=None).order_by("-at", "-pk").first()
    if last is None or last.checks.filter(deed__in=_OFF).exists():
        return None
    if last.deeds.filter(kind__in=_OFF).exists():
        return None
    off = BandageEvent.objects.filter(
        episode_id=visit.episode_id, kind=BandageEvent.Kind.TAKEN_OFF, at__gte=last.at
    )
    return None if off.exists() else last


def take_rolls(act: Action, bandaging: Bandaging, counts: Mapping[tuple[str, float], int]) -> None:
    """Draws rolls down, as far as they were counted; what was short is said."""
    items = {(item.material, item.width_cm): item for item in StockItem.objects.select_for_update()}
    for key, rolls in counts.items():
        item = items.get(key)
        if item is None:
            continue
        taken = min(rolls, item.rolls)
        short = rolls - taken
        why = f"bandaging of {bandaging.visit.episode.reference}" + (
            f", {short} more than were counted: count the shelf" if short else ""
        )
        act.create(
            StockMove, item=item, change=-taken, why=why, bandaging=bandaging,
            by=act.actor.account, at=act.at,
        )  # fmt: skip
        act.change(item, rolls=item.rolls - taken)


def undo_bandaging(
    actor: Actor, bandaging: Bandaging, why: str, once: str | None = None
) -> Bandaging:
    """'The bandage is on' was said by mistake: the row stays, its rolls go back.

    Raises
    ------
    InputError
        If it was undone already, its visit is signed, or no reason is given.
    """
    require_clinical(actor)
    with action(actor, "undo bandaging", bandaging.visit, once=once) as act:
        now = act.read(bandaging)
        if now.undone_at is not None:
            raise InputError(_("This bandage was undone already."))
        require_open(now.visit.episode)
        if now.visit.signed_at is not None:
            raise InputError(_("The visit is signed: what was put on at it stays."))
        why = kept_words(_("Why it is undone"), why, 500, 5)
        moves = StockMove.objects.filter(bandaging=now).select_related("item")
        for move in moves.exclude(change=0):
            item = StockItem.objects.select_for_update().get(pk=move.item_id)
            act.create(
                StockMove, item=item, change=-move.change, bandaging=now, by=actor.account,
                why=f"bandaging of {now.visit.episode.reference} undone", at=act.at,
            )  # fmt: skip
            act.change(item, rolls=item.rolls - move.change)
        return act.change(now, undone_at=act.at, undone_by=actor.account, undone_why=why)
