"""The leg that docstrings show their values on."""

import tomllib
from pathlib import Path

import pytest

from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan.document import Fit, Status
from gaiter.files.example_bench import example_bench, example_case, example_system

SHIPPED = Path(__file__).parents[2] / "examples" / "inner-ankle-ulcer.toml"


def test_the_case_is_the_shipped_one_and_invented() -> None:
    written = tomllib.loads(SHIPPED.read_text())["legs"]["right"]["girth_cm"]
    assert example_case().legs[Side.RIGHT].girth_cm.calf == written["calf"] == 37.0
    assert example_case().invented


def test_it_is_planned_with_one_system_and_planned_once() -> None:
    bench = example_bench()
    assert bench is example_bench()
    leg = bench.plan.legs[Side.RIGHT]
    assert leg.status is Status.PLANNED
    (system,) = leg.systems
    # One elastic layer reaches the gaiter's range only in hands that read the marks.
    assert (system.name, system.outcome) == ("one_elastic", Fit.NOT_IN_THESE_HANDS)
    # One layer presses; the wool under it does not.
    assert [layer.presses for layer in leg.systems[0].layers] == [False, True]


def test_its_pressure_round_the_calf_is_laplaces() -> None:
    """Tension over radius: 471.278 mmHg cm2/N x thicknesses x tension / girth.

    Turns rise by 5 cm round 39 cm, 1 / (1 + (5 / 39)^2), and the limb is a cone: within 3 %.
    """
    system = example_bench().plan.legs[Side.RIGHT].systems[0]
    calf = next(site for site in system.sites if site.landmark is Landmark.CALF)
    _foot, tension = system.layers[1].tensions_n_per_cm
    by_hand = 471.278 * calf.thicknesses * tension / calf.girth_cm
    assert calf.ring_mean_mmhg == pytest.approx(by_hand, rel=0.03)
    # 37 cm by tape over 0.2825 cm of wool: 2 pi x 0.2825 more.
    assert calf.girth_cm == pytest.approx(37 + 1.775, abs=0.05)


def test_its_system_before_it_is_written_down_has_a_pad_on_the_heel() -> None:
    built = example_system()
    assert built.pads_mm == {"heel": 6.0}
    assert built.design.padded_leg.pads_cm == {"heel": 0.6}
    # Five sheets of half of 0.2825 cm make 0.6 cm, each 5.5 cm long.
    assert built.extra_wool_cm([]) == 27.5
