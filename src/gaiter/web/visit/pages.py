"""What the pages of a visit show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from gaiter.core.plan.document import Layer
from gaiter.core.safety import LegDecision
from gaiter.records.models import Bandaging, Deed, Episode, Person, PlanRecord, Visit
from gaiter.web.frame.page import Choice, Page
from gaiter.web.visit.readings import AppliedView, Box, LayerBoxes

if TYPE_CHECKING:  # the views make these and import this module
    from gaiter.web.visit.check import CheckRow, CheckShown
    from gaiter.web.visit.views import BoxView, Live, SectionView


@dataclass(frozen=True)
class VisitPage(Page):
    """The boxes of a visit in the order of the day, and what follows them.

    Attributes
    ----------
    next_visit : date or None
        The day proposed for the next visit.
    """

    template: ClassVar[str] = "visit/visit.html"
    visit: Visit
    episode: Episode
    person: Person
    sections: Sequence[SectionView]
    next_visit: date | None
    live: Live


@dataclass(frozen=True)
class LivePart(Page):
    """What follows the boxes, fetched after each save."""

    template: ClassVar[str] = "visit/live.html"
    visit: Visit
    live: Live


@dataclass(frozen=True)
class ClashPart(Page):
    """What stands beside a box: values of which one is chosen, or corrections."""

    template: ClassVar[str] = "visit/clash.html"
    visit: Visit
    view: BoxView


@dataclass(frozen=True)
class BandagingShown:
    """A bandaging with its boxes and what its readings told.

    Attributes
    ----------
    pain_before : str, int or None
        Pain before the bandage, 0 to 10.
    typed : Mapping
        What was typed in its check before that was refused; empty otherwise.
    view : AppliedView or None
        What the readings tell; None before any.
    """

    bandaging: Bandaging
    rows: Sequence[CheckRow]
    pain_before: str | int | None
    typed: Mapping[str, str]
    checks: Sequence[CheckShown]
    deeds: Sequence[Deed]
    layer_rows: Sequence[LayerBoxes]
    sensor_row: Sequence[Box]
    view: AppliedView | None


@dataclass(frozen=True)
class CheckPage(Page):
    """The page after bandaging.

    Attributes
    ----------
    plan : PlanRecord or None
        The plan in force.
    decision, sign : LegDecision or None, str
        The decision of the visit and its sign, where no plan is in force.
    why_not, only_stock : str, bool
        Why it must not be bandaged now (empty where it may), and whether only the shelf says so.
    on : bool
        Whether the bandage of this visit is on.
    wound : str
        Place of the wound on record; empty for none.
    drawing : str
        SVG of the leg; empty while too little is measured.
    off_by : date or None
        The latest day by which it comes off.
    problem, typed : str, Mapping
        Why what was sent is refused (empty where nothing is), and what was typed.
    moments : Sequence
        Value and words of when a check is made.
    """

    template: ClassVar[str] = "visit/check.html"
    visit: Visit
    episode: Episode
    person: Person
    plan: PlanRecord | None
    decision: LegDecision | None
    sign: str
    why_not: str
    only_stock: bool
    on: bool
    layers: Sequence[Layer]
    wound: str
    drawing: str
    off_by: date | None
    done: Sequence[BandagingShown]
    problem: str
    typed: Mapping[str, str]
    moments: Sequence[Choice]
