"""The safety decision of a visit, from whatever it knows, and the stops that stand open."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from gaiter.core.landmark import Side
from gaiter.core.safety import RULES, LegDecision, Outcome, Reason, decide
from gaiter.records.assemble import Assembled, assembled, local_policy, safety_case_of
from gaiter.records.models import Episode, StopAction, StopCleared, Visit
from gaiter.records.screen import found_at


def decision_of(seen: Assembled) -> LegDecision:
    """The decision of what is known at a visit; no girth, no hands, no shelf needed.

    Raises
    ------
    FileError
        Naming what contradicts.
    """
    side = Side(seen.visit.episode.side)
    return decide(safety_case_of(seen), local_policy()).legs[side]


def decision_at(visit: Visit) -> LegDecision | None:
    """The decision of a visit, without the values that contradict each other.

    One wrong box never hides a stop; None where too much contradicts.
    """
    return found_at(assembled(visit)).decision


def stops_of(decision: LegDecision) -> list[Reason]:
    """What stops a leg: the stops not set aside, or the arteries that leave no pressure at all."""
    if decision.outcome is not Outcome.STOP:
        return []
    return [reason for reason in decision.reasons if reason.code in decision.limiting]


def stops_without_action(visit: Visit, decision: LegDecision) -> list[Reason]:
    """Stops of a visit for which nobody said yet to whom the person was referred."""
    named = set(visit.stop_actions.values_list("code", flat=True))
    return [reason for reason in stops_of(decision) if reason.code not in named]


def stop_words(code: str) -> str:
    """What a stop is called in a list, by its rule."""
    rule = RULES.get(code)
    return _("Stop: {what}.").format(
        what=_((rule.danger if rule else "") or code.replace("_", " "))
    )


def uncleared_stops(episode: Episode) -> list[StopAction]:
    """What was done about stops that no prescriber has cleared since, newest first."""
    # Of the leg, not of the episode: closed and opened anew it is the same leg.
    leg = {"episode__person_id": episode.person_id, "episode__side": episode.side}
    of_visit = {f"visit__{name}": value for name, value in leg.items()}
    actions = StopAction.objects.filter(**of_visit).select_related("by", "visit")
    cleared = list(StopCleared.objects.filter(**leg).values_list("code", "at"))
    return uncleared(list(actions.order_by("-at", "-pk")), cleared)


def uncleared(
    actions: Sequence[StopAction], cleared: Sequence[tuple[str, object]]
) -> list[StopAction]:
    """The last action of every code that was not cleared after it; actions newest first."""
    found: dict[str, StopAction] = {}
    for one in actions:
        later = any(code == one.code and at >= one.at for code, at in cleared)  # type: ignore[operator] # moments
        if one.code not in found and not later:
            found[one.code] = one
    return list(found.values())
