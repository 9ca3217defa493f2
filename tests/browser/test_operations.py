"""What whoever runs the server does, on a clinic that runs."""

import json
import shutil
import subprocess
import sys
import urllib.request

import pytest

from tests.browser.conftest import Server

pytestmark = pytest.mark.long


def told(server: Server, *arguments: str, **environment: str) -> tuple[int, str]:
    """Exit code and everything a command said."""
    command = [sys.executable, "-c", "from gaiter.cli import main; main()", *arguments]
    done = subprocess.run(
        command, env={**server.environment, **environment}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    return done.returncode, done.stdout + done.stderr


@pytest.fixture
def elsewhere(server, tmp_path):
    """Settings of an empty SQLite clinic with the same keys."""
    folder = tmp_path / "restored"
    folder.mkdir()
    shutil.copy(f"{server.environment['GAITER_DATA']}/keys.json", folder)
    return {"GAITER_DATA": str(folder), "GAITER_DATABASE": ""}


def test_health_names_no_patient(server) -> None:
    with urllib.request.urlopen(f"{server.address}/health/") as answer:
        said = json.loads(answer.read())
    assert set(said) == {"state", "version", "database", "audit_entries"}


def test_a_backup_of_a_running_clinic_restores_the_same(server, elsewhere, tmp_path) -> None:
    file = tmp_path / "copy.gaiter"
    code, words = told(server, "backup", str(file))
    assert (code, "compared: the same" in words) == (0, True), words
    assert b"Fenwick" not in file.read_bytes()
    code, words = told(server, "restore", str(file), **elsewhere)
    assert code == 0, words
    code, again = told(server, "audit", "verify", **elsewhere)
    assert "The audit log holds" in again
    second = tmp_path / "second.gaiter"
    assert told(server, "backup", str(second), **elsewhere)[0] == 0
    code, words = told(server, "restore", str(file), **elsewhere)
    assert (code, "not empty" in words) == (2, True)


def test_a_backup_that_was_cut_changed_or_is_none_is_refused(server, elsewhere, tmp_path) -> None:
    file = tmp_path / "copy.gaiter"
    told(server, "backup", str(file))
    whole = file.read_bytes()
    for content, words in (
        (whole[: len(whole) // 2], "was cut short or changed"),
        (whole[:200] + bytes([whole[200] ^ 1]) + whole[201:], "was cut short or changed"),
        (b"hello", "is no backup"),
    ):
        file.write_bytes(content)
        code, said = told(server, "restore", str(file), **elsewhere)
        assert (code, words in said) == (2, True), said


def test_a_restore_without_the_keys_says_so(server, tmp_path) -> None:
    file = tmp_path / "copy.gaiter"
    told(server, "backup", str(file))
    code, said = told(
        server, "restore", str(file), GAITER_DATA=str(tmp_path / "new"), GAITER_DATABASE=""
    )
    assert (code, "own keys are needed" in said) == (2, True)


def test_keys_are_rotated_and_everything_still_opens(fragile_server, sign_in) -> None:
    name = json.loads(fragile_server.run("keys", "add", "--json"))["key"]
    assert "rows are sealed" in fragile_server.run("keys", "reseal")
    assert f"{name}: held, " in fragile_server.run("keys", "verify")
    assert "The audit log holds" in fragile_server.run("audit", "verify")
    fragile_server.kill()
    fragile_server.start()
    page = sign_in(fragile_server, "mercer")
    page.goto(fragile_server.address + "/?show=all")
    assert "Viggo Hart" in page.content()


def test_a_demo_is_never_made_over_another(server) -> None:
    code, said = told(server, "demo")
    assert (code, "the demo is there already" in said) == (2, True)


def test_the_first_manager_gets_a_one_time_link(server) -> None:
    made = server.run("account", "second-alder", "--name", "Second", "--initials", "S")
    assert "/welcome/" in made
    code, said = told(server, "account", "second-alder", "--name", "S", "--initials", "S")
    assert (code, "is taken" in said) == (2, True)


def test_whoever_runs_the_server_makes_a_link_and_removes_a_lost_factor(server) -> None:
    assert "/welcome/#" in server.run("link", "Rowan")
    code, said = told(server, "link", "nobody-here")
    assert (code, "no account is called 'nobody-here'" in said) == (2, True)
    code, said = told(server, "remove-factor", "rowan", "--why", "telephone in the river")
    assert (code, "has no second factor" in said) == (2, True)


def test_a_taken_port_is_said(server) -> None:
    code, said = told(server, "serve", "--port", str(server.port))
    assert (code, f"port {server.port} is taken" in said) == (2, True)


def test_the_head_of_the_audit_log_is_noted_and_compared(server, tmp_path) -> None:
    file = tmp_path / "anchors"
    number, end, _at = server.run("audit", "head", "--append", str(file)).split()
    assert file.read_text().split()[:2] == [number, end]
    assert "1 anchors are part of it" in server.run("audit", "verify", "--anchor", str(file))
    file.write_text(f"{number} {'0' * 64}\n")
    code, said = told(server, "audit", "verify", "--anchor", str(file))
    assert (code, f"entry {number} is not the one" in said) == (2, True)


def test_a_wrong_head_of_the_audit_log_is_noticed(server) -> None:
    code, said = told(server, "audit", "verify", "--head", "0" * 64)
    assert (code, "taken away" in said) == (2, True)
