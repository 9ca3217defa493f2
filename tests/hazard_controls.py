"""Switches every control of docs/hazards.md off in turn; its named test must go red.

``python tests/hazard_controls.py [H01a ...]`` runs each named test once as it is and once with
the control switched off, in a process of its own, and prints what survives. The same module is
the pytest plugin that does the switching, by the variable ``HAZARD_OFF``.
"""

import dataclasses
import importlib
import inspect
import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LOG = ROOT / "docs" / "hazards.md"
HAZARD = re.compile(r"^## (H\d\d) (.+)$", re.M)
RISK = re.compile(r"Initial risk: (\d) × (\d) = (\d+)\. Residual risk: (\d) × (\d) = (\d+)\.")
CONTROL = re.compile(r"^- `(H\d\d[a-z])` (.+): `([^`]+)`, shown by `([^`]+)`\.$", re.M)


@dataclasses.dataclass(frozen=True)
class Control:
    """One line of the log: what it does, where it stands, and the test that shows it."""

    code: str
    text: str
    where: str
    test: str


def controls() -> list[Control]:
    """Every control of the log."""
    return [Control(*found) for found in CONTROL.findall(LOG.read_text())]


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


_R = "gaiter.records"
SWITCHES = {
    "H01a": Returns("gaiter.core.safety.rules.toes:bad_toes", "[]"),
    "H01b": Line("gaiter.core.check.verdict:judge_check", "Verdict.TAKE_OFF if grave else ", ""),
    "H01c": Returns(f"{_R}.read.holding:_of_decision", "iter(())"),
    "H02a": Returns(f"{_R}.read.alarm:unresolved", "''"),
    "H02b": Line(
        f"{_R}.actions.checks:_require_answering", "kind is Deed.Kind.LOOSENED and", "False and"
    ),
    "H02c": Template("frame/alarm.html"),
    "H02d": Returns(f"{_R}.read.alarm:take_off_now", "None"),
    "H02e": Returns(f"{_R}.read.alarm:alarm_of", "None"),
    "H03a": Returns(f"{_R}.read.holding:_girths", "iter(())"),
    "H03b": Line(
        f"{_R}.actions.plans:_require_bandageable",
        "if record.state != PlanRecord.State.APPROVED:",
        "if False:",
    ),
    "H03c": Returns("gaiter.core.plan.borne:not_borne", "()"),
    "H05a": Line(
        "gaiter.core.safety.arterial:ArterialNumbers.worst_low_index", "_worst(min", "_worst(max"
    ),
    "H05b": Rule("toe_needed"),
    "H05c": Rule("waveform_monophasic"),
    "H06a": Returns("gaiter.core.safety.rules.arteries:arterial_bound_mmhg", "None"),
    "H06b": Rule("arm_implausible"),
    "H07a": Rule("toe_pressure_low"),
    "H08a": Rule("arterial_overdue"),
    "H09a": Rule("not_asked"),
    "H09b": Rule("screen_incomplete"),
    "H10a": Rule("clot_again"),
    "H10b": Constant("gaiter.core.check.words:EMERGENCY_IF", ()),
    "H11a": Rule("heart_failure_decompensated"),
    "H11b": Rule("heart_decompensating"),
    "H12a": Returns("gaiter.core.safety.override:standing_overrides", "args[1].leg.overrides"),
    "H12b": Line("gaiter.core.safety.override:with_overrides", "min(", "max("),
    "H13b": Returns("gaiter.core.applied.judge:_Limits.too_much", "''"),
    "H14a": Returns("gaiter.core.plan.search:rise_of", "0.0"),
    "H15a": Returns("gaiter.core.safety.aim:aim_under", "None"),
    "H16a": Rule("silent_and_alone"),
    "H16b": Rule("sensation_lost"),
    "H16c": Returns(
        "gaiter.core.check.advice:_looking", "('Look at your toes every morning and evening.',)"
    ),
    "H17a": Template("frame/pinned.html"),
    "H17b": Line(
        "gaiter.web.visit.check:bandaged", "visit__episode_id=visit.episode_id", "pk__gt=0"
    ),
    "H17c": Template("papers/paper.html", "patient label: name, born, number"),
    "H18a": Rule("child"),
    "H18b": Rule("pregnancy"),
    "H18c": Rule("sickle_cell"),
    "H18d": Returns("gaiter.core.check.advice:_also_call", "()"),
    "H19a": Line(f"{_R}.read.in_force:latest_off_by", "days_worn(plan, visit)", "400"),
    "H20a": Returns("gaiter.core.policy:_differences", "((), ())"),
    "H21a": Returns("gaiter.core.check.advice:_resting", "('Put your leg up when you sit.',)"),
    "H21b": Returns(
        "gaiter.core.check.advice:_opening", "('Keep it on day and night until your next visit.',)"
    ),
    "H21c": Returns("gaiter.outlets.papers.content:_do_not_bandage", "()"),
    "H22a": Constant("gaiter.sheets.content:LATEX", "nothing"),
    "H23a": Rule("sepsis"),
    "H23b": Rule("infection_spreading"),
    "H24a": Rule("kilopascal"),
    "H24b": Returns("gaiter.core.problems:_unit_advice", "''"),
    "H25a": Line(f"{_R}.actions.visits:_save", "elif counts != item.base:", "elif False:"),
    "H25b": Line(f"{_R}.ledger:action", "if once and ", "if False and "),
    "H26b": Returns(f"{_R}.ledger:broken_at", "None"),
    "H27b": Constant("gaiter.core.check.words:STAFF_TAKES_IT_OFF_IF", ()),
    "H29a": Returns(f"{_R}.visit.boxes:Box._require", "None"),
    "H30a": Line(f"{_R}.ledger:action", "with transaction.atomic():", "if True:"),
}
# What is not switched off by this script, and why.
NOT_SWITCHED = {
    "H04a": "the maximum of the foot stands in the search of a design; the test compares two of it",
    "H13a": "the limit is the material's own, read where the sweep is made",
    "H19b": "a constant of the decision: switched by the mutation of core/safety",
    "H26a": "triggers of the database, made by a migration",
    "H27a": "JavaScript of the page; the test runs in a browser",
    "H28a": "a validator that pydantic has compiled",
    "H29b": "escaping is the template engine's own",
    "H30b": "the test itself lets every step of the move fail",
}


def pytest_collection_finish(session) -> None:
    """As a plugin: switches one control off, after every test module was imported."""
    code = os.environ.get("HAZARD_OFF")
    if code:
        SWITCHES[code].switch_off()


def colour(control: Control, off: bool) -> str:
    """``red`` or ``green``, as the named test ends; anything else says why it could not run."""
    environment = {**os.environ, "HAZARD_OFF": control.code if off else ""}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider"]
    done = subprocess.run(
        [*command, "-p", "tests.hazard_controls", control.test], cwd=ROOT, env=environment,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    said = done.stdout + done.stderr
    if done.returncode not in (0, 1) or "mend the table" in said:
        return said.strip().splitlines()[-1][:200]
    return "red" if done.returncode else "green"


def verdict(control: Control) -> str:
    """What became of a control, in words; ``goes red`` is good."""
    if control.code in NOT_SWITCHED:
        return f"not switched: {NOT_SWITCHED[control.code]}"
    on = colour(control, off=False)
    if on != "green":
        return f"IS NOT GREEN WITH ITS CONTROL ON ({on})"
    off = colour(control, off=True)
    return "goes red" if off == "red" else f"SURVIVES ({off})"


def main(wanted: list[str]) -> int:
    """Number of controls whose test does not go red when they are switched off."""
    survivors = 0
    for control in controls():
        if wanted and control.code not in wanted:
            continue
        said = verdict(control)
        survivors += not said.startswith(("goes red", "not switched"))
        sys.stdout.write(f"{control.code} {said}: {control.test}\n")
        sys.stdout.flush()
    return survivors


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
