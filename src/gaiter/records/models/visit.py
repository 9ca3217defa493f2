"""Visits, and what was entered at each."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from gaiter.records.ledger import Row
from gaiter.records.models.account import Account, StandingOrder
from gaiter.records.models.constraints import above_nothing, both_or_neither
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

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["episode"],
                condition=models.Q(signed_at=None),
                name="one_open_visit_a_leg",
                violation_error_message=_("This leg has an open visit already: go on with it."),
            ),
            both_or_neither("signed_at", "signed_by", "signature_with_its_hand"),
        ]


class Entry(Row):
    """One value in one box, by one author; nothing that was entered is ever lost."""

    class State(models.TextChoices):
        """Whether it counts."""

        CURRENT = "current"
        PAST = "past"
        RIVAL = "rival"
        # Typed after the signature: a correction. It stands beside what was signed, and counts at
        # later visits.
        AFTER = "after"

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
                violation_error_message=_(
                    "Somebody else filled this box a moment ago: load the page again and look."
                ),
            )
        ]

    @staticmethod
    def words_of(key: int, sealed: Any) -> str:
        """Words in the clear, of the entry with this key, as a list of columns has them."""
        field: Any = Entry._meta.get_field("words")
        return field.opened(sealed, key)


class OverrideRecord(Row):
    """A prescriber sets one soft stop aside at one visit, with an aim and a maximum of its own."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="overrides")
    code = models.CharField(max_length=60)
    aim_low_mmhg = models.FloatField(null=True, help_text="null: made before an aim was asked for")
    aim_high_mmhg = models.FloatField(null=True)
    maximum_mmhg = models.FloatField()
    reason = models.CharField(max_length=60)
    words = SealedText()
    vascular_by = models.CharField(max_length=80, blank=True)
    vascular_on = models.DateField(null=True)
    prescriber = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "code"],
                condition=models.Q(withdrawn_at=None),
                name="one_override_a_stop",
                violation_error_message=_("This stop is set aside already: look at the visit."),
            ),
            above_nothing("maximum_mmhg", "override_of_a_pressure"),
        ]


class ProvisionalRecord(Row):
    """Local policy's provisional level, chosen while something is still to be measured."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="provisionals")
    order = models.ForeignKey(
        StandingOrder, on_delete=models.PROTECT, null=True,
        help_text="The clinic's order that a bandager chose it under; null: a prescriber chose",
    )  # fmt: skip
    words = SealedText()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit"],
                condition=models.Q(withdrawn_at=None),
                name="one_provisional_level_a_visit",
                violation_error_message=_("A provisional level was chosen already: look at it."),
            )
        ]


class StopAction(Row):
    """What was done about a stop: to whom the person was referred, and when."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="stop_actions")
    code = models.CharField(max_length=60)
    referred_to = models.CharField(max_length=120)
    on = models.DateField()
    words = SealedText()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()


class StopCleared(Row):
    """A prescriber says that a stop of an earlier visit stands no more, and why."""

    episode = models.ForeignKey(Episode, on_delete=models.PROTECT, related_name="stops_cleared")
    code = models.CharField(max_length=60)
    words = SealedText()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()
