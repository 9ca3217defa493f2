"""Papers that leave the clinic, filled from the record."""

from datetime import date

from django.conf import settings
from django.http import Http404, HttpResponse

from gaiter.outlets.papers.content import PAPERS
from gaiter.outlets.papers.source import Source
from gaiter.records.ledger import note_opening
from gaiter.records.models import Check, Episode, Visit
from gaiter.records.read.alarm import open_alarm
from gaiter.records.read.holding import holding
from gaiter.records.read.in_force import plan_in_force
from gaiter.records.visit.case import assembled
from gaiter.records.visit.decided import decision_at, uncleared_stops
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.papers.pages import PaperPage
from gaiter.web.today.leg import episode_of


def source_of(episode: Episode, visit: Visit | None, today: date) -> Source:
    """What is known of a leg now: the plan in force, the decision, and what stands open."""
    plan = plan_in_force(episode)
    # An empty shelf keeps nobody from wearing what is on already.
    why_not = holding(visit, plan).without_stock().words if visit and plan else ""
    return Source(
        seen=assembled(visit) if visit else None,
        plan=plan,
        today=today,
        phone=settings.GAITER.phone,
        decision=decision_at(visit) if visit else None,
        why_not=why_not,
        alarm=open_alarm(episode),
        actions=tuple(uncleared_stops(episode)),
        checks=tuple(Check.objects.filter(bandaging__visit=visit).order_by("at", "pk")),
    )


@allow(CLINICAL, "GET", of=Episode)
def paper(request: ClinicRequest, pk: int, kind: str) -> HttpResponse:
    """One paper; ``?as=text`` gives it as plain text."""
    if kind not in PAPERS:
        raise Http404
    episode = episode_of(pk)
    note_opening(request.actor, f"print {kind}", episode)
    visit = episode.visits.select_related("episode__person").order_by("-day", "-pk").first()
    made = PAPERS[kind][1](source_of(episode, visit, request.actor.today))
    if request.GET.get("as") == "text":
        return HttpResponse(made.as_text(), content_type="text/plain; charset=utf-8")
    return show(request, PaperPage(made, episode, episode.person))
