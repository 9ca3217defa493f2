import csv
import json
import sys
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from typer.testing import CliRunner, Result

from gaiter.cli import app
from gaiter.files.cluster import cluster_executor
from gaiter.files.study_run import StudyStoppedError

pytestmark = pytest.mark.long

RUN = CliRunner()
EXAMPLES = Path(__file__).parents[2] / "examples/cohort"
COHORT = str(EXAMPLES / "six-legs.csv")
QUICK = ["--limit", "2", "--samples", "64", "--systems", "wool_short_stretch,four_layer"]


class Here(Executor):
    def submit(self, work, /, *arguments, **named):
        future: Future = Future()
        future.set_result(work(*arguments, **named))
        return future


@pytest.fixture(autouse=True)
def asked(monkeypatch) -> list[object]:
    """Work is done in this process; what the command asked for is noted."""
    seen: list[object] = []

    @contextmanager
    def pool(workers):
        seen.append(workers)
        yield Here()

    @contextmanager
    def cluster(address):
        seen.append(address)
        yield Here()

    monkeypatch.setattr("gaiter.files.study_run.process_pool", pool)
    monkeypatch.setattr("gaiter.files.cluster.cluster_executor", cluster)
    return seen


def ran(out: Path, *options: str, cohort: str = COHORT) -> Result:
    return RUN.invoke(app, ["study", cohort, "--out", str(out), *options])


def test_a_study_writes_its_results_and_prints_its_tables(tmp_path: Path, asked) -> None:
    prices = ["--prices", str(EXAMPLES / "prices.toml")]
    result = ran(tmp_path, *QUICK, *prices, "--workers", "2")
    assert result.exit_code == 0, result.output
    assert asked == [2]
    assert {path.name for path in tmp_path.iterdir()} == {
        "few_materials.csv", "legs.parquet", "not_planned.csv", "parts", "study.json",
        "summary.csv",
    }  # fmt: skip
    words = " ".join(result.output.split())
    for said in (
        "a study decides nothing about any person",
        "Columns not used: note.",
        "Estimated on some or all legs: girth_cm.gaiter",
        "EUR",
        "Few materials: each line keeps those above",
        "orthopaedic wool, short stretch",
    ):
        assert said in words
    rows = pq.read_table(tmp_path / "legs.parquet").to_pylist()
    assert len(rows) == 4
    assert all(row["cost"] > 0 for row in rows)
    with (tmp_path / "summary.csv").open() as stream:
        shares = {row["system"]: float(row["share_fit"]) for row in csv.DictReader(stream)}
    bandaged_leg = {row["system"] for row in rows if row["outcome"] == "fits"}
    assert {name for name, share in shares.items() if share} == bandaged_leg


def test_options_decide_the_study(tmp_path: Path, asked) -> None:
    options = ["--purpose", "maintenance", "--training", "untrained", "--seed", "7"]
    policy = tmp_path / "clinic.toml"
    policy.write_text(
        'name = "Heron Ford"\nversion = "3"\n[values]\n'
        'full_maximum_mmhg = { value = 45, source = "meeting", strength = "local" }\n'
    )
    out = tmp_path / "out"
    result = ran(out, *QUICK, *options, "--policy", str(policy), "--cluster", "tcp://far:1")
    assert result.exit_code == 0, result.output
    assert asked == ["tcp://far:1"]
    document = json.loads((out / "study.json").read_text())
    expected = {"purpose": "maintenance", "training": "untrained", "seed": 7, "samples": 64,
                "legs": 2, "systems": ["four_layer", "wool_short_stretch"]}  # fmt: skip
    assert {key: document[key] for key in expected} == expected
    again = ran(out, *QUICK, *options, "--cluster", "tcp://far:1")
    assert again.exit_code == 2
    assert "holds another study (another policy)" in again.output


def test_the_order_of_the_systems_makes_no_other_study(tmp_path: Path) -> None:
    assert ran(tmp_path, *QUICK).exit_code == 0
    turned = [*QUICK[:-1], "four_layer, wool_short_stretch"]
    assert ran(tmp_path, *turned).exit_code == 0


def test_a_leg_without_a_plan_and_a_missing_price_are_said(tmp_path: Path) -> None:
    cohort, prices = tmp_path / "legs.csv", tmp_path / "prices.toml"
    lines = (EXAMPLES / "six-legs.csv").read_text().split("\n")[:2]
    cohort.write_text("\n".join([*lines, "invented-9,f,,37,,,,,11,29,38,no ankle"]))
    prices.write_text('currency = "EUR"\n[roll]\nzinc_paste = 1\n')
    result = ran(tmp_path / "out", *QUICK, "--prices", str(prices), cohort=str(cohort))
    assert result.exit_code == 1, result.output
    assert "Leg invented-9 was not planned: not measured: girth of ankle" in result.stderr
    listed = (tmp_path / "out/not_planned.csv").read_text()
    assert listed == "leg,reason\ninvented-9,not measured: girth of ankle\n"
    as_json = json.loads(ran(tmp_path / "out", *QUICK, "--json", cohort=str(cohort)).stdout)
    assert [one["leg"] for one in as_json["not_planned"]] == ["invented-9"]
    assert "No price given for: cohesive_elastic" in result.output


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--systems", "velvet"], "systems must be among"),
        (["--systems", ","], "systems must name at least one system"),
        (["--purpose", "fun"], "--purpose must be one of venous ulcer, oedema"),
        (["--training", "born to it"], "--training must be one of untrained, trained"),
        (["--samples", "1000"], "samples must be a power of two, 64 to 65536; received 1000"),
        (["--workers", "2", "--cluster", "tcp://far:1"], "--workers and --cluster were both given"),
        (["--policy", "nowhere.toml"], "nowhere.toml: cannot be read"),
        (["--prices", "nowhere.toml"], "nowhere.toml: cannot be read"),
        (["--limit", "0"], "--limit"),
        (["--workers", "0"], "--workers"),
    ],
)
def test_refusals_exit_with_2_and_make_no_folder(
    tmp_path: Path, options: list[str], words: str
) -> None:
    result = ran(tmp_path / "out", *options)
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output
    assert not (tmp_path / "out").exists()


def test_a_cohort_that_cannot_be_used_is_refused(tmp_path: Path) -> None:
    cohort = tmp_path / "legs.csv"
    cohort.write_text("leg,ankle_girth_cm\nA,22\n")
    result = ran(tmp_path / "out", cohort=str(cohort))
    assert result.exit_code == 2
    assert "legs.csv: has no column calf_girth_cm: add it" in result.output


def test_a_cluster_that_cannot_be_used_exits_with_2(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr("gaiter.files.cluster.cluster_executor", cluster_executor)
    monkeypatch.setitem(sys.modules, "distributed", None)
    result = ran(tmp_path / "out", *QUICK, "--cluster", "tcp://far:1")
    assert result.exit_code == 2
    assert "cluster tcp://far:1: needs the extra 'cluster'" in result.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("end", "code", "words"),
    [
        (KeyboardInterrupt(), 130, "Stopped. What is finished is kept in"),
        (StudyStoppedError(3, 6, MemoryError()), 1, "(MemoryError); 3 of 6 parts are kept"),
    ],
)
def test_an_end_before_time_says_what_is_kept(
    tmp_path: Path, monkeypatch, end: BaseException, code: int, words: str
) -> None:
    def stop(*_: object) -> None:
        raise end

    monkeypatch.setattr("gaiter.files.study_run.run_study", stop)
    result = ran(tmp_path / "out", *QUICK)
    assert result.exit_code == code
    assert words in " ".join(result.output.split())
    assert "run the same command again" in " ".join(result.output.split())


def test_what_is_printed_names_its_denominators(tmp_path: Path) -> None:
    """One leg of two has a plan: every share says of how many."""
    cohort = tmp_path / "legs.csv"
    lines = (EXAMPLES / "six-legs.csv").read_text().split("\n")[:2]
    cohort.write_text("\n".join([*lines, "invented-9,f,,37,,,,,11,29,38,no ankle"]))
    result = ran(tmp_path / "out", *QUICK, cohort=str(cohort))
    words = " ".join(result.stdout.replace("┃", " ").replace("│", " ").split())
    assert "(of 2 legs)" in words
    assert "1 (50%) 1 (50%)" in words
    assert "0 (0%)" in words
    assert "planned)" in words


def test_a_study_goes_on_without_its_prices(tmp_path: Path) -> None:
    prices = ["--prices", str(EXAMPLES / "prices.toml")]
    assert ran(tmp_path, *QUICK, *prices).exit_code == 0
    (tmp_path / "parts/00001.parquet").unlink()
    before = (tmp_path / "legs.parquet").read_bytes()
    again = ran(tmp_path, *QUICK)
    assert again.exit_code == 0, again.output
    assert "Prices: those the study was begun with, in EUR." in again.output
    assert (tmp_path / "legs.parquet").read_bytes() == before


def test_a_study_whose_folder_kept_no_prices_asks_for_them(tmp_path: Path) -> None:
    prices = ["--prices", str(EXAMPLES / "prices.toml")]
    assert ran(tmp_path, *QUICK, *prices).exit_code == 0
    document = json.loads((tmp_path / "study.json").read_text())
    del document["prices"]
    (tmp_path / "study.json").write_text(json.dumps(document))
    again = ran(tmp_path, *QUICK)
    assert again.exit_code == 2
    assert "was begun with prices: give the same file with --prices again" in again.output
    assert ran(tmp_path, *QUICK, *prices).exit_code == 0


def test_other_prices_make_another_study(tmp_path: Path) -> None:
    other = tmp_path / "prices.toml"
    other.write_text('currency = "EUR"\n[roll]\nzinc_paste = 1\n')
    out = tmp_path / "out"
    assert ran(out, *QUICK, "--prices", str(EXAMPLES / "prices.toml")).exit_code == 0
    again = ran(out, *QUICK, "--prices", str(other))
    assert again.exit_code == 2
    assert "holds another study (other prices)" in again.output
