"""Standing orders: what bandagers may do on a prescriber's word."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.plans import leave_order, orders_in_force, revoke_order
from gaiter.records.ledger import Actor, note_opening
from gaiter.records.models import Person, Role, StandingOrder
from gaiter.records.read.visible import only_visible, visible_people
from gaiter.records.sealing import blind_index
from gaiter.records.words import in_language
from gaiter.web.accounts.forms import OrderForm
from gaiter.web.accounts.pages import OrdersPage
from gaiter.web.accounts.step_up import right_password
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest


@allow(CLINICAL, "GET", "POST")
def orders(request: ClinicRequest) -> HttpResponse:
    """Orders in force; a prescriber leaves new ones."""
    actor = request.actor
    may_leave = actor.account.role == Role.PRESCRIBER
    form = OrderForm(request.POST or None, initial={"starts": actor.today})
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        try:
            if not right_password(request, said.pop("password")):
                raise InputError(_("That is not your password."))
            leave_order(actor, person=_person(actor, said.pop("number")), **said)
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            messages.success(request, _("The order stands."))
            return redirect("orders")
    in_force = only_visible(actor, orders_in_force(actor.today))
    people = [one.person_id for one in in_force if one.person_id is not None]
    note_opening(actor, "open list", "orders", people=people)
    page = OrdersPage(form if may_leave else None, in_force)
    return show(request, page, 400 if form.errors else 200)


def _person(actor: Actor, number: str) -> Person | None:
    if not number.strip():
        return None
    person = visible_people(actor).filter(number_index=blind_index(number, "number")).first()
    if person is None:
        raise InputError(_("No person has that number: look it up under People."))
    return person


@allow(Role.PRESCRIBER, "POST", of=StandingOrder)
def end_order(request: ClinicRequest, pk: int) -> HttpResponse:
    """Ends an order before its day."""
    revoke_order(request.actor, get_object_or_404(StandingOrder, pk=pk, revoked_at=None))
    messages.success(request, _("The order has ended."))
    return redirect("orders")
