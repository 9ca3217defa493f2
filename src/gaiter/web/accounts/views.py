"""Signing in and out, the lock, and the first password."""

import time
from typing import Any

from django.contrib import messages
from django.contrib.auth import authenticate, login, logout, password_validation
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import note_failed_sign_in, note_sign_in
from gaiter.records.actions.factors import factor_of
from gaiter.records.actions.grants import grants_to_show, link_of, use_link
from gaiter.records.entrance.networks import network_of
from gaiter.records.entrance.sessions import give_new_key
from gaiter.records.entrance.tries import (
    Kind,
    TooManyTriesError,
    count_try,
    forget,
    take_back,
)
from gaiter.records.ledger import Actor, note_opening
from gaiter.records.models import Account, Role
from gaiter.records.words import in_language
from gaiter.web.accounts.browser import known_as, remember
from gaiter.web.accounts.forms import PasswordForm, SignInForm, WelcomeForm
from gaiter.web.accounts.pages import LockPage, SignInPage, WelcomeOverPage, WelcomePage
from gaiter.web.accounts.step_up import right_password
from gaiter.web.frame.access import (
    EVERYBODY,
    FACTOR_ASKED,
    FACTOR_GIVEN,
    FACTOR_NONE,
    allow,
    safe_next,
)
from gaiter.web.frame.address import address_of
from gaiter.web.frame.errors import by_script, not_found
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest

_HOME = {Role.MANAGER: "stock", Role.LEARNER: "practice"}


def home_of(account: Account) -> str:
    """Address of the page a role starts on."""
    return reverse(_HOME.get(Role(account.role), "today"))


def enter(request: ClinicRequest, account: Account, *, factor_given: bool = False) -> None:
    """A session of this account, under a new key; every end of it is counted from here."""
    login(request, account, backend="django.contrib.auth.backends.ModelBackend")
    # The framework keeps the key where the same account was signed in already.
    request.session.cycle_key()
    state = FACTOR_ASKED if factor_of(account) is not None else FACTOR_NONE
    request.session["factor"] = FACTOR_GIVEN if factor_given else state
    request.session["seen"] = time.time()
    request.session["where"] = address_of(request)
    request.session["locked"] = False


def password_problems(password: str, account: Account) -> list[str]:
    """Why a password is refused, in words."""
    try:
        password_validation.validate_password(password, account)
    except ValidationError as error:
        return list(error.messages)
    return []


@allow(EVERYBODY, "GET", "POST", anonymous=True)
def sign_in(request: ClinicRequest) -> HttpResponse:
    """Name and password."""
    form = SignInForm(request.POST or None)
    status, locked_out = 200 if request.method == "GET" else 400, ""
    if form.is_valid():
        try:
            account = _judged(request, **form.cleaned_data)
        except TooManyTriesError as error:
            status, locked_out = 429, _locked_out(error)
        else:
            if account is not None:
                return _entered(request, account)
            form.refuse(_("Name and password do not match an account that may sign in."))
    page = SignInPage(
        form,
        next=request.POST.get("next") or request.GET.get("next", ""),
        locked_out=locked_out,
        demo_accounts=Account.objects.filter(demo=True, is_active=True).order_by("pk"),
        nobody_yet=not Account.objects.exists(),
    )
    return show(request, page, status)


def _judged(request: ClinicRequest, username: str, password: str) -> Account | None:
    """The account that name and password are of.

    Raises
    ------
    TooManyTriesError
        If this browser, or any address or the name from browsers that do not know it, went wrong
        too often; the password is not looked at then.
    """
    known, address = known_as(request, username), network_of(address_of(request))
    if known:
        count_try(Kind.BROWSER, known)
    else:
        count_try(Kind.ADDRESS, address)
        count_try(Kind.NAME, username)
    account: Any = authenticate(request, username=username, password=password)
    if account is None:
        note_failed_sign_in(Actor(None, address_of(request)), username)
        return None
    if known:
        forget(Kind.BROWSER, known)
    else:
        # Whoever has an account of their own does not buy tries at others' with it.
        take_back(Kind.ADDRESS, address)
        forget(Kind.NAME, username)
    return account


def _locked_out(error: TooManyTriesError) -> str:
    words = _(
        "Too many wrong passwords for this name or from this address. Wait %(minutes)d minutes, "
        "sign in on a device where you signed in before, or ask the manager for a one-time link."
    )
    return words % {"minutes": error.minutes}


def _entered(request: ClinicRequest, account: Account) -> HttpResponse:
    enter(request, account)
    note_sign_in(Actor(account, address_of(request)))
    wanted = safe_next(request, home_of(account))
    if grants_to_show(account):
        wanted = f"{reverse('notices')}?{urlencode({'next': wanted})}"
    response = redirect(wanted)
    remember(request, response, account.username)
    return response


@allow(EVERYBODY, "POST", when_locked=True, before_factor=True)
def sign_out(request: ClinicRequest) -> HttpResponse:
    """Signs out."""
    note_opening(request.actor, "sign out", request.user)
    logout(request)
    return redirect("sign-in")


@allow(EVERYBODY, "GET", "POST", when_locked=True, before_factor=True)
def lock(request: ClinicRequest) -> HttpResponse:
    """The screen locked after idling; the password opens it where it was."""
    status = 200 if request.method == "GET" else 400
    if request.method == "GET":
        request.session["locked"] = True
    form = PasswordForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            if right_password(request, form.cleaned_data["password"]):
                # Whoever saw the key of the locked session does not open this one with it.
                give_new_key(request.session)
                request.session["locked"] = False
                request.session["seen"] = time.time()
                return redirect(safe_next(request, home_of(request.user)))
            form.refuse(_("That is not your password."))
        except TooManyTriesError as error:
            form.refuse(in_language(error.said))
            status = 429
    page = LockPage(form, request.POST.get("next") or request.GET.get("next", ""))
    return show(request, page, status)


@allow(EVERYBODY, "GET", "POST", anonymous=True)
def welcome(request: ClinicRequest) -> HttpResponse:
    """A one-time link: choose a password. Its code comes with the form, never in an address."""
    form = WelcomeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        said, actor = form.cleaned_data, Actor(None, address_of(request))
        link = link_of(said["link"], actor)
        if link is None:
            return _link_over(request)
        account = link.account
        problems = password_problems(said["password"], account)
        if not problems:
            given = factor_of(account) is not None
            try:
                account = use_link(
                    Actor(account, actor.where), link, said["password"], said["code"]
                )
            except TooManyTriesError:
                raise
            except InputError as error:
                form.refuse(in_language(error.said))
            else:
                return _welcomed(request, account, factor_given=given)
        for problem in problems:
            form.add_error("password", problem)
    return show(request, WelcomePage(form), 200 if request.method == "GET" else 400)


def _link_over(request: ClinicRequest) -> HttpResponse:
    return not_found(request) if by_script(request) else show(request, WelcomeOverPage(), 404)


def _welcomed(request: ClinicRequest, account: Account, *, factor_given: bool) -> HttpResponse:
    enter(request, account, factor_given=factor_given)
    words = _("From now on you sign in as %(username)s with the password you chose.")
    messages.success(request, words % {"username": account.username})
    response = redirect(home_of(account))
    remember(request, response, account.username)
    return response
