"""A study in one call: what is asked for reaches the run, and whose worker it is."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from gaiter.api.cohort import study
from gaiter.core.cohort.study import LegOutcome
from gaiter.core.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples" / "cohort"
LEGS = EXAMPLES / "six-legs.csv"
# Prices of a roll in examples/cohort/prices.toml.
WOOL, SHORT_STRETCH = 1.2, 6.2


def test_rows_are_the_first_legs_with_the_systems_asked_for_and_their_price(tmp_path) -> None:
    parts: list[int] = []
    found = study(
        str(LEGS), str(tmp_path / "out"), systems=iter(["wool_short_stretch"]), samples=64, limit=2,
        prices=EXAMPLES / "prices.toml", progress=parts.append,
    )  # fmt: skip
    assert [(row.leg, row.system) for row in found.rows] == [
        ("invented-1", "wool_short_stretch"),
        ("invented-2", "wool_short_stretch"),
    ]
    assert sum(parts) == 2
    for row in found.rows:
        assert row.outcome is not LegOutcome.NOT_PLANNED
        assert row.materials == ("orthopaedic_wool", "short_stretch")
        # Some rolls of wool and the rest of short-stretch, at least one of each.
        mixes = [wool * WOOL + (row.rolls - wool) * SHORT_STRETCH for wool in range(1, row.rolls)]
        assert any(row.cost == pytest.approx(mix, abs=0.005) for mix in mixes)
    summary = found.summaries[0]
    assert (summary.system, summary.legs) == ("wool_short_stretch", 2)
    assert summary.mean_cost == pytest.approx(sum(row.cost for row in found.rows) / 2, abs=0.005)
    assert {path.name for path in (tmp_path / "out").iterdir()} >= {
        "legs.parquet", "summary.csv", "few_materials.csv",
    }  # fmt: skip


def test_a_worker_that_was_given_stays_open_for_its_owner(tmp_path) -> None:
    terms = {"systems": ["light_support"], "samples": 64, "limit": 1, "purpose": "support"}
    with ThreadPoolExecutor(1) as mine:
        found = study(LEGS, tmp_path / "out", executor=mine, **terms)
        assert mine.submit(lambda: "still works").result() == "still works"
    assert found.rows == study(LEGS, tmp_path / "own", **terms).rows
    other = study(LEGS, tmp_path / "other", seed=8, **terms)
    assert other.rows[0].chance_in_range != found.rows[0].chance_in_range
    # For a sprain: of an ulcer it is left out, for it presses too little at rest.
    assert found.rows[0].outcome is not LegOutcome.NOT_PLANNED


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"training": "wizard"}, "training must be one of .*untrained.*; received wizard"),
        ({"purpose": "fun"}, "purpose must be one of venous ulcer, .*; received fun: correct it"),
        ({"systems": ["five_layer"]}, "systems must be among .*four_layer.*; received five_layer"),
        ({"prices": 5}, "prices must be a path"),
        ({"policy": "nowhere.toml"}, "nowhere.toml: cannot be read"),
    ],
)
def test_what_cannot_be_asked_for_is_refused_before_a_folder_is_made(tmp_path, given, said) -> None:
    with pytest.raises(InputError, match=said):
        study(LEGS, tmp_path / "out", **given)
    assert not (tmp_path / "out").exists()


def test_a_cohort_that_is_no_path_is_refused(tmp_path) -> None:
    with pytest.raises(InputError, match="cohort must be a path"):
        study(["a leg"], tmp_path / "out")
