"""``gaiter serve``: the clinic's pages, on this machine alone unless a TLS proxy is set up."""

import errno
import ipaddress
import os
import socket
import sys
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.clinic_commands import clinic_errors, migrated, set_up
from gaiter.cli.output import console, errors
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from gaiter.operations.environment import Environment

# More than what one account may keep waiting at once, should all of it fall to one process
# (web/frame/bodies and web/frame/workload).
THREADS = 16
_LOOPBACK_NAMES = ("127.0.0.1", "localhost")


def serve(
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Port.")] = 8000,
    bind: Annotated[
        str,
        typer.Option(
            "--bind",
            metavar="ADDRESS",
            help="Address to listen on. Anything but this machine's own needs GAITER_HOSTS and "
            "GAITER_HTTPS=yes.",
        ),
    ] = "127.0.0.1",
    workers: Annotated[int, typer.Option("--workers", min=1, max=32, help="Processes.")] = 4,
    threads: Annotated[
        int, typer.Option("--threads", min=1, max=64, help="Threads each.")
    ] = THREADS,
) -> None:
    """Serve the clinic on this machine; a TLS proxy stands in front of it for anybody else."""
    with clinic_errors():
        environment = set_up(prepare=True)
        address = listening_address(bind, environment)
        migrated()
        _refuse_a_demo_for_others(address, environment)
        _refuse_a_taken_port(address, port)
        _warn_of_an_owner()
        from gaiter.records.models import Account

        if not Account.objects.exists():
            console.print(
                "There is no account yet: make the first manager with `gaiter account NAME --name "
                "... --initials ...`.", markup=False,
            )  # fmt: skip
        where = f"[{address}]:{port}" if ":" in address else f"{address}:{port}"
        console.print(f"Gaiter serves http://{where} (stop it with Ctrl-C)", markup=False)
        sys.stdout.flush()
        os.execv(
            sys.executable,
            [
                sys.executable, "-m", "gunicorn", "gaiter.operations.server:application",
                "--bind", where, "--workers", str(workers), "--threads", str(threads),
                "--timeout", "120", "--keep-alive", "30", "--preload",
                "--worker-class", "gaiter.operations.worker.PatientWorker",
                "--logger-class", "gaiter.operations.server_log.JsonLogger",
                "--log-level", "warning",
            ],
        )  # fmt: skip


def listening_address(bind: str, environment: "Environment") -> str:
    """The address to listen on.

    Parameters
    ----------
    bind : str
        As given: an IP address, or ``localhost``.
    environment : Environment
        Beyond this machine it must name the clinic's hosts and say that TLS stands in front.

    Raises
    ------
    InputError
        If it is no address, or patients' data would travel where the settings do not guard it.
    """
    try:
        address = ipaddress.ip_address("127.0.0.1" if bind == "localhost" else bind)
    except ValueError:
        raise InputError(
            f"--bind must be an IP address such as 127.0.0.1, or localhost; received {bind!r}: "
            f"correct it"
        ) from None
    if address.is_loopback:
        return str(address)
    missing = []
    if not set(environment.hosts) - set(_LOOPBACK_NAMES):
        missing.append("GAITER_HOSTS (the names under which the clinic is reached)")
    if not environment.https:
        missing.append("GAITER_HTTPS=yes (a TLS proxy stands in front)")
    if missing:
        raise InputError(
            f"--bind {bind} is reached from other machines and needs {' and '.join(missing)}: "
            f"set {'them' if len(missing) > 1 else 'it'}, or leave --bind out"
        )
    return str(address)


def _refuse_a_demo_for_others(address: str, environment: "Environment") -> None:
    """Everybody knows the passwords of a demonstration: it is served to this machine alone."""
    from gaiter.records.demonstration import is_demonstration

    others = sorted(set(environment.hosts) - set(_LOOPBACK_NAMES))
    beyond = [] if ipaddress.ip_address(address).is_loopback else [f"--bind {address}"]
    beyond += [f"GAITER_HOSTS {', '.join(others)}"] if others else []
    beyond += ["GAITER_HTTPS=yes"] if environment.https else []
    if beyond and is_demonstration():
        raise InputError(
            f"this is the demonstration, whose passwords everybody knows: it is served on "
            f"127.0.0.1 only, without {' and '.join(beyond)}"
        )


def _warn_of_an_owner() -> None:
    from gaiter.operations.database_roles import owner_that_serves

    if owner := owner_that_serves():
        errors.print(
            f"The role {owner} owns the clinic's tables and could drop them: let another role "
            f"serve (`gaiter database-roles`, docs/operate.md).", markup=False,
        )  # fmt: skip


def _refuse_a_taken_port(address: str, port: int) -> None:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except OSError as error:
            raise InputError(_why_not(error, address, port)) from None


def _why_not(error: OSError, address: str, port: int) -> str:
    if error.errno == errno.EADDRNOTAVAIL:
        return f"--bind {address} is no address of this machine: correct it"
    if error.errno == errno.EACCES:
        return f"port {port} needs more rights than this user has: choose one from 1024 up"
    return f"port {port} is taken: stop what runs there or choose another with --port"
