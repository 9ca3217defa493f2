import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from gaiter.core.fabric import StretchCurve
from gaiter.core.fabric.bench_test import BenchTest, fit_bench_test
from gaiter.core.units import newton_from_kgf

TRUE = StretchCurve(0.5, 1.1, 2.0, 0.25)


def readings(curve: StretchCurve = TRUE, width: float = 10.0, noise: float = 0.0, down=True):
    rng = np.random.default_rng(3)
    steps = np.linspace(0.15, 0.9, 7)
    made = [
        {
            "force_n": float(width * t * (1 + noise * rng.standard_normal())),
            "length_cm": float(100 * (1 + e)),
        }
        for e, t in zip(steps, curve.tension_n_per_cm(steps), strict=True)
    ]
    if down:
        back = np.linspace(0.75, 0.2, 4)
        made += [
            {"force_n": float(width * t), "length_cm": float(100 * (1 + e)), "branch": "down"}
            for e, t in zip(back, curve.unloading_n_per_cm(back, 0.9), strict=True)
        ]
    return made


def bench(**changes) -> BenchTest:
    mapping = {
        "schema": "gaiter.bench/1",
        "material": "long_stretch_elastic",
        "tested_on": "2026-11-25",
        "width_cm": 10.0,
        "relaxed_cm": 100.0,
        "usual_stretch": 0.5,
        "readings": readings(),
        **changes,
    }
    return BenchTest.model_validate(mapping)


@given(st.floats(0.3, 2.5), st.floats(1.2, 3.0), st.floats(0.0, 0.5))
@settings(max_examples=25)
def test_a_known_curve_is_found_again(tension: float, lock: float, hysteresis: float) -> None:
    curve = StretchCurve(0.5, tension, lock, hysteresis)
    result = fit_bench_test(bench(readings=readings(curve)))
    assert result.curve.usual_tension_n_per_cm == pytest.approx(tension, rel=1e-3)
    assert result.curve.locking_stretch == pytest.approx(lock, rel=0.01)
    assert result.hysteresis == pytest.approx(hysteresis, abs=0.01)
    assert result.odd == ()


def test_scatter_and_errors_grow_with_the_readings_noise() -> None:
    clean = fit_bench_test(bench())
    noisy = fit_bench_test(bench(readings=readings(noise=0.05)))
    assert noisy.tension_sd_n_per_cm > clean.tension_sd_n_per_cm
    assert noisy.tension_error_share > clean.tension_error_share
    # The true tension lies within three of the stated errors.
    off = abs(noisy.curve.usual_tension_n_per_cm - 1.1) / noisy.curve.usual_tension_n_per_cm
    assert off < 3 * noisy.tension_error_share + 0.01


def test_a_luggage_scale_reads_kilograms() -> None:
    in_kg = [
        {"mass_kg": r["force_n"] / newton_from_kgf(1), "length_cm": r["length_cm"]}
        for r in readings(down=False)
    ]
    result = fit_bench_test(bench(readings=in_kg))
    assert result.curve.usual_tension_n_per_cm == pytest.approx(1.1, rel=1e-3)
    assert result.hysteresis is None


def test_relaxation_is_what_the_held_pull_lost() -> None:
    hold = {"length_cm": 150.0, "start_kg": 1.0, "end_kg": 0.8}
    assert fit_bench_test(bench(hold=hold)).relaxation == pytest.approx(0.2)


def test_an_odd_reading_is_named() -> None:
    made = readings(down=False)
    made[5]["force_n"] = made[4]["force_n"] + 0.1
    result = fit_bench_test(bench(readings=made))
    assert any(f"{made[5]['length_cm']:g} cm" in words for words in result.odd)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"readings": readings(down=False)[:2]}, "at least 4 on the way up.*received 2"),
        (
            {"readings": [*readings(down=False)[:4], {"force_n": 1.0, "length_cm": 190.0}]},
            "both pull and length must grow; 1.00 N at 190 cm follows",
        ),
        (
            {"readings": [{"force_n": 1.0, "length_cm": 90.0}, *readings(down=False)]},
            "at least the relaxed 100 cm; received 90 cm",
        ),
        ({"readings": [{"length_cm": 120.0}]}, "give either mass_kg or force_n"),
        ({"width_cm": 100.0}, "less than or equal to 40"),
        (
            {"hold": {"length_cm": 150.0, "start_kg": 0.8, "end_kg": 1.0}},
            "at most start_kg, 0.8 kg: fabric relaxes; received 1 kg",
        ),
    ],
)
def test_refusals(changes: dict, message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        bench(**changes)
