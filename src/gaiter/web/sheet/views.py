"""The bandaging sheet: printed, and as a calm page with big steps to tick off."""

from django.http import HttpResponse
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.ledger import local_day, note_opening
from gaiter.records.models import PlanRecord
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.sheets import sheet_pdf
from gaiter.sheets.content import said_content
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.frame.workload import computes, turn
from gaiter.web.plan.desk import recorded_pictures
from gaiter.web.plan.views import ended_in_words, no_sheet_today, record_of, why_not
from gaiter.web.sheet.pages import StepsPage


def approved_record(pk: int) -> PlanRecord:
    """A plan that is or was approved; nothing else has a sheet."""
    record = record_of(pk)
    if record.approved_at is None:
        raise InputError(_("This plan was not approved: there is no sheet."))
    return record


def approval_in_words(record: PlanRecord) -> str:
    """Who approved a plan and when, and on whose standing order."""
    if record.approved_by is None or record.approved_at is None:
        return ""
    day = local_day(record.approved_at)
    words = _("Approved by %(who)s on %(day)s") % {
        "who": record.approved_by.name,
        "day": f"{day.day} {_(f'{day:%B}')} {day.year}",
    }
    if record.order is not None:
        words += _(", on the standing order of %s") % record.order.prescriber.name
    return words


@allow(CLINICAL, "GET", of=PlanRecord)
def steps(request: ClinicRequest, pk: int) -> HttpResponse:
    """Big steps, one after the other."""
    record = approved_record(pk)
    note_opening(request.actor, "open sheet", record.visit.episode.person)
    plan = plan_of(record)
    leg = leg_of(plan)
    page = StepsPage(
        record=record,
        visit=record.visit,
        episode=record.visit.episode,
        person=record.visit.episode.person,
        content=said_content(plan, leg),
        layers=leg.systems[0].layers,
        drawing=recorded_pictures(record, with_map=False)["leg"],
        approval=approval_in_words(record),
        ended=ended_in_words(record),
        why_not=why_not(record),
    )
    return show(request, page)


@allow(CLINICAL, "GET", of=PlanRecord)
@computes
def sheet_file(request: ClinicRequest, pk: int) -> HttpResponse:
    """The printed sheet; of a plan that is in force only."""
    record = approved_record(pk)
    if ended := ended_in_words(record) or no_sheet_today(record):
        raise InputError(ended)
    note_opening(request.actor, "print sheet", record)
    with turn():
        pdf = sheet_pdf(plan_of(record), approval_in_words(record))
    response = HttpResponse(pdf, content_type="application/pdf")
    name = f"{record.visit.episode.reference}-sheet.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
