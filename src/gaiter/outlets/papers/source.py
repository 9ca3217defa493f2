"""What papers are filled from: the record of one leg, in blocks of words."""

from dataclasses import dataclass, field
from datetime import date

from django.utils.translation import gettext as _

from gaiter.core.case import Allergen
from gaiter.core.case.findings import WoundPlace
from gaiter.core.case.person import Mobility
from gaiter.core.check.advice import (
    PatientAdvice,
    PatientFacts,
    codes_of,
    patient_advice,
    poor_arteries,
)
from gaiter.core.plan import LegPlan
from gaiter.core.safety import LegDecision, Outcome, Reason, RuleKind
from gaiter.records.models import Check, PlanRecord, StopAction
from gaiter.records.read.alarm import Alarm
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.visit.boxes import SECTIONS, boxes
from gaiter.records.visit.case import Assembled

LINE = "____________________"


@dataclass(frozen=True)
class Block:
    """A heading with paragraphs, points and lines to write on."""

    heading: str = ""
    paragraphs: tuple[str, ...] = ()
    points: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()
    urgent: bool = False


@dataclass(frozen=True)
class Paper:
    """One paper."""

    title: str
    to: str
    blocks: tuple[Block, ...]
    slip: tuple[Block, ...] = field(default_factory=tuple)

    def as_text(self) -> str:
        """The paper as plain text."""
        out = [self.title.upper()]
        for block in (*self.blocks, *self.slip):
            out += ["", block.heading] if block.heading else [""]
            out += [*block.paragraphs, *(f"- {p}" for p in block.points), *block.lines]
            out += [f"[ ] {text}" for text in block.boxes]
        return "\n".join(out).strip() + "\n"


@dataclass(frozen=True)
class Source:
    """What papers are filled from.

    Attributes
    ----------
    seen : Assembled or None
        What the last visit knows; None before the first.
    plan : PlanRecord or None
        The plan in force.
    today : date
        Day of the paper.
    phone : str
        Telephone of the clinic.
    decision : LegDecision or None
        Today's decision from what is known; None where it contradicts itself, or before a visit.
    why_not : str
        Why the plan in force may not be bandaged today; empty where it may.
    alarm : Alarm or None
        What stands open about the bandage.
    actions : tuple[StopAction, ...]
        To whom the person was referred about stops that are not cleared.
    checks : tuple[Check, ...]
        Checks of the last visit.
    """

    seen: Assembled | None
    plan: PlanRecord | None
    today: date
    phone: str
    decision: LegDecision | None = None
    why_not: str = ""
    alarm: Alarm | None = None
    actions: tuple[StopAction, ...] = ()
    checks: tuple[Check, ...] = ()

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """What today's decision rests on, gravest first, without mere notes."""
        if self.decision is None:
            return ()
        return tuple(r for r in self.decision.reasons if r.kind is not RuleKind.FLAG)

    @property
    def off(self) -> bool:
        """True where the bandage comes off, or stays off."""
        return self.alarm is not None and self.alarm.off

    @property
    def may_be_bandaged(self) -> bool:
        """True where a plan is in force and nothing found since stands against it."""
        allowed = self.decision is not None and self.decision.maximum_mmhg is not None
        return allowed and self.plan is not None and not self.why_not and not self.off

    @property
    def latex(self) -> bool:
        """True where an allergy to latex is on record."""
        said = self.seen.value("person.allergies") if self.seen else None
        return Allergen.LATEX in (said or ())

    @property
    def advice(self) -> PatientAdvice:
        """What the patient is told."""
        known = self.seen.value if self.seen else lambda _path: None
        decision, leg = self.decision, self.leg
        purpose = known("leg.purpose") or (leg.purpose if leg else "")
        mobility, place = known("person.mobility"), known("leg.wound.place")
        return patient_advice(
            PatientFacts(
                outcome=decision.outcome if decision else Outcome.NOT_YET,
                bandaged=self.may_be_bandaged,
                purpose=purpose,
                codes=codes_of(decision) if decision else (),
                poor_arteries=decision is None or poor_arteries(decision, purpose),
                mobility=Mobility(mobility) if mobility else None,
                reports_pain=known("person.can_report_pain"),
                observer=known("person.daily_observer") or "",
                latex=self.latex,
                wound_place=WoundPlace(place) if place else None,
            )
        )

    @property
    def side(self) -> str:
        """Which leg."""
        return self.seen.visit.episode.side if self.seen else ""

    @property
    def leg(self) -> LegPlan | None:
        """The leg of the plan."""
        if self.plan is None:
            return None
        return leg_of(plan_of(self.plan))

    def said(self, *starts: str) -> tuple[str, ...]:
        """What the record says under some paths, one line each."""
        if self.seen is None:
            return ()
        found = []
        for section in SECTIONS:
            for path in section.paths:
                known = self.seen.known.get(path)
                if known is None or not path.startswith(starts):
                    continue
                box = boxes()[path]
                when = f" ({known.day:%d %b})" if known.carried else ""
                found.append(f"{_(box.label)}: {box.in_words(known.value)}{when}")
        return tuple(found)
