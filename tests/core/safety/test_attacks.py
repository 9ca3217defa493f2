"""Somebody tries to have a leg bandaged that must not be: by case, policy and command line.

Each case says what was tried; what must come of it is one clear refusal, or no maximum at all.
"""

import json
from typing import Any

import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.core.plan import plan
from gaiter.core.policy import BOUNDS, Policy, overlaid
from gaiter.core.safety import LegDecision, Outcome, decide
from gaiter.files.case_file import case_from_mapping, safety_case_from_mapping
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.plan_file import plan_json
from gaiter.files.policy_file import shipped_policy
from gaiter.files.wording import FileError
from tests.strategies import case_mapping

SHIPPED = shipped_policy()
LEG = "legs.right."
F, P, A = f"{LEG}findings.", "person.", f"{LEG}arterial."
WORDS = "Agreed with the patient on the telephone."


def of(changes: dict[str, Any], policy: Policy = SHIPPED) -> LegDecision:
    """The right leg's decision of an ordinary case with something changed."""
    case = safety_case_from_mapping(case_mapping(**changes))
    return next(iter(decide(case, policy).legs.values()))


def override(code: str, **said: Any) -> dict[str, Any]:
    return {
        "code": code, "aim_low_mmhg": 20, "aim_high_mmhg": 30, "maximum_mmhg": 40,
        "reason": "specialist agreed", "words": WORDS, "by": "Invented prescriber", **said,
    }  # fmt: skip


def low_index(**said: Any) -> dict[str, Any]:
    """ABI 0.55 with toe 55, and the stop set aside as told."""
    return {
        "arms": {"left_mmhg": 140, "right_mmhg": 140},
        f"{A}dorsalis_pedis_mmhg": 77, f"{A}posterior_tibial_mmhg": 77, f"{A}toe_mmhg": 55,
        f"{LEG}overrides": [override("ankle_brachial_stop", **said)],
    }  # fmt: skip


PROVISIONAL = {f"{LEG}provisional": {"by": "Invented prescriber", "words": WORDS}}
NO_ARTERIES = {
    "arms": {}, f"{A}dorsalis_pedis_mmhg": None, f"{A}posterior_tibial_mmhg": None,
    f"{A}toe_mmhg": None,
}  # fmt: skip

# Tried, and still no maximum.
NO_MAXIMUM: dict[str, dict[str, Any]] = {
    "hard stop set aside": {f"{F}gangrene": True, f"{LEG}overrides": [override("gangrene")]},
    "class IV set aside": {
        f"{P}heart_failure_class": 4,
        f"{LEG}overrides": [override("heart_failure_class_4")],
    },
    "ankle 55 set aside": {
        f"{A}dorsalis_pedis_mmhg": 55,
        f"{A}posterior_tibial_mmhg": 55,
        f"{LEG}overrides": [override("ankle_pressure"), override("ankle_brachial_stop")],
    },
    "soft stop set aside beside a hard one": {
        f"{F}stent": True,
        f"{F}sepsis": True,
        f"{LEG}overrides": [override("stent")],
    },
    "one of two soft stops set aside": {
        f"{F}stent": True,
        f"{F}malignancy_suspected": True,
        f"{LEG}overrides": [override("stent")],
    },
    "all set aside with one code": {f"{F}stent": True, f"{LEG}overrides": [override("all")]},
    "a code that does not exist": {f"{F}stent": True, f"{LEG}overrides": [override("stnt")]},
    "code in capitals": {f"{F}stent": True, f"{LEG}overrides": [override("STENT")]},
    "code of a first": {
        f"{F}gangrene": None,
        f"{LEG}overrides": [override("screen_incomplete")],
    },
    "code of the override itself": {f"{F}stent": True, f"{LEG}overrides": [override("override")]},
    "ABI 0.55 without a vascular name": low_index(),
    "ABI 0.55 with a name and no day": low_index(vascular_by="Dr Invented"),
    "ABI 0.55 with a name of blanks": low_index(vascular_by="   ", vascular_on="2026-11-20"),
    "ABI 0.55 decided on a day to come": low_index(
        vascular_by="Dr Invented", vascular_on="2031-01-01"
    ),
    "ABI 0.55 decided in 1900": low_index(vascular_by="Dr Invented", vascular_on="1900-01-01"),
    "ABI 0.55 without a toe": {
        **low_index(vascular_by="Dr Invented", vascular_on="2026-11-20"),
        f"{A}toe_mmhg": None,
    },
    "ABI 0.55 with toe 29": {
        **low_index(vascular_by="Dr Invented", vascular_on="2026-11-20"),
        f"{A}toe_mmhg": 29,
    },
    "new pain set aside, arteries of another day": {
        f"{F}new_pain": True,
        f"{LEG}overrides": [override("new_pain_or_colour")],
    },
    "provisional with a red flag": {**NO_ARTERIES, **PROVISIONAL, f"{F}rest_pain": True},
    "provisional with a screen left open": {**NO_ARTERIES, **PROVISIONAL, f"{F}sepsis": None},
    "provisional with a wound on the foot": {**NO_ARTERIES, **PROVISIONAL, f"{F}wound": "foot"},
    "provisional, wound not asked": {**NO_ARTERIES, **PROVISIONAL, f"{F}wound": None},
    "provisional, age not said": {**NO_ARTERIES, **PROVISIONAL, f"{P}age_years": None},
    "provisional, toes not looked at": {**NO_ARTERIES, **PROVISIONAL, f"{F}toes": {}},
    "provisional, pain not asked": {**NO_ARTERIES, **PROVISIONAL, f"{F}pain_now": None},
    "provisional, toes blue": {**NO_ARTERIES, **PROVISIONAL, f"{F}toes.colour": "bluer"},
    "provisional, a child": {**NO_ARTERIES, **PROVISIONAL, f"{P}age_years": 9},
    "provisional, heel wound said to be on the leg": {
        **NO_ARTERIES,
        **PROVISIONAL,
        f"{F}wound": "leg",
        f"{LEG}wound": {"place": "heel"},
    },
    "provisional, class III and nobody knows of the other leg": {
        **NO_ARTERIES,
        **PROVISIONAL,
        f"{P}heart_failure_class": 3,
    },
    "provisional, alone, silent, nobody named": {
        **NO_ARTERIES,
        **PROVISIONAL,
        f"{P}can_report_pain": False,
        f"{P}can_be_taken_off": False,
    },
    "provisional, observer of blanks": {
        **NO_ARTERIES,
        **PROVISIONAL,
        f"{P}can_report_pain": False,
        f"{P}daily_observer": "   ",
    },
    "provisional, kilopascals": {**PROVISIONAL, f"{A}toe_mmhg": 12},
    "clot treated, called old by nobody": {
        f"{F}clot.state": "treated",
        f"{F}clot.signs.whole_leg_swollen": True,
    },
    "clot treated, sign old for a day": {
        f"{F}clot.state": "treated",
        f"{F}clot.signs.whole_leg_swollen": True,
        f"{F}clot.old_signs.whole_leg_swollen": "2026-11-20",
    },
    "clot confirmed, nothing said of treatment": {f"{F}clot.state": "confirmed"},
    "clot likely, other diagnosis not said": {
        f"{F}clot.signs.whole_leg_swollen": True,
        f"{F}clot.signs.calf_3_cm_larger": True,
        f"{F}clot.signs.other_diagnosis_as_likely": None,
    },
    "no arms": {"arms": {}},
    "arm and ankle exchanged": {
        "arms": {"left_mmhg": 70, "right_mmhg": 70},
        f"{A}dorsalis_pedis_mmhg": 130,
        f"{A}posterior_tibial_mmhg": 130,
    },
    "ankle in kilopascals": {
        f"{A}dorsalis_pedis_mmhg": 20,
        f"{A}posterior_tibial_mmhg": 20,
    },
    "toe in kilopascals": {f"{A}toe_mmhg": 12},
    "oxygen in kilopascals": {f"{A}tcpo2_mmhg": 6},
    "test ten years old, level kept": {
        f"{A}measured_on": "2016-11-20",
        f"{LEG}tolerated_mmhg": 40,
        f"{F}worse": False,
    },
    "test of 1900": {f"{A}measured_on": "1900-01-01"},
    "test overdue, worse, level kept": {
        f"{A}measured_on": "2026-10-01",
        f"{LEG}tolerated_mmhg": 40,
        f"{F}worse": True,
    },
    "sitting, level kept": {f"{A}lying_flat": False, f"{LEG}tolerated_mmhg": 40},
    "posture not said": {f"{A}lying_flat": None},
    "index 1.45 without a toe": {f"{A}dorsalis_pedis_mmhg": 200, f"{A}posterior_tibial_mmhg": 200},
    "toe above ankle": {f"{A}toe_mmhg": 150},
    "every toe pale and cold": {f"{F}toes.colour": "white", f"{F}toes.warmth": "cold"},
    "pain 10": {f"{F}pain_now": 10},
    "pain 7 at the limit": {f"{F}pain_now": 7},
    "insensate without diabetes": {f"{F}absent_monofilament_sites": 3},
    "class III, both legs": {f"{P}heart_failure_class": 3, f"{P}other_leg_compressed": True},
    "2 kg heavier": {f"{P}weight_gain_kg": 2},
    "17 years old": {f"{P}age_years": 17},
    "nothing at all was asked": {f"{LEG}findings": {}, "person": {}},
}


@pytest.mark.parametrize("tried", NO_MAXIMUM)
def test_no_maximum_comes_of_it(tried: str) -> None:
    decision = of(NO_MAXIMUM[tried])
    assert decision.maximum_mmhg is None, tried
    assert not decision.outcome.may_be_compressed
    assert decision.aim is None
    assert "never above" not in decision.headline


# Tried; the document is refused, in words that name the box.
REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "override above 60": (
        {f"{LEG}overrides": [override("stent", maximum_mmhg=90)]},
        "maximum_mmhg",
    ),
    "override of nan": (
        {f"{LEG}overrides": [override("stent", maximum_mmhg=float("nan"))]},
        "maximum_mmhg",
    ),
    "override without an aim": (
        {f"{LEG}overrides": [override("stent", aim_low_mmhg=None)]},
        "aim_low_mmhg",
    ),
    "aim above its maximum": (
        {f"{LEG}overrides": [override("stent", aim_high_mmhg=50)]},
        "must rise in this order",
    ),
    "override without words": ({f"{LEG}overrides": [override("stent", words="")]}, "words"),
    "override with words of blanks": (
        {f"{LEG}overrides": [override("stent", words=" " * 20)]},
        "words",
    ),
    "override by nobody": ({f"{LEG}overrides": [override("stent", by="")]}, "by"),
    "override by blanks": ({f"{LEG}overrides": [override("stent", by="   ")]}, "by"),
    "override with a reason of one's own": (
        {f"{LEG}overrides": [override("stent", reason="because")]},
        "reason",
    ),
    "one stop set aside twice": (
        {f"{LEG}overrides": [override("stent", maximum_mmhg=31), override("stent")]},
        "set aside twice",
    ),
    "provisional without words": ({f"{LEG}provisional": {"by": "x", "words": ""}}, "words"),
    "provisional with words of blanks": (
        {f"{LEG}provisional": {"by": "x", "words": " " * 20}},
        "words",
    ),
    "provisional by blanks": ({f"{LEG}provisional": {"by": "  ", "words": WORDS}}, "by"),
    "provisional with a level of one's own": (
        {f"{LEG}provisional": {"by": "x", "words": WORDS, "maximum_mmhg": 60}},
        "maximum_mmhg",
    ),
    "a yes in words": ({f"{F}gangrene": "false"}, "gangrene"),
    "a no in numbers": ({f"{F}gangrene": 0}, "gangrene"),
    "class as yes": ({f"{P}heart_failure_class": True}, "heart_failure_class"),
    "age in words": ({f"{P}age_years": "70"}, "age_years"),
    "age of a tree": ({f"{P}age_years": 400}, "age_years"),
    "toe of nan": ({f"{A}toe_mmhg": float("nan")}, "toe_mmhg"),
    "toe of infinity": ({f"{A}toe_mmhg": float("inf")}, "toe_mmhg"),
    "toe of 1e308": ({f"{A}toe_mmhg": 1e308}, "toe_mmhg"),
    "toe negative": ({f"{A}toe_mmhg": -80}, "toe_mmhg"),
    "arm in kilopascals": ({"arms": {"left_mmhg": 17, "right_mmhg": 17}}, "left_mmhg"),
    "test on a day to come": ({f"{A}measured_on": "2031-01-01"}, "measured_on"),
    "test on a number": ({f"{A}measured_on": 20261120}, "measured_on"),
    "old sign on a day to come": (
        {f"{F}clot.old_signs.whole_leg_swollen": "2031-01-01"},
        "whole_leg_swollen",
    ),
    "three filament sites and a half": ({f"{F}absent_monofilament_sites": 2.5}, "monofilament"),
    "four filament sites": ({f"{F}absent_monofilament_sites": 4}, "monofilament"),
    "pain 11": ({f"{F}pain_now": 11}, "pain_now"),
    "toes pink": ({f"{F}toes.colour": "pink"}, "colour"),
    "a finding misspelt": ({f"{F}gangreen": False}, "gangreen"),
    "a box of markup": ({f"{F}<b>gangrene</b>": False}, "gangrene"),
    "infection none and antibiotics": (
        {f"{F}infection": "none", f"{F}antibiotics_started": True},
        "infection",
    ),
    "a leg in the middle": ({"legs.middle": {}}, "legs"),
    "observer of a page": ({f"{P}daily_observer": "x" * 81}, "daily_observer"),
}


@pytest.mark.parametrize("tried", REFUSED)
def test_the_document_is_refused_in_words(tried: str) -> None:
    changes, named = REFUSED[tried]
    with pytest.raises(FileError) as error:
        of(changes)
    assert named in str(error.value), tried
    assert "Traceback" not in str(error.value)


# Tried; a maximum there is, and never above this one [mmHg].
AT_MOST: dict[str, tuple[dict[str, Any], float]] = {
    "override that writes 60": (
        {f"{F}stent": True, f"{LEG}overrides": [
            override("stent", maximum_mmhg=60, aim_low_mmhg=40, aim_high_mmhg=60)]}, 40,
    ),
    "two overrides, the lower holds": (
        {f"{F}stent": True, f"{F}malignancy_suspected": True, f"{LEG}overrides": [
            override("stent", maximum_mmhg=31), override("malignancy_suspected"),
            override("malignancy")]}, 31,
    ),
    "ABI 0.55, vascular decision, toe 55": (
        low_index(vascular_by="Dr Invented", vascular_on="2026-11-20"), 40,
    ),
    "toe 35 set aside": (
        {f"{A}toe_mmhg": 35, f"{LEG}overrides": [override("toe_pressure_low")]}, 35,
    ),
    "toe 45, ankle 68": (
        {"arms": {"left_mmhg": 80, "right_mmhg": 80}, f"{A}dorsalis_pedis_mmhg": 68,
         f"{A}posterior_tibial_mmhg": 68, f"{A}toe_mmhg": 45,
         f"{LEG}overrides": [override("toe_pressure_low")]}, 38,
    ),
    "provisional": ({**NO_ARTERIES, **PROVISIONAL}, 20),
    "full at once": ({f"{LEG}start": "full", f"{F}claudication": True, f"{A}toe_mmhg": 110}, 40),
    "a sprain": ({f"{LEG}purpose": "support"}, 30),
    "alone, silent, observer named": (
        {f"{P}can_report_pain": False, f"{P}daily_observer": "his son"}, 30,
    ),
    "tolerated 80": ({f"{LEG}tolerated_mmhg": 80}, 60),
    "overdue and tolerated 25": (
        {f"{A}measured_on": "2026-03-01", f"{LEG}tolerated_mmhg": 25, f"{F}worse": False}, 25,
    ),
}  # fmt: skip


@pytest.mark.parametrize("tried", AT_MOST)
def test_never_above(tried: str) -> None:
    changes, most = AT_MOST[tried]
    decision = of(changes)
    assert decision.maximum_mmhg is not None
    assert decision.maximum_mmhg <= most
    if decision.aim is not None:
        assert decision.aim.high_mmhg <= decision.maximum_mmhg


def clinic_policy(**values: float) -> Policy:
    said = {
        name: {"value": value, "source": "invented", "strength": "invented"}
        for name, value in values.items()
    }
    return overlaid(SHIPPED, {"name": "Bold", "version": "1", "values": said}, "0" * 64)


@pytest.mark.parametrize("name", BOUNDS)
def test_a_policy_that_guards_less_is_named_and_one_out_of_bounds_refused(name: str) -> None:
    bound, shipped = BOUNDS[name], SHIPPED[name]
    loose = {"lower": bound.low, "higher": bound.high}.get(bound.looser)
    if loose is None:
        # What only asks or reminds: changed, it is said all the same.
        assert name in UNDIRECTED
        loose = bound.high if bound.high != shipped else bound.low
    elif loose != shipped:
        policy = clinic_policy(**{name: loose})
        assert any(name.replace("_", " ") in said.text for said in policy.loosened)
        assert "policy_loosened" in {reason.code for reason in of({}, policy).reasons}
    if loose != shipped:
        assert any(
            name.replace("_", " ") in words for words in clinic_policy(**{name: loose}).changes
        )
    for wrong in (bound.low - 1, bound.high + 1, float("nan"), float("inf")):
        with pytest.raises(ValueError, match=name):
            clinic_policy(**{name: wrong})


# Neither direction guards less: wording of a walk, what a reading is compared with, what is least
# written.
UNDIRECTED = {"check_walk_to_min", "stiff_from_mmhg", "override_least_mmhg"}


@pytest.mark.parametrize("loosest", [True, False])
def test_no_policy_within_its_bounds_bandages_a_hard_stop(loosest: bool) -> None:
    values = {
        name: bound.low if (bound.looser == "lower") is loosest else bound.high
        for name, bound in BOUNDS.items()
        if bound.looser
    }
    policy = clinic_policy(**values)
    for tried in ("hard stop set aside", "class IV set aside", "every toe pale and cold"):
        assert of(NO_MAXIMUM[tried], policy).outcome is Outcome.STOP


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", '{"schema": "gaiter.case/2"}', '{"schema": "gaiter.case/1"}',
     '{"schema": "gaiter.case/1", "today": "2026-11-25", "legs": {}}', "\x00\x01"],
)  # fmt: skip
def test_the_command_refuses_what_is_no_case(text: str, tmp_path) -> None:
    path = tmp_path / "case.json"
    path.write_text(text)
    for command in (["safety", str(path)], ["plan", str(path), "--out", str(tmp_path / "out")]):
        answer = CliRunner().invoke(app, command)
        assert answer.exit_code == 2
        assert "Traceback" not in answer.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("tried", ["hard stop set aside", "toe in kilopascals", "pain 10"])
def test_the_command_plans_nothing(tried: str, tmp_path) -> None:
    path, out = tmp_path / "case.json", tmp_path / "out"
    path.write_text(json.dumps(case_mapping(**NO_MAXIMUM[tried]), default=str))
    for command in (["safety", str(path)], ["plan", str(path), "--out", str(out)]):
        assert CliRunner().invoke(app, command).exit_code in (3, 4)
    leg = json.loads((out / "plan.json").read_text())["legs"]["right"]
    assert leg["systems"] == []
    assert leg["decision"]["maximum_mmhg"] is None


def _raised(plan: dict[str, Any]) -> None:
    plan["legs"]["right"]["decision"]["maximum_mmhg"] = 90.0


def _tightened(plan: dict[str, Any]) -> None:
    layers = plan["legs"]["right"]["systems"][0]["layers"]
    next(layer for layer in layers if layer["mark_spacing_cm"])["mark_spacing_cm"] += 4


def _renamed(plan: dict[str, Any]) -> None:
    plan["legs"]["right"]["decision"]["headline"] = "Full: never above 90 mmHg at the gaiter"


def _unsealed(plan: dict[str, Any]) -> None:
    plan.pop("written")


def _longer(plan: dict[str, Any]) -> None:
    plan["legs"]["right"]["systems"][0]["change_days"] = 30


EDITS = (_raised, _tightened, _renamed, _unsealed, _longer)


@pytest.fixture(scope="module")
def planned() -> str:
    made = plan(case_from_mapping(case_mapping()), SHIPPED, shipped_catalogue(), samples=256)
    return plan_json(made)


@pytest.mark.parametrize("edit", EDITS)
def test_a_plan_changed_by_hand_prints_no_sheet(edit, planned: str, tmp_path) -> None:
    """Maximum, marks, headline or days written into plan.json with an editor."""
    document = json.loads(planned)
    edit(document)
    path, out = tmp_path / "plan.json", tmp_path / "sheet.pdf"
    path.write_text(json.dumps(document))
    answer = CliRunner().invoke(app, ["sheet", str(path), "--out", str(out)])
    assert answer.exit_code == 2
    assert "changed since it was written" in " ".join(answer.output.split())
    assert not out.exists()


def test_a_stopped_plan_made_full_by_hand_prints_no_sheet(planned: str, tmp_path) -> None:
    stopped = case_from_mapping(case_mapping(**{f"{F}gangrene": True}))
    document = json.loads(plan_json(plan(stopped, SHIPPED, shipped_catalogue(), samples=256)))
    document["legs"]["right"] = json.loads(planned)["legs"]["right"]
    path, out = tmp_path / "plan.json", tmp_path / "sheet.pdf"
    path.write_text(json.dumps(document))
    for command in (["sheet", str(path), "--out", str(out)], ["applied", str(path), str(path)]):
        assert CliRunner().invoke(app, command).exit_code == 2
    assert not out.exists()
