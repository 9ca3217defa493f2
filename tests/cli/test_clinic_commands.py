"""Commands of whoever runs the server: what a slip of theirs cannot do to a clinic."""

import json
import os
import shutil
import sqlite3
import stat
import subprocess

import pytest

from tests.folder_clinic import ROOT, Clinic

pytestmark = pytest.mark.long

ACCOUNT = ("account", "second", "--name", "Second", "--initials", "S")
# Every command that opens the database of a clinic. Each is refused before it does anything.
OPENING = {
    "migrate": ("migrate",),
    "serve": ("serve", "--port", "1"),
    "account": ACCOUNT,
    "link": ("link", "bandager"),
    "remove-factor": ("remove-factor", "bandager", "--why", "lost on the bus"),
    "backup": ("backup", "copy.gaiter"),
    "audit verify": ("audit", "verify"),
    "keys add": ("keys", "add"),
    "keys reseal": ("keys", "reseal"),
}


_BEFORE_MARKS = """
import django
django.setup()
from django.core.management import call_command
call_command("migrate", "records", "0012_seals_bound_to_rows", verbosity=0)
"""


def one_sentence(said: str) -> bool:
    return said.count("\n") == 1 and "Traceback" not in said


@pytest.mark.parametrize("words", OPENING.values(), ids=list(OPENING))
def test_missing_keys_are_never_replaced(real, words, tmp_path, monkeypatch) -> None:
    real.keys.unlink()
    before = real.held()
    code, said = real.run(*words)
    assert (code, one_sentence(said)) == (2, True), said
    assert "the database was sealed under key" in said
    assert f"which {real.keys} does not hold: put the clinic's own key file there" in said
    assert real.held() == before
    assert not (ROOT / "copy.gaiter").exists()


def test_keys_of_another_clinic_are_refused_and_named(real, empty) -> None:
    assert empty.run("migrate")[0] == 0
    own = json.loads(real.keys.read_text())["current"]
    shutil.copy(empty.keys, real.keys)
    before = real.held()
    code, said = real.run("migrate")
    assert (code, one_sentence(said), own in said) == (2, True, True), said
    code, said = real.run("keys", "verify")
    assert (code, f"{own}: NOT held in {real.keys}" in said) == (2, True), said
    assert real.held() == before
    # Merged, the old values open again; the index key is still another one.
    code, said = real.run("keys", "merge", str(real.folder / "none"))
    assert (code, "must be a key file as Gaiter writes it" in said) == (2, True), said


def test_a_key_file_that_was_put_aside_is_merged(real, tmp_path) -> None:
    """The first key is lost from the file and found again in an older one."""
    whole = tmp_path / "older.json"
    shutil.copy(real.keys, whole)
    ring = json.loads(whole.read_text())
    code, said = real.run("keys", "add", "--json")
    new = json.loads(said)["key"]
    stored = json.loads(real.keys.read_text())
    del stored["keys"][ring["current"]]
    real.keys.write_text(json.dumps(stored))
    assert real.run("migrate")[0] == 2
    code, said = real.run("keys", "merge", str(whole))
    assert (code, said) == (0, f"Added: {ring['current']}. Restart the server.\n")
    code, said = real.run("keys", "verify", "--json")
    told = {one["key"]: one for one in json.loads(said)["keys"]}
    assert (code, set(told)) == (0, {ring["current"], new, "index"})
    assert told[ring["current"]]["values"] > 0 == told[new]["values"]
    assert real.run("migrate") == (0, "The database is up to date.\n")


def test_a_clinic_from_before_check_values_is_asked_for_its_sealed_values(real) -> None:
    """As an upgrade finds it: keys called 1 and no table of marks."""
    code, said = real.python(_BEFORE_MARKS)
    assert code == 0, said
    kept = real.keys.read_bytes()
    real.keys.unlink()
    before = real.held()
    code, said = real.run("migrate")
    assert (code, "put the clinic's own key file there" in said) == (2, True), said
    assert real.held() == before
    real.keys.write_bytes(kept)
    assert real.run("migrate")[0] == 0
    assert real.run("keys", "verify")[0] == 0
    with sqlite3.connect(real.database) as database:
        names = {name for (name,) in database.execute("SELECT name FROM records_mark")}
    database.close()
    assert names == {"index", f"key.{json.loads(kept)['current']}"}


def test_two_first_runs_at_once_make_one_key_file(empty) -> None:
    command = "from gaiter.cli import main; import sys; sys.argv[1:] = ['migrate']; main()"
    runs = [
        subprocess.Popen(
            [os.environ.get("PYTHON", "python"), "-c", command], env=empty.environment(), cwd=ROOT,
            stderr=subprocess.PIPE, stdout=subprocess.DEVNULL,
        )
        for _ in range(2)
    ]  # fmt: skip
    for run in runs:
        run.communicate()
    assert sorted(path.name for path in empty.folder.iterdir()) == [
        "clinic.sqlite3", "keys.json", "secret",
    ]  # fmt: skip
    assert stat.S_IMODE(empty.keys.stat().st_mode) == 0o600
    assert empty.run("account", "x1", "--name", "X", "--initials", "X")[0] == 0


@pytest.mark.parametrize("words", [("backup", "x"), ("audit", "verify"), ("keys", "reseal")])
def test_where_no_clinic_is_none_is_made(empty, words) -> None:
    empty.folder.mkdir()
    code, said = empty.run(*words)
    assert (code, f"there is no clinic in {empty.folder}" in said) == (2, True), said
    assert list(empty.folder.iterdir()) == []


def test_a_clinic_of_another_version_is_told_to_migrate(real) -> None:
    with sqlite3.connect(real.database) as database:
        database.execute("DROP TABLE records_attempt")
    database.close()
    code, said = real.run("backup", str(real.folder / "copy"))
    assert (code, one_sentence(said), "run `gaiter migrate`" in said) == (2, True, True), said
    assert not list(real.folder.glob("*copy*"))


# The demo, small: its first person only. "FAIL" ends the process as a kill does, half way.
_DEMO = """
import os, sys
from gaiter.cli import clinic_commands
migrated = clinic_commands.migrated
def first():
    migrated()
    from gaiter.operations.demo import make
    real = make.make_demo
    def small(say):
        real(say, make.SPECS[:1])
        if os.environ.get("FAIL"):
            os._exit(9)
    make.make_demo = small
clinic_commands.migrated = first
from gaiter.cli import main
sys.argv[1:] = ["demo", *sys.argv[1:]]
main()
"""


def test_a_demo_is_made_aside_and_is_whole_when_it_is_there(empty) -> None:
    code, _said = empty.python(_DEMO, FAIL="yes")
    assert code == 9
    assert not empty.folder.exists()
    (left,) = empty.folder.parent.glob(".empty-demo-*")
    assert stat.S_IMODE(left.stat().st_mode) == 0o700
    code, said = empty.python(_DEMO)
    assert (code, "The password of every demo account is" in said) == (0, True), said
    assert list(empty.folder.parent.glob(".empty-demo-*")) == []
    assert set(empty.held()) == {"clinic.sqlite3", "keys.json", "secret"}
    before = empty.held()
    assert empty.python(_DEMO, "--keep") == (0, "The demo is there.\n")
    code, said = empty.python(_DEMO)
    assert (code, "the demo is there already" in said) == (2, True)
    assert empty.held() == before
    _served_on_loopback_only(empty)


def _served_on_loopback_only(demo: Clinic) -> None:
    behind = {"GAITER_HOSTS": "gaiter.clinic.example", "GAITER_HTTPS": "yes"}
    for more, settings, named in (
        (("--bind", "0.0.0.0"), behind, "--bind 0.0.0.0"),
        ((), behind, "GAITER_HOSTS gaiter.clinic.example and GAITER_HTTPS=yes"),
        ((), {"GAITER_HTTPS": "yes"}, "without GAITER_HTTPS=yes"),
    ):
        code, said = demo.run("serve", "--port", "1", *more, **settings)
        assert code == 2
        assert "this is the demonstration, whose passwords everybody knows" in said
        assert named in said


@pytest.mark.parametrize("keep", [(), ("--keep",)], ids=["demo", "start"])
def test_a_clinic_is_never_taken_for_a_demo(real, keep) -> None:
    before = real.held()
    code, said = real.run("demo", *keep)
    assert (code, one_sentence(said)) == (2, True), said
    assert "holds the database of a clinic that is no demo; it was left as it is" in said
    assert real.held() == before


def test_an_empty_database_is_nobodys_demo_either(empty) -> None:
    empty.run("migrate")
    before = empty.held()
    code, said = empty.run("demo", "--keep")
    assert (code, "a clinic that is no demo" in said) == (2, True), said
    assert empty.held() == before


def test_a_folder_with_anything_in_it_is_left_as_it_is(empty) -> None:
    """Keys of a clinic whose database is elsewhere, for instance."""
    empty.folder.mkdir()
    (empty.folder / "keys.json").write_text("{}")
    code, said = empty.run("demo")
    assert (code, "is not empty (keys.json): a demo is made in a new folder" in said) == (2, True)
    assert empty.held() == {"keys.json": b"{}"}


def test_start_never_deletes_a_clinic(real, tmp_path) -> None:
    """It removed the database of every folder that held no file called ready."""
    place = tmp_path / "checkout"
    (place / "scripts").mkdir(parents=True)
    shutil.copy(ROOT / "start", place)
    (place / "scripts/environment.sh").write_text("environment() { :; }\n")
    (place / ".venv/bin").mkdir(parents=True)
    program = place / ".venv/bin/gaiter"
    program.write_text('#!/bin/sh\nexec python -m gaiter "$@"\n')
    program.chmod(0o755)
    before = real.held()
    done = subprocess.run(
        ["sh", str(place / "start"), "1"], env=real.environment(), capture_output=True, text=True,
        check=False, timeout=300,
    )  # fmt: skip
    assert real.held() == before
    assert (done.returncode, "a clinic that is no demo" in done.stderr) == (2, True)
