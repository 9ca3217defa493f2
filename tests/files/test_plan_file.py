import json
from pathlib import Path

import jsonschema
import pytest

from gaiter.core.plan import plan
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.plan_file import plan_json, read_plan, write_folder
from gaiter.files.policy_file import shipped_policy
from gaiter.files.schema import DOCUMENTS, schema_json
from gaiter.files.wording import FileError
from tests.strategies import case, case_mapping

KEPT = Path(__file__).parent / "plans"
SHIPPED = Path(__file__).parents[2] / "src/gaiter/data/schemas"


def test_a_plan_reads_back_as_it_was_written(tmp_path: Path) -> None:
    made = plan(case(), shipped_policy(), shipped_catalogue(), samples=256)
    path = tmp_path / "plan.json"
    path.write_text(plan_json(made))
    assert read_plan(path) == made


@pytest.mark.parametrize("kept", sorted(KEPT.glob("*.json")), ids=lambda path: path.stem)
def test_a_plan_that_somebody_kept_is_still_what_was_written(kept: Path) -> None:
    """Written by an earlier version: a field that came since is not part of its fingerprint.

    Whenever a plan's document gets a field, one that was written before goes into this folder.
    """
    read = read_plan(kept)
    again = json.loads(plan_json(read))
    assert again == json.loads(kept.read_text())


def test_documents_obey_their_schemas() -> None:
    made = plan(case(), shipped_policy(), shipped_catalogue(), samples=256)
    jsonschema.validate(json.loads(plan_json(made)), json.loads(schema_json("plan")))
    jsonschema.validate(case_mapping(), json.loads(schema_json("case")))


@pytest.mark.parametrize("document", list(DOCUMENTS))
def test_shipped_schemas_are_current(document: str) -> None:
    """Regenerate: gaiter schema DOCUMENT > src/gaiter/data/schemas/DOCUMENT-1.schema.json."""
    assert (SHIPPED / f"{document}-1.schema.json").read_text() == schema_json(document)


def test_schema_gives_units_and_ranges() -> None:
    schema = json.loads(schema_json("case"))
    ankle = schema["$defs"]["Girths"]["properties"]["ankle"]
    assert (ankle["unit"], ankle["minimum"], ankle["maximum"]) == ("cm", 13, 60)


def test_a_folder_is_complete_or_untouched(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write_folder(folder, {"a.txt": b"1"})
    (folder / "mine.txt").write_text("kept")
    with pytest.raises(FileError, match="cannot be written"):
        write_folder(folder, {"a.txt": b"2", "no/such/folder.txt": b"3"})
    assert (folder / "a.txt").read_bytes() == b"1"
    assert (folder / "mine.txt").read_text() == "kept"
    write_folder(folder, {"a.txt": b"2"})
    assert (folder / "a.txt").read_bytes() == b"2"
    assert (folder / "mine.txt").read_text() == "kept"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_file_in_the_way_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(FileError, match="cannot be written"):
        write_folder(tmp_path / "out", {"a.txt": b"1"})
