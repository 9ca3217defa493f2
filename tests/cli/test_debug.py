"""A traceback is shown only to who asks for it."""

import sys

import pytest

from gaiter.cli import main


@pytest.fixture
def broken(monkeypatch) -> None:
    def fail() -> None:
        raise RuntimeError("a wheel came off")

    monkeypatch.setattr("gaiter.cli.app", fail)


def test_without_debug_there_is_one_sentence(broken, monkeypatch, capsys) -> None:
    monkeypatch.setattr(sys, "argv", ["gaiter", "plan"])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code == 1
    assert "a wheel came off" in capsys.readouterr().err


def test_with_debug_the_error_comes_through(broken, monkeypatch) -> None:
    monkeypatch.setattr(sys, "argv", ["gaiter", "--debug", "plan"])
    with pytest.raises(RuntimeError, match="a wheel came off"):
        main()
