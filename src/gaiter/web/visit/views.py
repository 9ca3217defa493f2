"""The visit: one page in the order of the day, saved as it is filled."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, JsonResponse, RawPostDataException
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.safety import one_press_paths
from gaiter.core.words import NOTHING, Said
from gaiter.records.actions.visits import (
    FULL_START,
    Saved,
    Typed,
    require_own,
    save_entries,
    settle_clash,
    sign_visit,
)
from gaiter.records.ledger import note_going_on, note_opening
from gaiter.records.models import Account, Entry, Role, Visit
from gaiter.records.read.in_force import latest_off_by, plan_in_force
from gaiter.records.typed import key_in, require_writable
from gaiter.records.visit.boxes import (
    EVERY_VISIT,
    NOTHING_FOUND,
    OPENINGS,
    SECTIONS,
    Box,
    BoxKind,
    Group,
    Opening,
    Section,
    box_path,
    boxes,
    required_boxes,
)
from gaiter.records.visit.case import (
    Assembled,
    Known,
    assembled,
    case_in,
    case_mapping,
    case_of,
    local_policy,
)
from gaiter.records.visit.screen import (
    Press,
    open_to_press,
    pressed,
    screen_boxes,
    to_look_at_again,
)
from gaiter.records.words import in_language
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.errors import noted
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.visit.pages import ClashPart, LivePart, VisitPage
from gaiter.web.visit.pictures import completed, measured, outline
from gaiter.web.visit.safety import SafetyView, asked_beside, safety_of


@dataclass(frozen=True)
class BoxView:
    """A box as the page shows it: its value, what it was last time, and who differs.

    Attributes
    ----------
    ident, label, unit, keypad : str
        Id on the page, words in the reader's language, unit, and the keypad of a tablet.
    options : tuple
        Value, words and whether it is chosen, for what can be chosen.
    base : int
        Entry that the page shows, 0 for none.
    note : str
        What counts from an earlier visit, or what it was last time.
    corrections : tuple
        What was typed after the signature, in words, and its entry.
    again : bool
        Whether a bad answer of an earlier visit counts until somebody looks again.
    pills : bool
        Whether its choices stand side by side, to be touched once.
    opening : Opening or None
        What opens it; a shut box is not shown.
    counts : str
        What counts from an earlier visit, as it would stand in the box.
    asked : tuple[Said, ...]
        What is questioned about its value.
    forbidden : tuple[str, ...]
        Choices that whoever looks may not make.
    """

    box: Box
    ident: str
    label: str
    unit: str
    keypad: str
    text: str
    options: tuple[tuple[str, str, bool], ...]
    base: int
    note: str
    carried: bool
    rivals: tuple[tuple[int, str, str], ...]
    theirs: tuple[int, str, str] | None
    due: bool
    corrections: tuple[tuple[str, Entry], ...] = ()
    again: bool = False
    pills: bool = False
    opening: Opening | None = None
    shut: bool = False
    counts: str = ""
    asked: tuple[Said, ...] = ()
    forbidden: tuple[str, ...] = ()

    @property
    def opens_on(self) -> str:
        """Answers that open it, as the page's script compares them; empty: any finding."""
        answers = self.opening.opens if self.opening else ()
        return " ".join("yes" if a is True else "no" if a is False else str(a) for a in answers)


_KEYPADS = {BoxKind.NUMBER: "decimal", BoxKind.WHOLE: "numeric"}


def visit_of(pk: int) -> Visit:
    """A visit with episode and person, or 404."""
    return get_object_or_404(Visit.objects.select_related("episode__person", "signed_by"), pk=pk)


# Choices in this many letters or fewer stand side by side.
_PILL_LETTERS = 44


def box_view(seen: Assembled, path: str, unit: str, again: frozenset[str] = frozenset()) -> BoxView:
    """One box of a visit; ``again``: boxes whose bad answer of an earlier visit counts."""
    box = boxes()[path]
    opening = OPENINGS.get(path)
    values = {other: said.value for other, said in seen.known.items()}
    known = seen.known.get(path)
    own = known if known is not None and not known.carried else None
    value = own.value if own else None
    rivals = tuple(
        (r.pk, box.in_words(r.words if r.words is not None else r.value, unit), r.author.name)
        for r in seen.rivals.get(path, ())
    )
    return BoxView(
        box=box,
        ident=f"box-{path.replace('.', '-').replace('_', '-')}",
        label=_(box.label),
        unit=unit if box.unit == "cm" else box.unit,
        keypad=_KEYPADS.get(box.kind, "text"),
        text="" if box.kind is BoxKind.MANY else box.shown(value, unit),
        options=_options(box, value),
        base=own.entry if own else seen.emptied.get(path, 0),
        note=_note(box, known, seen.last.get(path), unit),
        carried=known is not None and known.carried,
        rivals=rivals,
        corrections=tuple(
            (box.in_words(c.words if c.words is not None else c.value, unit), c)
            for c in seen.corrections.get(path, ())
        ),
        theirs=(own.entry, box.in_words(own.value, unit), own.author) if own and rivals else None,
        due=path in EVERY_VISIT or known is None or _old(known, seen.visit.day),
        again=path in again,
        pills=box.kind is BoxKind.CHOICE and len("".join(map(_, box.choices))) <= _PILL_LETTERS,
        opening=opening,
        shut=opening is not None and known is None and not opening.is_open(values),
        counts=box.shown(known.value) if known is not None and known.carried else "",
    )


def _options(box: Box, value: Any) -> tuple[tuple[str, str, bool], ...]:
    if box.kind is BoxKind.ANSWER:
        return tuple((c, _(c), c == box.shown(value)) for c in ("yes", "no"))
    if box.kind is BoxKind.MANY:
        chosen = () if value is None else tuple(value) or ("none",)
        return tuple((c, _(c), c in chosen) for c in ("none", *box.choices))
    if box.kind is BoxKind.CHOICE:
        return tuple((c, _(c), c == value) for c in box.choices)
    return ()


def _note(box: Box, known: Known | None, last: Known | None, unit: str) -> str:
    if known is not None and known.carried:
        return _("counts: {value}, from {day:%d %b}").format(
            value=box.in_words(known.value, unit), day=known.day
        )
    # Nothing found last time says nothing about today.
    if last is None or last.value is None or last.value in NOTHING_FOUND:
        return ""
    return _("last time: {value}").format(value=box.in_words(last.value, unit))


def _old(known: Known, today: date) -> bool:
    return known.carried and (today - known.day).days >= local_policy()["landmarks_due_days"]


@dataclass(frozen=True)
class GroupView:
    """A group of boxes; ``alone``: each is asked by itself, never by the one press."""

    group: Group
    boxes: tuple[BoxView, ...]
    alone: bool
    open: bool


@dataclass(frozen=True)
class SectionView:
    """A section of the page, and why it is folded (empty: open)."""

    section: Section
    groups: tuple[GroupView, ...]
    folded: str


# Sections that are folded at a later visit while nothing in them differs.
_FOLDED_LATER = ("person", "leg", "hands")


def sections(seen: Assembled, unit: str, asked: Mapping[str, list[Said]]) -> list[SectionView]:
    """Every section with its boxes; those that stand beside the decision are left out."""
    again = frozenset(to_look_at_again(seen))
    found = []
    for section in SECTIONS:
        if not section.beside:
            shown = {path: box_view(seen, path, unit, again) for path in section.paths}
            for path in asked.keys() & shown.keys():
                shown[path] = replace(shown[path], asked=tuple(asked[path]))
            found.append(_section(seen, section, shown))
    return found


def _section(seen: Assembled, section: Section, found: Mapping[str, BoxView]) -> SectionView:
    values = {path: known.value for path, known in seen.known.items()}
    pressable = {box_path(question) for question in one_press_paths()}
    groups = []
    for group in section.groups:
        views = tuple(found[path] for path in group.paths)
        asked = [view for view in views if view.box.path in screen_boxes()]
        groups.append(
            GroupView(
                group,
                views,
                alone=bool(asked) and not any(view.box.path in pressable for view in asked),
                open=group.folded is None
                or group.folded.is_open(values)
                or any(view.text for view in views),
            )
        )
    shown = [view for group in groups for view in group.boxes]
    counting = sum(view.carried for view in shown)
    folded = ""
    if section.key in _FOLDED_LATER and counting and not any(view.rivals for view in shown):
        folded = _("%d answers count from earlier visits: open to change or ask again") % counting
    return SectionView(section, tuple(groups), folded)


@allow(CLINICAL, "GET", of=Visit)
def visit(request: ClinicRequest, pk: int) -> HttpResponse:
    """The page."""
    one = visit_of(pk)
    note_opening(request.actor, "open record", one.episode.person)
    seen = assembled(one)
    plan = plan_in_force(one.episode)
    live = live_context(seen, request.user.unit, request.user)
    proposed_day = one.next_visit or (latest_off_by(plan, one) if plan else None)
    page = VisitPage(
        visit=one,
        episode=one.episode,
        person=one.episode.person,
        sections=sections(seen, request.user.unit, live.asked),
        next_visit=proposed_day,
        live=live,
    )
    return show(request, page)


@dataclass(frozen=True)
class Live:
    """What follows the boxes of a visit.

    Attributes
    ----------
    drawing : str
        SVG of the leg; empty while too little is measured.
    safety : SafetyView
        The decision, from whatever is known.
    missing : list
        Box, path and sentence for each value that only the *plan* still needs.
    questions : list[Said]
        What is questioned about the measurements.
    asked : Mapping
        Questions beside the boxes that they are about, by path.
    press : list
        Boxes that "asked all of these, none present" would answer now.
    again : list[Box]
        Boxes whose bad answer of an earlier visit counts until somebody looks again.
    start : BoxView or None
        The choice of a lower start, where it is offered or was made.
    """

    visit: Visit
    drawing: str
    safety: SafetyView
    missing: list[tuple[Box | None, str, Said]]
    questions: list[Said]
    asked: Mapping[str, list[Said]]
    press: list[Box]
    pressed: Press | None
    again: list[Box]
    start: BoxView | None

    @property
    def presses(self) -> int:
        """How many questions one press would answer."""
        return len(self.press)

    @property
    def agains(self) -> int:
        """How many boxes are to be looked at again."""
        return len(self.again)

    @property
    def lacks(self) -> int:
        """How many values only the plan still needs."""
        return len(self.missing)


def live_context(seen: Assembled, unit: str, account: Account) -> Live:
    """What stands beside the boxes and follows them: decision, leg, what a plan still needs."""
    values = {path: known.value for path, known in seen.known.items()}
    shape = measured(values)
    done = completed(shape)
    document = case_mapping(seen, with_stock=False)
    safety = safety_of(seen, account, document)
    last = {path: known.value for path, known in seen.last.items()}
    compressed = safety.decision is not None and safety.decision.maximum_mmhg is not None
    starts = compressed and (safety.starts_low is not None or "leg.start" in seen.known)
    return Live(
        visit=seen.visit,
        drawing=outline(seen.visit.episode.side, shape, measured(values | last) if last else ()),
        safety=safety,
        missing=_missing_for_plan(seen, safety, document),
        questions=[*(done.questions if done else ()), *_changes(seen, unit)],
        asked=asked_beside(seen, safety, document),
        press=[boxes()[path] for path in open_to_press(seen)],
        pressed=pressed(seen.visit),
        again=[boxes()[path] for path in to_look_at_again(seen)],
        start=_start(seen, unit, account) if starts else None,
    )


def _start(seen: Assembled, unit: str, account: Account) -> BoxView:
    """The choice of a lower start; only a prescriber raises it."""
    may = account.role == Role.PRESCRIBER
    path, full = FULL_START
    return replace(box_view(seen, path, unit), forbidden=() if may else (full,))


def _missing_for_plan(
    seen: Assembled, safety: SafetyView, document: Mapping[str, Any]
) -> list[tuple[Box | None, str, Said]]:
    """What a plan needs and the decision does not: girths, heights, hands, purpose."""
    case = case_in(document, seen.visit.episode.side)
    if isinstance(case, Case):
        return []
    said = {path for _box, path, _text in safety.contradictions}
    found: list[tuple[Box | None, str, Said]] = []
    for problem in case:
        path = problem.path
        if path in said:
            continue
        needed = () if path in boxes() else required_boxes(path)
        found += [(box, box.path, NOTHING) for box in needed]
        found += [] if needed else [(boxes().get(path), path, problem.said)]
    return found


def _changes(seen: Assembled, unit: str) -> list[Said]:
    """Girths that differ much from last time."""
    found = []
    for path, known in seen.known.items():
        before = seen.last.get(path)
        if known.carried or before is None or not path.startswith("leg.girth_cm."):
            continue
        if (
            before.value
            and abs(known.value / before.value - 1) > local_policy()["girth_question_share"]
        ):
            box = boxes()[path]
            found.append(
                Said(
                    "{what}: {now}, last time {then}. Measure once more.",
                    {
                        "what": Said(box.label),
                        "now": box.in_words(known.value, unit),
                        "then": box.in_words(before.value, unit),
                    },
                )
            )
    return found


@allow(CLINICAL, "GET", of=Visit)
def live(request: ClinicRequest, pk: int) -> HttpResponse:
    """The part that follows the boxes."""
    seen = assembled(visit_of(pk))
    note_going_on(request.actor, "open record", seen.visit.episode.person)
    context = live_context(seen, request.user.unit, request.user)
    return show(request, LivePart(seen.visit, context))


@allow(CLINICAL, "POST", of=Visit)
def save(request: ClinicRequest, pk: int) -> HttpResponse:
    """Saves what was typed since; what cannot be used is answered box by box.

    Body: ``{"entries": [{"path": ..., "text": ..., "base": entry}]}``.
    """
    one = visit_of(pk)
    typed, problems = [], []
    for path, (text, base) in _sent(request).items():
        box = boxes().get(path)
        if box is None:
            problems.append({"path": path, "problem": _("There is no such box.")})
            continue
        try:
            require_writable("".join(text))
            item = Typed(path, box.parsed(text, request.user.unit), base)
            # One box, not the batch: the rest of what was typed is kept.
            require_own(request.actor, item)
            typed.append(item)
        except InputError as error:
            problems.append({"path": path, "problem": in_language(error.said)})
    saved = save_entries(request.actor, one, typed) if typed else []
    answer = [_answer(request, one, result) for result in saved]
    response = JsonResponse({"saved": answer, "problems": problems})
    return noted(response, "box") if problems else response


def _sent(request: ClinicRequest) -> dict[str, tuple[str | list[str], int]]:
    """Text and base by the path of each box; of one that was sent often the last counts.

    Raises
    ------
    InputError
        If it is not what the page sends.
    """
    try:
        # Of a form with files there is no body any more: it was read as it arrived.
        given = json.loads(request.body)["entries"]
        return {str(e["path"]): (_texts(e["text"]), _entry(e["base"])) for e in given}
    except (ValueError, KeyError, TypeError, RecursionError, RawPostDataException):
        raise InputError(_("This page is older than the program: load it again.")) from None


def _texts(text: Any) -> str | list[str]:
    """What stands in a box, as the page sends it; nothing else is made into text."""
    parts = text if isinstance(text, list) else [text]
    if not all(isinstance(part, str) for part in parts):
        raise TypeError(type(text))
    return text


def _entry(base: Any) -> int:
    if not isinstance(base, int):
        raise TypeError(type(base))
    return base


def _answer(request: ClinicRequest, one: Visit, result: Saved) -> dict[str, Any]:
    beside = result.clash or result.after
    answer: dict[str, Any] = {"path": result.path, "entry": result.entry, "clash": beside}
    if beside:
        view = box_view(assembled(one), result.path, request.user.unit)
        part = ClashPart(one, view)
        answer["html"] = render_to_string(part.template, part.context(), request)
    return answer


@allow(CLINICAL, "POST", of=Visit)
def settle(request: ClinicRequest, pk: int) -> HttpResponse:
    """Two people differ: one value is chosen."""
    one = visit_of(pk)
    path = request.POST.get("path", "")
    chosen = key_in(request.POST.get("entry", ""))
    if path not in boxes() or not chosen:
        raise InputError(_("Choose one of the values."))
    settle_clash(request.actor, one, path, chosen)
    return redirect(
        reverse("visit", args=[pk]) + "#box-" + path.replace(".", "-").replace("_", "-")
    )


@allow(CLINICAL, "POST", of=Visit)
def sign(request: ClinicRequest, pk: int) -> HttpResponse:
    """Closes the visit with the day of the next one."""
    one = visit_of(pk)
    text = request.POST.get("next_visit", "")
    try:
        next_visit = date.fromisoformat(text) if text else None
    except ValueError:
        raise InputError(_("The next visit must be a date such as 2026-11-25.")) from None
    sign_visit(request.actor, one, next_visit)
    messages.success(request, _("The visit is signed."))
    return redirect("leg", one.episode_id)


@allow(CLINICAL, "GET", of=Visit)
def case_file(request: ClinicRequest, pk: int) -> HttpResponse:
    """The visit as a ``gaiter.case/1`` file, without a person's identity."""
    one = visit_of(pk)
    note_opening(request.actor, "export case", one)
    case = case_of(assembled(one))
    response = HttpResponse(
        case.model_dump_json(by_alias=True, exclude_none=True, indent=1) + "\n",
        content_type="application/json",
    )
    response["Content-Disposition"] = f'attachment; filename="{one.episode.reference}.json"'
    return response
