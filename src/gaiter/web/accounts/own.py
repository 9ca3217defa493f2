"""One's own account: unit, password, where it is signed in, and what was done to it."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from gaiter.records.actions.accounts import change_account, set_password
from gaiter.records.actions.factors import codes_left, factor_of
from gaiter.records.actions.grants import grants_to_show, last_grants, note_read
from gaiter.records.entrance.sessions import end_session, hashed, sessions_of
from gaiter.records.entrance.tries import TooManyTriesError
from gaiter.records.ledger import note_opening
from gaiter.records.models.account import Unit
from gaiter.records.words import in_language
from gaiter.web.accounts.forms import NoticesForm, OwnForm, PasswordForm
from gaiter.web.accounts.pages import NoticesPage, OwnPage, SignedIn
from gaiter.web.accounts.step_up import right_password
from gaiter.web.accounts.views import enter, home_of, password_problems
from gaiter.web.frame.access import EVERYBODY, FACTOR_GIVEN, allow, safe_next
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest

# Apart from the boxes of the form above it.
_ENDING_ID = "ending_%s"


@allow(EVERYBODY, "GET", "POST")
def own(request: ClinicRequest) -> HttpResponse:
    """One's own unit, password, second factor and sessions."""
    account: Any = request.user
    form = OwnForm(request.POST or None, initial={"unit": account.unit})
    if request.method == "POST" and form.is_valid():
        unit, new = form.cleaned_data["unit"], form.cleaned_data["new_password"]
        problems = password_problems(new, account) if new else []
        if new and not right_password(request, form.cleaned_data["password"]):
            problems.append(_("Give your present password to change it."))
        if not problems:
            change_account(request.actor, account, unit=Unit(unit))
            if new:
                given = request.session.get("factor") == FACTOR_GIVEN
                set_password(request.actor, account, new)
                enter(request, account, factor_given=given)
            messages.success(request, _("Kept."))
            return redirect("own")
        for problem in problems:
            form.refuse(problem)
    return _own_page(request, form)


def _own_page(
    request: ClinicRequest, form: OwnForm | None = None, ending: PasswordForm | None = None,
    status: int = 0,
) -> HttpResponse:  # fmt: skip
    """My account, with what was wrong in one of its forms."""
    account: Any = request.user
    page = OwnPage(
        form or OwnForm(initial={"unit": account.unit}),
        ending=ending or PasswordForm(auto_id=_ENDING_ID),
        has_factor=factor_of(account) is not None,
        codes_left=codes_left(account),
        sessions=_sessions(request),
        grants=last_grants(account),
    )
    return show(request, page, status or (200 if request.method == "GET" else 400))


def _here(request: ClinicRequest) -> str:
    return hashed(request.session.session_key or "")


def _sessions(request: ClinicRequest) -> list[SignedIn]:
    here = _here(request)
    return [
        SignedIn(one.pk, one.began_at, one.seen_at, one.where, one.key_hash == here)
        for one in sessions_of(request.user.pk)
    ]


def _password_again(request: ClinicRequest) -> HttpResponse | None:
    """The page that says why not, where the password is not right: an open screen ends nothing."""
    form, status = PasswordForm(request.POST, auto_id=_ENDING_ID), 400
    if form.is_valid():
        try:
            if right_password(request, form.cleaned_data["password"]):
                return None
            form.refuse(_("That is not your password."))
        except TooManyTriesError as error:
            form.refuse(in_language(error.said))
            status = 429
    return _own_page(request, ending=form, status=status)


@allow(EVERYBODY, "POST")
def end_one_session(request: ClinicRequest, pk: int) -> HttpResponse:
    """Signs oneself out of another browser, by the password."""
    others = {one.pk for one in sessions_of(request.user.pk) if one.key_hash != _here(request)}
    if pk not in others:
        raise Http404
    if (refused := _password_again(request)) is not None:
        return refused
    end_session(pk)
    note_opening(request.actor, "end session", request.user)
    messages.success(request, _("Signed out there."))
    return redirect("own")


@allow(EVERYBODY, "POST")
def end_other_sessions(request: ClinicRequest) -> HttpResponse:
    """Signs oneself out everywhere but here, by the password."""
    if (refused := _password_again(request)) is not None:
        return refused
    for one in sessions_of(request.user.pk):
        if one.key_hash != _here(request):
            end_session(one.pk)
    note_opening(request.actor, "end other sessions", request.user)
    messages.success(request, _("Signed out everywhere but here."))
    return redirect("own")


@allow(EVERYBODY, "GET", "POST")
def notices(request: ClinicRequest) -> HttpResponse:
    """What managers did to the account since its owner last read it."""
    form = NoticesForm(request.POST or None)
    wanted = safe_next(request, home_of(request.user))
    if request.method == "POST" and form.is_valid():
        note_read(request.actor, int(form.cleaned_data["upto"]))
        return redirect(wanted)
    page = NoticesPage(grants_to_show(request.user), wanted)
    return show(request, page, 400 if form.errors else 200)
