"""What every command has in common: help, exit codes, the last guard, terminals."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from gaiter import __version__
from gaiter.cli import app, main
from gaiter.cli.output import EXIT_CODES

RUN = CliRunner()


ROOT = Path(__file__).parents[2]


CASE = "examples/inner-ankle-ulcer.toml"


def commands(group=None, path: tuple[str, ...] = ()):
    """Every command with the words that call it."""
    group = group or typer.main.get_command(app)
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from commands(command, (*path, name))
        else:
            yield (*path, name), command


COMMANDS = dict(commands())


def gaiter(*arguments: str, text: str | None = None, **environment: str):
    """The command as a user starts it."""
    return subprocess.run(
        [sys.executable, "-m", "gaiter", *arguments], cwd=ROOT, capture_output=True, input=text,
        env={**os.environ, **environment}, encoding="utf-8", errors="replace", check=False,
        timeout=120,
    )  # fmt: skip


def test_version() -> None:
    assert RUN.invoke(app, ["--version"]).output.strip() == f"gaiter {__version__}"


def test_a_fault_of_the_program_does_not_pass_for_bad_input(case_file, monkeypatch, capsys) -> None:
    def fail(*_: object) -> None:
        raise ValueError("operands could not be broadcast together")

    monkeypatch.setattr("gaiter.core.safety.decide", fail)
    monkeypatch.setattr("sys.argv", ["gaiter", "safety", str(case_file())])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 1
    assert "Please report it" in " ".join(capsys.readouterr().err.split())


@pytest.fixture
def broken(monkeypatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("a wheel came off")

    monkeypatch.setattr("gaiter.cli.app", fail)


def test_what_was_not_foreseen_is_one_sentence(broken, monkeypatch, capsys) -> None:
    monkeypatch.setattr("sys.argv", ["gaiter", "plan"])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 1
    shown = capsys.readouterr().err
    assert "a wheel came off" in shown
    assert "Traceback" not in shown


@pytest.mark.parametrize(
    "arguments", [["gaiter", "--debug", "plan"], ["gaiter", "plan", "x", "--debug", "-o", "y"]]
)
def test_a_traceback_is_shown_to_who_asks_for_it(broken, monkeypatch, arguments) -> None:
    monkeypatch.setattr("sys.argv", arguments)
    with pytest.raises(RuntimeError, match="a wheel came off"):
        main()


def test_debug_is_no_option_of_a_command_and_stands_anywhere(monkeypatch, capsys) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setattr("sys.argv", ["gaiter", "safety", "--debug", CASE])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 0
    monkeypatch.setattr("sys.argv", ["gaiter", "safety", "--", "--debug"])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 2
    assert "--debug: cannot be read" in capsys.readouterr().err


def test_the_last_guard_names_what_was_written(case_file, tmp_path, monkeypatch, capsys) -> None:
    """It said that nothing was written while three files lay there."""

    def fail(*_: object) -> None:
        raise RuntimeError("a wheel came off")

    out = tmp_path / "out"
    monkeypatch.setattr("gaiter.cli.output._written", [])
    monkeypatch.setattr("gaiter.cli.plan_command._print", fail)
    monkeypatch.setattr("sys.argv", ["gaiter", "plan", case_file(), "-o", str(out)])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 1
    said = capsys.readouterr().err
    assert "a wheel came off" in said
    assert "nothing" not in said
    for path in out.iterdir():
        assert str(path) in said


def test_ctrl_c_ends_quietly_with_130(case_file, monkeypatch, capsys) -> None:
    def stop_here(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("gaiter.core.safety.decide", stop_here)
    monkeypatch.setattr("sys.argv", ["gaiter", "safety", case_file()])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 130
    assert capsys.readouterr() == ("", "")


def test_exit_codes_are_told_in_the_help_and_the_documentation() -> None:
    shown = plain(RUN.invoke(app, ["--help"]).output)
    assert plain(EXIT_CODES) in shown
    documented = (ROOT / "docs/commands.md").read_text()
    for code in (0, 1, 2, 3, 4, 130):
        assert re.search(rf"\b{code}\b", EXIT_CODES)
        assert f"| {code} |" in documented


def plain(text: str) -> str:
    """A help text without its frame, its line breaks and its blanks."""
    return re.sub(r"[\s─-╿]+", "", text)


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_unit_of_an_options_help_is_printed(words: tuple[str, ...]) -> None:
    """Rich takes [cm] for a colour and swallows it."""
    shown = plain(RUN.invoke(app, [*words, "--help"]).output)
    for parameter in COMMANDS[words].params:
        written = (getattr(parameter, "help", None) or "").replace("\\[", "[")
        for unit in re.findall(r"\[[^\]]+\]", written):
            assert plain(unit) in shown, f"{parameter.name}: {written}"


def test_units_stand_in_some_help() -> None:
    """What the test above looks for is there."""
    shown = RUN.invoke(app, ["reckon", "--help"]).output
    assert all(unit in shown for unit in ("[N]", "[kgf]", "[cm]", "[inch]", "[mmHg]"))


# The server answers in its log; an empty case is TOML, to be typed in.
@pytest.mark.parametrize(
    "words", sorted(set(COMMANDS) - {("serve",), ("new", "case")}), ids=" ".join
)
def test_every_command_that_prints_a_result_prints_it_as_json(words: tuple[str, ...]) -> None:
    assert "--json" in {name for one in COMMANDS[words].params for name in one.opts}


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_a_place_to_write_to_has_a_short_name(words: tuple[str, ...]) -> None:
    for parameter in COMMANDS[words].params:
        if "--out" in parameter.opts:
            assert "-o" in parameter.opts


def test_the_module_is_the_command() -> None:
    run = gaiter("--version")
    assert (run.returncode, run.stdout) == (0, f"gaiter {__version__}\n")


@pytest.mark.long
@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["reckon", "--help"],
        ["safety", CASE],
        ["new", "case"],
        ["safety", "examples/nowhere–case.toml"],
    ],
)
def test_a_terminal_that_knows_ascii_only_is_no_crash(arguments: list[str]) -> None:
    run = gaiter(*arguments, PYTHONIOENCODING="ascii")
    assert run.returncode in (0, 2)
    assert "Error" not in run.stderr
    assert "could not go on" not in run.stderr
    assert (run.stdout + run.stderr).isascii()


@pytest.mark.long
def test_signs_are_spelled_and_json_is_escaped_for_such_a_terminal() -> None:
    words = gaiter("safety", CASE, PYTHONIOENCODING="ascii").stdout
    assert "aim 30-50" in words
    escaped = gaiter("plan", CASE, "-o", "-", PYTHONIOENCODING="ascii").stdout
    whole = gaiter("plan", CASE, "-o", "-", PYTHONIOENCODING="utf-8").stdout
    assert "\\u2013" in escaped
    assert json.loads(escaped) == json.loads(whole)


def test_commands_are_completed_by_the_shell() -> None:
    run = gaiter(_GAITER_COMPLETE="complete_bash", COMP_WORDS="gaiter pl", COMP_CWORD="1")
    assert run.stdout.split() == ["plan"]


def test_a_reader_that_has_seen_enough_is_no_error() -> None:
    command = f"{sys.executable} -m gaiter schema plan | head -n 1"
    run = subprocess.run(
        ["sh", "-c", command], cwd=ROOT, check=False, capture_output=True, text=True
    )
    assert (run.stdout, run.stderr) == ("{\n", "")
