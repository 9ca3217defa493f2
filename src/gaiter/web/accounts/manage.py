"""Accounts, by the manager."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import add_account, change_account
from gaiter.records.actions.factors import factor_of
from gaiter.records.actions.grants import (
    GUARDED,
    IssuedLink,
    approve_grant,
    ask_removal,
    end_grant,
    issue_link,
    last_grants,
    waiting_grants,
)
from gaiter.records.models import Account, Grant, Role
from gaiter.records.read.visible import unseen_legs
from gaiter.records.words import in_language
from gaiter.web.accounts.forms import AccountForm, ChangeAccountForm, RemovalForm
from gaiter.web.accounts.pages import AccountPage, AccountsPage
from gaiter.web.frame.access import allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest

_NAMES = ("name", "initials", "role", "training", "is_active")


@allow(Role.MANAGER, "GET", "POST")
def accounts(request: ClinicRequest) -> HttpResponse:
    """Everybody who may sign in, a form for somebody new, and what waits for a second manager."""
    form = AccountForm(request.POST or None)
    link: IssuedLink | None = None
    if request.method == "POST" and form.is_valid():
        try:
            made = add_account(request.actor, **form.cleaned_data)
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            link = issue_link(request.actor, made)
            form = AccountForm()
    page = AccountsPage(
        form,
        Account.objects.order_by("role", "name"),
        waiting_grants(request.actor),
        link,
        _address(request, link),
        unseen=unseen_legs(),
    )
    return show(request, page, 400 if form.errors else 200)


def _address(request: ClinicRequest, link: IssuedLink | None) -> str:
    return request.build_absolute_uri(link.path) if link else ""


@allow(Role.MANAGER, "GET", "POST")
def account(request: ClinicRequest, pk: int) -> HttpResponse:
    """One account: change it, make a one-time link, or remove a second factor that is lost."""
    one = get_object_or_404(Account, pk=pk)
    if request.method == "POST" and "link" in request.POST:
        link = issue_link(request.actor, one)
        return _account_page(request, one, link=link, address=_address(request, link))
    if request.method == "POST" and "words" in request.POST:
        return _removal(request, one)
    form = _form(one, request.POST or None)
    if request.method == "POST" and form.is_valid():
        before = one.role
        try:
            changed = change_account(request.actor, one, **form.changes())
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            messages.success(request, _("Kept."))
            if changed.role != before and changed.role in GUARDED:
                words = _(
                    "In the new role %(name)s needs a new password and sets up a second factor "
                    "anew: make a one-time link, which a second manager approves."
                )
                messages.warning(request, words % {"name": changed.name})
            return redirect("account", pk)
    return _account_page(request, one, form=form)


def _form(one: Account, given: Any = None) -> ChangeAccountForm:
    return ChangeAccountForm(given, initial={name: getattr(one, name) for name in _NAMES})


def _account_page(request: ClinicRequest, one: Account, **said: Any) -> HttpResponse:
    form = said.pop("form", None) or _form(one)
    removal = said.pop("removal", None)
    may_remove = factor_of(one) is not None and one.pk != request.user.pk
    page = AccountPage(
        form=form,
        one=one,
        grants=last_grants(one),
        removal=(removal or RemovalForm(auto_id="removal_%s")) if may_remove else None,
        **said,
    )
    wrong = bool(form.errors or (removal is not None and removal.errors))
    return show(request, page, 400 if wrong else 200)


def _removal(request: ClinicRequest, one: Account) -> HttpResponse:
    form = RemovalForm(request.POST, auto_id="removal_%s")
    if form.is_valid():
        try:
            grant = ask_removal(
                request.actor, one, form.cleaned_data["words"], form.cleaned_data["once"]
            )
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            if grant.guarded:
                messages.success(request, _("Asked for; a second manager approves it."))
            else:
                messages.success(request, _("The second factor is removed."))
            return redirect("account", one.pk)
    return _account_page(request, one, removal=form)


@allow(Role.MANAGER, "POST")
def approve(request: ClinicRequest, pk: int) -> HttpResponse:
    """A second manager approves what another one asked for."""
    grant = approve_grant(request.actor, get_object_or_404(Grant, pk=pk), request.POST.get("once"))
    messages.success(request, _("Approved."))
    return redirect("account", grant.account_id)


@allow(Role.MANAGER, "POST")
def end(request: ClinicRequest, pk: int) -> HttpResponse:
    """Takes back a link or a removal that was not used yet."""
    grant = end_grant(request.actor, get_object_or_404(Grant, pk=pk), request.POST.get("once"))
    messages.success(request, _("Taken back."))
    return redirect("account", grant.account_id)
