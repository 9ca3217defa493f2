"""What a sheet says: the plan of one leg turned into words for each of its readers."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from gaiter.core.case import Allergen
from gaiter.core.check import words
from gaiter.core.check.advice import (
    PatientAdvice,
    PatientFacts,
    codes_of,
    patient_advice,
    poor_arteries,
)
from gaiter.core.check.boxes import FIT, PAIN_LABEL, TOES
from gaiter.core.landmark import Landmark
from gaiter.core.plan import Fit, LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.document import Alternative, Layer, Standing
from gaiter.core.plan.pressures import PressurePoint
from gaiter.core.safety import Outcome, Reason, RuleKind
from gaiter.core.words import Said, joined

REMINDERS = (
    "Foot at a right angle to the leg. Alone: brace it against your trunk, cut the tape before "
    "you start.",
    "Hold the roll on the outside, so that it unrolls on the skin.",
    "Start at the {start}; the first turn only holds the end, without stretch. Go into the arch "
    "for comfort; the heel is covered on the following turn. End {end}.",
    "No wrinkles, no gaps. Read the mark spacing before the next layer covers it.",
    "Close with tape on both corners and the middle; no metal clips. Cut off what is left, do not "
    "wind it back down.",
)

# What stands on the sheet and in the steps: the boxes that the check page asks.
CHECKS_BEFORE_AND_AFTER = (*(box.tick for box in TOES), PAIN_LABEL)
CHECKS_AFTER = (
    *(box.tick for box in FIT),
    "All again after 10 to 15 minutes' walking",
)

LATEX = Allergen.LATEX.value

_PATTERNS = {"spiral": "spiral", "herringbone": "herringbone (figure-of-eight)"}
_OVERLAPS = {0.5: "half", 2 / 3: "two thirds", 1 / 3: "one third", 0.75: "three quarters"}
_SIGNS = {
    Outcome.FULL: "tick",
    Outcome.REDUCED: "triangle",
    Outcome.NOT_YET: "triangle",
    Outcome.STOP: "octagon",
}


def sheet_content(plan: Plan, leg: LegPlan) -> dict[str, Any]:
    """Everything the printed sheet of one leg says, as English strings in order."""
    content: dict[str, Any] = _in_english(said_content(plan, leg))
    return content


def _in_english(content: Any) -> Any:
    if isinstance(content, Said):
        return content.text
    if isinstance(content, dict):
        return {key: _in_english(part) for key, part in content.items()}
    return [_in_english(part) for part in content] if isinstance(content, list) else content


def said_content(plan: Plan, leg: LegPlan) -> dict[str, Any]:
    """The same for pages: whatever they show of it is said, for the language of the reader."""
    system = leg.systems[0] if leg.status is Status.PLANNED else None
    advice = advice_of(plan, leg)
    return {
        "side": leg.side.value,
        "purpose": leg.purpose,
        "wound": leg.wound_place.value if leg.wound_place else "",
        "reference": plan.case.reference or "",
        "invented": plan.case.invented,
        "today": _day(plan.today),
        "bandager": plan.bandager,
        "sign": _SIGNS[leg.decision.outcome],
        "headline": leg.headline_words,
        "status_reason": leg.status_reason,
        "stops": [_reason(reason) for reason in _deciding(leg)],
        "do_not": list(words.DO_NOT_BANDAGE_IF),
        "off_now": list(words.STAFF_TAKES_IT_OFF_IF),
        "off_next": list(words.SHEET_OFF_NEXT),
        "latex": LATEX in plan.case.allergies,
        "mind": [
            r.said
            for r in leg.decision.reasons
            if r.kind is RuleKind.CAUTION or r.code == "override"
        ],
        "system": _system(system) if system else None,
        "reminders": [_reminder(text, leg, system) for text in REMINDERS],
        "checks_both": list(CHECKS_BEFORE_AND_AFTER),
        "checks_after": list(CHECKS_AFTER),
        "next_visit": _day(leg.next_visit) if leg.next_visit else "",
        "take_off": list(words.TAKE_IT_OFF_IF),
        "emergency": list(words.EMERGENCY_IF),
        "call": [*words.CALL_IF, *map(str, advice.also_call)],
        "cut_off": list(words.CUT_IT_OFF),
        "opening": [*map(str, advice.opening)],
        "every_day": [*map(str, (*advice.every_day, *advice.tell))],
        "anyone": words.ANYONE_MAY,
        "reasons": [_reason(reason) for reason in leg.decision.reasons],
        "other_reasons": [
            _reason(r) for r in leg.decision.reasons if r.code not in leg.decision.limiting
        ],
        "numbers": _numbers(leg),
        "excluded": _by_reason(
            _head_and_reason(_without_source(said.text)) for said in leg.excluded
        ),
        "others": [
            *_by_reason(_other(other, leg.systems[0]) for other in leg.systems[1:]),
            *_by_reason(_alternative(other) for other in leg.alternatives),
        ],
        "target": (
            f"{leg.target.gaiter_low_mmhg:g}–{leg.target.gaiter_high_mmhg:g} mmHg at the gaiter: "
            f"{leg.target.source.text}"
            if leg.target
            else ""
        ),
        "measured": _measured(leg),
        "questions": list(leg.surface.questions) if leg.surface else [],
        "assumptions": list(plan.assumptions),
        "limits": list(plan.limits),
        "cautions": list(plan.cautions),
        "versions": _versions(plan),
        "policy_changes": list(map(str, plan.versions.policy_changes)),
        "systems_changes": list(map(str, plan.versions.systems_changes)),
        "sources": list(plan.sources),
    }


def advice_of(plan: Plan, leg: LegPlan) -> PatientAdvice:
    """What the patient is told about a leg of a plan."""
    person = plan.case
    return patient_advice(
        PatientFacts(
            outcome=leg.decision.outcome,
            bandaged=leg.status is Status.PLANNED,
            purpose=leg.purpose,
            codes=codes_of(leg.decision),
            poor_arteries=poor_arteries(leg.decision, leg.purpose),
            mobility=person.mobility,
            reports_pain=person.can_report_pain,
            observer=person.daily_observer or "",
            latex=LATEX in person.allergies,
            wound_place=leg.wound_place,
        )
    )


def _reminder(template: str, leg: LegPlan, system: SystemPlan | None) -> Said:
    """A reminder, with where this bandage starts and ends where it says so."""
    return Said(template, _ends(leg, system) if "{start}" in template else {})


def _ends(leg: LegPlan, system: SystemPlan | None) -> dict[str, Said]:
    """Where the bandage starts and ends, in words."""
    start = leg.surface.start if leg.surface else Landmark.METATARSAL_HEADS
    if system is not None and system.padding.start is not None:
        start = system.padding.start
    to_knee = system is None or system.padding.end is Landmark.BELOW_KNEE
    end = Said("just below the knee") if to_knee else Said("at the calf")
    return {"start": Said(start.label), "end": end}


def _day(day: Any) -> str:
    return f"{day.day} {day:%B %Y}"


def _deciding(leg: LegPlan) -> Sequence[Reason]:
    """The reasons that set the outcome; a leg is not bandaged before they are answered."""
    limiting = set(leg.decision.limiting)
    return [reason for reason in leg.decision.reasons if reason.code in limiting]


def _system(system: SystemPlan) -> dict[str, Any]:
    return {
        "title": system.title,
        "outcome": system.outcome.value,
        "fits": system.outcome is Fit.FITS,
        "outcome_reason": system.outcome_reason,
        "by_hand": list(system.by_hand),
        "for_hands": system.for_hands,
        "for": list(system.reasons_for),
        "against": list(system.reasons_against),
        "layers": [_layer(layer) for layer in system.layers],
        "protect": _protect(system),
        "wrinkles": _by_turn(system.wrinkle_risk),
        "sites": [
            {
                "name": site.landmark.label,
                "girth": f"{site.girth_cm:.1f}",
                "target": (
                    f"{site.target_low_mmhg:.0f}–{site.target_high_mmhg:.0f}"
                    if site.target_low_mmhg is not None
                    else "–"
                ),
                "median": f"{site.median_mmhg:.0f}",
                "band": f"{site.low_mmhg:.0f}–{site.high_mmhg:.0f}",
                "in_range": _percent(site.chance_in_range),
                "above": _percent(site.chance_above_maximum),
                "maximum": "–" if site.maximum_mmhg is None else f"{site.maximum_mmhg:.0f}",
            }
            for site in system.sites
        ],
        "round": list(system.round_words),
        "to_accept": list(system.to_accept),
        "every": _percent(system.chance_every_site_in_range),
        "points": [
            {
                "place": f"{number} {point.place}",
                "median": f"{point.median_mmhg:.0f}",
                "high": f"{point.high_mmhg:.0f}",
                "maximum": f"{point.maximum_mmhg:.0f}",
                "padding": "–" if point.padding_mm is None else f"{point.padding_mm:.0f}",
                "bare": "–" if point.bare_high_mmhg is None else f"{point.bare_high_mmhg:.0f}",
                "exceeds": point.exceeds,
                "overstated": point.overstated,
            }
            for number, point in enumerate(system.pressure_points, start=1)
        ],
        "standing": _standing(system.standing),
        "spread": (
            f"The band at the gaiter comes from: {system.spread_words}."
            if system.spread_from
            else ""
        ),
        "change": system.change_reason,
        "supplies": [
            {"title": supply.title, "now": supply.now, "week": supply.week}
            for supply in system.supplies
        ],
        "gauge": [mark for layer in system.layers for mark in _gauge_marks(layer)],
    }


def _protect(system: SystemPlan) -> list[Said]:
    """What to pad, fill and cover, in the order of the work."""
    lines = [system.padding.text] if system.padding.text else []
    exceeding = {point.place: point for point in system.pressure_points if point.exceeds}
    pads = [
        Said("{place} {mm:.0f} mm", {"place": Said(place), "mm": mm})
        for place, mm in system.pads_mm.items()
        if place not in exceeding
    ]
    if pads:
        lines.append(Said("Pads of wool: {pads}", {"pads": joined(pads)}))
    for place, mm in system.pads_mm.items():
        if place in exceeding:
            exceeds = _exceeds(exceeding.pop(place))
            lines.append(
                Said(
                    "{place}: pad of {mm:.0f} mm; {exceeds}",
                    {"place": Said(place), "mm": mm, "exceeds": exceeds},
                )
            )
    lines += [
        Said(
            "{place}: {exceeds}" if point.overstated else "{place}: {exceeds}; keep turns off it",
            {"place": Said(point.place), "exceeds": _exceeds(point)},
        )
        for point in exceeding.values()
    ]
    lines += [
        Said(
            "{place}: fill the hollow, {depth:.0f} mm deep",
            {"place": Said(area.place), "depth": area.depth_mm},
        )
        for area in system.bridged
    ]
    lines += [
        Said(
            _FAULT if gap.fault else "{place}: {area:.0f} cm² uncovered",
            {"place": Said(gap.place), "area": gap.area_cm2},
        )
        for gap in system.gaps
    ]
    return lines + ([system.dressing] if system.dressing else [])


_FAULT = "{place}: {area:.0f} cm² uncovered – a fault, cover it"


def _exceeds(point: PressurePoint) -> Said:
    """That a place is above its maximum all the same, and where the surface overstates it."""
    return Said(
        _OVERSTATED if point.overstated else _ABOVE,
        {"high": point.high_mmhg, "maximum": point.maximum_mmhg},
    )


_ABOVE = "up to {high:.0f} mmHg all the same, its maximum is {maximum:.0f}"
_OVERSTATED = (
    "up to {high:.0f} mmHg all the same, its maximum is {maximum:.0f} (surface overstates this "
    "place)"
)


def _layer(layer: Layer) -> dict[str, Any]:
    foot = layer.foot_mark_spacing_cm
    width = f"{layer.width_cm:g} cm wide"
    if layer.leg_width_cm is not None:
        width += f", {layer.leg_width_cm:g} cm from the ankle up"
    return {
        "number": str(layer.number),
        "title": layer.title,
        "width": width,
        "pattern": _PATTERNS[layer.pattern.value],
        "overlap": f"each turn covers {_overlap_words(layer.overlap)} of the last",
        "turns": f"{layer.turns} turns",
        "stretch": _stretch_words(layer),
        "spacing": f"{layer.mark_spacing_cm:.1f} cm" if layer.mark_spacing_cm else "",
        "foot_spacing": f"{foot:.1f} cm" if foot is not None else "",
        "rolls": f"{layer.rolls} roll" + ("s" if layer.rolls > 1 else ""),
        "joins": "; ".join(map(str, layer.joins)),
        "note": layer.note,
    }


def _stretch_words(layer: Layer) -> str:
    if layer.mark_spacing_cm:
        return f"{layer.stretch_percent:.0f} %"
    return "just taut" if layer.presses and layer.stretch_percent > 0 else "none"


def _gauge_marks(layer: Layer) -> list[dict[str, Any]]:
    """Lengths to print at true scale: target spacing of each part, and the overlap [mm]."""
    if layer.mark_spacing_cm is None:
        return []
    marks = [(f"{layer.title}: marks stand this far apart", layer.mark_spacing_cm)]
    if layer.foot_mark_spacing_cm is not None:
        marks = [
            (f"{layer.title}, foot and ankle: marks this far apart", layer.foot_mark_spacing_cm),
            (f"{layer.title}, from the ankle up", layer.mark_spacing_cm),
        ]
    in_sight = "so much of the last turn stays in sight"
    marks.append((f"{layer.title}: {in_sight}", layer.width_cm * (1 - layer.overlap)))
    if layer.leg_width_cm is not None:
        text = f"{layer.title}, {layer.leg_width_cm:g} cm wide: {in_sight}"
        marks.append((text, layer.leg_width_cm * (1 - layer.overlap)))
    return [{"text": text, "mm": round(10 * length, 2)} for text, length in marks]


def _overlap_words(overlap: float) -> str:
    nearest = min(_OVERLAPS, key=lambda known: abs(known - overlap))
    return _OVERLAPS[nearest] if abs(nearest - overlap) < 0.02 else f"{overlap:.0%}"


def _reason(reason: Reason) -> dict[str, str]:
    return {
        "kind": reason.kind.value,
        "text": reason.text,
        "source": f"{reason.source} ({reason.strength})",
        "disagreement": reason.disagreement or "",
    }


def _numbers(leg: LegPlan) -> list[Mapping[str, str]]:
    return [{"name": name, "value": value} for name, value in leg.decision.numbers.in_words()]


def _other(system: SystemPlan, chosen: SystemPlan) -> tuple[str, str]:
    """Another system in one line, and the reasons that it does not share with the chosen one.

    Their sources stand in the plan, not on paper.
    """
    first, *_others = system.outcome_reason.text.split("; ")
    first, *_others = first.split(", wanted")
    lines = [f"{system.title} ({system.outcome.value}, {first}", *system.to_accept]
    lines.append(f"every site in range {_percent(system.chance_every_site_in_range)})")
    own_for = [reason for reason in system.reasons_for if reason not in chosen.reasons_for]
    own_against = [r for r in system.reasons_against if r not in chosen.reasons_against]
    return ", ".join(lines), _for_and_against(own_for, own_against)


def _alternative(other: Alternative) -> tuple[str, str]:
    """What may be worn instead of a bandage, and its reasons."""
    reasons = _for_and_against(other.reasons_for, other.reasons_against)
    return f"{other.title}, instead of a bandage: {_without_source(other.level.text)}", reasons


def _for_and_against(for_it: Sequence[Said], against: Sequence[Said]) -> str:
    reasons = [f"for: {_without_source(reason.text)}" for reason in for_it]
    return "; ".join(
        (*reasons, *(f"against: {_without_source(reason.text)}" for reason in against))
    )


def _head_and_reason(text: str) -> tuple[str, str]:
    head, _sign, reason = text.partition(": ")
    # The reduced systems carry a colon in their name.
    if head == "Reduced":
        name, _sign, reason = reason.partition(": ")
        head = f"{head}: {name}"
    return head, reason


def _by_reason(entries: Iterable[tuple[str, str]]) -> list[str]:
    """One line for all that share their reasons, so that no reason is said twice."""
    groups: dict[str, list[str]] = {}
    for head, reasons in entries:
        groups.setdefault(reasons, []).append(head)
    return [
        f"{'; '.join(heads)}{f': {reasons}' if reasons else ''}"
        for reasons, heads in groups.items()
    ]


def _without_source(reason: str) -> str:
    """A reason without the brackets at its end."""
    if not reason.endswith(")"):
        return reason
    depth = 0
    for place in range(len(reason) - 1, -1, -1):
        depth += {")": 1, "(": -1}.get(reason[place], 0)
        if depth == 0:
            return reason[:place].rstrip() or reason
    return reason


def _by_turn(risks: Sequence[Said]) -> list[str]:
    """Places where wrinkles threaten, each turn named once."""
    turns: dict[str, list[str]] = {}
    for risk in risks:
        turn, _sign, place = risk.text.partition(", ")
        turns.setdefault(turn, []).append(place)
    return [f"{turn}, {', '.join(places)}" for turn, places in turns.items()]


def _measured(leg: LegPlan) -> str:
    if leg.surface is None:
        return ""
    girths = ", ".join(
        f"{landmark.label} {girth:.1f}" for landmark, girth in leg.surface.girth_cm.items()
    )
    names = (name.replace("_cm", "").replace("_", " ").split(".") for name in leg.surface.estimated)
    estimated = "; ".join(" of ".join(parts) for parts in names)
    text = f"Girths, cm: {girths}. Volume ankle to below knee {leg.surface.volume_ml:.0f} mL."
    return f"{text} Estimated, not measured: {estimated}." if estimated else text


def _versions(plan: Plan) -> str:
    versions = plan.versions
    return (
        f"Gaiter {versions.gaiter}; {versions.policy} ({versions.policy_sha256[:8]}); catalogue "
        f"{versions.catalogue_sha256[:8]}; seed {plan.seed}, {plan.samples} bandages sampled; "
        f"hands: {plan.bandager}"
    )


def _percent(chance: float | None) -> str:
    if chance is None:
        return "–"
    if 0 < chance <= 0.005:
        return "< 1 %"
    return f"{100 * chance:.0f} %"


def _standing(found: Standing) -> str:
    about, least = ("at least", "at least ") if found.at_least else ("about", "")
    word = "stiff" if found.stiff else "not stiff"
    if found.at_least:
        word += ", a layer does not stretch"
    return (
        f"Standing, girth up by {found.girth_rise_cm:g} cm: {about} {found.pressure_mmhg:.0f} mmHg "
        f"at the gaiter; static stiffness {least}{found.static_stiffness_mmhg:.0f} mmHg ({word}), "
        f"{least}{found.per_cm_mmhg:.0f} mmHg for a centimetre."
    )
