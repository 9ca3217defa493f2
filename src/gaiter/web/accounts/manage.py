"""Accounts, by the manager."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.accounts import add_account, change_account, one_time_link
from gaiter.records.models import Account, Role
from gaiter.web.accounts.forms import AccountForm, ChangeAccountForm
from gaiter.web.accounts.pages import AccountPage, AccountsPage
from gaiter.web.frame.access import allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest


@allow(Role.MANAGER, "GET", "POST")
def accounts(request: ClinicRequest) -> HttpResponse:
    """Everybody who may sign in, and a form for somebody new."""
    form = AccountForm(request.POST or None)
    link = ""
    if request.method == "POST" and form.is_valid():
        try:
            made = add_account(request.actor, **form.cleaned_data)
        except InputError as error:
            form.refuse(str(error))
        else:
            link = request.build_absolute_uri(one_time_link(made))
            form = AccountForm()
    page = AccountsPage(form, link, Account.objects.order_by("role", "name"))
    return show(request, page, 400 if form.errors else 200)


@allow(Role.MANAGER, "GET", "POST")
def account(request: ClinicRequest, pk: int) -> HttpResponse:
    """One account: change it, or give a new one-time link."""
    one = get_object_or_404(Account, pk=pk)
    names = ("name", "initials", "role", "training", "is_active")
    if request.method == "POST" and "link" in request.POST:
        link = request.build_absolute_uri(one_time_link(one))
        form = ChangeAccountForm(initial={name: getattr(one, name) for name in names})
        return show(request, AccountPage(form, one, link))
    form = ChangeAccountForm(
        request.POST or None, initial={name: getattr(one, name) for name in names}
    )
    if request.method == "POST" and form.is_valid():
        try:
            change_account(
                request.actor,
                one,
                **{name: form.cleaned_data[name] for name in names},
            )
        except InputError as error:
            form.refuse(str(error))
        else:
            messages.success(request, _("Kept."))
            return redirect("accounts")
    return show(request, AccountPage(form, one), 400 if form.errors else 200)
