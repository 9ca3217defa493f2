"""Commands of whoever runs the clinic's server."""

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.output import console, plain_errors

audit = typer.Typer(no_args_is_help=True, help="The audit log.")
keys = typer.Typer(no_args_is_help=True, help="The keys that seal identities and files.")


def _set_up(*, prepare: bool = False) -> None:
    """Django with this environment; with ``prepare`` folder, secret and keys are made."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gaiter.operations.settings")
    from gaiter.operations.environment import read_environment

    environment = read_environment()
    if prepare:
        environment.prepare()
    import django

    django.setup()


def migrate() -> None:
    """Make or upgrade the database, and the keys where there are none."""
    with plain_errors():
        _set_up(prepare=True)
        _migrate()
        console.print("The database is up to date.", markup=False)


def _migrate() -> None:
    from django.core.management import call_command
    from django.db import OperationalError

    from gaiter.core.errors import InputError

    try:
        call_command("migrate", verbosity=0, interactive=False)
    except OperationalError as error:
        raise InputError(f"the database cannot be reached: {str(error).splitlines()[0]}") from None


def demo() -> None:
    """Fill an empty database with the invented demo clinic."""
    with plain_errors():
        _set_up(prepare=True)
        _migrate()
        from gaiter.operations.demo.make import make_demo
        from gaiter.operations.demo.people import PASSWORD

        make_demo(lambda words: console.print(words, markup=False))
        console.print(f"The password of every demo account is: {PASSWORD}", markup=False)


def account(
    username: Annotated[str, typer.Argument(help="User name.")],
    name: Annotated[str, typer.Option("--name", help="Name.")],
    initials: Annotated[str, typer.Option("--initials", help="Initials written on tape.")],
    role: Annotated[
        str, typer.Option("--role", help="prescriber, bandager, learner or manager.")
    ] = "manager",
) -> None:
    """Make an account and print the one-time link with which its owner chooses a password."""
    with plain_errors():
        _set_up(prepare=True)
        _migrate()
        from gaiter.records.actions.accounts import add_account, one_time_link
        from gaiter.records.ledger import Actor

        made = add_account(
            Actor(None, "command line"), username=username, name=name, initials=initials, role=role
        )
        console.print(
            f"Open this path of the clinic's address, once: {one_time_link(made)}", markup=False
        )


def serve(
    port: Annotated[
        int, typer.Option("--port", min=1, max=65535, help="Port on 127.0.0.1.")
    ] = 8000,
    workers: Annotated[int, typer.Option("--workers", min=1, max=32, help="Processes.")] = 4,
    threads: Annotated[int, typer.Option("--threads", min=1, max=64, help="Threads each.")] = 4,
) -> None:
    """Serve the clinic on 127.0.0.1; a TLS proxy stands in front of it for anybody else."""
    with plain_errors():
        _set_up(prepare=True)
        _migrate()
        _refuse_a_taken_port(port)
        from gaiter.records.models import Account

        if not Account.objects.exists():
            console.print(
                "There is no account yet: make the first manager with `gaiter account NAME --name "
                "... --initials ...`.", markup=False,
            )  # fmt: skip
        console.print(f"Gaiter serves http://127.0.0.1:{port} (stop it with Ctrl-C)", markup=False)
        sys.stdout.flush()
        os.execv(
            sys.executable,
            [
                sys.executable, "-m", "gunicorn", "gaiter.operations.server:application",
                "--bind", f"127.0.0.1:{port}", "--workers", str(workers),
                "--threads", str(threads),
                "--timeout", "120", "--keep-alive", "30", "--log-level", "warning", "--preload",
            ],
        )  # fmt: skip


def _refuse_a_taken_port(port: int) -> None:
    import socket

    from gaiter.core.errors import InputError

    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            raise InputError(
                f"port {port} is taken: stop what runs there or choose another with --port"
            ) from None


def backup(
    file: Annotated[Path, typer.Argument(help="File to write.")],
) -> None:
    """Write an encrypted backup, consistent while the clinic runs, and prove it by restoring it."""
    with plain_errors():
        _set_up()
        from gaiter.operations.backup import write_backup

        report = write_backup(file)
        console.print(
            f"{file}: {report.rows} rows of {report.tables} tables, audit log of {report.audit} "
            f"entries. Restored into a scratch database and compared: the same.", markup=False,
        )  # fmt: skip


def restore(
    file: Annotated[Path, typer.Argument(help="File that `gaiter backup` wrote.")],
) -> None:
    """Fill an empty database from a backup."""
    with plain_errors():
        _set_up()
        from django.conf import settings

        from gaiter.core.errors import InputError

        if settings.GAITER_KEY_RING is None:
            raise InputError(
                f"the clinic's own keys are needed: put them at {settings.GAITER.keys_file} first"
            )
        _migrate()
        from gaiter.operations.backup import read_backup

        report = read_backup(file)
        console.print(f"Restored {report.rows} rows of {report.tables} tables.", markup=False)


@audit.command("verify")
def verify(
    head: Annotated[
        str, typer.Option("--head", help="Hash of the last entry, as you kept it.")
    ] = "",
) -> None:
    """Prove that no entry of the audit log was changed, removed or slipped in."""
    with plain_errors():
        _set_up()
        from gaiter.core.errors import InputError
        from gaiter.records.ledger import broken_at
        from gaiter.records.models import AuditEntry

        broken = broken_at()
        if broken is not None:
            raise InputError(
                f"the audit log does not hold: entry {broken} does not follow from the one before"
            )
        last = AuditEntry.objects.order_by("-number").first()
        if head and not AuditEntry.objects.filter(hash=head).exists():
            raise InputError(f"no entry has the hash {head}: entries after it were taken away")
        console.print(
            f"The audit log holds: {last.number if last else 0} entries, the last one "
            f"{last.hash if last else 'none'}.", markup=False,
        )  # fmt: skip


@keys.command("add")
def add_key() -> None:
    """Add a sealing key; from now on everything is sealed under it. Keep the old ones."""
    with plain_errors():
        _set_up(prepare=True)
        from django.conf import settings

        name = settings.GAITER.add_key()
        console.print(
            f"Key {name} is the current one: restart the server, then `gaiter keys reseal`.",
            markup=False,
        )


@keys.command("reseal")
def reseal() -> None:
    """Seal every row anew under the current key. Backups and the audit log keep the old keys."""
    with plain_errors():
        _set_up()
        from gaiter.operations.rotate import reseal_rows

        console.print(f"{reseal_rows()} rows are sealed under the current key.", markup=False)
