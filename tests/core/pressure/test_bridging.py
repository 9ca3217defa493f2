"""Hollows under the fabric: their depth in closed form, and which cells count."""

from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.body_model import BONY_PLACES, BodyModel
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.tube import round_limb
from gaiter.core.pressure import bridging
from gaiter.core.pressure.bridging import bridged_areas, hollow_depth_cm
from tests.core.bandage.test_path import cylinder
from tests.strategies import percentile_leg


def test_hollow_depth_of_two_touching_circles() -> None:
    """Between two bumps of a peanut section the taut fabric is the common tangent."""
    angle = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    radius = 3 + 0.8 * np.cos(2 * angle)
    section = np.stack([radius * np.cos(angle), radius * np.sin(angle)])
    columns = np.flatnonzero(np.abs(angle - np.pi / 2) < 0.2)
    # The tangent over the waist touches at equal heights; its height is the largest y.
    expected = section[1].max() - section[1, 90]
    assert hollow_depth_cm(section, columns) == pytest.approx(expected, abs=1e-3)


def test_a_convex_section_has_no_hollow() -> None:
    section = cylinder(4.0).section_cm[:, 0]
    assert hollow_depth_cm(section, np.arange(5)) == pytest.approx(0, abs=1e-9)


def test_bridged_skin_is_found_with_its_depth() -> None:
    bony = BodyModel(bony_places=tuple(replace(p, height_cm=2 * p.height_cm) for p in BONY_PLACES))
    surface = leg_surface(percentile_leg(Sex.MALE, 2), body=bony)
    covered = np.full(surface.section_cm.shape[1:], 2.0)
    pressure = np.ones_like(covered)
    # Large ankle bones and a large tendon leave hollows between them: take their own cells.
    pressure[surface.forms.second[2] < 0] = 0
    found = bridged_areas(surface, covered, pressure)
    assert found
    assert all(0.1 <= area.depth_cm < 1 for area in found)
    assert "hollow behind the outer ankle bone" in [area.patch.place for area in found]


PLACES = {
    Landmark.METATARSAL_HEADS: 1.0, Landmark.INSTEP: 3.0, Landmark.HEEL_INSTEP: 5.0,
    Landmark.ANKLE: 7.0, Landmark.GAITER: 9.0, Landmark.CALF: 36.0, Landmark.BELOW_KNEE: 38.0,
}  # fmt: skip


def dented(depth_cm: float):
    """A cylinder of radius 4 with a dent to either side of 30 degrees, so deep at its middle.

    The chord over the dent lies 4 cos 30 = 3.464 from the axis.
    """
    surface = cylinder(4.0, landmarks=PLACES)
    off = np.abs(surface.angle - np.pi / 2)
    radius = np.where(off < np.pi / 6, (4 * np.cos(np.pi / 6) - depth_cm) / np.cos(off), 4.0)
    section = surface.section_cm * (radius / 4)
    inside = np.zeros(section.shape[1:], bool)
    inside[100:120, off < np.pi / 6] = True
    return replace(surface, section_cm=section), inside


def found(depth_cm: float = 0.3, covered: float = 2.0, rows: slice | None = None):
    surface, inside = dented(depth_cm)
    pressure = np.where(inside, 0.0, 40.0)
    thick = np.full(inside.shape, covered)
    if rows is not None:
        thick[:] = 0
        thick[rows] = covered
    return bridged_areas(surface, thick, pressure)


def test_a_flat_dent_is_as_deep_as_its_chord_lies_over_it() -> None:
    (area,) = found()
    # The hull runs between the columns next to the dent, 3.75 degrees apart: a millimetre.
    assert area.depth_cm == pytest.approx(0.3, abs=0.1)
    deeper = found(0.8)[0].depth_cm
    # The deepest place moves along the flat bottom a little.
    assert deeper - area.depth_cm == pytest.approx(0.5, abs=0.02)
    assert area.patch.place == "inner side of the calf"


def test_a_dent_under_a_millimetre_is_none() -> None:
    exact = found()[0].depth_cm
    assert found(0.3 - exact + 0.11)[0].depth_cm == pytest.approx(0.11, abs=0.01)
    assert found(0.3 - exact + 0.085) == ()


@pytest.mark.parametrize(("thicknesses", "bridged"), [(0.51, True), (0.5, False)])
def test_only_what_fabric_covers_is_bridged(thicknesses: float, bridged: bool) -> None:
    assert bool(found(covered=thicknesses)) is bridged


def test_only_between_start_and_end_and_where_nothing_presses() -> None:
    surface, inside = dented(0.5)
    covered = np.full(inside.shape, 2.0)
    everywhere = bridged_areas(surface, covered, np.zeros(inside.shape))
    # 37 of the 40 cm lie between the metatarsal heads and below the knee.
    assert everywhere[0].patch.cells.any(axis=1).sum() == pytest.approx(37 / 40 * 300, abs=2)
    assert bridged_areas(surface, covered, np.full(inside.shape, 0.1)) == ()


def test_the_deepest_ring_gives_the_depth() -> None:
    surface, inside = dented(0.3)
    section = surface.section_cm.copy()
    deeper, _ = dented(0.6)
    section[:, 110] = deeper.section_cm[:, 110]
    (area,) = bridged_areas(
        replace(surface, section_cm=section),
        np.full(inside.shape, 2.0),
        np.where(inside, 0.0, 40.0),
    )
    assert area.depth_cm == pytest.approx(found(0.6)[0].depth_cm)


def furrowed(depth_cm: float):
    """A tube of radius 4 with one column of 96 this far under the chord of its neighbours."""
    tube = round_limb(4)
    tube.section_cm[:, :, 24] *= (4 * np.cos(2 * np.pi / 96) - depth_cm) / 4
    return tube, np.full((81, 96), 2.0)


def test_a_furrow_counts_from_a_millimetre_on() -> None:
    for depth_cm, counts in ((0.105, True), (0.095, False)):
        areas = bridged_areas(*furrowed(depth_cm), np.zeros((81, 96)))
        assert bool(areas) is counts
        assert all(area.depth_cm == pytest.approx(depth_cm) for area in areas)


def test_exactly_a_millimetre_counts(monkeypatch) -> None:
    monkeypatch.setattr(bridging, "hollow_depth_cm", lambda *_: 0.1)
    assert len(bridged_areas(*furrowed(0.5), np.zeros((81, 96)))) == 1


def test_the_rings_where_the_bandage_starts_and_ends_belong_to_it() -> None:
    """Every half centimetre from 5 to 30 cm is a ring: 51 of them."""
    tube, covered = furrowed(0.5)
    part = tube.between(Landmark.INSTEP, Landmark.CALF)
    (area,) = bridged_areas(part, covered, np.zeros((81, 96)))
    assert np.flatnonzero(area.patch.cells.any(axis=1)).tolist() == list(range(10, 61))
