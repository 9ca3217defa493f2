"""Signing in and out, the lock, the second factor, and the first password."""

import base64
import io
import time
from typing import Any

import segno
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, login, logout, password_validation
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django_otp import login as otp_login
from django_otp.plugins.otp_totp.models import TOTPDevice

from gaiter.records.actions.accounts import change_account, set_password
from gaiter.records.ledger import Actor, action, note_opening
from gaiter.records.models import Account, Role
from gaiter.records.models.account import Unit
from gaiter.web.accounts.forms import (
    CodeForm,
    NewPasswordForm,
    OwnForm,
    PasswordForm,
    SignInForm,
)
from gaiter.web.accounts.pages import (
    LockPage,
    OwnPage,
    SecondFactorPage,
    SecondFactorSetUpPage,
    SignInPage,
    WelcomeOverPage,
    WelcomePage,
)
from gaiter.web.frame.access import EVERYBODY, allow, safe_next
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest

_HOME = {Role.MANAGER: "stock", Role.LEARNER: "practice"}


def home_of(account: Account) -> str:
    """Address of the page a role starts on."""
    return reverse(_HOME.get(Role(account.role), "today"))


def _enter(request: ClinicRequest, account: Account) -> None:
    login(request, account, backend="django.contrib.auth.backends.ModelBackend")
    request.session["seen"] = time.time()
    request.session["has_factor"] = _device(account) is not None
    note_opening(Actor(account, request.META.get("REMOTE_ADDR", "")), "sign in", account)


def _device(account: Account) -> TOTPDevice | None:
    return TOTPDevice.objects.filter(user=account, confirmed=True).first()


@allow(EVERYBODY, "GET", "POST", anonymous=True)
def sign_in(request: ClinicRequest) -> HttpResponse:
    """Name and password."""
    form = SignInForm(request.POST or None)
    if form.is_valid():
        account = authenticate(request, **form.cleaned_data)
        if account is not None:
            _enter(request, account)
            return redirect(safe_next(request, home_of(account)))
        form.refuse(_("Name and password do not match an account that may sign in."))
    page = SignInPage(
        form,
        next=request.GET.get("next", ""),
        demo_accounts=Account.objects.filter(demo=True, is_active=True).order_by("pk"),
        nobody_yet=not Account.objects.exists(),
    )
    return show(request, page, 200 if request.method == "GET" else 400)


def locked_out(request: ClinicRequest, *_args: Any, **_kwargs: Any) -> HttpResponse:
    """Too many wrong passwords."""
    minutes = int(60 * settings.AXES_COOLOFF_TIME)
    words = _(
        "Too many wrong passwords for this name from here. Wait %(minutes)d minutes, or ask "
        "the manager for a one-time link."
    )
    return show(request, SignInPage(SignInForm(), locked_out=words % {"minutes": minutes}), 429)


@allow(EVERYBODY, "POST", when_locked=True)
def sign_out(request: ClinicRequest) -> HttpResponse:
    """Signs out."""
    note_opening(request.actor, "sign out", request.user)
    logout(request)
    return redirect("sign-in")


@allow(EVERYBODY, "GET", "POST", when_locked=True)
def lock(request: ClinicRequest) -> HttpResponse:
    """The screen locked after idling; the password opens it where it was."""
    if request.method == "GET":
        request.session["locked"] = True
    form = PasswordForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if right_password(request, form.cleaned_data["password"]):
            request.session["locked"] = False
            request.session["seen"] = time.time()
            return redirect(safe_next(request, home_of(request.user)))
        form.refuse(_("That is not your password."))
    page = LockPage(form, request.POST.get("next") or request.GET.get("next", ""))
    return show(request, page, 200 if request.method == "GET" else 400)


def right_password(request: ClinicRequest, password: str) -> bool:
    """Whether this is the password of whoever is signed in; wrong ones count for the lock-out."""
    account: Any = request.user
    return authenticate(request, username=account.username, password=password) == account


@allow(EVERYBODY, "GET", "POST", when_locked=True)
def second_factor(request: ClinicRequest) -> HttpResponse:
    """The six digits of the second factor."""
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        device = _device(request.user)
        if device is not None and device.verify_token(form.cleaned_data["code"]):
            otp_login(request, device)
            return redirect(safe_next(request, home_of(request.user)))
        form.refuse(_("That code is not the one of this half minute: wait for the next one."))
    page = SecondFactorPage(form, request.GET.get("next", ""))
    return show(request, page, 200 if request.method == "GET" else 400)


@allow(EVERYBODY, "GET", "POST", when_locked=True)
def second_factor_set_up(request: ClinicRequest) -> HttpResponse:
    """Makes a second factor: a picture to scan and the first code to prove it."""
    account: Any = request.user
    if _device(account) is not None and not account.is_verified():
        return redirect("second-factor")
    device, _new = TOTPDevice.objects.get_or_create(
        user=account, confirmed=False, defaults={"name": "first"}
    )
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if device.verify_token(form.cleaned_data["code"]):
            with action(request.actor, "set up second factor", account):
                TOTPDevice.objects.filter(user=account, confirmed=True).delete()
                device.confirmed = True
                device.save()
            request.session["has_factor"] = True
            otp_login(request, device)
            messages.success(request, _("From now on you sign in with the code as well."))
            return redirect(safe_next(request, home_of(account)))
        form.refuse(_("That code does not fit: scan again and type the six digits shown."))
    picture = io.BytesIO()
    segno.make(device.config_url).save(picture, kind="svg", scale=5, border=2)
    page = SecondFactorSetUpPage(
        form,
        picture="data:image/svg+xml;base64," + base64.b64encode(picture.getvalue()).decode(),
        key=base64.b32encode(device.bin_key).decode(),
        next=request.GET.get("next", ""),
    )
    return show(request, page, 200 if request.method == "GET" else 400)


@allow(EVERYBODY, "GET", "POST", anonymous=True)
def welcome(request: ClinicRequest, pk: int, token: str) -> HttpResponse:
    """A one-time link: choose a password."""
    account = get_object_or_404(Account, pk=pk, is_active=True)
    if not default_token_generator.check_token(account, token):
        return show(request, WelcomeOverPage(), 404)
    form = NewPasswordForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        problems = _problems(form.cleaned_data["password"], account)
        if not problems:
            set_password(
                Actor(account, request.META.get("REMOTE_ADDR", "")),
                account,
                form.cleaned_data["password"],
            )
            _enter(request, account)
            return redirect(home_of(account))
        for problem in problems:
            form.add_error("password", problem)
    return show(request, WelcomePage(form, account), 200 if request.method == "GET" else 400)


def _problems(password: str, account: Account) -> list[str]:
    try:
        password_validation.validate_password(password, account)
    except ValidationError as error:
        return list(error.messages)
    return []


@allow(EVERYBODY, "GET", "POST")
def own(request: ClinicRequest) -> HttpResponse:
    """One's own unit, password and second factor."""
    account: Any = request.user
    form = OwnForm(request.POST or None, initial={"unit": account.unit})
    if request.method == "POST" and form.is_valid():
        unit, new = form.cleaned_data["unit"], form.cleaned_data["new_password"]
        problems = _problems(new, account) if new else []
        if new and not right_password(request, form.cleaned_data["password"]):
            problems.append(_("Give your present password to change it."))
        if not problems:
            change_account(request.actor, account, unit=Unit(unit))
            if new:
                set_password(request.actor, account, new)
                _enter(request, account)
            messages.success(request, _("Kept."))
            return redirect("own")
        for problem in problems:
            form.refuse(problem)
    page = OwnPage(form, has_factor=_device(account) is not None)
    return show(request, page, 200 if request.method == "GET" else 400)
