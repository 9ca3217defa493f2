"""Plans: proposed, approved, replaced, withdrawn or voided; an approved one is never edited."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from gaiter.records.ledger import Row
from gaiter.records.models.account import Account, StandingOrder
from gaiter.records.models.constraints import above_nothing
from gaiter.records.models.visit import Visit
from gaiter.records.sealing import SealedText


class PlanRecord(Row):
    """One ``gaiter.plan/1`` document of one leg; its first system is the one to bandage."""

    class State(models.TextChoices):
        """What a plan is good for."""

        PROPOSED = "proposed", _("waits for approval")
        APPROVED = "approved", _("approved")
        SUPERSEDED = "superseded", _("superseded")
        WITHDRAWN = "withdrawn", _("withdrawn")
        VOIDED = "voided", _("voided by what was found")

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="plans")
    document = models.TextField()
    sha256 = models.CharField(max_length=64)
    case = models.TextField(help_text="The gaiter.case/1 document it was planned from")
    system = models.CharField(max_length=40)
    maximum_mmhg = models.FloatField()
    state = models.CharField(max_length=10, choices=State.choices)
    proposed_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    proposed_at = models.DateTimeField()
    approved_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    approved_at = models.DateTimeField(null=True)
    order = models.ForeignKey(StandingOrder, on_delete=models.PROTECT, null=True)
    accepted = models.JSONField(
        null=True, help_text="Places above their maximum that the prescriber accepted by name"
    )
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, related_name="+",
        help_text="Who withdrew it; null: replaced, or voided by the program",
    )  # fmt: skip
    ended_why = SealedText(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit"],
                condition=models.Q(state="approved"),
                name="one_approved_plan_a_visit",
                violation_error_message=_("Another plan was approved a moment ago: look at it."),
            ),
            models.UniqueConstraint(
                fields=["visit", "state"],
                condition=models.Q(state="proposed"),
                name="one_proposal_a_visit",
                violation_error_message=_("Another plan was proposed a moment ago: look at it."),
            ),
            above_nothing("maximum_mmhg", "plan_of_a_pressure"),
        ]

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Document and case are written once; the database refuses a change as well."""
        fields = kwargs.get("update_fields")
        if not self._state.adding and (
            fields is None or set(fields) & {"document", "sha256", "case", "system"}
        ):
            raise RuntimeError("a plan is superseded, never edited")
        super().save(*args, **kwargs)
