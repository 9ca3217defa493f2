"""Today: every open episode, those that need somebody first."""

from collections import Counter

from django.http import HttpResponse
from django.shortcuts import redirect

from gaiter.records.ledger import note_opening
from gaiter.records.models import Role
from gaiter.records.proof import head
from gaiter.records.read.caseload import Concern, caseload
from gaiter.records.read.visible import teams_count, unseen_legs
from gaiter.records.visit.case import local_policy
from gaiter.web.accounts.views import home_of
from gaiter.web.frame.access import EVERYBODY, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.today.pages import TodayPage

SIGN_OF = {
    Concern.WARNING: "stop",
    Concern.MISSED: "stop",
    Concern.OVERDUE: "watch",
    Concern.CALL: "watch",
    Concern.APPROVAL: "watch",
    Concern.DRIFT: "watch",
    Concern.STALLED: "watch",
    Concern.ARTERIAL: "watch",
    Concern.DUE: "due",
}


@allow(EVERYBODY, "GET")
def today(request: ClinicRequest) -> HttpResponse:
    """The list, filtered by one mark; learner and manager have a page of their own."""
    if request.user.role in (Role.LEARNER, Role.MANAGER):
        return redirect(home_of(request.user))
    legs_today = caseload(local_policy(), request.actor.today, request.actor)
    counts = Counter(mark for leg_today in legs_today for mark in leg_today.marks)
    chosen = request.GET.get("show", "")
    shown = [s for s in legs_today if chosen == "all" or (chosen in s.marks if chosen else s.marks)]
    note_opening(request.actor, "open list", "today", episodes=[one.episode.pk for one in shown])
    end = head()
    page = TodayPage(
        day=request.actor.today,
        legs_today=[
            (s, [(mark, SIGN_OF[mark], words) for mark, words in s.marks.items()]) for s in shown
        ],
        filters=[(mark.value, counts[mark]) for mark in Concern if counts[mark]],
        chosen=chosen,
        all_count=len(legs_today),
        marked_count=sum(bool(s.marks) for s in legs_today),
        unseen=unseen_legs(),
        by_team=teams_count(),
        anchor=end.line if end else "",
    )
    return show(request, page)
