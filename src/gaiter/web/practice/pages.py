"""What the pages of practice show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from django.http import QueryDict

from gaiter.core.applied.document import AppliedSite
from gaiter.core.case import Leg
from gaiter.core.words import Said
from gaiter.records.models import Account, Attempt
from gaiter.web.frame.page import Choice, Page, Words
from gaiter.web.plan.pages import DesignPart
from gaiter.web.practice.task import Measure
from gaiter.web.visit.readings import AppliedView, Box, LayerBoxes


@dataclass(frozen=True)
class PracticePage(Page):
    """The invented legs, and how one's own attempts went.

    Attributes
    ----------
    legs : Sequence
        Name in the address, title and leg of each task.
    trend : str
        SVG of the attempts over time; empty before the first.
    learners : Sequence[Account]
        Whose attempts may be looked at, to teach.
    """

    template: ClassVar[str] = "practice/practice.html"
    legs: Sequence[tuple[str, str, Leg]]
    attempts: Sequence[Attempt]
    trend: str
    yardsticks: Sequence[Words]
    learners: Sequence[Account]


@dataclass(frozen=True, kw_only=True)
class PracticeLegPage(DesignPart):
    """One invented leg: plan, controls, steps, and the boxes for what was read.

    Attributes
    ----------
    name : str
        The task in the address.
    measures : Sequence
        Boxes for the limb at hand.
    asked : QueryDict
        What the address asks, carried along by the form.
    problem : str
        Why what was sent is refused; empty where nothing is.
    typed : Mapping
        What was typed in the form before it was refused.
    limbs : Sequence
        Value and words of what may be bandaged.
    layer_rows, sensor_row : Sequence
        Boxes for what is read; none where there is no bandage.
    """

    template: ClassVar[str] = "practice/leg.html"
    name: str
    title: str
    content: Mapping[str, Any]
    measures: Sequence[Measure]
    asked: QueryDict
    problem: str
    typed: Mapping[str, str]
    log_time: str
    limbs: Sequence[Choice]
    layer_rows: Sequence[LayerBoxes] = ()
    sensor_row: Sequence[Box] = ()


@dataclass(frozen=True)
class AttemptPage(Page):
    """One attempt: target against applied along the leg; ``judged`` are the sites that count."""

    template: ClassVar[str] = "practice/attempt.html"
    attempt: Attempt
    title: str
    view: AppliedView
    judged: Sequence[AppliedSite]
    yardsticks: Sequence[Words]


@dataclass(frozen=True)
class HabitsOf:
    """One person's habits in words, by material."""

    account: Account
    habits: tuple[tuple[str, Said], ...]


@dataclass(frozen=True)
class TechniquePage(Page):
    """Technique records of some hands, and the clinic's sensor in words, each site apart."""

    template: ClassVar[str] = "practice/technique.html"
    records: Sequence[HabitsOf]
    sensor: Sequence[Said]
