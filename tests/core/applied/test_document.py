"""The document of what was applied."""

from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.applied.calibration import bandage_reading
from gaiter.core.applied.document import TAKEN_VERSION, Advice, Applied, AppliedSite
from gaiter.core.applied.habits import hand_readings
from gaiter.core.landmark import Landmark


def test_a_site_is_off_by_what_it_has_over_its_plan() -> None:
    """36 mmHg where 40 were planned are 4 too few."""
    assert AppliedSite.model_construct(median_mmhg=36.0, planned_mmhg=40.0).off_mmhg == -4


def test_what_the_first_version_takes_from_a_document() -> None:
    """Whoever changes what is taken raises the version, so that it is taken again."""
    spacing = SimpleNamespace(place=Landmark.CALF, read_log_tension=0.1, read_log_error=0.02)
    layer = SimpleNamespace(material="elastic", spacings=[spacing])
    sites = tuple(
        SimpleNamespace(
            landmark=place, read_mmhg=30.0, theory_mmhg=40.0, theory_log_sd=spread,
            beside_gaiter_log_sd=spread,
        )
        for place, spread in ((Landmark.GAITER, 0.0), (Landmark.CALF, 0.2))
    )  # fmt: skip
    today = date(2026, 1, 1)
    bandage = Applied.model_construct(
        advice=Advice.GOOD, today=today, system="two layers", layers=(layer,), sites=sites,
        case=None, side="right",
    )  # fmt: skip
    (hand,) = hand_readings(bandage)
    taken = (hand.on, hand.material, hand.height, hand.log_tension, hand.log_error)
    assert taken == (today, "elastic", Landmark.CALF, 0.1, 0.02)
    told = bandage_reading(bandage)
    assert (told.system, told.values) == ("two layers", 1)
    # 30 of 40 mmHg, read to 3 mmHg, at both.
    calf = told.offsets[Landmark.CALF]
    assert (calf.log_offset, calf.log_error) == pytest.approx((0.0, (0.02 + 0.04) ** 0.5))
    assert (told.log_remainder, told.log_error) == pytest.approx((np.log(0.75), 0.1))
    assert TAKEN_VERSION == 1
