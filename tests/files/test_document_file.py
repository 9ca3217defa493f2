"""One kind of document is known from another, and says so in one line."""

from pathlib import Path

import pytest

from gaiter.core.applied.document import Applied
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Case, SafetyCase
from gaiter.core.fabric.bench_test import BenchTest
from gaiter.core.plan import Plan
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cohort_file import read_cohort
from gaiter.files.document_file import NAMES, kind_of, read_document
from gaiter.files.policy_file import read_policy
from gaiter.files.prices_file import read_prices
from gaiter.files.schema import DOCUMENTS
from gaiter.files.sensor_log_file import LogColumns, read_sensor_log
from gaiter.files.systems_file import read_systems
from gaiter.files.wording import FileError

CONTENT = {
    "gaiter.case": 'schema = "gaiter.case/1"',
    "gaiter.plan": 'schema = "gaiter.plan/1"',
    "gaiter.bench": 'schema = "gaiter.bench/1"',
    "gaiter.readings": 'schema = "gaiter.readings/1"',
    "gaiter.applied": 'schema = "gaiter.applied/1"',
    "gaiter.study": 'schema = "gaiter.study/1"',
    "gaiter.systems": 'schema = "gaiter.systems/1"',
    "policy": 'name = "Heron Ford"\nversion = "1"',
    "prices": 'currency = "EUR"\n[roll]\nzinc_paste = 1',
}
COLUMNS = LogColumns.stated("t", "s", "mmHg", {"gaiter": "p"})
READERS = {
    "a case": [lambda p: read_document(p, Case), lambda p: read_document(p, SafetyCase)],
    "a plan": [lambda p: read_document(p, Plan)],
    "a bench test": [lambda p: read_document(p, BenchTest)],
    "a set of readings": [lambda p: read_document(p, Readings)],
    "a bandage as applied": [lambda p: read_document(p, Applied)],
    "a policy": [read_policy],
    "a list of bandage systems": [lambda p: read_systems(p, shipped_catalogue())],
    "a list of prices": [lambda p: read_prices(p, ["zinc_paste"])],
    "a cohort, one leg a line,": [read_cohort],
    "a sensor's log, CSV,": [lambda p: read_sensor_log(p, COLUMNS, str(p))],
}


@pytest.mark.parametrize("wanted", READERS)
@pytest.mark.parametrize("given", CONTENT)
def test_a_wrong_document_is_one_line_with_the_path_as_given(tmp_path, given, wanted) -> None:
    path = tmp_path / "one.toml"
    path.write_text(CONTENT[given])
    if NAMES[given] == wanted:
        return
    for read in READERS[wanted]:
        with pytest.raises(FileError) as refused:
            read(path)
        assert str(refused.value) == f"{path}: this is {NAMES[given]}; {wanted} is wanted"


def test_every_document_has_a_name() -> None:
    assert CONTENT.keys() == NAMES.keys()
    for name in DOCUMENTS.keys() - {"policy"}:
        assert f"gaiter.{name}" in NAMES


def test_what_cannot_be_told_is_read_and_judged_field_by_field(tmp_path: Path) -> None:
    assert kind_of({"today": 1}) is None
    assert kind_of({"schema": "somebody.else/1", "name": 1, "version": 2}) is None
    path = tmp_path / "case.toml"
    path.write_text('schema = "gaiter.case/9"')
    with pytest.raises(FileError, match="schema: must be one of 'gaiter.case/1'"):
        read_document(path, Case)


def test_the_path_is_told_as_it_was_given(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("a").mkdir()
    Path("a/b.toml").write_text("schema = 1")
    with pytest.raises(FileError, match=r"^a/b\.toml: "):
        read_document(Path("a/b.toml"), Case)
    with pytest.raises(FileError, match=r"^a/c\.toml: cannot be read"):
        read_document(Path("a/c.toml"), Case)
