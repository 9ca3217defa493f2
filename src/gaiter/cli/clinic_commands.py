"""Commands of whoever runs the clinic's server."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.commands import add
from gaiter.cli.output import (
    BAD_INPUT,
    AsJson,
    console,
    errors,
    note_written,
    plain_errors,
    print_mapping,
)
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from gaiter.operations.environment import Environment
    from gaiter.records.models import Account

keys = typer.Typer(no_args_is_help=True, help="The keys that seal identities and files.")


def set_up(*, prepare: bool = False) -> "Environment":
    """Django with this environment; with ``prepare`` folder and secret are made."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gaiter.operations.settings")
    from gaiter.operations.closed_files import close_files, keep_new_files_closed
    from gaiter.operations.environment import read_environment

    keep_new_files_closed()
    environment = read_environment()
    if prepare:
        environment.prepare()
    if closed := close_files(environment):
        errors.print(closed, markup=False)
    import django

    django.setup()
    return environment


@contextmanager
def clinic_errors() -> Iterator[None]:
    """As every command; what a database refuses is one sentence as well."""
    with plain_errors():
        try:
            yield
        except Exception as error:
            if said := _of_the_database(error):
                raise InputError(said) from None
            raise


def _of_the_database(error: Exception) -> str:
    """What a fault of the database means for whoever runs it; empty where it is none."""
    from django.db import DatabaseError, OperationalError

    from gaiter.records.storage import is_full

    if is_full(error):
        return "the disk of the database is full, and nothing was changed: make room and try again"
    if isinstance(error, OperationalError):
        text = (str(error).splitlines() or ["no answer"])[0]
        if "no such table" not in text and "no such column" not in text:
            return f"the database cannot be reached: {text}"
    if isinstance(error, DatabaseError):
        return (
            f"the database cannot be used ({(str(error).splitlines() or [''])[0]}): run "
            f"`gaiter migrate` if it is of another version"
        )
    return ""


def opened_database() -> None:
    """The database of a running clinic; its keys are held.

    Raises
    ------
    InputError
        If there is none, or it is sealed under other keys.
    """
    from django.conf import settings
    from django.db import connection

    from gaiter.records.keys import require_keys

    place = settings.DATABASES["default"]["NAME"]
    if connection.vendor == "sqlite" and not Path(place).exists():
        raise InputError(
            f"there is no clinic in {settings.GAITER.folder}: make one with `gaiter migrate`, or "
            f"say where it is (GAITER_DATA)"
        )
    require_keys()


def migrated() -> None:
    """The database at its newest form; of a new one the keys are made, never of an old one.

    Raises
    ------
    InputError
        If it holds rows and is sealed under keys that are not held: nothing was changed.
    """
    from django.conf import settings
    from django.core.management import call_command

    from gaiter.records.keys import note_keys, require_keys
    from gaiter.records.proof import take_in

    require_keys()
    if settings.GAITER_KEY_RING is None:
        settings.GAITER.make_keys()
        settings.GAITER_KEY_RING = settings.GAITER.key_ring()
    call_command("migrate", verbosity=0, interactive=False)
    note_keys()
    take_in()


def say(words: str, as_json: bool, **result: object) -> None:
    """A result in words, on one line however long, or as JSON."""
    if as_json:
        print_mapping(result)
    else:
        console.print(words, markup=False, soft_wrap=True)


def migrate(as_json: AsJson = False) -> None:
    """Make or upgrade the database, and the keys of a new one."""
    with clinic_errors():
        set_up(prepare=True)
        migrated()
        say("The database is up to date.", as_json, migrated=True)


def database_roles(
    role: Annotated[str, typer.Argument(help="Name of the role that serves.")] = "gaiter_serves",
    as_json: AsJson = False,
) -> None:
    """Print the SQL for a PostgreSQL role that may serve the clinic and no more."""
    with clinic_errors():
        set_up()
        from gaiter.operations.database_roles import role_statements

        said = role_statements(role)
        words = "\n".join(f"{statement};" for statement in ["BEGIN", *said, "COMMIT"])
        say(words, as_json, role=role, statements=said)


def demo(
    keep: Annotated[
        bool, typer.Option("--keep", help="Leave a demo that is there as it is.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Make the invented demo clinic in a new folder, or in an empty PostgreSQL database."""
    with clinic_errors():
        from gaiter.operations.demo.aside import a_demo_is_there, aside
        from gaiter.operations.demo.people import PASSWORD
        from gaiter.operations.environment import read_environment

        environment = read_environment()
        if a_demo_is_there(environment, set_up):
            if not keep:
                raise InputError("the demo is there already: serve it with `gaiter serve`")
            say("The demo is there.", as_json, made=False, password=PASSWORD)
            return
        with aside(environment):
            set_up(prepare=True)
            migrated()
            from django.db import transaction

            from gaiter.operations.demo.make import make_demo
            from gaiter.records.keys import note_keys

            if not as_json:
                console.print("Making the demo clinic, once; it takes about a minute ...")
            with transaction.atomic():
                make_demo(lambda words: None if as_json else console.print(words, markup=False))
                note_keys()
        words = f"The password of every demo account is: {PASSWORD}"
        say(words, as_json, made=True, password=PASSWORD)


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
    with clinic_errors():
        set_up(prepare=True)
        migrated()
        from gaiter.records.actions.accounts import add_account
        from gaiter.records.actions.grants import issue_link
        from gaiter.records.keys import note_keys
        from gaiter.records.ledger import Actor

        made = add_account(
            Actor(None, "command line"), username=username, name=name, initials=initials, role=role
        )
        note_keys()
        link = issue_link(Actor(None, "command line"), made).path
        words = f"Open this path of the clinic's address, once: {link}"
        say(words, as_json, account=username, one_time_link=link)


def _named(username: str) -> "Account":
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
    with clinic_errors():
        set_up()
        opened_database()
        from gaiter.records.actions.grants import issue_link
        from gaiter.records.ledger import Actor

        found = _named(username)
        made = issue_link(Actor(None, "command line"), found)
        words = f"Open this path of the clinic's address, once: {made.path}"
        if made.asks_code:
            words += "\nIt asks for a code of the second factor as well."
        say(words, as_json, account=found.username, one_time_link=made.path)


def remove_factor(
    username: Annotated[str, typer.Argument(help="User name.")],
    why: Annotated[str, typer.Option("--why", help="How you know that it is lost.")],
    as_json: AsJson = False,
) -> None:
    """Remove the second factor of somebody who lost it; its owner is told at the next sign-in."""
    with clinic_errors():
        set_up()
        opened_database()
        from gaiter.records.actions.grants import ask_removal
        from gaiter.records.ledger import Actor

        found = _named(username)
        ask_removal(Actor(None, "command line"), found, why)
        say("The second factor is removed.", as_json, account=found.username, removed=True)


def backup(
    file: Annotated[Path, typer.Argument(help="File to write.")],
    as_json: AsJson = False,
) -> None:
    """Write an encrypted backup, consistent while the clinic runs, and prove it by restoring it."""
    with clinic_errors():
        set_up()
        opened_database()
        from gaiter.operations.backup import write_backup

        report = write_backup(file)
        note_written(file)
        say(
            f"{file}: {report.rows} rows of {report.tables} tables, audit log of {report.audit} "
            f"entries. Every row was restored in memory and compared: the same.",
            as_json, file=str(file), rows=report.rows, tables=report.tables, audit=report.audit,
        )  # fmt: skip


def restore(
    file: Annotated[Path, typer.Argument(help="File that `gaiter backup` wrote.")],
    as_json: AsJson = False,
) -> None:
    """Fill an empty database from a backup."""
    with clinic_errors():
        set_up()
        from django.conf import settings

        from gaiter.operations.backup import read_backup, require_backup
        from gaiter.records.keys import holds_rows, note_keys

        if settings.GAITER_KEY_RING is None:
            raise InputError(
                f"the clinic's own keys are needed: put them at {settings.GAITER.keys_file} first"
            )
        require_backup(file)
        if holds_rows():
            raise InputError("the database is not empty: restore into a new one (GAITER_DATA)")
        migrated()
        report = read_backup(file)
        note_keys()
        words = f"Restored {report.rows} rows of {report.tables} tables."
        say(words, as_json, rows=report.rows, tables=report.tables)


def add_key(as_json: AsJson = False) -> None:
    """Add a sealing key; from now on everything is sealed under it. Keep the old ones."""
    with clinic_errors():
        set_up()
        opened_database()
        from django.conf import settings

        from gaiter.records.keys import note_keys

        if settings.GAITER_KEY_RING is None:
            raise InputError("there are no keys yet: make the clinic with `gaiter migrate`")
        name = settings.GAITER.add_key()
        settings.GAITER_KEY_RING = settings.GAITER.key_ring()
        note_keys()
        words = f"Key {name} is the current one: restart the server, then `gaiter keys reseal`."
        say(words, as_json, key=name)


def merge_keys(
    file: Annotated[Path, typer.Argument(help="Another key file of this clinic.")],
    as_json: AsJson = False,
) -> None:
    """Add the sealing keys of another key file, so that what they sealed can be read."""
    with clinic_errors():
        set_up()
        from django.conf import settings

        if settings.GAITER_KEY_RING is None:
            raise InputError(
                f"there is no key file to add to: put the clinic's own at "
                f"{settings.GAITER.keys_file}"
            )
        names = settings.GAITER.merge_keys(file)
        words = f"Added: {', '.join(names)}. Restart the server." if names else "Nothing to add."
        say(words, as_json, keys=list(names))


def verify_keys(as_json: AsJson = False) -> None:
    """Say of every key that the database knows whether it is held, and what is sealed under it."""
    with clinic_errors():
        environment = set_up()
        from gaiter.records.keys import key_states

        states = key_states()
        if as_json:
            print_mapping(
                {"keys": [{"key": s.name, "held": s.held, "values": s.values} for s in states]}
            )
        for state in () if as_json else states:
            held = "held" if state.held else f"NOT held in {environment.keys_file}"
            console.print(f"{state.name}: {held}, {state.values} sealed values", markup=False)
        if not states and not as_json:
            console.print("The database knows no key yet: nothing is sealed in it.", markup=False)
        if not all(state.held for state in states):
            raise typer.Exit(BAD_INPUT)


def reseal(as_json: AsJson = False) -> None:
    """Seal every row anew under the current key. Backups and the audit log keep the old keys."""
    with clinic_errors():
        set_up()
        opened_database()
        from gaiter.operations.rotate import reseal_rows

        rows = reseal_rows()
        say(f"{rows} rows are sealed under the current key.", as_json, rows=rows)


add(keys, add_key, name="add")
add(keys, merge_keys, name="merge")
add(keys, verify_keys, name="verify")
add(keys, reseal, name="reseal")
