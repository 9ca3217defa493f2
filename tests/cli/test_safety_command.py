"""The decision alone, on the command line."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from gaiter.cli import app

RUN = CliRunner()


def test_safety_gives_numbers_and_reasons_with_sources(case_file) -> None:
    result = RUN.invoke(app, ["safety", case_file()])
    assert result.exit_code == 0
    assert "Full: aim 30–50, never above 60 mmHg at the gaiter" in result.output
    assert "ABI (ABPI) 1.04, toe index not measured, arm 130 mmHg, ankle 135 mmHg" in result.output
    as_json = RUN.invoke(app, ["safety", case_file(), "--json"])
    assert json.loads(as_json.output)["legs"]["right"]["maximum_mmhg"] == 60


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        ({}, 0, "Full"),
        ({"legs.right.arterial.waveform": "monophasic"}, 0, "Reduced"),
        ({"arms": {}}, 4, "Not yet: ask or measure this first"),
        ({"legs.right.findings.gangrene": True}, 3, "Stop and refer"),
        ({"legs.right.findings.gangrene": True, "arms": {}}, 3, "Stop and refer"),
    ],
)
def test_three_outcomes_three_words_three_exit_codes(case_file, tmp_path, changes, code, words):
    result = RUN.invoke(app, ["safety", case_file(**changes)])
    assert result.exit_code == code
    assert words in result.output
    if code:
        out = tmp_path / "out"
        assert RUN.invoke(app, ["plan", case_file(**changes), "--out", str(out)]).exit_code == code


def test_safety_decides_without_a_tape_a_bandager_or_stock(tmp_path: Path) -> None:
    """Red flags answered yes with no girth gave 'still missing … give a table'."""
    small = tmp_path / "small.toml"
    small.write_text(
        'schema = "gaiter.case/1"\ntoday = 2026-11-25\n[legs.left.findings]\nrest_pain = true\n'
    )
    result = RUN.invoke(app, ["safety", str(small)])
    assert result.exit_code == 3
    assert "Left leg: Stop and refer" in result.output
    assert "urgent vascular referral" in result.output


def test_a_clinic_policy_is_said(case_file, tmp_path: Path) -> None:
    policy = tmp_path / "clinic.toml"
    policy.write_text(
        'name = "Heron Ford"\nversion = "3"\n[values]\n'
        'ankle_stop_mmhg = { value = 70, source = "meeting", strength = "local" }\n'
    )
    result = RUN.invoke(app, ["safety", case_file(), "--policy", str(policy)])
    assert "Local policy: ankle stop mmhg: 60 to 70 mmHg (Heron Ford, version 3)" in result.output
    policy.write_text("values = 3")
    assert RUN.invoke(app, ["safety", case_file(), "--policy", str(policy)]).exit_code == 2
