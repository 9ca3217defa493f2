from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from shapely import MultiPoint

from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import LegShapeError, leg_surface
from gaiter.core.leg.volume import frusta_ml, limb_volume_ml, surface_volume_ml
from tests.strategies import legs, percentile_leg, random_leg

# A tape is read to a millimetre; the surface promises a fifth of it.
GIRTH_TOLERANCE_CM = 0.02


def hull_girth(surface, ring: int) -> float:
    """The perimeter of the convex hull by a general geometry library."""
    return MultiPoint(surface.section_cm[:, ring].T).convex_hull.length


def least_advance(surface) -> float:
    """Smallest step from ring to ring along either ring's plane normal [cm]; a fold is below 0."""
    normal = np.stack([-surface.front[:, 2], 0 * surface.s_cm, surface.front[:, 0]], axis=-1)
    steps = np.diff(surface.points_cm, axis=0)
    from_below = (steps * normal[:-1, None]).sum(axis=-1)
    from_above = (steps * normal[1:, None]).sum(axis=-1)
    return float(min(from_below.min(), from_above.min()))


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("index", [0, 1, 2])
def test_girths_are_what_the_tape_read(sex: Sex, index: int) -> None:
    measured = percentile_leg(sex, index)
    surface = leg_surface(measured)
    for landmark in measured.girth_cm:
        ring = int(np.argmin(np.abs(surface.s_cm - surface.landmark_s_cm[landmark])))
        # The nearest ring lies up to half a step off the landmark, where a girth may differ.
        slope = abs(np.gradient(surface.girth_cm, surface.s_cm)[ring])
        off_ring = slope * abs(surface.s_cm[ring] - surface.landmark_s_cm[landmark])
        assert hull_girth(surface, ring) == pytest.approx(
            measured.girth_cm[landmark], abs=GIRTH_TOLERANCE_CM + off_ring
        )
        assert surface.girth_at_cm(landmark) == pytest.approx(
            measured.girth_cm[landmark], abs=GIRTH_TOLERANCE_CM
        )


@pytest.mark.long
def test_no_fold_on_500_legs_drawn_from_the_published_regressions() -> None:
    rng = np.random.default_rng(7)
    sexes = list(Sex)
    for number in range(500):
        measured = random_leg(rng, sexes[number % 2])
        surface = leg_surface(measured)
        assert least_advance(surface) > 0, measured
        worst = max(
            abs(surface.girth_at_cm(landmark) - measured.girth_cm[landmark])
            for landmark in measured.girth_cm
        )
        assert worst < GIRTH_TOLERANCE_CM, measured


@given(legs())
@settings(max_examples=20)
def test_padding_grows_every_girth_by_two_pi_its_thickness(measured) -> None:
    surface = leg_surface(measured)
    padded = surface.padded(0.5)
    # The polygon of 96 points loses a ten-thousandth of its girth.
    assert padded.girth_cm - surface.girth_cm == pytest.approx(np.pi, abs=0.01)
    assert (padded.padding_cm == 0.5).all()


def test_volume_agrees_with_a_mesh_library() -> None:
    """Ankle to below knee: the closed mesh of the rings against the frusta of the girths."""
    measured = percentile_leg(Sex.MALE, 1)
    surface = leg_surface(measured)
    low, high = (surface.landmark_s_cm[m] for m in (Landmark.ANKLE, Landmark.BELOW_KNEE))
    rows = np.flatnonzero((surface.s_cm >= low - 1e-9) & (surface.s_cm <= high + 1e-9))
    points = surface.points_cm[rows]
    rings, angles = points.shape[:2]
    corner = np.arange((rings - 1) * angles).reshape(rings - 1, angles)
    right = np.roll(corner, -1, axis=1)
    wall = np.concatenate(
        [
            np.stack([corner, right, right + angles], -1).reshape(-1, 3),
            np.stack([corner, right + angles, corner + angles], -1).reshape(-1, 3),
        ]
    )
    centre = np.stack([points[0].mean(axis=0), points[-1].mean(axis=0)])
    bottom, top = rings * angles, rings * angles + 1
    first, last = np.arange(angles), (rings - 1) * angles + np.arange(angles)
    caps = np.concatenate(
        [
            np.stack([np.full(angles, bottom), np.roll(first, -1), first], -1),
            np.stack([np.full(angles, top), last, np.roll(last, -1)], -1),
        ]
    )
    mesh = trimesh.Trimesh(
        np.concatenate([points.reshape(-1, 3), centre]), np.concatenate([wall, caps])
    )
    assert mesh.is_watertight
    # A frustum takes every section for a circle, the largest area of a girth; the sections here
    # are at most 1.25 times as deep as wide, which costs up to 2.5 %.
    heights = points[:, :, 2].mean(axis=1)
    by_ring = frusta_ml(surface.girth_cm[rows].tolist(), heights.tolist())
    assert 0.97 * by_ring < mesh.volume < by_ring
    # Rings stand a seventh of a centimetre apart; flat facets lose 1 in 1,400 of each section.
    by_surface = surface_volume_ml(surface, Landmark.ANKLE, Landmark.BELOW_KNEE)
    assert by_surface == pytest.approx(mesh.volume, rel=0.005)
    # Four girths miss the bulge of the calf: within the 2-8 % that frusta read off water (Chromy).
    assert mesh.volume == pytest.approx(limb_volume_ml(measured), rel=0.05)


def test_grid_makes_no_difference() -> None:
    measured = percentile_leg(Sex.FEMALE, 2)
    coarse, fine = leg_surface(measured, rings=200), leg_surface(measured, rings=600)
    for landmark in measured.girth_cm:
        assert coarse.girth_at_cm(landmark) == pytest.approx(
            fine.girth_at_cm(landmark), abs=GIRTH_TOLERANCE_CM
        )


def test_a_girth_too_small_for_its_leg_is_refused_by_name() -> None:
    measured = percentile_leg(Sex.MALE, 1)
    tight = replace(measured, girth_cm={**measured.girth_cm, Landmark.HEEL_INSTEP: 21.0})
    with pytest.raises(LegShapeError, match="girth near the heel–instep must be at least") as error:
        leg_surface(tight)
    assert error.value.landmark is Landmark.HEEL_INSTEP
    assert error.value.girth_cm < error.value.least_cm


def test_negative_padding_is_refused() -> None:
    with pytest.raises(ValueError, match="padding must be 0 cm or thicker; received -1"):
        leg_surface(percentile_leg(Sex.MALE, 1)).padded(-1.0)
