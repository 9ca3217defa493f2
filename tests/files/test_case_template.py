"""An empty case can be filled in and read back."""

import re
import tomllib
from pathlib import Path

import pytest

from gaiter.files.case_fields import case_tables, materials
from gaiter.files.case_file import case_from_mapping, read_case
from gaiter.files.case_template import OPTIONAL, REQUIRED, case_template
from gaiter.files.wording import FileError

EXAMPLE = tomllib.loads(Path("examples/inner-ankle-ulcer.toml").read_text())
HEADING = re.compile(r"^(?:#[?!] )?\[\[?([^\]]+)\]\]?$")


def filled(template: str, values: dict[str, str]) -> str:
    """The template with some lines written and their marks taken away."""
    lines, table, left = [], "", dict(values)
    for line in template.split("\n"):
        if heading := HEADING.match(line):
            table = heading[1]
            line = line.removeprefix(REQUIRED)  # noqa: PLW2901
        name = re.match(r"#[!?] (\w+) =$", line)
        path = f"{table}.{name[1]}" if name and table else name[1] if name else ""
        lines.append(f"{name[1]} = {left.pop(path)}" if name and path in left else line)
    assert not left
    return "\n".join(lines)


def written(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


def required_values() -> dict[str, str]:
    values = {}
    for table in case_tables():
        for field in table.fields:
            if table.required and field.required and field.name != "schema":
                found: object = EXAMPLE
                for part in field.path.split("."):
                    found = found[part]
                values[field.path] = written(found)
    return values


def test_it_reads_back_once_the_required_lines_are_filled_in(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(filled(case_template(), required_values()))
    case = read_case(path)
    assert case.legs["right"].girth_cm.ankle == EXAMPLE["legs"]["right"]["girth_cm"]["ankle"]
    assert case.person.diabetes is None


def test_each_required_line_is_required_and_no_other_is(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    values = required_values()
    needed_tables = {table.path for table in case_tables() if table.required}
    for left_out in values:
        path.write_text(filled(case_template(), {k: v for k, v in values.items() if k != left_out}))
        with pytest.raises(FileError) as refused:
            read_case(path)
        assert left_out.removeprefix("legs.right.") in str(refused.value)
    marked = 0
    table = ""
    for line in case_template().split("\n"):
        if heading := HEADING.match(line):
            table = heading[1]
        elif line.startswith(REQUIRED):
            marked += table in needed_tables
    assert marked == len(values)


def test_an_unfilled_template_is_refused_field_by_field(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(case_template())
    with pytest.raises(FileError) as refused:
        read_case(path)
    assert "today: required and missing; give a date" in str(refused.value)
    assert "legs.right.purpose: required and missing; give one of venous ulcer" in str(
        refused.value
    )


ONE_OF_EACH = {"infection": "local", "side": "inner", "place": "inner ankle", "bypass": "deep"}


def test_every_line_can_be_written_with_what_stands_beside_it() -> None:
    """All marks taken away and every field given its first value, or the low end of its range."""
    values = {}
    for table in case_tables():
        for field in table.fields:
            if field.name != "schema":
                values[field.path] = first_value(field.name, field.allowed)
    values["legs.right.findings.forefoot_amputation"] = "false"
    values |= required_values()
    values |= {
        "legs.right.position_cm.metatarsal_heads": "18", "legs.right.position_cm.instep": "13",
        "legs.right.position_cm.gaiter": "19", "legs.right.foot_length_cm": "25",
        "legs.right.overrides.aim_high_mmhg": "20", "legs.right.overrides.maximum_mmhg": "30",
        "legs.right.arterial.measured_on": EXAMPLE["today"].isoformat(),
        "stock.<material>.rolls": "1", "stock.<material>.curve.locking_stretch": "1.5",
    }  # fmt: skip
    text = filled(case_template(), values)
    text = re.sub(r"^#\? \[", "[", text, flags=re.M)
    text = text.replace("<material>", materials()[0]).replace("<system>", "four_layer")
    assert not re.search(r"^#[!?]", text, re.M)
    case = case_from_mapping(tomllib.loads(text))
    assert case.calibration is not None
    assert case.legs["right"].overrides


def first_value(name: str, allowed: str) -> str:
    """A value that the words beside a field allow."""
    if name in ONE_OF_EACH:
        assert f'"{ONE_OF_EACH[name]}"' in allowed
        return f'"{ONE_OF_EACH[name]}"'
    if allowed.startswith("a list"):
        return f"[{first_value('', allowed.split(': ', 1)[1])}]"
    if allowed.startswith('"'):
        return allowed.split(", ", maxsplit=1)[0]
    for words, value in (
        ("a date", "2026-11-20"), ("true or false", "true"),
        ("text of 10", '"in ten signs"'), ("text", '"AB"'),
    ):  # fmt: skip
        if allowed.startswith(words):
            return value
    return re.search(r"(-?[\d.]+) to", allowed)[1]


def test_marks_are_explained() -> None:
    head = case_template().split("schema =")[0]
    assert REQUIRED.strip() in head
    assert OPTIONAL.strip() in head
