"""What each paper says, filled from the record; what is not known is left as a line to write on."""

from collections.abc import Callable, Collection, Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gaiter.core.check import CHECK_BOXES, words
from gaiter.core.safety import RuleKind
from gaiter.outlets.papers.source import LINE, Block, Paper, Source
from gaiter.records.words import in_language

_AGAINST = (RuleKind.HARD_STOP, RuleKind.SOFT_STOP, RuleKind.FIRST)
_SAFETY_PATHS = ("arms.", "leg.arterial.")


def _decision(source: Source) -> tuple[str, ...]:
    """Today's decision with every reason, or that there is none."""
    decision = source.decision
    if decision is None:
        return (_("No decision: what is known of this leg is not enough, or contradicts itself."),)
    numbers = decision.numbers
    indices = [
        f"{name} {value:.2f}"
        for name, value in (
            (_("ABI (ABPI)"), numbers.ankle_brachial),
            (_("toe index"), numbers.toe_brachial),
        )
        if value is not None
    ]
    return (in_language(decision.said), *indices, *_said_reasons(source))


def _said_reasons(source: Source, kinds: Collection[RuleKind] = tuple(RuleKind)) -> tuple[str, ...]:
    """Reasons with their kind; each stop with to whom the person was referred."""
    referred = {action.code: action for action in source.actions}
    found = []
    for reason in source.reasons:
        if reason.kind not in kinds:
            continue
        line = f"{_(reason.kind.value).capitalize()}: {in_language(reason.said)}"
        if reason.code in referred:
            action = referred.pop(reason.code)
            line += " " + _("Referred to {whom} on {day}.").format(
                whom=action.referred_to, day=action.on
            )
        found.append(line)
    found += [
        _("Stop not cleared yet: {code}, referred to {whom} on {day}.").format(
            code=action.code.replace("_", " "), whom=action.referred_to, day=action.on
        )
        for action in referred.values()
    ]
    return tuple(found)


def _alarm(source: Source) -> tuple[Block, ...]:
    """The alarm of the leg, before everything else."""
    alarm = source.alarm
    if alarm is None:
        return ()
    handed = (_("Handed over to: %s") % alarm.handed_to,) if alarm.handed_to else ()
    seen = tuple(map(in_language, alarm.failed))
    return (Block(_(alarm.headline), paragraphs=handed, points=seen, urgent=alarm.off),)


def _do_not_bandage(source: Source) -> tuple[Block, ...]:
    """DO NOT BANDAGE with its reasons, before everything else; nothing where it may be."""
    if source.may_be_bandaged:
        return ()
    if source.plan is None:
        why: tuple[str, ...] = (_("No plan is in force for this leg."),)
    else:
        why = (source.why_not,) if source.why_not else ()
    if source.decision is None:
        points = (*why, *_decision(source))
    else:
        points = (*why, *_said_reasons(source, _AGAINST))
    return (Block(_("DO NOT BANDAGE"), points=points, urgent=True),)


def _checked(source: Source) -> tuple[str, ...]:
    return tuple(
        f"{check.at:%H:%M} {check.get_moment_display()}: {_(check.verdict or 'not judged')}"
        + (f" ({'; '.join(map(in_language, check.seen))})" if check.failed else "")
        for check in source.checks
    )


def _bandage(source: Source) -> tuple[str, ...]:
    leg = source.leg
    if leg is None or not leg.systems:
        return ()
    lines = [_(leg.systems[0].title)]
    for layer in leg.systems[0].layers:
        marks = (
            _(", 10 cm marks %.1f cm apart on the leg") % layer.mark_spacing_cm
            if layer.mark_spacing_cm
            else ""
        )
        lines.append(
            f"{layer.number}. {_(layer.title)}, {_(layer.pattern.value)}, "
            + _("overlap %(overlap)s, %(turns)d turns%(marks)s")
            % {"overlap": f"{layer.overlap:.0%}", "turns": layer.turns, "marks": marks}
        )
    lines += [_("changed by hand: %s") % in_language(change) for change in leg.systems[0].by_hand]
    lines += [_("protect %s") % _(point.place) for point in leg.systems[0].pressure_points]
    return tuple(lines)


def _latex(source: Source) -> tuple[Block, ...]:
    """An allergy to latex, for whoever bandages."""
    if not source.latex:
        return ()
    text = _("No glove, dressing or bandage with latex or rubber.")
    return (Block(_("LATEX ALLERGY"), paragraphs=(text,), urgent=True),)


def _never_above(source: Source) -> str:
    """The lower of the plan's maximum and today's."""
    found = [source.plan.maximum_mmhg] if source.plan else []
    if source.decision is not None and source.decision.maximum_mmhg is not None:
        found.append(source.decision.maximum_mmhg)
    return f"{min(found):g} mmHg" if found else LINE


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
            *_alarm(source),
            Block(_("Looked at"), points=source.said("look.", "toes.", "leg.findings.", "person.")),
            Block(
                _("Measured"),
                points=source.said(
                    "leg.girth_cm.",
                    "leg.position_cm.",
                    "leg.width_cm.",
                    "leg.depth_cm.",
                    "leg.wound.",
                ),
            ),
            Block(_("Arteries"), points=source.said(*_SAFETY_PATHS)),
            Block(_("Decision of this day"), points=_decision(source)),
            _plan_block(source),
            Block(_("Check"), points=_checked(source)),
            Block(_("Care"), points=source.said("care.")),
        ),
    )


def _plan_block(source: Source) -> Block:
    """The plan in force, and whether it may be bandaged."""
    if source.plan is None:
        return Block(_("Plan in force"), points=(_("No plan is in force for this leg."),))
    against = (source.why_not,) if source.why_not else ()
    if source.off and source.alarm is not None:
        against = (_(source.alarm.headline), *against)
    if not source.may_be_bandaged:
        against = (_("Not to be bandaged now."), *against)
    return Block(_("Plan in force"), paragraphs=against, points=_bandage(source))


def leaflet(source: Source) -> Paper:
    """For the patient: what to do every day, when to take it off, how, and whom to call."""
    phone = source.phone or LINE
    advice = source.advice
    side = _("Your %s leg.") % _(source.side) if source.side else ""
    return Paper(
        _("Your compression bandage") if source.may_be_bandaged else _("Your leg"),
        "",
        (
            Block(paragraphs=(side, *map(in_language, advice.opening))),
            Block(
                _("Every day"), points=tuple(map(in_language, (*advice.every_day, *advice.tell)))
            ),
            Block(
                _("Take it off at once, and call us, if"),
                paragraphs=() if source.may_be_bandaged else (_("Should anything be on the leg:"),),
                points=tuple(_(text) for text in words.TAKE_IT_OFF_IF),
                urgent=True,
            ),
            Block(
                _("Call the emergency number at once if"),
                points=tuple(_(text) for text in words.EMERGENCY_IF),
                urgent=True,
            ),
            Block(
                _("Call us today if"),
                points=(*map(in_language, words.CALL_IF), *map(in_language, advice.also_call)),
            ),
            Block(_("How to cut it off"), points=tuple(_(text) for text in words.CUT_IT_OFF)),
            Block(
                _("Whom to call"),
                paragraphs=(
                    _("The clinic: %s") % phone,
                    _("At night or when nobody answers, the emergency number."),
                    _(words.ANYONE_MAY),
                ),
            ),
        ),
    )


def _at_present(source: Source) -> Block:
    """What lies on the leg, for a letter."""
    if source.may_be_bandaged:
        return Block(_("Bandage at present"), points=_bandage(source) or (_("none"),))
    return Block(_("Bandage at present"), points=(_("None: not to be bandaged now."),))


def _referral(title: str, to: str, question: str, *starts: str) -> Callable[[Source], Paper]:
    def made(source: Source) -> Paper:
        return Paper(
            _(title),
            _(to),
            (
                _who(source),
                *_alarm(source),
                Block(_("What we ask"), paragraphs=(_(question),)),
                Block(_("What we found"), points=source.said(*starts)),
                Block(_("What the rules say today"), points=_decision(source)),
                _at_present(source),
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
    """What a home nurse is asked to do, with a slip to send back.

    A leg that is stopped, waits or has an alarm gets DO NOT BANDAGE first, and no instructions.
    """
    leg = source.leg
    supplies = leg.systems[0].supplies if leg is not None and leg.systems else ()
    take = tuple(f"{in_language(one.title)}: {in_language(one.now)}" for one in supplies)
    bandage = (
        Block(
            _("Bandage"),
            paragraphs=(
                *((in_language(source.decision.said),) if source.decision else ()),
                _("Never more than %s at the gaiter.") % _never_above(source),
            ),
            points=_bandage(source),
        ),
        Block(_("Take"), points=take),
    )
    return Paper(
        _("Order for bandaging at home"),
        _("Home nursing"),
        (
            *_do_not_bandage(source),
            *_alarm(source),
            _who(source),
            *_latex(source),
            Block(
                _("Do not bandage, and call us, if"),
                points=tuple(_(text) for text in words.DO_NOT_BANDAGE_IF),
            ),
            *(bandage if source.may_be_bandaged else ()),
            Block(
                _("Take it off now if"),
                points=tuple(
                    _(text) for text in (*words.STAFF_TAKES_IT_OFF_IF, *words.SHEET_OFF_NEXT)
                ),
                urgent=True,
            ),
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
                    *(_(box.tick) for box in CHECK_BOXES.values()),
                    _("Bandage slipped"), _("Fluid came through"),
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
