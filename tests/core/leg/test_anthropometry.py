import pytest

from gaiter.core.case.person import Sex
from gaiter.core.leg.anthropometry import PUBLISHED, nearest_sex
from tests.conftest import reference

GORDON = reference("gordon2014")
NAMES = {Sex.MALE: "men", Sex.FEMALE: "women"}


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("line", ["calf_on_ankle", "heel_ankle_on_ankle", "ball_girth_on_ankle"])
def test_regressions_are_the_published_ones(sex: Sex, line: str) -> None:
    intercept, slope, residual = GORDON["regressions_mm"][NAMES[sex]][line]
    ours = getattr(PUBLISHED[sex], line)
    # Rounded to a tenth of a millimetre when typed in cm.
    assert ours.intercept_cm == pytest.approx(intercept / 10, abs=0.006)
    assert ours.slope == slope
    assert ours.residual_sd_cm == pytest.approx(residual / 10, abs=0.006)


@pytest.mark.parametrize("sex", list(Sex))
def test_the_mean_leg_lies_on_its_regression(sex: Sex) -> None:
    group = PUBLISHED[sex]
    expected = group.calf_on_ankle.at(group.ankle_girth.mean_cm)
    # The regression passes the means; the printed coefficients are rounded.
    assert expected == pytest.approx(group.calf_girth.mean_cm, abs=0.1)


def test_the_nearer_group_is_chosen_by_foot_size() -> None:
    assert nearest_sex(None, 24.0) is Sex.FEMALE
    assert nearest_sex(None, 28.0) is Sex.MALE
    assert nearest_sex(31.0, None) is Sex.FEMALE
