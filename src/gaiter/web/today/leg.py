"""The page of one leg, and what may be done from it."""

from datetime import date
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.records.actions.people import (
    ask_for_call,
    change_outcome,
    close_episode,
    record_bandage_event,
    return_call,
    store_file,
    write_note,
)
from gaiter.records.actions.stops import clear_stop
from gaiter.records.actions.visits import open_visit as open_or_go_on
from gaiter.records.ledger import local_day, note_opening
from gaiter.records.models import (
    BandageEvent,
    CallBack,
    Entry,
    Episode,
    PlanRecord,
    Role,
    StoredFile,
    Visit,
)
from gaiter.records.read.caseload import leg_today
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.holding import why_not_today
from gaiter.records.read.in_force import plan_in_force, waiting_plan
from gaiter.records.visit.case import local_policy
from gaiter.records.visit.decided import stop_words, uncleared_stops
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.today.pages import GirthRow, LegPage, Moment
from gaiter.web.today.views import SIGN_OF
from gaiter.web.visit.pictures import outline_then_and_now
from gaiter.web.visit.safety import SIGN_OF as DECISION_SIGN


def episode_of(pk: int) -> Episode:
    """An episode with its person, or 404."""
    return get_object_or_404(Episode.objects.select_related("person"), pk=pk)


@allow(CLINICAL, "GET", of=Episode)
def leg(request: ClinicRequest, pk: int) -> HttpResponse:
    """Who, side, safety in words, plan, next visit, time line, wound, girths then and now."""
    episode = episode_of(pk)
    note_opening(request.actor, "open record", episode.person)
    now = leg_today(episode, local_policy(), request.actor.today)
    visits = list(episode.visits.select_related("opened_by", "signed_by").order_by("-day", "-pk"))
    series = _series(visits)
    plan = plan_in_force(episode)
    leg_plan = leg_of(plan_of(plan)) if plan is not None else None
    open_visit = now.open_visit
    page = LegPage(
        episode=episode,
        person=episode.person,
        age=episode.person.age_on(request.actor.today),
        leg_today=now,
        marks=[(mark, SIGN_OF[mark], words) for mark, words in now.marks.items()],
        plan=plan,
        leg_plan=leg_plan,
        why_not=why_not_today(open_visit, plan) if open_visit and plan else "",
        ended=ended_plan(episode) if plan is None else None,
        waiting=waiting_plan(episode),
        decision=now.decision,
        decision_sign=DECISION_SIGN[now.decision.outcome] if now.decision else "",
        uncleared=[(one, stop_words(one.code)) for one in uncleared_stops(episode)],
        moments=_moments(episode, visits),
        girths=_girths(series),
        areas=_areas(series),
        picture=outline_then_and_now(episode.side, series),
        files=episode.files.defer("content").select_related("author").order_by("-at"),
        kinds=StoredFile.Kind.choices,
        calls=episode.calls.filter(done_at=None).select_related("author"),
        events=BandageEvent.Kind.choices,
        outcomes=Episode.Outcome.choices,
        others=episode.person.episodes.exclude(pk=episode.pk).order_by("-opened_on"),
    )
    return show(request, page)


def ended_plan(episode: Episode) -> PlanRecord | None:
    """The last plan that was withdrawn or voided; None where none was."""
    return (
        PlanRecord.objects.filter(
            visit__episode=episode,
            approved_at__isnull=False,
            state__in=[PlanRecord.State.WITHDRAWN, PlanRecord.State.VOIDED],
        )
        .defer("document", "case")
        .order_by("-pk")
        .first()
    )


Series = list[tuple[Visit, dict[str, Any]]]


def _series(visits: list[Visit]) -> Series:
    """What was measured at each visit, oldest first."""
    values: dict[int, dict[str, Any]] = {visit.pk: {} for visit in visits}
    entries = Entry.objects.filter(visit__in=visits, state=Entry.State.CURRENT)
    for visit_id, path, value in entries.values_list("visit_id", "path", "value"):
        values[visit_id][path] = value
    return [(visit, values[visit.pk]) for visit in reversed(visits)]


def _girths(series: Series) -> list[GirthRow]:
    rows = []
    for landmark in reversed(Landmark):
        path = f"leg.girth_cm.{landmark.value}"
        known = [(visit.day, v[path]) for visit, v in series if v.get(path) is not None]
        if known:
            rows.append(
                GirthRow(
                    label=landmark.label,
                    then=known[0],
                    now=known[-1],
                    change=known[-1][1] - known[0][1] if len(known) > 1 else None,
                )
            )
    return rows


def _areas(series: Series) -> list[tuple[date, float, float, float]]:
    """Wound by length and width at each visit."""
    return [
        (visit.day, v["leg.wound.length_cm"], v["leg.wound.width_cm"],
         v["leg.wound.length_cm"] * v["leg.wound.width_cm"])
        for visit, v in series
        if v.get("leg.wound.length_cm") is not None and v.get("leg.wound.width_cm") is not None
    ]  # fmt: skip


def _moments(episode: Episode, visits: list[Visit]) -> list[Moment]:
    """Everything that happened, newest first."""
    found = [
        Moment(
            visit.day,
            _("Visit"),
            _("signed") if visit.signed_by else _("open"),
            (visit.signed_by or visit.opened_by).name,
            f"/visits/{visit.pk}/",
        )
        for visit in visits
    ]
    found += [
        Moment(
            local_day(plan.proposed_at),
            _("Plan"),
            f"{plan.get_state_display()} {plan.ended_why or ''}".strip(),
            (plan.approved_by or plan.proposed_by).name,
            f"/plans/{plan.pk}/",
        )
        for plan in PlanRecord.objects.filter(visit__episode=episode)
        .defer("document", "case")
        .select_related("proposed_by", "approved_by")
    ]
    found += [
        Moment(local_day(note.at), _("Note"), note.words, note.author.name)
        for note in episode.notes.select_related("author")
    ]
    found += [
        Moment(
            local_day(event.at),
            _("Bandage"),
            f"{event.get_kind_display()} {event.words}",
            event.by.name,
        )
        for event in episode.events.select_related("by")
    ]
    found += [
        Moment(local_day(call.done_at), _("Call returned"), call.outcome or "", call.done_by.name)
        for call in episode.calls.filter(done_at__isnull=False).select_related("done_by")
        if call.done_at and call.done_by
    ]
    return sorted(found, key=lambda moment: moment.day, reverse=True)


@allow(CLINICAL, "POST", of=Episode)
def start_visit(request: ClinicRequest, pk: int) -> HttpResponse:
    """Opens today's visit, or goes on with the open one."""
    visit = open_or_go_on(request.actor, episode_of(pk), request.POST.get("once"))
    return redirect("visit", visit.pk)


@allow(CLINICAL, "POST", of=Episode)
def note(request: ClinicRequest, pk: int) -> HttpResponse:
    """A note."""
    write_note(
        request.actor, episode_of(pk), request.POST.get("words", ""), request.POST.get("once")
    )
    messages.success(request, _("The note is in the record."))
    return redirect("leg", pk)


@allow(CLINICAL, "POST", of=Episode)
def call(request: ClinicRequest, pk: int) -> HttpResponse:
    """A phone call to return."""
    ask_for_call(
        request.actor, episode_of(pk), request.POST.get("why", ""), request.POST.get("once")
    )
    messages.success(request, _("The call stands in today's list."))
    return redirect("leg", pk)


@allow(CLINICAL, "POST", of=CallBack)
def call_returned(request: ClinicRequest, pk: int) -> HttpResponse:
    """A phone call was returned."""
    one = get_object_or_404(CallBack.objects.select_related("episode"), pk=pk)
    return_call(request.actor, one, request.POST.get("outcome", ""))
    messages.success(request, _("The call is recorded as returned."))
    return redirect("leg", one.episode_id)


@allow(CLINICAL, "POST", of=Episode)
def event(request: ClinicRequest, pk: int) -> HttpResponse:
    """Loosened or taken off."""
    record_bandage_event(
        request.actor,
        episode_of(pk),
        request.POST.get("kind", ""),
        request.POST.get("words", ""),
        request.POST.get("once"),
    )
    messages.success(request, _("Recorded. The leg stands in today's list with a warning sign."))
    return redirect("leg", pk)


@allow(Role.PRESCRIBER, "POST", of=Episode)
def clear(request: ClinicRequest, pk: int) -> HttpResponse:
    """A stop of an earlier visit stands no more."""
    clear_stop(
        request.actor,
        episode_of(pk),
        request.POST.get("code", ""),
        request.POST.get("words", ""),
        request.POST.get("once"),
    )
    messages.success(request, _("Cleared. Who cleared it, and why, stays on record."))
    return redirect("leg", pk)


@allow(CLINICAL, "POST", of=Episode)
def close(request: ClinicRequest, pk: int) -> HttpResponse:
    """Ends the episode."""
    close_episode(request.actor, episode_of(pk), request.POST.get("outcome", ""))
    messages.success(request, _("The episode is closed. Its record stays."))
    return redirect("person", episode_of(pk).person_id)


@allow(CLINICAL, "POST", of=Episode)
def outcome(request: ClinicRequest, pk: int) -> HttpResponse:
    """Another outcome of a closed episode, with the reason."""
    change_outcome(
        request.actor,
        episode_of(pk),
        request.POST.get("outcome", ""),
        request.POST.get("words", ""),
        request.POST.get("once"),
    )
    messages.success(request, _("Changed. Your reason stands in the time line."))
    return redirect("leg", pk)


@allow(CLINICAL, "POST", of=Episode)
def add_file(request: ClinicRequest, pk: int) -> HttpResponse:
    """A photo or a paper."""
    episode = episode_of(pk)
    upload = request.FILES.get("file")
    if not isinstance(upload, UploadedFile):
        raise InputError(_("Choose a file first."))
    # One byte more than is allowed is enough to know, however much was sent.
    content = upload.read(settings.GAITER_LARGEST_FILE + 1)
    store_file(
        request.actor,
        episode,
        request.POST.get("kind", ""),
        request.POST.get("title", ""),
        content,
        request.POST.get("once"),
    )
    messages.success(request, _("The file is in the record, sealed."))
    return redirect("leg", pk)


@allow(CLINICAL, "GET", of=StoredFile)
def stored_file(request: ClinicRequest, pk: int) -> HttpResponse:
    """One file, opened for whoever may see the leg."""
    one = get_object_or_404(StoredFile.objects.select_related("episode"), pk=pk)
    note_opening(request.actor, "open file", one.episode)
    response = HttpResponse(bytes(one.content), content_type=one.mime)
    # A paper may hold scripts: it is handed over as a file and never shown among our pages.
    paper = one.mime == "application/pdf"
    response["Content-Disposition"] = (
        f'attachment; filename="{one.kind}-{one.pk}.pdf"' if paper else "inline"
    )
    response["Content-Security-Policy"] = "default-src 'none'; frame-ancestors 'none'; sandbox"
    response["X-Content-Type-Options"] = "nosniff"
    return response
