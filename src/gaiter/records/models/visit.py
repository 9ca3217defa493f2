"""Visits, and what was entered at each."""

from django.db import models

from gaiter.records.action import Row
from gaiter.records.models.account import Account
from gaiter.records.models.person import Episode
from gaiter.records.sealing import SealedText


class Visit(Row):
    """One encounter about one leg."""

    episode = models.ForeignKey(Episode, on_delete=models.PROTECT, related_name="visits")
    day = models.DateField()
    opened_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    next_visit = models.DateField(null=True)
    signed_at = models.DateTimeField(null=True)
    signed_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")


class Entry(Row):
    """One value in one box, by one author; nothing that was entered is ever lost."""

    class State(models.TextChoices):
        """Whether it counts."""

        CURRENT = "current"
        PAST = "past"
        RIVAL = "rival"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="entries")
    path = models.CharField(max_length=80)
    value = models.JSONField(null=True)
    words = SealedText(null=True)
    state = models.CharField(max_length=7, choices=State.choices)
    author = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "path"],
                condition=models.Q(state="current"),
                name="one_current_entry_a_box",
            )
        ]


class OverrideRecord(Row):
    """A prescriber sets soft stops aside at one visit."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="overrides")
    codes = models.JSONField()
    maximum_mmhg = models.FloatField()
    reason = models.CharField(max_length=60)
    words = SealedText()
    prescriber = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)
