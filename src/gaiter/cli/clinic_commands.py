"""Commands of whoever runs the clinic's server."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.commands import add
from gaiter.cli.output import AsJson, console, note_written, plain_errors, print_mapping

if TYPE_CHECKING:
    from gaiter.operations.environment import Environment
    from gaiter.records.models import Account

keys = typer.Typer(no_args_is_help=True, help="The keys that seal identities and files.")


def set_up(*, prepare: bool = False) -> "Environment":
    """Django with this environment; with ``prepare`` folder, secret and keys are made."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gaiter.operations.settings")
    from gaiter.operations.environment import read_environment

    environment = read_environment()
    if prepare:
        environment.prepare()
    import django

    django.setup()
    return environment


def _say(words: str, as_json: bool, **result: object) -> None:
    """A result in words, or as JSON."""
    if as_json:
        print_mapping(result)
    else:
        console.print(words, markup=False)


def migrate(as_json: AsJson = False) -> None:
    """Make or upgrade the database, and the keys where there are none."""
    with plain_errors():
        set_up(prepare=True)
        migrated()
        _say("The database is up to date.", as_json, migrated=True)


def migrated() -> None:
    """The database at its newest form."""
    from django.core.management import call_command
    from django.db import OperationalError

    from gaiter.core.errors import InputError

    try:
        call_command("migrate", verbosity=0, interactive=False)
    except OperationalError as error:
        raise InputError(f"the database cannot be reached: {str(error).splitlines()[0]}") from None
    from gaiter.records.proof import take_in

    take_in()


def demo(as_json: AsJson = False) -> None:
    """Fill an empty database with the invented demo clinic."""
    with plain_errors():
        set_up(prepare=True)
        migrated()
        from gaiter.operations.demo.make import make_demo
        from gaiter.operations.demo.people import PASSWORD

        make_demo(lambda words: None if as_json else console.print(words, markup=False))
        words = f"The password of every demo account is: {PASSWORD}"
        _say(words, as_json, made=True, password=PASSWORD)


def account(
    username: Annotated[str, typer.Argument(help="User name.")],
    name: Annotated[str, typer.Option("--name", help="Name.")],
    initials: Annotated[str, typer.Option("--initials", help="Initials written on tape.")],
    role: Annotated[
        str, typer.Option("--role", help="prescriber, bandager, learner or manager.")
    ] = "manager",
    as_json: AsJson = False,
) -> None:
    """Make an account and print the one-time link with which its owner chooses a password."""
    with plain_errors():
        set_up(prepare=True)
        migrated()
        from gaiter.records.actions.accounts import add_account
        from gaiter.records.actions.grants import issue_link
        from gaiter.records.ledger import Actor

        made = add_account(
            Actor(None, "command line"), username=username, name=name, initials=initials, role=role
        )
        link = issue_link(Actor(None, "command line"), made).path
        words = f"Open this path of the clinic's address, once: {link}"
        _say(words, as_json, account=username, one_time_link=link)


def _named(username: str) -> "Account":
    from gaiter.core.errors import InputError
    from gaiter.records.models import Account

    found = Account.objects.filter(username=username.strip().lower()).first()
    if found is None:
        raise InputError(f"no account is called {username!r}: look under Accounts")
    return found


def link(
    username: Annotated[str, typer.Argument(help="User name.")],
    as_json: AsJson = False,
) -> None:
    """Print a new one-time link of an account; every older one ends, and its owner is told."""
    with plain_errors():
        set_up()
        from gaiter.records.actions.grants import issue_link
        from gaiter.records.ledger import Actor

        found = _named(username)
        made = issue_link(Actor(None, "command line"), found)
        words = f"Open this path of the clinic's address, once: {made.path}"
        if made.asks_code:
            words += "\nIt asks for a code of the second factor as well."
        _say(words, as_json, account=found.username, one_time_link=made.path)


def remove_factor(
    username: Annotated[str, typer.Argument(help="User name.")],
    why: Annotated[str, typer.Option("--why", help="How you know that it is lost.")],
    as_json: AsJson = False,
) -> None:
    """Remove the second factor of somebody who lost it; its owner is told at the next sign-in."""
    with plain_errors():
        set_up()
        from gaiter.records.actions.grants import ask_removal
        from gaiter.records.ledger import Actor

        found = _named(username)
        ask_removal(Actor(None, "command line"), found, why)
        _say("The second factor is removed.", as_json, account=found.username, removed=True)


def backup(
    file: Annotated[Path, typer.Argument(help="File to write.")],
    as_json: AsJson = False,
) -> None:
    """Write an encrypted backup, consistent while the clinic runs, and prove it by restoring it."""
    with plain_errors():
        set_up()
        from gaiter.operations.backup import write_backup

        report = write_backup(file)
        note_written(file)
        _say(
            f"{file}: {report.rows} rows of {report.tables} tables, audit log of {report.audit} "
            f"entries. Restored into a scratch database and compared: the same.",
            as_json, file=str(file), rows=report.rows, tables=report.tables, audit=report.audit,
        )  # fmt: skip


def restore(
    file: Annotated[Path, typer.Argument(help="File that `gaiter backup` wrote.")],
    as_json: AsJson = False,
) -> None:
    """Fill an empty database from a backup."""
    with plain_errors():
        set_up()
        from django.conf import settings

        from gaiter.core.errors import InputError

        if settings.GAITER_KEY_RING is None:
            raise InputError(
                f"the clinic's own keys are needed: put them at {settings.GAITER.keys_file} first"
            )
        migrated()
        from gaiter.operations.backup import read_backup

        report = read_backup(file)
        words = f"Restored {report.rows} rows of {report.tables} tables."
        _say(words, as_json, rows=report.rows, tables=report.tables)


def add_key(as_json: AsJson = False) -> None:
    """Add a sealing key; from now on everything is sealed under it. Keep the old ones."""
    with plain_errors():
        set_up(prepare=True)
        from django.conf import settings

        name = settings.GAITER.add_key()
        words = f"Key {name} is the current one: restart the server, then `gaiter keys reseal`."
        _say(words, as_json, key=name)


def reseal(as_json: AsJson = False) -> None:
    """Seal every row anew under the current key. Backups and the audit log keep the old keys."""
    with plain_errors():
        set_up()
        from gaiter.operations.rotate import reseal_rows

        rows = reseal_rows()
        _say(f"{rows} rows are sealed under the current key.", as_json, rows=rows)


add(keys, add_key, name="add")
add(keys, reseal, name="reseal")
