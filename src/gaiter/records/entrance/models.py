"""What passes: a browser that is signed in, and tries that went wrong."""

from django.db import models


class Session(models.Model):
    """A browser: the SHA-256 of its key, and what it carries, sealed."""

    key_hash = models.CharField(max_length=64, unique=True)
    content = models.BinaryField()
    account_id = models.BigIntegerField(null=True, db_index=True)
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    ends_at = models.DateTimeField(db_index=True)
    where = models.CharField(max_length=60, blank=True)


class Tries(models.Model):
    """How often one address, name, browser, session or account went wrong since a moment."""

    fingerprint = models.CharField(max_length=64, unique=True)
    count = models.PositiveIntegerField(default=0)
    since = models.DateTimeField(db_index=True)
