"""The second factor: asked for, set up, replaced, and its recovery codes."""

import base64
import io
from typing import Any

import segno
from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.factors import (
    confirm_factor,
    factor_of,
    give_code,
    make_codes,
    start_factor,
    started_factor,
)
from gaiter.records.entrance.tries import TooManyTriesError
from gaiter.records.models import SecondFactor
from gaiter.records.totp import address_of
from gaiter.records.words import in_language
from gaiter.web.accounts.forms import AnyCodeForm, CodeForm, StepUpForm
from gaiter.web.accounts.pages import (
    RecoveryAskPage,
    RecoveryCodesPage,
    SecondFactorAskPage,
    SecondFactorPage,
    SecondFactorSetUpPage,
)
from gaiter.web.accounts.step_up import given_code, right_password
from gaiter.web.accounts.views import enter, home_of
from gaiter.web.frame.access import (
    EVERYBODY,
    FACTOR_ASKED,
    FACTOR_GIVEN,
    allow,
    safe_next,
)
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest

# What the session remembers between the password and the first code.
_STARTED = "factor_started"


def _next(request: ClinicRequest) -> str:
    return request.POST.get("next") or request.GET.get("next", "")


def _refused(form: Any, error: InputError) -> int:
    """Says on the form why it was refused; the status that goes with it."""
    form.refuse(in_language(error.said))
    return 429 if isinstance(error, TooManyTriesError) else 400


@allow(EVERYBODY, "GET", "POST", before_factor=True)
def second_factor(request: ClinicRequest) -> HttpResponse:
    """The six digits of the second factor, or a recovery code."""
    form, status = AnyCodeForm(request.POST or None), 200 if request.method == "GET" else 400
    if request.method == "POST" and form.is_valid():
        try:
            left = give_code(request.actor, form.cleaned_data["code"])
        except InputError as error:
            status = _refused(form, error)
        else:
            request.session["factor"] = FACTOR_GIVEN
            request.session.cycle_key()
            if left is not None:
                words = _(
                    "A recovery code is used up; %(left)d are left. Make new ones under My "
                    "account, and set the second factor up anew if the telephone is lost."
                )
                messages.warning(request, words % {"left": left})
            return redirect(safe_next(request, home_of(request.user)))
    return show(request, SecondFactorPage(form, _next(request)), status)


def _stepped_up(request: ClinicRequest, form: StepUpForm) -> int:
    """Judges password and code; status 200 where both are right, else said on the form."""
    try:
        if not right_password(request, form.cleaned_data["password"]):
            raise InputError(_("That is not your password."))
        given_code(request.actor, form.cleaned_data.get("present", ""))
    except InputError as error:
        return _refused(form, error)
    return 200


@allow(EVERYBODY, "GET", "POST", before_factor=True)
def second_factor_set_up(request: ClinicRequest) -> HttpResponse:
    """A second factor made or replaced: the password and the old code first, then the new seed."""
    if request.session.get("factor") == FACTOR_ASKED:
        return redirect("second-factor")
    if request.method == "POST" and "code" in request.POST:
        return _first_code(request)
    has = factor_of(request.user) is not None
    form = StepUpForm(request.POST or None, asks_code=has)
    status = 200 if request.method == "GET" else 400
    if request.method == "POST" and form.is_valid():
        status = _stepped_up(request, form)
        if status == 200:
            factor = start_factor(request.actor)
            request.session[_STARTED] = factor.pk
            return _seed_page(request, factor, CodeForm(), 200)
    return show(request, SecondFactorAskPage(form, has, _next(request)), status)


def _first_code(request: ClinicRequest) -> HttpResponse:
    factor = started_factor(request.actor, request.session.get(_STARTED))
    if factor is None:
        messages.warning(request, _("This took too long or was started elsewhere: begin again."))
        return redirect("second-factor-set-up")
    form, status = CodeForm(request.POST), 400
    if form.is_valid():
        try:
            codes = confirm_factor(request.actor, factor.pk, form.cleaned_data["code"])
        except InputError as error:
            status = _refused(form, error)
        else:
            enter(request, request.actor.account, factor_given=True)
            wanted = safe_next(request, home_of(request.user))
            return show(request, RecoveryCodesPage(codes, wanted))
    return _seed_page(request, factor, form, status)


def _seed_page(
    request: ClinicRequest, factor: SecondFactor, form: CodeForm, status: int
) -> HttpResponse:
    address = address_of(factor.seed, request.user.username, settings.GAITER.clinic)
    picture = io.BytesIO()
    segno.make(address).save(picture, kind="svg", scale=5, border=2)
    page = SecondFactorSetUpPage(
        form,
        picture="data:image/svg+xml;base64," + base64.b64encode(picture.getvalue()).decode(),
        key=factor.seed,
        next=_next(request),
    )
    return show(request, page, status)


@allow(EVERYBODY, "GET", "POST")
def recovery_codes(request: ClinicRequest) -> HttpResponse:
    """New recovery codes, shown once; the password and a code first."""
    form = StepUpForm(request.POST or None, asks_code=True)
    status = 200 if request.method == "GET" else 400
    if request.method == "POST" and form.is_valid():
        status = _stepped_up(request, form)
        if status == 200:
            return show(request, RecoveryCodesPage(make_codes(request.actor), reverse("own")))
    return show(request, RecoveryAskPage(form), status)
