"""People, the episodes of their legs, and what hangs on them."""

from datetime import date

from django.db import models
from django.utils.translation import gettext_lazy as _

from gaiter.core.landmark import Side
from gaiter.records.ledger import Row
from gaiter.records.models.account import Account
from gaiter.records.models.constraints import both_or_neither
from gaiter.records.sealing import SealedBytes, SealedText


class Person(Row):
    """Minimal identifiers, sealed; found by blind indices."""

    name = SealedText()
    birth_date = SealedText()
    number = SealedText()
    phone = SealedText()
    name_index = models.CharField(max_length=64, db_index=True)
    number_index = models.CharField(
        max_length=64,
        unique=True,
        error_messages={
            "unique": _("A person with this number is in the record already: search for it.")
        },
    )
    invented = models.BooleanField(default=False)
    created_at = models.DateTimeField()

    @property
    def born(self) -> date:
        """Day of birth."""
        return date.fromisoformat(self.birth_date)

    def age_on(self, day: date) -> int:
        """Whole years on a day."""
        born = self.born
        return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


class Episode(Row):
    """The series of visits for one leg until closed."""

    class Outcome(models.TextChoices):
        """How an episode ended."""

        HEALED = "healed", _("healed")
        MAINTENANCE = "maintenance", _("goes on with maintenance")
        REFERRED = "referred", _("referred elsewhere")
        MOVED = "moved", _("moved or stopped coming")
        DIED = "died", _("died")

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="episodes")
    side = models.CharField(max_length=5, choices=[(s.value, s.value) for s in Side])
    reference = models.CharField(max_length=12, unique=True)
    opened_on = models.DateField()
    closed_on = models.DateField(null=True)
    outcome = models.CharField(max_length=12, choices=Outcome.choices, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "side"],
                condition=models.Q(closed_on=None),
                name="one_open_episode_a_leg",
                violation_error_message=_(
                    "This leg has an open episode already: go on with that one."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(closed_on=None, outcome="")
                | (models.Q(closed_on__isnull=False) & ~models.Q(outcome="")),
                name="closed_with_an_outcome",
                violation_error_message=_("An episode is closed with its outcome, on a day."),
            ),
        ]


class Note(Row):
    """A note on an episode."""

    episode = models.ForeignKey(Episode, on_delete=models.PROTECT, related_name="notes")
    words = SealedText()
    author = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()


class StoredFile(Row):
    """A photo or a paper, sealed; a photo carries nothing of the camera any more."""

    class Kind(models.TextChoices):
        """What a file is."""

        PHOTO = "photo", _("wound photo")
        OUTLINE = "outline", _("traced outline")
        CONSENT = "consent", _("photo consent")
        OTHER = "other", _("other paper")

    episode = models.ForeignKey(Episode, on_delete=models.PROTECT, related_name="files")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    title = SealedText()
    mime = models.CharField(max_length=40)
    content = SealedBytes()
    size = models.PositiveIntegerField()
    author = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()


class CallBack(Row):
    """A phone call to return."""

    episode = models.ForeignKey(Episode, on_delete=models.PROTECT, related_name="calls")
    why = SealedText()
    author = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    outcome = SealedText(null=True)

    class Meta:
        constraints = [both_or_neither("done_at", "done_by", "call_with_its_hand")]
