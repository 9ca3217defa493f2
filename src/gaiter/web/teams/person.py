"""Teams of a person, and opening somebody of another team."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.teams import change_teams, open_outside
from gaiter.records.entrance.tries import TooManyTriesError
from gaiter.records.models import Person
from gaiter.records.read.visible import teams_count, visible_people
from gaiter.records.words import in_language
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.teams.forms import OutsideForm, PersonTeamsForm
from gaiter.web.teams.pages import OutsidePage


def _require_teams() -> None:
    """There is no such page where everybody sees every person."""
    if not teams_count():
        raise Http404


@allow(CLINICAL, "GET", "POST")
def outside(request: ClinicRequest) -> HttpResponse:
    """Opens somebody of another team for some hours, for a written reason."""
    _require_teams()
    form, stopped = OutsideForm(request.POST or None), False
    if request.method == "POST" and form.is_valid():
        try:
            opening = open_outside(request.actor, **form.cleaned_data)
        except InputError as error:
            form.refuse(in_language(error.said))
            stopped = isinstance(error, TooManyTriesError)
        else:
            messages.success(request, _("Opened. Your name and reason stand with this person."))
            return redirect("person", opening.person_id)
    page = OutsidePage(form, settings.GAITER.break_glass_hours)
    return show(request, page, 429 if stopped else 400 if form.errors else 200)


@allow(CLINICAL, "POST", of=Person)
def teams(request: ClinicRequest, pk: int) -> HttpResponse:
    """Adds one's own teams to a person, or moves the person."""
    _require_teams()
    one = get_object_or_404(Person, pk=pk)
    form = PersonTeamsForm(request.user, one, request.POST)
    if not form.is_valid():
        raise InputError(_("Choose among the teams that are listed."))
    change_teams(request.actor, one, form.chosen(), form.cleaned_data["once"])
    messages.success(request, _("Kept."))
    if not visible_people(request.actor).filter(pk=pk).exists():
        # Moved away: the page is not theirs any more.
        return redirect("people")
    return redirect("person", pk)
