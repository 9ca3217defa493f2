"""Practice bandages: nobody's treatment, kept for whoever learns."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from gaiter.core.applied.document import TAKEN_VERSION
from gaiter.records.ledger import Row
from gaiter.records.models.account import Account


class Attempt(Row):
    """One practice bandage: the task, what was read on it, and what that told."""

    class Limb(models.TextChoices):
        """What was bandaged."""

        COLLEAGUE = "colleague", _("a colleague's leg")
        LIMB = "limb", _("a training limb")

    by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="attempts")
    at = models.DateTimeField()
    task = models.CharField(max_length=40)
    limb = models.CharField(max_length=10, choices=Limb.choices)
    system = models.CharField(max_length=40)
    plan = models.TextField(help_text="The gaiter.plan/1 document of the task")
    document = models.TextField(help_text="The gaiter.applied/1 document")
    hands = models.JSONField(help_text="As of a bandage that was read")
    taken = models.PositiveSmallIntegerField(default=TAKEN_VERSION)
    mean_off_mmhg = models.FloatField(help_text="Mean over judged sites, applied off the plan")

    @property
    def title(self) -> str:
        """The task as people say it."""
        return self.task.replace("-", " ").capitalize()
