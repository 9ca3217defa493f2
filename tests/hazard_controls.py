"""Switches every control of docs/hazards.md off in turn; its named test must go red.

``python tests/hazard_controls.py [H01a ...]`` runs each named test once as it is and once with
the control switched off, in a process of its own, and prints what survives.
"""

import dataclasses
import re
import sys
from pathlib import Path

# Run by its path, as well as imported by its tests.
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.switching import ROOT, Constant, Line, Returns, Rule, Template, survivors

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
    "H24b": Returns("gaiter.core.problems:_unit_advice", "_CORRECT_IT"),
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


if __name__ == "__main__":
    sys.exit(survivors("tests.hazard_controls", controls(), NOT_SWITCHED, sys.argv[1:]))
