"""How a function becomes a command: plain help, and Ctrl-C that ends quietly."""

import functools
from collections.abc import Callable
from typing import Any

import typer
from rich.markup import escape
from typer.core import TyperCommand

from gaiter.cli.output import INTERRUPTED


class PlainHelp(TyperCommand):
    """A command whose help shows a unit such as [cm], which Rich would take for a colour."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self.help = escape(_paragraphs(self.help or ""))
        for parameter in self.params:
            help_text = getattr(parameter, "help", None)
            if help_text:
                parameter.help = escape(help_text)  # type: ignore[attr-defined]


def _paragraphs(text: str) -> str:
    """A text whose lines end where the terminal ends them, not where the source did."""
    return "\n\n".join(" ".join(part.split()) for part in text.split("\n\n"))


def quiet(command: Callable[..., None]) -> Callable[..., None]:
    """The command; Ctrl-C ends it with its exit code and without a word."""

    @functools.wraps(command)
    def run(*arguments: Any, **named: Any) -> None:
        try:
            command(*arguments, **named)
        except KeyboardInterrupt:
            raise typer.Exit(INTERRUPTED) from None

    return run


def add(app: typer.Typer, command: Callable[..., None], **settings: Any) -> None:
    """Makes a function a command of an app."""
    app.command(cls=PlainHelp, **settings)(quiet(command))
