"""What the list of today and the page of one leg show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from gaiter.core.plan import LegPlan
from gaiter.core.safety import LegDecision
from gaiter.records.models import CallBack, Episode, Person, PlanRecord, StopAction, StoredFile
from gaiter.records.read.caseload import Concern, LegToday
from gaiter.web.frame.page import Choice, Page

# A mark, its sign and what it says.
Mark = tuple[Concern, str, str]


@dataclass(frozen=True)
class TodayPage(Page):
    """Every open leg, those that need somebody first.

    Attributes
    ----------
    legs_today : Sequence
        Each leg shown, with its marks.
    filters : Sequence
        Each mark that some leg bears, and how many do.
    chosen : str
        The mark the list is filtered by; empty: any mark, ``"all"``: every open leg.
    all_count, marked_count : int
        How many legs are open, and how many of them bear a mark.
    unseen : int
        How many open legs are of people whom nobody sees, since nobody clinical is in their teams.
    by_team : bool
        Whether the list is of one's own teams only.
    anchor : str
        The end of the audit log, for the printed list; empty before the first entry.
    """

    template: ClassVar[str] = "today/today.html"
    day: date
    legs_today: Sequence[tuple[LegToday, Sequence[Mark]]]
    filters: Sequence[tuple[str, int]]
    chosen: str
    all_count: int
    marked_count: int
    unseen: int
    by_team: bool
    anchor: str


@dataclass(frozen=True)
class Moment:
    """One line of the time line."""

    day: date
    title: str
    words: str
    author: str
    link: str = ""


@dataclass(frozen=True)
class GirthRow:
    """A girth then and now, each with its day [cm]; the change is None where there is one only."""

    label: str
    then: tuple[date, float]
    now: tuple[date, float]
    change: float | None


@dataclass(frozen=True)
class LegPage(Page):
    """One leg: safety in words, plan, next visit, time line, wound, girths then and now.

    Attributes
    ----------
    plan, leg_plan : PlanRecord or None, LegPlan or None
        The plan in force and what it says of this leg.
    why_not : str
        Why that plan must not be bandaged today; empty where it may.
    ended, waiting : PlanRecord or None
        The last plan that was withdrawn or voided where none is in force; the one that waits.
    decision, decision_sign : LegDecision or None, str
        What is decided about pressure, and its sign.
    uncleared : Sequence
        Each stop of an earlier visit that a prescriber has not cleared, and what it is.
    areas : Sequence
        Day, length [cm], width [cm] and their product [cm²] of the wound.
    picture : str
        SVG of the leg then and now; empty while too little is measured.
    kinds, events, outcomes : Sequence
        Value and words of each choice of the forms for a file, an event and an outcome.
    """

    template: ClassVar[str] = "today/leg.html"
    episode: Episode
    person: Person
    age: int
    leg_today: LegToday
    marks: Sequence[Mark]
    plan: PlanRecord | None
    leg_plan: LegPlan | None
    why_not: str
    ended: PlanRecord | None
    waiting: PlanRecord | None
    decision: LegDecision | None
    decision_sign: str
    uncleared: Sequence[tuple[StopAction, str]]
    moments: Sequence[Moment]
    girths: Sequence[GirthRow]
    areas: Sequence[tuple[date, float, float, float]]
    picture: str
    files: Iterable[StoredFile]
    kinds: Sequence[Choice]
    calls: Iterable[CallBack]
    events: Sequence[Choice]
    outcomes: Sequence[Choice]
    others: Iterable[Episode]
