"""Accounts, their roles, and standing orders."""

from typing import Any

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

from gaiter.core.case import Training
from gaiter.records.ledger import Actor, Row, action, in_action
from gaiter.records.models.constraints import above_nothing
from gaiter.records.sealing import SealedText


class Role(models.TextChoices):
    """What an account may do; see the table of roles in docs/operate.md."""

    PRESCRIBER = "prescriber", _("prescriber")
    BANDAGER = "bandager", _("bandager")
    LEARNER = "learner", _("learner")
    MANAGER = "manager", _("manager")


class Unit(models.TextChoices):
    """Unit in which an account reads and types lengths."""

    CM = "cm", _("centimetres")
    INCH = "in", _("inches")


class AccountManager(BaseUserManager["Account"]):
    """Finds accounts by name."""


class Account(AbstractBaseUser, Row):
    """Somebody who signs in."""

    username = models.CharField(
        max_length=40,
        unique=True,
        error_messages={"unique": _("This user name is taken: choose another.")},
    )
    name = models.CharField(max_length=80)
    initials = models.CharField(max_length=8)
    role = models.CharField(max_length=12, choices=Role.choices)
    training = models.CharField(
        max_length=30, choices=[(t.value, t.value) for t in Training], default=Training.TRAINED
    )
    unit = models.CharField(max_length=2, choices=Unit.choices, default=Unit.CM)
    is_active = models.BooleanField(default=True)
    demo = models.BooleanField(default=False)
    # Raised when whoever is signed in shall not be any longer; every session carries it.
    era = models.PositiveIntegerField(default=0)
    last_login = None  # the audit log knows it

    USERNAME_FIELD = "username"
    objects = AccountManager()

    def save(self, *args: Any, **kwargs: Any) -> None:
        """As every row; the framework renews the hash of an unchanged password in an action."""
        if kwargs.get("update_fields") == ["password"] and not in_action():
            renewed = self.password
            with action(Actor(None, "program"), "renew password hash", self) as act:
                act.change(self, password=renewed)
        else:
            super().save(*args, **kwargs)

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """What a session must carry to be this account's: it dies with password and era."""
        said = f"{self.password}:{self.era}"
        return salted_hmac(
            "gaiter.records.account", said, secret=secret, algorithm="sha256"
        ).hexdigest()

    def __str__(self) -> str:
        return self.name


class StandingOrder(Row):
    """What bandagers may do on a prescriber's word while the prescriber is away."""

    prescriber = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="orders")
    person = models.ForeignKey("Person", on_delete=models.PROTECT, null=True, blank=True)
    maximum_mmhg = models.FloatField()
    words = SealedText()
    starts = models.DateField()
    ends = models.DateField()
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            above_nothing("maximum_mmhg", "order_of_a_pressure"),
            models.CheckConstraint(
                condition=models.Q(ends__gte=models.F("starts")),
                name="order_ends_after_its_start",
                violation_error_message=_("An order ends on the day it starts, or later."),
            ),
        ]
