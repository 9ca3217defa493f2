"""Switches a control off and looks whether the test that shows it goes red.

A table (``hazard_controls``, ``security_controls``) says how each control is switched off. This
module is the pytest plugin that does it: for all of a table in processes forked from one that has
made everything ready, and for those that stay green there once more in a process of their own.
"""

import dataclasses
import importlib
import inspect
import io
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Protocol

ROOT = Path(__file__).resolve().parents[1]
_OFF = "CONTROL_OFF"
_TABLE, _CODES, _FOUND = "CONTROLS_OFF", "CONTROLS_CODES", "CONTROLS_FOUND"


class Switch(Protocol):
    """What turns one control off."""

    def found(self) -> bool: ...

    def switch_off(self) -> None: ...


class Control(Protocol):
    """Something that a document claims, and the test that is to show it."""

    @property
    def code(self) -> str: ...

    @property
    def test(self) -> str: ...


@dataclasses.dataclass(frozen=True)
class Rule:
    """A safety rule that never fires."""

    code: str

    def found(self) -> bool:
        from gaiter.core.safety.rules import RULES

        return self.code in RULES

    def switch_off(self) -> None:
        from gaiter.core.safety.rules import RULES

        RULES[self.code] = dataclasses.replace(RULES[self.code], when=lambda _scene: None)


@dataclasses.dataclass(frozen=True)
class Returns:
    """A function that answers the same, whatever it is asked."""

    name: str
    answer: str

    def found(self) -> bool:
        return inspect.isfunction(_found(self.name))

    def switch_off(self) -> None:
        function = _found(self.name)
        made: dict = {}
        exec(f"def off(*args, **kwargs): return {self.answer}", function.__globals__, made)
        _replace(function, made["off"])


@dataclasses.dataclass(frozen=True)
class Line:
    """A line of a function that says something else."""

    name: str
    before: str
    after: str

    def found(self) -> bool:
        return self.before in inspect.getsource(_found(self.name))

    def switch_off(self) -> None:
        function = _found(self.name)
        source = inspect.getsource(function)
        if self.before not in source:
            raise RuntimeError(f"{self.name} no longer says {self.before!r}: mend the table")
        lines = inspect.cleandoc("\n" + source).splitlines()
        body = "\n".join(lines[next(i for i, line in enumerate(lines) if "def " in line) :])
        made: dict = {}
        exec(body.replace(self.before, self.after), function.__globals__, made)
        _replace(function, made[function.__name__])


@dataclasses.dataclass(frozen=True)
class Constant:
    """A constant that holds nothing."""

    name: str
    value: object

    def found(self) -> bool:
        module, _colon, name = self.name.partition(":")
        return hasattr(importlib.import_module(module), name)

    def switch_off(self) -> None:
        module, _colon, name = self.name.partition(":")
        setattr(importlib.import_module(module), name, self.value)


@dataclasses.dataclass(frozen=True)
class Template:
    """A template with a text left out; the whole of it where none is named."""

    name: str
    text: str = ""

    def found(self) -> bool:
        from django.template.loader import get_template

        return self.text in get_template(self.name).template.source

    def switch_off(self) -> None:
        from django.template.loaders.filesystem import Loader

        as_it_is = Loader.get_contents

        def without(loader, origin):
            content = as_it_is(loader, origin)
            if origin.template_name != self.name:
                return content
            if self.text and self.text not in content:
                raise RuntimeError(f"{self.name} no longer says {self.text!r}: mend the table")
            return content.replace(self.text, "") if self.text else ""

        Loader.get_contents = without


@dataclasses.dataclass(frozen=True)
class Setting:
    """A setting of the framework that says something else."""

    name: str
    value: object

    def found(self) -> bool:
        from django.conf import settings

        return hasattr(settings, self.name)

    def switch_off(self) -> None:
        from django.conf import settings

        setattr(settings, self.name, self.value)


@dataclasses.dataclass(frozen=True)
class Middleware:
    """A middleware that is not in the way."""

    name: str

    def found(self) -> bool:
        from django.conf import settings

        return self.name in settings.MIDDLEWARE

    def switch_off(self) -> None:
        from django.conf import settings

        settings.MIDDLEWARE = [name for name in settings.MIDDLEWARE if name != self.name]


@dataclasses.dataclass(frozen=True)
class Text:
    """A file of the repository that says something else to whoever reads or runs it as text."""

    path: str
    before: str
    after: str = ""

    def found(self) -> bool:
        return self.before in (ROOT / self.path).read_text()

    def switch_off(self) -> None:
        place = ROOT / self.path
        text = place.read_text()
        if self.before not in text:
            raise RuntimeError(f"{self.path} no longer says {self.before!r}: mend the table")
        other = text.replace(self.before, self.after)
        read, opened = Path.read_text, io.open_code

        def read_text(path: Path, *args: Any, **kwargs: Any) -> str:
            return other if path.resolve() == place else read(path, *args, **kwargs)

        def open_code(path: str) -> Any:
            return io.BytesIO(other.encode()) if Path(path).resolve() == place else opened(path)

        Path.read_text, io.open_code = read_text, open_code


def _found(name: str):
    """A function by ``module:qualified.name``, unwrapped."""
    module, _colon, path = name.partition(":")
    place = importlib.import_module(module)
    for part in path.split("."):
        place = inspect.getattr_static(place, part)
    if isinstance(place, property):
        place = place.fget
    elif hasattr(place, "func") and not inspect.isfunction(place):  # cached_property
        place = place.func
    return inspect.unwrap(place)


def _replace(function, other) -> None:
    """Puts other code into a function, so that whoever imported it has it as well."""
    function.__defaults__, function.__kwdefaults__ = other.__defaults__, other.__kwdefaults__
    function.__code__ = other.__code__


def pytest_runtestloop(session) -> bool | None:
    """As a plugin: each named test with its control on and off, in a process forked for it.

    What takes long, importing and making the database, is done once before. Without a table in
    ``CONTROLS_OFF`` tests run as ever, with the one control off that ``CONTROL_OFF`` names.
    """
    table, _colon, code = os.environ.get(_OFF, "").partition(":")
    if code:
        importlib.import_module(table).SWITCHES[code].switch_off()
    if _TABLE not in os.environ:
        return None
    module = importlib.import_module(os.environ[_TABLE])
    first = next(item for item in session.items if "django_db_setup" in item.fixturenames)
    # With another one to come, what belongs to the session stays made.
    session.config.hook.pytest_runtest_protocol(item=first, nextitem=session.items[0])
    green: dict[str, bool] = {}
    for code, test in json.loads(os.environ[_CODES]):
        items = [item for item in session.items if item.nodeid.split("[")[0] == test]
        if test not in green:
            green[test] = _passes(session, items)
        off = green[test] and _passes(session, items, module.SWITCHES[code])
        with Path(os.environ[_FOUND]).open("a") as found:
            said = "red" if green[test] and not off else "green"
            found.write(f"{code} {said}\n")
    return True


def _passes(session, items, switch: Switch | None = None) -> bool:
    """Whether tests pass in a process of their own, with one control off or with all on."""
    child = os.fork()
    if child:
        _pid, status = os.waitpid(child, 0)
        return status == 0
    code = 2
    try:
        if switch is not None:
            switch.switch_off()
        session.testsfailed = 0
        for item, following in zip(items, [*items[1:], items[0]], strict=True):
            session.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        code = 1 if session.testsfailed or not items else 0
    finally:
        os._exit(code)


def forked(table: str, controls: Iterable[Control]) -> Iterator[tuple[str, str]]:
    """Code and colour of each control that is off, one after the other."""
    wanted = [(one.code, one.test) for one in controls]
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
    with tempfile.TemporaryDirectory() as folder:
        found = Path(folder, "found")
        found.touch()
        given = {_TABLE: table, _CODES: json.dumps(wanted), _FOUND: str(found)}
        tests = sorted({test for _code, test in wanted})
        with subprocess.Popen(
            [*command, "-p", "tests.switching", *tests], cwd=ROOT, env={**os.environ, **given},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        ) as running, found.open() as lines:  # fmt: skip
            over = False
            while not over:
                over = running.poll() is not None
                for line in lines:
                    code, said = line.split()
                    yield code, said
                time.sleep(0.2)


def colour(tests: Iterable[str], off: str = "") -> str:
    """``red`` or ``green``, as tests end with a control off; else why they could not run.

    ``off`` is ``module:code``; empty leaves every control on.
    """
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "-m",
        "long or not long",
        "-p",
        "no:cacheprovider",
    ]
    done = subprocess.run(
        [*command, "-p", "tests.switching", *tests], cwd=ROOT, env={**os.environ, _OFF: off},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    said = done.stdout + done.stderr
    if done.returncode not in (0, 1) or "mend the table" in said:
        return said.strip().splitlines()[-1][:200]
    return "red" if done.returncode else "green"


def verdict(table: str, control: Control, on: str) -> str:
    """What became of a control, in words; ``goes red`` is good."""
    if on != "green":
        return f"IS NOT GREEN WITH ITS CONTROL ON ({on})"
    off = colour([control.test], f"{table}:{control.code}")
    return "goes red" if off == "red" else f"SURVIVES ({off})"


def survivors(
    table: str, controls: Iterable[Control], not_switched: Mapping[str, str], wanted: list[str]
) -> int:
    """Number of controls whose test does not go red when they are switched off.

    Parameters
    ----------
    table : str
        Module whose ``SWITCHES`` says how.
    controls : Iterable[Control]
        Every control.
    not_switched : Mapping[str, str]
        Controls that are not switched off, with the reason.
    wanted : list[str]
        Codes to try alone; empty for all.
    """
    count = 0
    tried = [one for one in controls if not wanted or one.code in wanted]
    by_code = {one.code: one for one in tried}
    for code in by_code.keys() & not_switched.keys():
        sys.stdout.write(f"{code} not switched: {not_switched[code]}: {by_code[code].test}\n")
    left = {code: one for code, one in by_code.items() if code not in not_switched}
    for code, said in forked(table, [*left.values()]):
        if said == "red":
            sys.stdout.write(f"{code} goes red: {left.pop(code).test}\n")
            sys.stdout.flush()
    # What was computed before the fork may have hidden it: each of these by itself.
    for control in left.values():
        said = verdict(table, control, colour([control.test]))
        count += said != "goes red"
        sys.stdout.write(f"{control.code} {said}: {control.test}\n")
        sys.stdout.flush()
    return count
