"""What is packed, what it is called, and what works without any extra."""

import ast
import io
import re
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

from gaiter.files.extras import EXTRA_OF_MODULE
from scripts.release_check import left_out_of

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
BASE = {"numpy", "pydantic", "pydantic_core", "rich", "scipy", "typer", "typst"}
# Runs commands with every package of an extra blocked, as if it were not installed.
BLOCKED = f"""
import sys
from typer.testing import CliRunner

class Absent:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {sorted(EXTRA_OF_MODULE)}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Absent())
from gaiter.cli import app

for words in sys.stdin.read().splitlines():
    done = CliRunner().invoke(app, words.split("|"))
    print(done.exit_code, done.output.replace("\\n", " ")[:400], flush=True)
"""


def without_extras(commands: list[list[str]], cwd: Path) -> list[tuple[int, str]]:
    """Exit code and output of each command."""
    said = subprocess.run(
        [sys.executable, "-c", BLOCKED], input="\n".join("|".join(words) for words in commands),
        cwd=cwd, check=True, capture_output=True, text=True,
    ).stdout.splitlines()  # fmt: skip
    return [(int(code), text) for code, _space, text in (line.partition(" ") for line in said)]


@pytest.mark.long
def test_the_base_commands_work_without_any_extra(tmp_path: Path) -> None:
    examples = ROOT / "examples"
    log = ["log", f"{examples}/sensor/gaiter-and-calf.csv", "--time", "time (s)"]
    log += ["--time-unit", "s", "--unit", "mmHg", "--site", "gaiter=gaiter (mmHg)"]
    readings = str(examples / "readings/inner-ankle-ulcer.toml")
    made = without_extras(
        [
            ["plan", f"{examples}/inner-ankle-ulcer.toml", "--out", "made"],
            ["safety", f"{examples}/suspected-clot.toml"],
            ["sheet", "made/plan.json"],
            ["mesh", f"{examples}/inner-ankle-ulcer.toml", "--out", "leg.obj", "--strips"],
            ["applied", "made/plan.json", readings, "--out", "applied"],
            ["technique", "applied/applied.json", "--training", "trained", "--today", "2026-11-25"],
            ["bench", f"{examples}/bench/long-stretch.toml"],
            log,
            ["reckon", "--tension-n", "10.6", "--girth-cm", "25", "--thicknesses", "2"],
            ["schema", "plan"],
        ],
        tmp_path,
    )
    assert [code for code, _text in made] == [0, 3, 0, 0, 0, 0, 0, 0, 0, 0], made


def test_a_command_without_its_extra_says_in_one_sentence_which_to_install(tmp_path: Path) -> None:
    commands = [
        ["demo"], ["migrate"], ["serve"], ["backup", "x"], ["restore", "x"], ["audit", "verify"],
        ["keys", "add"], ["account", "a", "--name", "A", "--initials", "A"],
        ["study", str(ROOT / "examples/cohort/six-legs.csv"), "--out", "study"],
    ]  # fmt: skip
    for words, (code, said) in zip(commands, without_extras(commands, tmp_path), strict=True):
        extra = "study" if words[0] == "study" else "clinic"
        assert code == 2, said
        assert f"pip install 'gaiter[{extra}]'" in said
        assert "Traceback" not in said
        assert said.count("this needs the extra") == 1


def test_every_foreign_package_belongs_to_the_base_or_to_an_extra() -> None:
    found: dict[str, Path] = {}
    for path in (ROOT / "src/gaiter").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and node.level == 0:
                found[str(node.module).partition(".")[0]] = path
            elif isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0]: path for alias in node.names}
    foreign = {name for name in found if name not in sys.stdlib_module_names} - {"gaiter"}
    assert {"numpy", "django", "numba"} <= foreign
    # pandas makes a nicer table where it happens to be; nothing needs it.
    unknown = foreign - BASE - set(EXTRA_OF_MODULE) - {"pandas"}
    assert not unknown, {name: found[name] for name in unknown}


def test_the_base_needs_no_framework_compiler_or_columns() -> None:
    named = {one.partition(">=")[0] for one in PROJECT["dependencies"]}
    assert named == BASE - {"pydantic_core"}  # which comes with pydantic
    lock = (ROOT / "requirements/base.txt").read_text()
    for heavy in ("django", "numba", "llvmlite", "pyarrow", "pandas", "pillow"):
        assert f"\n{heavy}==" not in f"\n{lock}"
    for name in named:
        assert f"\n{name}==" in f"\n{lock}", "make the lock anew"


def test_the_description_is_complete() -> None:
    assert PROJECT["authors"] == [{"name": "Gaiter maintainers"}]
    assert PROJECT["license"] == "Apache-2.0 AND OFL-1.1"
    assert all((ROOT / name).is_file() for name in PROJECT["license-files"])
    assert any(name.endswith("OFL.txt") for name in PROJECT["license-files"])
    assert "urls" not in PROJECT
    assert not [one for one in PROJECT["classifiers"] if one.startswith("License")]
    ordinary = {extra: PROJECT["optional-dependencies"][extra] for extra in ("clinic", "study")}
    for extra, needs in {"base": PROJECT["dependencies"], **ordinary}.items():
        unbounded = [one for one in needs if ">=" not in one and one != "tzdata"]
        assert not unbounded, f"{extra}: a lower bound is missing"


@pytest.mark.parametrize(
    ("dropped", "said"),
    [
        (None, []),
        ("g-1/docs/case.md", ["docs/case.md"]),
        ("gaiter/data/policy.toml", ["src/gaiter/data/policy.toml"]),
        ("gaiter/data/examples/a.toml", ["examples/a.toml"]),
    ],
)
def test_the_release_check_finds_what_was_left_out(
    tmp_path: Path, dropped: str | None, said: list[str]
) -> None:
    tracked = ["docs/case.md", "examples/a.toml", "src/gaiter/data/policy.toml"]
    wheel, source = tmp_path / "g.whl", tmp_path / "g.tar.gz"
    with zipfile.ZipFile(wheel, "w") as archive:
        for name in ("gaiter/data/policy.toml", "gaiter/data/examples/a.toml"):
            if name != dropped:
                archive.writestr(name, "")
    with tarfile.open(source, "w:gz") as archive:
        for name in tracked:
            if f"g-1/{name}" != dropped:
                archive.addfile(tarfile.TarInfo(f"g-1/{name}"), io.BytesIO())
    assert left_out_of(source, wheel, tracked) == said


def test_every_package_that_comes_along_is_named_with_its_licence() -> None:
    """NOTICE names what it runs with; each name is followed by a licence in brackets."""
    notice = " ".join((ROOT / "NOTICE").read_text().lower().split())
    extras = PROJECT["optional-dependencies"]
    needs = [*PROJECT["dependencies"], *extras["clinic"], *extras["study"], *extras["postgres"]]
    for need in needs:
        name = re.split(r"[\[>=<]", need)[0]
        assert re.search(rf"\b{re.escape(name)}\b[^(]*\(", notice), f"{name} is missing in NOTICE"


def test_a_citation_and_the_package_say_the_same() -> None:
    text = (ROOT / "CITATION.cff").read_text()
    assert text.startswith("cff-version: 1.2.0\n")
    for licence in PROJECT["license"].split(" AND "):
        assert f"  - {licence}\n" in text
    assert f'- name: "{PROJECT["authors"][0]["name"]}"' in text
    # A version would be a second place to keep; whoever cites asks the program.
    assert "\nversion:" not in text
