"""What the database says of itself."""

from django.db import models

from gaiter.records.ledger import Row


class Mark(Row):
    """One fact about the whole database.

    ``key.NAME`` holds the check value of a sealing key, ``index`` that of the index key (see
    ``records/keys.py``); ``demo`` is there where everything is invented.
    """

    name = models.CharField(max_length=60, unique=True)
    value = models.CharField(max_length=64)
