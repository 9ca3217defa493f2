"""Teams, by the manager: made, filled, given people, and what was opened from outside."""

from typing import Any

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.teams import change_team, make_team, place_unseen
from gaiter.records.ledger import note_opening
from gaiter.records.models import Role, Team
from gaiter.records.read.visible import (
    last_openings,
    members_of,
    teams_count,
    unseen_people,
)
from gaiter.records.words import in_language
from gaiter.web.frame.access import allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.teams.forms import NewTeamForm, PlaceForm, TeamForm
from gaiter.web.teams.pages import TeamPage, TeamRow, TeamsPage


@allow(Role.MANAGER, "GET", "POST")
def teams(request: ClinicRequest) -> HttpResponse:
    """Every team, and a form for a new one."""
    form = NewTeamForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = make_team(request.actor, **form.cleaned_data)
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            messages.success(request, _("Made. Say who is in it."))
            return redirect("team", made.pk)
    return _teams_page(request, form=form)


def _teams_page(request: ClinicRequest, **forms: Any) -> HttpResponse:
    form = forms.get("form") or NewTeamForm()
    placing = forms.get("placing") or PlaceForm(auto_id="place_%s")
    counted = Team.objects.order_by("-active", "name").annotate(
        treated=Count("people", filter=Q(people__ended_at=None))
    )
    members = members_of(counted)
    openings = last_openings()
    if teams_count():
        shown = [*placing.shown, *(one.person_id for one in openings)]
        note_opening(request.actor, "open list", "teams", people=sorted(set(shown)))
    page = TeamsPage(
        count=teams_count(),
        rows=[TeamRow(team, members[team.pk], team.treated) for team in counted],
        form=form,
        unplaced=unseen_people().count(),
        placing=placing,
        openings=openings,
    )
    return show(request, page, 400 if form.errors or placing.errors else 200)


@allow(Role.MANAGER, "POST")
def place(request: ClinicRequest) -> HttpResponse:
    """Puts people whom nobody sees into a team."""
    placing = PlaceForm(request.POST, auto_id="place_%s")
    if placing.is_valid():
        try:
            placed = place_unseen(
                request.actor,
                placing.cleaned_data["team"],
                placing.chosen(),
                placing.cleaned_data["once"],
            )
        except InputError as error:
            placing.refuse(in_language(error.said))
        else:
            messages.success(request, _("%d people were put into the team.") % placed)
            return redirect("teams")
    return _teams_page(request, placing=placing)


@allow(Role.MANAGER, "GET", "POST")
def team(request: ClinicRequest, pk: int) -> HttpResponse:
    """One team."""
    one = get_object_or_404(Team, pk=pk)
    held = members_of([one])[one.pk]
    initial = {"name": one.name, "active": one.active, "accounts": held}
    form = TeamForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            change_team(request.actor, one, **form.cleaned_data)
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            messages.success(request, _("Kept."))
            return redirect("teams")
    return show(request, TeamPage(one, form), 400 if form.errors else 200)
