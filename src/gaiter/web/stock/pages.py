"""What the pages of the shelf show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from django.forms import Form

from gaiter.core.fabric import Material
from gaiter.records.models import StockItem, StockMove
from gaiter.web.frame.page import Page

# An item, its material, whether it is low, and where its stretch curve comes from.
Row = tuple[StockItem, Material, bool, str]


@dataclass(frozen=True)
class StockPage(Page):
    """The shelf, what is low on it, and the form for whoever adds to it."""

    template: ClassVar[str] = "stock/stock.html"
    rows: Sequence[Row]
    form: Form | None
    low: Sequence[Row]


@dataclass(frozen=True)
class ItemPage(Page):
    """One material in one width, and what came and went of it, latest first."""

    template: ClassVar[str] = "stock/item.html"
    form: Form
    material: Material
    moves: Iterable[StockMove]
