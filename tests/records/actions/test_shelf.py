"""Rolls leave the shelf as the sheet names them; a bandage undone puts them back."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.core.plan.supplies import rolls_to_take
from gaiter.core.words import Said
from gaiter.records.actions.people import record_bandage_event
from gaiter.records.actions.plans import record_bandaging, set_stock_item
from gaiter.records.actions.shelf import undo_bandaging
from gaiter.records.actions.visits import sign_visit
from gaiter.records.models import Role, StockItem
from gaiter.records.read.documents import leg_of, plan_of


def put_on(clinic, plan, days=2):
    off_by = clinic.visit.day + timedelta(days=days)
    return record_bandaging(clinic.actor(), clinic.visit, plan, off_by)


def test_a_bandage_taken_off_may_be_put_on_anew(clinic) -> None:
    plan = clinic.approved()
    put_on(clinic, plan)
    record_bandage_event(clinic.actor(), clinic.episode, "taken_off", "slipped")
    put_on(clinic, plan)
    assert clinic.visit.bandagings.count() == 2


def test_every_layer_takes_the_rolls_that_the_sheet_names(clinic) -> None:
    plan = clinic.approved()
    system = leg_of(plan_of(plan)).systems[0]
    counts = rolls_to_take(system)
    for material, width_cm in counts:
        set_stock_item(
            clinic.actor(), None, material=material, width_cm=width_cm, rolls=20, low_at=0
        )
    bandaging = put_on(clinic, plan)
    taken = {(i.material, i.width_cm): 20 - i.rolls for i in StockItem.objects.all()}
    assert taken == counts
    by_material: dict[str, int] = {}
    for (material, _), rolls in taken.items():
        by_material[material] = by_material.get(material, 0) + rolls
    said: dict[str, int] = {}
    for supply in system.supplies:
        if supply.material != "tape":
            said[supply.material] = said.get(supply.material, 0) + int(supply.now.text.split()[0])
    assert by_material == said
    undo_bandaging(clinic.actor(), bandaging, "pressed by mistake")
    assert {item.rolls for item in StockItem.objects.all()} == {20}


def test_extra_wool_is_drawn_from_the_shelf(clinic) -> None:
    system = leg_of(plan_of(clinic.approved())).systems[0]
    wool, *rest = system.supplies
    more = wool.model_copy(update={"rolls": 4, "now": Said("4 rolls")})
    thick = system.model_copy(update={"supplies": (more, *rest)})
    layer = system.layers[0]
    assert rolls_to_take(thick)[layer.material, layer.width_cm] == 4
    # A plan of an earlier program says its rolls in words only.
    words = wool.model_copy(update={"rolls": None, "now": Said("3 rolls")})
    old = system.model_copy(update={"supplies": (words, *rest)})
    assert rolls_to_take(old)[layer.material, layer.width_cm] == 3


def test_undoing_needs_a_reason_and_keeps_the_row(clinic) -> None:
    plan = clinic.approved()
    bandaging = put_on(clinic, plan)
    with pytest.raises(InputError, match="5 to 500 characters"):
        undo_bandaging(clinic.actor(), bandaging, "")
    undo_bandaging(clinic.actor(), bandaging, "pressed on the wrong leg")
    bandaging.refresh_from_db()
    assert bandaging.undone_by == clinic.accounts[Role.BANDAGER]
    assert bandaging.undone_why == "pressed on the wrong leg"
    with pytest.raises(InputError, match="undone already"):
        undo_bandaging(clinic.actor(), bandaging, "pressed on the wrong leg")
    put_on(clinic, plan)


def test_an_undone_bandage_is_no_bandage_when_the_visit_is_signed(clinic) -> None:
    bandaging = put_on(clinic, clinic.approved())
    day = clinic.visit.day + timedelta(days=2)
    with pytest.raises(InputError, match="was not checked"):
        sign_visit(clinic.actor(), clinic.visit, day)
    undo_bandaging(clinic.actor(), bandaging, "it was not put on")
    sign_visit(clinic.actor(), clinic.visit, day)
    with pytest.raises(InputError, match="undone already"):
        undo_bandaging(clinic.actor(), bandaging, "it was not put on")
