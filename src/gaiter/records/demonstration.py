"""Whether the database is a demonstration: invented people, and passwords that everybody knows."""

from functools import cache

from django.db import connection

from gaiter.records.ledger import Actor, action
from gaiter.records.models import Account, Mark

_NAME = "demo"


def mark_demonstration(actor: Actor) -> None:
    """The database says for ever that it is a demonstration."""
    with action(actor, "mark as a demonstration", "demo") as act:
        act.create(Mark, name=_NAME, value="yes")


def is_demonstration() -> bool:
    """Whether the database says so, or holds an account of a demonstration from before marks."""
    there = connection.introspection.table_names()
    if Mark._meta.db_table in there and Mark.objects.filter(name=_NAME).exists():
        return True
    return Account._meta.db_table in there and Account.objects.filter(demo=True).exists()


@cache
def served_as_demonstration() -> bool:
    """The same, asked once a process: what is served does not change its nature."""
    return is_demonstration()
