"""A bench test is read with every problem named, and gives a stock entry that a case accepts."""

import json
import tomllib

import pytest

from gaiter.core.case import StockItem
from gaiter.core.fabric import StretchCurve
from gaiter.core.fabric.bench_test import BenchResult
from gaiter.files.bench_file import read_bench, stock_entry
from gaiter.files.wording import FileError

BENCH = {
    "schema": "gaiter.bench/1",
    "material": "long_stretch_elastic",
    "tested_on": "2026-11-20",
    "width_cm": 7.5,
    "relaxed_cm": 50,
    "readings": [{"force_n": 2 * n, "length_cm": 50 + 5 * n} for n in range(1, 6)],
}


@pytest.fixture
def written(tmp_path):
    def write(**changes):
        path = tmp_path / "roll.json"
        path.write_text(json.dumps({**BENCH, **changes}))
        return path

    return write


def test_a_bench_test_is_read_as_it_was_written(written) -> None:
    test = read_bench(written())
    assert (test.material, test.width_cm, test.relaxed_cm) == ("long_stretch_elastic", 7.5, 50)
    assert [(one.newton, one.length_cm) for one in test.readings][:2] == [(2, 55), (4, 60)]


def test_what_is_wrong_is_named_with_the_file(written) -> None:
    with pytest.raises(FileError, match="roll.json") as error:
        read_bench(written(width_cm=1, relaxed_cm=5))
    said = str(error.value)
    assert "width_cm" in said
    assert "2 to 40 cm" in said
    assert "relaxed_cm" in said


def test_the_stock_entry_is_read_back_with_the_rolls_own_curve(written) -> None:
    curve = StretchCurve(0.5, 1.23456, 1.98771, 0.2504)
    result = BenchResult(curve, 0.0, 0.0, 0.0, 0.2504, None, ())
    entry = tomllib.loads(stock_entry(read_bench(written()), result))
    item = StockItem.model_validate(entry["stock"]["long_stretch_elastic"])
    assert (item.rolls, item.widths_cm) == (1, (7.5,))
    assert item.curve.usual_stretch == 0.5
    # Written to four digits, the hysteresis to three.
    assert item.curve.usual_tension_n_per_cm == 1.2346
    assert item.curve.locking_stretch == 1.9877
    assert item.curve.hysteresis == 0.25
