"""What the pages of a plan show."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from gaiter.core.plan import LegPlan, Plan, SystemPlan
from gaiter.core.plan.changes import PlanChange
from gaiter.core.safety import LegDecision, Reason
from gaiter.core.words import Said
from gaiter.records.models import Episode, Person, PlanRecord, Visit
from gaiter.records.read.holding import Holding
from gaiter.records.visit.boxes import Box
from gaiter.web.frame.page import Page
from gaiter.web.plan.controls import Controls


@dataclass(frozen=True)
class Shown:
    """One system with its pictures."""

    leg: LegPlan
    system: SystemPlan
    sign: str
    pictures: dict[str, str]


@dataclass(frozen=True)
class Design:
    """Everything the plan page shows of one leg."""

    plan: Plan
    leg: LegPlan
    sign: str
    numbers: tuple[tuple[str, str], ...]
    ranked: tuple[tuple[SystemPlan, str], ...]
    chosen: Shown | None
    beside: Shown | None
    controls: Controls | None


@dataclass(frozen=True)
class RefusedPart(Page):
    """Why what the controls ask for cannot be bandaged."""

    template: ClassVar[str] = "plan/refused.html"
    sentence: str


@dataclass(frozen=True)
class DesignPart(Page):
    """The system chosen and its controls, fetched anew at every change.

    Attributes
    ----------
    hands, bandagers : str, Sequence
        For whose hands it is planned (empty: nobody named), and whoever may be named: value, name.
    kept : Sequence
        Name and value of what the address asks besides the controls.
    """

    template: ClassVar[str] = "plan/design_part.html"
    design: Design
    hands: str = ""
    bandagers: Sequence[tuple[str, str]] = ()
    kept: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True, kw_only=True)
class DesignPage(DesignPart):
    """Computed and changed by hand, before it is proposed.

    Attributes
    ----------
    in_force, holding : PlanRecord or None, Holding or None
        The plan in force, and whether it holds at this visit.
    change : PlanChange or None
        The plan in force beside the same bandage on today's leg.
    waiting : PlanRecord or None
        A proposal that waits for approval.
    covered : bool
        Whether a standing order covers this leg.
    """

    template: ClassVar[str] = "plan/design.html"
    visit: Visit
    episode: Episode
    person: Person
    in_force: PlanRecord | None
    holding: Holding | None
    change: PlanChange | None
    waiting: PlanRecord | None
    covered: bool


@dataclass(frozen=True)
class MissingPage(Page):
    """What is missing before there can be a plan.

    Attributes
    ----------
    change : PlanChange or None
        Always None: without a case nothing is compared.
    decision, sign, deciding : LegDecision or None, str, Sequence[Reason]
        What is decided already, its sign, and the reasons that decide.
    missing : Sequence
        Box (None where none is meant), path and sentence for each value.
    """

    template: ClassVar[str] = "plan/missing.html"
    visit: Visit
    episode: Episode
    person: Person
    in_force: PlanRecord | None
    holding: Holding | None
    waiting: PlanRecord | None
    missing: Sequence[tuple[Box | None, str, Said]]
    decision: LegDecision | None
    sign: str
    deciding: Sequence[Reason]
    change: PlanChange | None = None


@dataclass(frozen=True)
class PlanPage(Page):
    """One recorded plan, as it stands.

    Attributes
    ----------
    problem : str
        Why what was just asked is refused; empty where nothing is.
    case_changed : bool
        Whether the visit says something else now than when it was proposed.
    ended, why_not : str
        Why it is in force no more, and why it must not be bandaged today; empty where nothing is
        to be said.
    to_accept : Sequence[str]
        Places that stay above their maximum and are accepted by name.
    """

    template: ClassVar[str] = "plan/plan.html"
    record: PlanRecord
    visit: Visit
    episode: Episode
    person: Person
    plan: Plan
    leg: LegPlan
    sign: str
    numbers: Sequence[tuple[str, str]]
    shown: Shown
    problem: str
    case_changed: bool
    ended: str
    why_not: str
    to_accept: Sequence[str]
    may_withdraw: bool
