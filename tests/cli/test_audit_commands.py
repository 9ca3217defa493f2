"""What the audit log proves, asked on the command line of a clinic of its own."""

import json
import sqlite3

import pytest

pytestmark = pytest.mark.long


def test_a_record_that_holds_is_said_to_with_its_length(real) -> None:
    code, said = real.run("audit", "verify", "--json")
    told = json.loads(said)
    with sqlite3.connect(real.database) as database:
        (entries,) = database.execute("SELECT count(*) FROM records_auditentry").fetchone()
    database.close()
    assert (code, told["holds"], told["entries"], told["anchors"]) == (0, True, entries, 0)
    assert real.run("audit", "verify", "--head", told["head"])[0] == 0


def test_a_head_that_is_no_entry_is_refused(real) -> None:
    code, said = real.run("audit", "verify", "--head", "0" * 63 + "1")
    assert code == 2
    assert "entries after it were taken away" in said


def test_a_row_changed_past_the_program_is_named(real) -> None:
    """By somebody who has the file: the guards of the tables go first."""
    with sqlite3.connect(real.database) as database:
        named = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in named:
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("UPDATE records_visit SET day = '1999-01-01'")
    database.close()
    code, said = real.run("audit", "verify")
    assert code == 2
    assert "the audit log does not hold" in said
    assert "visit" in said.casefold()


def test_the_head_is_noted_and_held_against_the_log(real, tmp_path) -> None:
    noted = tmp_path / "anchors"
    code, said = real.run("audit", "head", "--append", str(noted), "--json")
    assert code == 0
    assert json.loads(said)["hash"] in noted.read_text()
    assert (
        json.loads(real.run("audit", "verify", "--anchor", str(noted), "--json")[1])["anchors"] == 1
    )
    noted.write_text(noted.read_text().replace(json.loads(said)["hash"], "f" * 64))
    assert real.run("audit", "verify", "--anchor", str(noted))[0] == 2
