import math

import pytest

from gaiter.core.leg.volume import excess_percent, frusta_ml, frustum_ml
from tests.conftest import reference

FRUSTA = reference("frusta")


@pytest.mark.parametrize(("lower", "upper", "height", "volume"), FRUSTA["rows"])
def test_published_frusta(lower: float, upper: float, height: float, volume: float) -> None:
    # Seven figures are printed.
    assert frustum_ml(math.pi * lower, math.pi * upper, height) == pytest.approx(volume, abs=1e-4)


def test_a_cylinder_is_a_frustum() -> None:
    assert frustum_ml(30, 30, 10) == pytest.approx(10 * 30**2 / (4 * math.pi))


def test_limb_and_excess() -> None:
    limb = FRUSTA["limb"]
    heights = [4 * i for i in range(len(limb["girths_cm"]))]
    volume = frusta_ml(limb["girths_cm"], heights)
    swollen = frusta_ml(limb["swollen_girths_cm"], heights)
    assert volume == pytest.approx(limb["volume_ml"], abs=0.05)
    assert swollen == pytest.approx(limb["swollen_ml"], abs=0.05)
    assert excess_percent(swollen, volume) == pytest.approx(limb["excess_percent"], abs=0.006)


@pytest.mark.parametrize("values", [(0, 20, 4), (20, -1, 4), (20, 20, 0)])
def test_refusals(values: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="must be above 0 cm"):
        frustum_ml(*values)
    with pytest.raises(ValueError, match="reference volume must be above 0 mL"):
        excess_percent(10, 0)
