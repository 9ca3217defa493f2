"""Papers that leave the clinic, filled from the record."""

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render

from gaiter.records.action import note_opening
from gaiter.records.assemble import assembled
from gaiter.records.in_force import plan_in_force
from gaiter.web.papers.content import PAPERS, Source
from gaiter.web.site.access import CLINICAL, allow
from gaiter.web.site.request import ClinicRequest
from gaiter.web.today.leg import episode_of


@allow(CLINICAL)
def paper(request: ClinicRequest, pk: int, kind: str) -> HttpResponse:
    """One paper; ``?as=text`` gives it as plain text."""
    if kind not in PAPERS:
        raise Http404
    episode = episode_of(pk)
    note_opening(request.actor, f"print {kind}", episode)
    visit = episode.visits.select_related("episode__person").order_by("-day", "-pk").first()
    source = Source(
        seen=assembled(visit) if visit else None,
        plan=plan_in_force(episode),
        today=request.actor.today,
        phone=settings.GAITER.phone,
    )
    made = PAPERS[kind][1](source)
    if request.GET.get("as") == "text":
        return HttpResponse(made.as_text(), content_type="text/plain; charset=utf-8")
    return render(
        request,
        "papers/paper.html",
        {"paper": made, "kind": kind, "episode": episode, "person": episode.person},
    )
