"""People: found by number or name, added, changed."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.records.actions.people import add_person, change_person, open_episode
from gaiter.records.actions.visits import open_visit
from gaiter.records.ledger import note_opening
from gaiter.records.models import Account, Person, Team
from gaiter.records.read.visible import (
    last_openings,
    own_teams,
    people_of_teams,
    teams_count,
    teams_of,
    visible_people,
)
from gaiter.records.sealing import blind_index
from gaiter.records.words import in_language
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.forms import ChangeForm, DayField, OnceForm
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.people.pages import (
    ChangePersonPage,
    NewPersonPage,
    PeoplePage,
    PersonPage,
)
from gaiter.web.teams.forms import PersonTeamsForm, TeamChoice

_LATEST = 30


class _Identifiers(forms.Form):
    """The least that tells people apart."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    birth_date = DayField(label=gettext_lazy("Born"))
    number = forms.CharField(label=gettext_lazy("Number in the clinic"), max_length=40)
    phone = forms.CharField(label=gettext_lazy("Telephone"), max_length=40, required=False)


class PersonForm(_Identifiers, ChangeForm):
    """Identifiers of a person who is there."""


class NewPersonForm(_Identifiers, OnceForm):
    """A new person; with teams, those of whoever adds that shall treat the person."""

    teams = TeamChoice(label=gettext_lazy("Your teams that treat this person"))

    def __init__(self, account: Account, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not teams_count():
            del self.fields["teams"]
            return
        choice: TeamChoice = self.fields["teams"]  # type: ignore[assignment] # declared so above
        choice.queryset = own_teams(account)
        # One team is no choice; none is said by the action, in words.
        choice.required = len(choice.queryset) > 1
        if not choice.required:
            del self.fields["teams"]


@allow(CLINICAL, "GET")
def people(request: ClinicRequest) -> HttpResponse:
    """Search by whole number or whole name; identities are sealed, so parts do not match."""
    wanted = request.GET.get("find", "").strip()[:120]
    found = visible_people(request.actor).prefetch_related("episodes")
    if wanted:
        found = found.filter(number_index=blind_index(wanted, "number")) | found.filter(
            name_index=blind_index(wanted, "name")
        )
    shown = list(found.order_by("-created_at")[:_LATEST])
    # Whom it found; what was typed may be anything.
    verb = "search" if wanted else "open list"
    note_opening(request.actor, verb, "people", people=[one.pk for one in shown])
    return show(request, PeoplePage(shown, wanted, teams_count(), _own(request)))


def _own(request: ClinicRequest) -> list[Team]:
    return list(own_teams(request.user)) if teams_count() else []


@allow(CLINICAL, "GET", "POST")
def new_person(request: ClinicRequest) -> HttpResponse:
    """A new person; with teams, in one or more of one's own."""
    form = NewPersonForm(request.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = add_person(request.actor, **form.cleaned_data)
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            return redirect("person", made.pk)
    return show(request, NewPersonPage(form), 400 if form.errors else 200)


@allow(CLINICAL, "GET", of=Person)
def person(request: ClinicRequest, pk: int) -> HttpResponse:
    """One person: identifiers and legs."""
    one = get_object_or_404(Person, pk=pk)
    note_opening(request.actor, "open record", one)
    episodes = list(one.episodes.order_by("-opened_on"))
    open_sides = {episode.side for episode in episodes if episode.closed_on is None}
    page = PersonPage(
        person=one,
        age=one.age_on(request.actor.today),
        episodes=episodes,
        free_sides=[side.value for side in Side if side.value not in open_sides],
        openings=last_openings(one),
        held=list(teams_of(one)) if teams_count() else [],
        teams_form=_teams_form(request, one),
    )
    return show(request, page)


def _teams_form(request: ClinicRequest, one: Person) -> PersonTeamsForm | None:
    """None where teams do not count, the person is opened from outside, or nothing can be added."""
    if not teams_count() or not people_of_teams(request.actor).filter(pk=one.pk).exists():
        return None
    form = PersonTeamsForm(request.user, one)
    return form if form.offers else None


@allow(CLINICAL, "GET", "POST", of=Person)
def change(request: ClinicRequest, pk: int) -> HttpResponse:
    """Corrects identifiers."""
    one = get_object_or_404(Person, pk=pk)
    if request.method == "GET":
        note_opening(request.actor, "open record", one)
    names = ("name", "birth_date", "number", "phone")
    form = PersonForm(request.POST or None, initial={name: getattr(one, name) for name in names})
    if request.method == "POST" and form.is_valid():
        try:
            change_person(request.actor, one, **form.changes())
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            messages.success(request, _("Kept."))
            return redirect("person", pk)
    return show(request, ChangePersonPage(form, one), 400 if form.errors else 200)


@allow(CLINICAL, "POST", of=Person)
def open_leg(request: ClinicRequest, pk: int) -> HttpResponse:
    """A new episode, straight to its first visit."""
    one = get_object_or_404(Person, pk=pk)
    side = request.POST.get("side", "")
    if side not in list(Side):
        raise InputError(_("Say which leg: right or left."))
    episode = open_episode(request.actor, one, side, request.POST.get("once"))
    return redirect("visit", open_visit(request.actor, episode).pk)
