"""How accounts get in: one-time links, second factors and their recovery codes."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gaiter.records.ledger import Row
from gaiter.records.models.account import Account
from gaiter.records.sealing import SealedText


class Grant(Row):
    """What a manager does to somebody's way in; its owner reads it at the next sign-in.

    ``guarded`` ones count only once a second manager has approved them. A link keeps the SHA-256
    of its code, never the code.
    """

    class Kind(models.TextChoices):
        """What is granted."""

        LINK = "link", _("one-time link")
        REMOVAL = "removal", _("removal of the second factor")

    kind = models.CharField(max_length=8, choices=Kind.choices)
    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="grants")
    by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+", null=True)
    at = models.DateTimeField()
    until = models.DateTimeField()
    words = SealedText()
    secret = models.CharField(max_length=64, blank=True, db_index=True)
    guarded = models.BooleanField()
    second = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+", null=True)
    second_at = models.DateTimeField(null=True)
    used_at = models.DateTimeField(null=True)
    used_from = models.CharField(max_length=60, blank=True)
    ended_at = models.DateTimeField(null=True)
    shown_at = models.DateTimeField(null=True)


class SecondFactor(Row):
    """The seed of somebody's six-digit codes; the last half minute used never counts again."""

    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="factors")
    seed = SealedText()
    made_at = models.DateTimeField()
    confirmed_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    last_step = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["account"],
                condition=Q(ended_at=None, confirmed_at__isnull=False),
                name="one_second_factor_an_account",
                violation_error_message=_("This account has a second factor already."),
            )
        ]


class RecoveryCode(Row):
    """A code for whoever lost the telephone, used once; kept as a slow hash of its fingerprint."""

    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="recovery_codes")
    fingerprint = models.CharField(max_length=128)
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
