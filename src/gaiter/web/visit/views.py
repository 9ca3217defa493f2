"""The visit: one page in the order of the day, saved as it is filled."""

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.action import note_opening
from gaiter.records.actions.visits import Saved, Typed, save_entries, settle_clash, sign_visit
from gaiter.records.assemble import (
    Assembled,
    Known,
    assembled,
    case_of,
    local_policy,
    still_missing,
)
from gaiter.records.fields import EVERY_VISIT, SECTIONS, Box, Kind, Section, boxes
from gaiter.records.in_force import latest_off_by, plan_in_force
from gaiter.records.models import Visit
from gaiter.web.site.access import CLINICAL, allow
from gaiter.web.site.request import ClinicRequest
from gaiter.web.visit.pictures import completed, measured, outline
from gaiter.web.visit.safety import safety_of


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


_KEYPADS = {Kind.NUMBER: "decimal", Kind.WHOLE: "numeric"}


def visit_of(pk: int) -> Visit:
    """A visit with episode and person, or 404."""
    return get_object_or_404(Visit.objects.select_related("episode__person", "signed_by"), pk=pk)


def box_view(seen: Assembled, path: str, unit: str) -> BoxView:
    """One box of a visit."""
    box = boxes()[path]
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
        text="" if box.kind is Kind.MANY else box.shown(value, unit),
        options=_options(box, value),
        base=own.entry if own else seen.emptied.get(path, 0),
        note=_note(box, known, seen.last.get(path), unit),
        carried=known is not None and known.carried,
        rivals=rivals,
        theirs=(own.entry, box.in_words(own.value, unit), own.author) if own and rivals else None,
        due=path in EVERY_VISIT or known is None or _old(known, seen.visit.day),
    )


def _options(box: Box, value: Any) -> tuple[tuple[str, str, bool], ...]:
    if box.kind is Kind.MANY:
        chosen = () if value is None else tuple(value) or ("none",)
        return tuple((c, _(c), c in chosen) for c in ("none", *box.choices))
    if box.kind is Kind.CHOICE:
        return tuple((c, _(c), c == value) for c in box.choices)
    return ()


def _note(box: Box, known: Known | None, last: Known | None, unit: str) -> str:
    if known is not None and known.carried:
        return _("counts: {value}, from {day:%d %b}").format(
            value=box.in_words(known.value, unit), day=known.day
        )
    if last is None or last.value is None:
        return ""
    return _("last time: {value}").format(value=box.in_words(last.value, unit))


def _old(known: Known, today: date) -> bool:
    return known.carried and (today - known.day).days >= local_policy()["landmarks_due_days"]


# Sections that are folded at a later visit while nothing in them is due or differs.
_FOLDED_LATER = ("person", "leg", "hands")


def sections(seen: Assembled, unit: str) -> list[tuple[Section, list[BoxView], str]]:
    """Every section with its boxes, and why it is folded (empty: open)."""
    found = []
    for section in SECTIONS:
        views = [box_view(seen, path, unit) for path in section.paths]
        folded = _("Open") if section.folded else ""
        counting = sum(view.carried for view in views)
        if section.key in _FOLDED_LATER and counting and not any(v.rivals for v in views):
            folded = (
                _("%d answers count from earlier visits: open to change or ask again") % counting
            )
        found.append((section, views, folded))
    return found


@allow(CLINICAL)
def visit(request: ClinicRequest, pk: int) -> HttpResponse:
    """The page."""
    one = visit_of(pk)
    note_opening(request.actor, "open record", one.episode.person)
    seen = assembled(one)
    plan = plan_in_force(one.episode)
    proposed_day = one.next_visit or (latest_off_by(plan, one) if plan else None)
    return render(
        request,
        "visit/visit.html",
        {
            "visit": one,
            "episode": one.episode,
            "person": one.episode.person,
            "age": one.episode.person.age_on(one.day),
            "sections": sections(seen, request.user.unit),
            "plan": plan,
            "next_visit": proposed_day,
            "live": live_context(seen, request.user.unit),
            "first": not one.episode.visits.filter(pk__lt=one.pk).exists(),
        },
    )


def live_context(seen: Assembled, unit: str) -> dict[str, Any]:
    """What stands beside the boxes and follows them: leg, indices, decision, what is missing."""
    values = {path: known.value for path, known in seen.known.items()}
    shape = measured(values)
    done = completed(shape)
    missing: list[tuple[str, str]] = []
    safety = None
    try:
        safety = safety_of(seen)
    except InputError as error:
        missing = still_missing(error, seen.visit.episode.side)  # type: ignore[arg-type] # case_of raises no other
    last = {path: known.value for path, known in seen.last.items()}
    return {
        "visit": seen.visit,
        "drawing": outline(seen.visit.episode.side, shape, measured(values | last) if last else ()),
        "safety": safety,
        "missing": [(boxes().get(path), path, text) for path, text in missing],
        "questions": [*(done.questions if done else ()), *_changes(seen, unit)],
    }


def _changes(seen: Assembled, unit: str) -> list[str]:
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
                _("%(what)s: %(now)s, last time %(then)s. Measure once more.")
                % {
                    "what": box.label,
                    "now": box.in_words(known.value, unit),
                    "then": box.in_words(before.value, unit),
                }
            )
    return found


@allow(CLINICAL)
def live(request: ClinicRequest, pk: int) -> HttpResponse:
    """The part that follows the boxes."""
    context = live_context(assembled(visit_of(pk)), request.user.unit)
    return render(request, "visit/live.html", {"live": context})


@allow(CLINICAL, "POST")
def save(request: ClinicRequest, pk: int) -> HttpResponse:
    """Saves what was typed since; what cannot be used is answered box by box.

    Body: ``{"entries": [{"path": ..., "text": ..., "base": entry}]}``.
    """
    one = visit_of(pk)
    try:
        given = json.loads(request.body)["entries"]
        raw = [(str(e["path"]), e["text"], int(e["base"])) for e in given]
    except (ValueError, KeyError, TypeError):
        raise InputError(_("This page is older than the program: load it again.")) from None
    typed, problems = [], []
    for path, text, base in raw[:500]:
        box = boxes().get(path)
        if box is None:
            problems.append({"path": path, "problem": _("There is no such box.")})
            continue
        try:
            typed.append(Typed(path, box.parsed(_texts(text), request.user.unit), base))
        except InputError as error:
            problems.append({"path": path, "problem": str(error)})
    saved = save_entries(request.actor, one, typed) if typed else []
    answer = [_answer(request, one, result) for result in saved]
    return JsonResponse({"saved": answer, "problems": problems})


def _texts(text: Any) -> str | list[str]:
    return [str(part) for part in text] if isinstance(text, list) else str(text)


def _answer(request: ClinicRequest, one: Visit, result: Saved) -> dict[str, Any]:
    answer: dict[str, Any] = {"path": result.path, "entry": result.entry, "clash": result.clash}
    if result.clash:
        view = box_view(assembled(one), result.path, request.user.unit)
        answer["html"] = render_to_string("visit/clash.html", {"view": view, "visit": one}, request)
    return answer


@allow(CLINICAL, "POST")
def settle(request: ClinicRequest, pk: int) -> HttpResponse:
    """Two people differ: one value is chosen."""
    one = visit_of(pk)
    path = request.POST.get("path", "")
    chosen = request.POST.get("entry", "")
    if path not in boxes() or not chosen.isdecimal():
        raise InputError(_("Choose one of the values."))
    settle_clash(request.actor, one, path, int(chosen))
    return redirect(
        reverse("visit", args=[pk]) + "#box-" + path.replace(".", "-").replace("_", "-")
    )


@allow(CLINICAL, "POST")
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


@allow(CLINICAL)
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
