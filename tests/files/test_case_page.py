"""docs/case.md lists what the record of a case says."""

from pathlib import Path

from gaiter.files.case_fields import case_tables, required_paths
from scripts.case_page import PAGE, page


def test_the_case_page_is_what_the_record_says() -> None:
    text = PAGE.read_text()
    assert text == page(text), "run python scripts/case_page.py"


def test_the_page_lists_what_is_required_and_every_value() -> None:
    text = Path("docs/case.md").read_text()
    for path in required_paths():
        assert f"- `{path}`" in text
    for table in case_tables():
        for field in table.fields:
            assert f"| `{field.name}`" in text
            assert f" | {field.allowed} | " in text
