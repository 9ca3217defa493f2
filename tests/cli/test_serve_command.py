"""Where ``gaiter serve`` may listen, and what stops it."""

import os
import socket
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.cli.serve_command import (
    THREADS,
    _refuse_a_demo_for_others,
    _refuse_a_taken_port,
    listening_address,
)
from gaiter.core.errors import InputError
from gaiter.operations.environment import read_environment
from gaiter.operations.worker import SHARE_OF_ONE
from gaiter.web.frame.bodies import BODIES_OF_ONE
from gaiter.web.frame.workload import PLACES_OF_ONE

pytestmark = pytest.mark.long

ALONE = read_environment({})
BEHIND_A_PROXY = read_environment({"GAITER_HOSTS": "gaiter.clinic.example", "GAITER_HTTPS": "yes"})


@pytest.mark.parametrize(
    ("bind", "address"),
    [("127.0.0.1", "127.0.0.1"), ("localhost", "127.0.0.1"), ("::1", "::1"), ("127.9.9.9",) * 2],
)
def test_this_machine_needs_no_settings(bind: str, address: str) -> None:
    assert listening_address(bind, ALONE) == address


@pytest.mark.parametrize("bind", ["0.0.0.0", "::", "10.0.0.5", "2001:db8::1"])
def test_other_machines_need_hosts_and_tls(bind: str) -> None:
    assert listening_address(bind, BEHIND_A_PROXY) == bind
    for settings, missing in (
        ({}, "GAITER_HOSTS .* and GAITER_HTTPS=yes .*: set them"),
        ({"GAITER_HTTPS": "yes"}, r"needs GAITER_HOSTS \(the names .*\): set it, or leave"),
        ({"GAITER_HOSTS": "a.example"}, r"needs GAITER_HTTPS=yes \(a TLS proxy .*\): set it"),
        ({"GAITER_HOSTS": "localhost", "GAITER_HTTPS": "yes"}, "needs GAITER_HOSTS"),
    ):
        with pytest.raises(InputError, match=missing):
            listening_address(bind, read_environment(settings))


@pytest.mark.parametrize("bind", ["clinic.example", "127.0.0.1:8000", "", "999.1.1.1", "0"])
def test_a_name_is_no_address(bind: str) -> None:
    with pytest.raises(InputError, match="--bind must be an IP address such as 127.0.0.1"):
        listening_address(bind, BEHIND_A_PROXY)


def test_what_stands_in_the_way_of_a_port_is_said() -> None:
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        with pytest.raises(InputError, match=f"port {port} is taken: stop what runs there"):
            _refuse_a_taken_port("127.0.0.1", port)
    # 192.0.2.0/24 is kept for documentation (RFC 5737): no machine has it.
    with pytest.raises(InputError, match="--bind 192.0.2.1 is no address of this machine"):
        _refuse_a_taken_port("192.0.2.1", 8000)


@pytest.mark.parametrize(("owner", "said"), [("", ""), ("clinic_owner", "could drop them")])
def test_whoever_serves_as_the_owner_is_told_in_one_line(monkeypatch, capsys, owner, said) -> None:
    from gaiter.cli import serve_command
    from gaiter.operations import database_roles

    monkeypatch.setattr(database_roles, "owner_that_serves", lambda: owner)
    serve_command._warn_of_an_owner()
    told = " ".join(capsys.readouterr().err.split())
    assert (said in told, owner in told) == (True, True)
    assert told.count(":") == (1 if owner else 0)


def test_serving_asks_who_owns(monkeypatch) -> None:
    """Before the server takes the place of the command."""
    from gaiter.cli import serve_command

    asked = []
    monkeypatch.setattr(serve_command, "_warn_of_an_owner", lambda: asked.append(True))
    monkeypatch.setattr(serve_command, "set_up", lambda prepare: ALONE)
    monkeypatch.setattr(serve_command, "migrated", lambda: None)
    monkeypatch.setattr(serve_command, "_refuse_a_demo_for_others", lambda *_given: None)
    monkeypatch.setattr(serve_command, "_refuse_a_taken_port", lambda *_given: None)
    monkeypatch.setattr("gaiter.records.models.Account.objects.exists", lambda: True)
    monkeypatch.setattr(os, "execv", lambda *_given: asked.append("served"))
    assert CliRunner().invoke(app, ["serve"]).exit_code == 0
    assert asked == [True, "served"]


def test_the_command_refuses_before_it_touches_the_database(tmp_path, monkeypatch) -> None:
    from gaiter.cli import serve_command

    monkeypatch.setattr(serve_command, "set_up", lambda prepare: ALONE)
    monkeypatch.setattr(serve_command, "migrated", lambda: pytest.fail("it went on"))
    result = CliRunner().invoke(app, ["serve", "--bind", "0.0.0.0"])
    assert result.exit_code == 2
    assert "--bind 0.0.0.0 is reached from other machines and needs GAITER_HOSTS" in result.output


def test_workers_make_files_for_their_owner_alone(tmp_path) -> None:
    """What the server is started with is asked of the process that it becomes."""
    script = (
        "import os, sys\n"
        "def become(_program, words):\n"
        "    print('mask', oct(os.umask(0)), 'umask' in ' '.join(words))\n"
        "os.execv = become\n"
        "sys.argv = ['gaiter', 'serve', '--port', '65001']\n"
        "from gaiter.cli import main\n"
        "main()\n"
    )
    kept = {name: value for name, value in os.environ.items() if "GAITER" not in name}
    done = subprocess.run(
        [sys.executable, "-c", script], env={**kept, "GAITER_DATA": str(tmp_path / "data")},
        umask=0, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "mask 0o77 False" in done.stdout, done.stderr


@pytest.mark.parametrize(
    ("address", "given"),
    [
        ("0.0.0.0", {}),
        ("127.0.0.1", {"GAITER_HOSTS": "clinic.example"}),
        ("127.0.0.1", {"GAITER_HTTPS": "yes"}),
    ],
)
def test_a_demo_is_served_to_this_machine_alone(monkeypatch, address, given) -> None:
    monkeypatch.setattr("gaiter.records.demonstration.is_demonstration", lambda: True)
    with pytest.raises(InputError, match="served on 127.0.0.1 only"):
        _refuse_a_demo_for_others(address, read_environment(given))
    _refuse_a_demo_for_others("127.0.0.1", read_environment({}))


def test_one_account_never_holds_all_threads_of_a_process() -> None:
    """Four forms that arrive and three answers that wait may all fall to one of them."""
    assert BODIES_OF_ONE + PLACES_OF_ONE <= THREADS / 2
    # And as many as one address may have at the same time leave some for others.
    assert BODIES_OF_ONE + PLACES_OF_ONE < THREADS * SHARE_OF_ONE < THREADS
