"""Lengths at landmarks: what was taken, what was not, and what never is."""

import pytest

from gaiter.core.case.at_landmarks import AtLandmarks
from gaiter.core.case.caliper import Depths, Widths
from gaiter.core.case.leg import KnownGirths, KnownPositions
from gaiter.core.landmark import Landmark


@pytest.mark.parametrize("kind", [KnownGirths, KnownPositions, Widths, Depths])
def test_every_length_is_found_at_its_own_landmark(kind: type[AtLandmarks]) -> None:
    for site in kind.model_fields:
        told = kind.model_construct(**{site: 12.5})
        assert {one: told.at(one) for one in Landmark if told.at(one) is not None} == {
            Landmark(site): 12.5
        }
