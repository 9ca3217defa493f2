"""Technique records: what the readings say of each pair of hands, and of the clinic's sensor."""

from django.http import HttpResponse
from django.utils import timezone

from gaiter.core.plan.hands import calibration_in_words, habit_in_words, offsets_in_words
from gaiter.records.ledger import local_day
from gaiter.records.models import Account, Role
from gaiter.records.read.habits import calibration, habits_of
from gaiter.records.visit.case import local_policy
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.practice.pages import HabitsOf, TechniquePage


@allow(CLINICAL | {Role.LEARNER}, "GET")
def technique(request: ClinicRequest) -> HttpResponse:
    """One's own record; a prescriber, who has to know the hands, sees everybody's."""
    accounts = [request.user]
    if request.user.role == Role.PRESCRIBER:
        others = Account.objects.filter(is_active=True).exclude(pk=request.user.pk)
        accounts += list(others.exclude(role=Role.MANAGER).order_by("name"))
    policy, today = local_policy(), local_day(timezone.now())
    records = [
        HabitsOf(
            account,
            tuple(
                (material.replace("_", " "), habit_in_words(habit))
                for material, habit in habits_of(account, policy, today).items()
            ),
        )
        for account in accounts
    ]
    learnt = calibration(policy)
    sensor = (calibration_in_words(learnt, policy), *offsets_in_words(learnt))
    return show(request, TechniquePage(records, sensor))
