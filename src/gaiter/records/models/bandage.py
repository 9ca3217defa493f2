"""What was put on, checked, read, loosened and taken off."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from gaiter.core.applied.document import TAKEN_VERSION
from gaiter.core.words import Said, from_document
from gaiter.records.ledger import Row
from gaiter.records.models.account import Account
from gaiter.records.models.constraints import both_or_neither
from gaiter.records.models.person import Episode
from gaiter.records.models.plan import PlanRecord
from gaiter.records.models.visit import Visit
from gaiter.records.sealing import SealedText


class Bandaging(Row):
    """A bandage applied by an approved plan; one that was said by mistake stays as undone."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="bandagings")
    plan = models.ForeignKey(PlanRecord, on_delete=models.PROTECT, related_name="bandagings")
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()
    off_by = models.DateField()
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    undone_why = SealedText(null=True)

    class Meta:
        constraints = [both_or_neither("undone_at", "undone_by", "undone_with_its_hand")]


class Check(Row):
    """The boxes of the sheet, ticked once, with the verdict on them.

    ``deed`` holds what was done where it was said together with the boxes; what is done later
    stands in `Deed`. ``verdict`` is empty for checks that were kept before there were verdicts.
    """

    class Moment(models.TextChoices):
        """When it was checked."""

        AFTER = "after", _("right after bandaging")
        WALKED = "walked", _("after 10 to 15 minutes' walking")
        LATER = "later", _("at a later look")

    class Deed(models.TextChoices):
        """What was done about something bad."""

        LOOSENED = "loosened", _("loosened")
        REDONE = "redone", _("taken off and bandaged again")
        TAKEN_OFF = "taken_off", _("taken off")
        CALLED = "called", _("prescriber called")

    bandaging = models.ForeignKey(Bandaging, on_delete=models.PROTECT, related_name="checks")
    moment = models.CharField(max_length=8, choices=Moment.choices)
    answers = models.JSONField()
    bad = models.JSONField()
    verdict = models.CharField(max_length=22, blank=True, default="")
    failed = models.JSONField(default=list, help_text="Boxes that were not good, in words")
    deed = models.CharField(max_length=10, choices=Deed.choices, blank=True)
    words = SealedText()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()

    @property
    def seen(self) -> tuple[Said, ...]:
        """Boxes that were not good, for any language."""
        return tuple(map(from_document, self.failed))


class Deed(Row):
    """What was done about a bandage that was not good, and the look ten minutes later."""

    class Kind(models.TextChoices):
        """What was done, or seen afterwards."""

        LOOSENED = "loosened", _("loosened")
        TAKEN_OFF = "taken_off", _("taken off")
        REDONE = "redone", _("taken off and bandaged again")
        CALLED = "called", _("prescriber called")
        RECOVERED = "recovered", _("looked again: as before the bandage")
        NOT_RECOVERED = "not_recovered", _("looked again: not as before")
        HANDED_OVER = "handed_over", _("handed over as an emergency")
        CLEARED = "cleared", _("cleared by a prescriber")

    bandaging = models.ForeignKey(Bandaging, on_delete=models.PROTECT, related_name="deeds")
    kind = models.CharField(max_length=14, choices=Kind.choices)
    words = SealedText()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()


class Reading(Row):
    """A mark spacing or overlap [cm] of a layer, or a sensor's pressure [mmHg] at a place."""

    class Kind(models.TextChoices):
        """What was read."""

        SPACING = "spacing", _("mark spacing, cm")
        OVERLAP = "overlap", _("overlap, cm")
        SENSOR = "sensor", _("sensor, mmHg")

    bandaging = models.ForeignKey(Bandaging, on_delete=models.PROTECT, related_name="readings")
    kind = models.CharField(max_length=7, choices=Kind.choices)
    layer = models.PositiveSmallIntegerField()
    place = models.CharField(max_length=30)
    value = models.FloatField()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(value__gte=0),
                name="reading_of_something",
                violation_error_message=_("A reading must be 0 or more: correct it."),
            )
        ]


class AppliedRecord(Row):
    """One ``gaiter.applied/1`` document: what the readings so far told, and the advice given.

    ``hands`` and ``sensor`` are taken from the document, so that a list need not open it, and say
    with ``taken`` by which version; whoever reads an older one takes them from the document anew.
    ``sensor`` ends with the sites beside the gaiter; without that list it is an older one too.
    """

    bandaging = models.ForeignKey(Bandaging, on_delete=models.PROTECT, related_name="applied")
    document = models.TextField()
    advice = models.CharField(max_length=14)
    system = models.CharField(max_length=40)
    hands = models.JSONField(help_text="Material, height, log tension over planned, its error")
    sensor = models.JSONField(null=True, help_text="Log measured over theory, its error, values")
    taken = models.PositiveSmallIntegerField(default=TAKEN_VERSION)
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()


class BandageEvent(Row):
    """A bandage loosened or taken off; anyone may record it at any time."""

    class Kind(models.TextChoices):
        """What happened."""

        LOOSENED = "loosened", _("loosened")
        TAKEN_OFF = "taken_off", _("taken off")

    episode = models.ForeignKey(Episode, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=9, choices=Kind.choices)
    words = SealedText()
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()
