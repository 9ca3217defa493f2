"""The plan in force of a leg: the one question that every page, paper and list asks.

A plan is in force from approval until it is replaced, withdrawn or voided. A proposal never
hides it.
"""

from datetime import date, timedelta

from django.db.models import QuerySet

from gaiter.records.models import Episode, PlanRecord, Visit
from gaiter.records.read.documents import leg_of, plan_of


def plan_in_force(episode: Episode) -> PlanRecord | None:
    """The plan that this leg is bandaged by; None where there is none."""
    return _plans(episode).filter(state=PlanRecord.State.APPROVED).order_by("-pk").first()


def waiting_plan(episode: Episode) -> PlanRecord | None:
    """The newest proposal that waits for approval."""
    return _plans(episode).filter(state=PlanRecord.State.PROPOSED).order_by("-pk").first()


def _plans(episode: Episode) -> QuerySet[PlanRecord]:
    return (
        PlanRecord.objects.filter(visit__episode_id=episode.pk)
        .select_related("visit", "approved_by", "proposed_by", "ended_by", "order__prescriber")
        .defer("document", "case")
    )


def open_visit_of(episode: Episode) -> Visit | None:
    """The visit that is open; None where every one is signed."""
    return episode.visits.filter(signed_at=None).order_by("-day", "-pk").first()


def days_worn(plan: PlanRecord, visit: Visit) -> int:
    """Days that a bandage of this visit may stay on; fewer for the plan's first bandage."""
    system = leg_of(plan_of(plan)).systems[0]
    before = plan.bandagings.filter(undone_at=None).exclude(visit_id=visit.pk)
    if system.regular_days is None or not before.exists():
        return system.change_days
    return system.regular_days


def latest_off_by(plan: PlanRecord, visit: Visit) -> date:
    """Last day on which a bandage of this visit has to come off."""
    return visit.day + timedelta(days=days_worn(plan, visit))
