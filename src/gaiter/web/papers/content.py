"""What each paper says, filled from the record; what is not known is left as a line to write on."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gaiter.core.plan import LegPlan
from gaiter.core.safety import Kind
from gaiter.records.assemble import Assembled
from gaiter.records.documents import leg_of, plan_of
from gaiter.records.fields import SECTIONS, boxes
from gaiter.records.models import PlanRecord
from gaiter.sheets.content import CALL_IF, CUT_IT_OFF, DO_NOT_BANDAGE_IF, TAKE_IT_OFF_IF

LINE = "____________________"
_SAFETY_PATHS = ("arms.", "leg.arterial.")


@dataclass(frozen=True)
class Block:
    """A heading with paragraphs, points and lines to write on."""

    heading: str = ""
    paragraphs: tuple[str, ...] = ()
    points: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()


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
    """What papers are filled from."""

    seen: Assembled | None
    plan: PlanRecord | None
    today: date
    phone: str

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
                found.append(f"{box.label}: {box.in_words(known.value)}{when}")
        return tuple(found)


def _decision(source: Source) -> tuple[str, ...]:
    leg = source.leg
    if leg is None:
        return (_("No plan has been approved for this leg."),)
    numbers = leg.decision.numbers
    indices = [
        f"{name} {value:.2f}"
        for name, value in (
            (_("ABI (ABPI)"), numbers.ankle_brachial),
            (_("toe index"), numbers.toe_brachial),
        )
        if value is not None
    ]
    return (leg.decision.headline, *indices)


def _bandage(source: Source) -> tuple[str, ...]:
    leg = source.leg
    if leg is None or not leg.systems:
        return ()
    lines = [leg.systems[0].title]
    for layer in leg.systems[0].layers:
        marks = (
            _(", 10 cm marks %.1f cm apart on the leg") % layer.mark_spacing_cm
            if layer.mark_spacing_cm
            else ""
        )
        lines.append(
            f"{layer.number}. {layer.title}, {layer.pattern}, "
            + _("overlap %(overlap)s, %(turns)d turns%(marks)s")
            % {"overlap": f"{layer.overlap:.0%}", "turns": layer.turns, "marks": marks}
        )
    lines += [_("changed by hand: %s") % change for change in leg.systems[0].by_hand]
    lines += [_("protect %s") % point.place for point in leg.systems[0].pressure_points]
    return tuple(lines)


def _who(source: Source) -> Block:
    person = source.seen.visit.episode.person if source.seen else None
    if person is None:
        return Block(lines=(_("Name: %s") % LINE, _("Born: %s") % LINE))
    return Block(
        paragraphs=(
            f"{person.name}, {_('born')} {person.birth_date}, {_('number')} {person.number}",
            _("%(side)s leg, reference %(ref)s")
            % {"side": source.side.capitalize(), "ref": source.seen.visit.episode.reference},  # type: ignore[union-attr] # person is known
        )
    )


def chart_note(source: Source) -> Paper:
    """The visit in the order of the day, for the chart."""
    day = source.seen.visit.day if source.seen else source.today
    return Paper(
        _("Chart note, %s") % f"{day.day} {day:%B %Y}",
        "",
        (
            _who(source),
            Block(_("Looked at"), points=source.said("look.", "toes.", "leg.findings.", "person.")),
            Block(
                _("Measured"), points=source.said("leg.girth_cm.", "leg.position_cm.", "leg.wound.")
            ),
            Block(_("Arteries"), points=source.said(*_SAFETY_PATHS)),
            Block(_("Decision"), points=_decision(source)),
            Block(_("Bandage"), points=_bandage(source)),
            Block(_("Care"), points=source.said("care.")),
        ),
    )


def leaflet(source: Source) -> Paper:
    """For the patient: when to take it off, how, and whom to call."""
    phone = source.phone or LINE
    return Paper(
        _("Your compression bandage"),
        "",
        (
            Block(
                paragraphs=(
                    _("It brings down the swelling and helps the wound to heal. Keep it on day and "
                      "night until your next visit, keep it dry, walk as much as you can, and put "
                      "your leg up when you sit."),
                )
            ),
            Block(
                _("Take it off at once, and call us, if"),
                points=tuple(_(text) for text in TAKE_IT_OFF_IF),
            ),
            Block(_("Call us today if"), points=tuple(_(text) for text in CALL_IF)),
            Block(_("How to cut it off"), points=tuple(_(text) for text in CUT_IT_OFF)),
            Block(
                _("Whom to call"),
                paragraphs=(
                    _("The clinic: %s") % phone,
                    _("At night or when nobody answers, the emergency number."),
                ),
            ),
        ),
    )  # fmt: skip


def _referral(title: str, to: str, question: str, *starts: str) -> Callable[[Source], Paper]:
    def made(source: Source) -> Paper:
        leg = source.leg
        reasons = () if leg is None else tuple(
            reason.text for reason in leg.decision.reasons if reason.kind is not Kind.FLAG
        )  # fmt: skip
        return Paper(
            _(title),
            _(to),
            (
                _who(source),
                Block(_("What we ask"), paragraphs=(_(question),)),
                Block(_("What we found"), points=source.said(*starts)),
                Block(_("What the rules say"), points=reasons or _decision(source)),
                Block(_("Bandage at present"), points=_bandage(source) or (_("none"),)),
                Block(lines=(_("Signed: %s") % LINE, _("Telephone: %s") % (source.phone or LINE))),
            ),
        )

    return made


vascular = _referral(
    "Referral: arteries of the leg", "Vascular service",
    "Please assess the arterial supply of this leg and say whether, and up to what pressure, it "
    "may be compressed.",
    "arms.", "leg.arterial.", "leg.findings.", "leg.wound.", "person.diabetes",
)  # fmt: skip
heart = _referral(
    "Referral: heart failure", "Heart failure team",
    "Please assess the heart before this leg is compressed further, and say what may be borne.",
    "person.", "leg.findings.pitting_grade", "look.",
)  # fmt: skip
skin = _referral(
    "Referral: skin", "Dermatology",
    "Please assess the skin and the wound; patch testing where an allergy is possible.",
    "leg.findings.", "leg.wound.", "person.allergies", "care.",
)  # fmt: skip


def home_nurse(source: Source) -> Paper:
    """What a home nurse is asked to do, with a slip to send back."""
    leg = source.leg
    maximum = f"{source.plan.maximum_mmhg:g} mmHg" if source.plan else LINE
    supplies = () if leg is None or not leg.systems else tuple(
        f"{supply.title}: {supply.now}" for supply in leg.systems[0].supplies
    )  # fmt: skip
    return Paper(
        _("Order for bandaging at home"),
        _("Home nursing"),
        (
            _who(source),
            Block(
                _("Do not bandage, and call us, if"), points=tuple(_(t) for t in DO_NOT_BANDAGE_IF)
            ),
            Block(
                _("Bandage"),
                paragraphs=(_("Never more than %s at the gaiter.") % maximum,),
                points=_bandage(source),
            ),
            Block(_("Take"), points=supplies),
            Block(lines=(_("Ordered by: %s") % LINE, _("Telephone: %s") % (source.phone or LINE))),
        ),
        slip=(
            Block(
                _("Return slip"),
                lines=tuple(
                    f"{label}: {LINE}"
                    for label in (
                        _("Date"), _("Ankle girth, cm"), _("Calf girth, cm"),
                        _("Mark spacing read, cm"), _("Pain, 0 to 10"), _("Initials"),
                    )
                ),
                boxes=(
                    _("toes same colour as the other foot"), _("toes warm"), _("feels touch"),
                    _("two fingers under the top edge"), _("bandage slipped"),
                    _("fluid came through"),
                ),
            ),
        ),
    )  # fmt: skip


def photo_consent(source: Source) -> Paper:
    """Consent to wound photos."""
    return Paper(
        _("Consent to photos of the wound"),
        "",
        (
            _who(source),
            Block(
                paragraphs=(
                    _("Photos of your leg help us to see whether the wound heals. They are kept "
                      "sealed in your record, without your name or the camera's data in them."),
                    _("You may say no, or take this back at any time; your treatment stays the "
                      "same."),
                )
            ),
            Block(
                _("I agree that my photos are used"),
                boxes=(
                    _("for my treatment in this clinic"),
                    _("for a second opinion by another service"),
                    _("for teaching, without anything that shows who I am"),
                ),
            ),
            Block(
                lines=(
                    _("Name: %s") % LINE, _("Date: %s") % LINE, _("Signature: %s") % LINE,
                    _("Explained by: %s") % LINE,
                )
            ),
        ),
    )  # fmt: skip


PAPERS: Mapping[str, tuple[str, Callable[[Source], Paper]]] = {
    "chart-note": (gettext_lazy("Chart note"), chart_note),  # type: ignore[dict-item] # lazy text
    "leaflet": (gettext_lazy("Patient leaflet"), leaflet),  # type: ignore[dict-item]
    "vascular": (gettext_lazy("Referral: arteries"), vascular),  # type: ignore[dict-item]
    "heart-failure": (gettext_lazy("Referral: heart failure"), heart),  # type: ignore[dict-item]
    "dermatology": (gettext_lazy("Referral: skin"), skin),  # type: ignore[dict-item]
    "home-nurse": (gettext_lazy("Order for a home nurse"), home_nurse),  # type: ignore[dict-item]
    "photo-consent": (gettext_lazy("Photo consent"), photo_consent),  # type: ignore[dict-item]
}
