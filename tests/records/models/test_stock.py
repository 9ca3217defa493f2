"""A shelf holds one item of a material in a width, and never less than nothing."""

import pytest
from django.db import IntegrityError, transaction

from gaiter.records.clash import ClashError
from gaiter.records.models import StockItem, StockMove
from tests.records.models.rows import changed, made

pytestmark = pytest.mark.django_db


def test_a_material_in_one_width_stands_once() -> None:
    made(StockItem, material="wool", width_cm=10.0)
    made(StockItem, material="wool", width_cm=15.0)
    made(StockItem, material="paste", width_cm=10.0)
    with pytest.raises(ClashError):
        made(StockItem, material="wool", width_cm=10.0)


def test_the_database_refuses_fewer_rolls_than_none() -> None:
    item = made(StockItem, rolls=1)
    with pytest.raises(ClashError):
        changed(item, rolls=-1)
    with pytest.raises(IntegrityError), transaction.atomic():
        StockItem.objects.filter(pk=item.pk).update(rolls=-1)
    changed(item, rolls=0)
    assert StockItem.objects.get(pk=item.pk).rolls == 0


def test_the_catalogues_sizes_hold_where_none_are_given() -> None:
    item = StockItem(material="wool", width_cm=10.0, rolls=3)
    assert (item.relaxed_length_cm, item.thickness_mm, item.curve, item.low_at) == (
        None, None, None, 5,
    )  # fmt: skip


def test_moves_are_found_from_their_item() -> None:
    move = made(StockMove, change=-2)
    assert [one.change for one in move.item.moves.all()] == [-2]
