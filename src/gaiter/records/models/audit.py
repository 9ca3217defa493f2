"""The audit log: append-only, each entry chained to the one before it."""

from typing import Any

from django.db import models

from gaiter.records.ledger import Row


class AuditEntry(Row):
    """One action: who, when, what, from where, and before and after of every row."""

    number = models.PositiveBigIntegerField(primary_key=True)
    at = models.DateTimeField()
    account_id = models.BigIntegerField(null=True)
    who = models.CharField(max_length=40)
    role = models.CharField(max_length=12)
    where = models.CharField(max_length=60)
    verb = models.CharField(max_length=60)
    subject = models.CharField(max_length=60, db_index=True)
    changes = models.TextField()
    once = models.CharField(max_length=64, null=True, unique=True)
    previous = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["previous"], name="one_entry_after_another"),
        ]

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Only ever a new one."""
        if not kwargs.get("force_insert"):
            raise RuntimeError("an audit entry is never changed")
        super().save(*args, **kwargs)
