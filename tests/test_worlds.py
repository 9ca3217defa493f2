"""Every world of the headline is right where the right answer can be worked out by hand."""

import csv
from pathlib import Path

import numpy as np
import pytest

from benchmarks.worlds.anatomical import Anatomical, shares_round, slanted_curvature
from benchmarks.worlds.bodies import MEAN_SHARE, Bodies, Body, Place, bodies, crossings
from benchmarks.worlds.constants import Constants
from benchmarks.worlds.hands import Planned
from benchmarks.worlds.level import Level, inner_share
from benchmarks.worlds.mesh import Mesh, hull_of
from benchmarks.worlds.truth import SITES, Lying, TrueLeg, World
from gaiter.core.case import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from tests.strategies import random_leg

ANKLE, GAITER = Landmark.ANKLE, Landmark.GAITER
COLUMNS, TURNS, GIRTH = 96, 12, 25.0
RADIUS = GIRTH / (2 * np.pi)
HEIGHTS = {ANKLE: 12.0, GAITER: 20.0, Landmark.CALF: 31.0, Landmark.BELOW_KNEE: 39.0}
ROUND = TrueLeg(1.0, dict.fromkeys(SITES, 1.0), dict.fromkeys(SITES, 0.0), 0.0)


def tube(radius_at, depth=1.0, around=120, rings=121) -> Mesh:
    """A skin of revolution 60 cm high, its front-to-back stretched."""
    angle = 2 * np.pi * np.arange(around) / around
    heights = np.linspace(-10, 50, rings)
    radius = np.array([radius_at(z) for z in heights])[:, None]
    vertices = np.stack(
        [
            depth * radius * np.cos(angle),
            radius * np.sin(angle),
            np.repeat(heights[:, None], around, axis=1),
        ],
        axis=-1,
    ).reshape(-1, 3)
    at = np.arange((rings - 1) * around).reshape(rings - 1, around)
    beside = np.roll(at, -1, axis=1)
    lower = np.stack([at, beside, at + around], axis=-1)
    upper = np.stack([beside, beside + around, at + around], axis=-1)
    return Mesh(vertices, np.concatenate([lower.reshape(-1, 3), upper.reshape(-1, 3)]))


def body(mesh: Mesh) -> Body:
    return Body(mesh, {f"{site.value}_height_cm": str(cm) for site, cm in HEIGHTS.items()})


def level_turns(tension: float = 1.0, slope_cm: float = 0.0) -> Planned:
    """Level turns, ten centimetres wide and five apart, clockwise seen from above."""
    low = np.repeat(5.0 * np.arange(TURNS)[:, None] - 5, COLUMNS, axis=1)
    turn = (np.arange(TURNS * 480) + 0.5) / 480
    # A turn begins between two places, so that its step up lies at neither.
    angle = 0.15 - 2 * np.pi * turn
    middle = 5.0 * np.floor(turn)
    line = np.stack([RADIUS * np.cos(angle), RADIUS * np.sin(angle), middle], axis=-1)
    return Planned(
        low, low + 10, np.full_like(low, slope_cm), np.full(TURNS, tension), None, line, turn, 10.0
    )


def pressures(world: World, leg: TrueLeg, layer: Planned, girth: float = GIRTH):
    lying = Lying((layer,), HEIGHTS, dict.fromkeys(SITES, girth), dict.fromkeys(SITES, 0.0))
    under = world.under(leg, lying)
    tension, still = [layer.tension_n_per_cm], [np.zeros(TURNS)]
    return tuple(
        {
            site: leg.soft_mmhg(site, one.rigid_mmhg(tension, still, [1.0]))
            for site, one in part.items()
        }
        for part in (under.judged, under.read)
    )


@pytest.mark.parametrize(
    "world", [Level(), Anatomical(), Bodies(body(tube(lambda z: RADIUS)))], ids=type
)
def test_on_a_round_tube_level_turns_press_by_the_girth_formula(world: World) -> None:
    # Two thicknesses of 1 N/cm on 25 cm: 2 pi 75.0062 / 25 x 2 = 37.70 mmHg; facets of 3 degrees
    # and the seams of turns five apart leave a percent to the mesh.
    for found in pressures(world, ROUND, level_turns()):
        for site in SITES[:3]:
            assert found[site] == pytest.approx(37.70, rel=0.012), site


def test_the_clinic_the_leg_and_what_gives_lower_every_world_alike() -> None:
    leg = TrueLeg(0.8, ROUND.inner_share, dict.fromkeys(SITES, 0.1), 0.0)
    # 0.8 x 37.70 = 30.16 on a rigid leg; P (1 + 0.1 P / 40) = 30.16 has the root 28.19.
    for world in (Level(), Anatomical()):
        judged, _ = pressures(world, leg, level_turns())
        assert judged[GAITER] == pytest.approx(28.19, abs=0.02)


def test_a_softer_leg_presses_back_less_and_more_so_the_harder_it_is_pressed() -> None:
    soft = TrueLeg(1.0, ROUND.inner_share, dict.fromkeys(SITES, 0.1), 0.0)
    shares = [soft.soft_mmhg(Landmark.CALF, mmhg) / mmhg for mmhg in (20.0, 40.0, 80.0)]
    assert 1 > shares[0] > shares[1] > shares[2] > 0.8


def test_an_ankle_is_judged_round_the_limb_and_read_at_its_inner_side() -> None:
    flat = TrueLeg(1.0, {**ROUND.inner_share, ANKLE: 0.6}, ROUND.softness, 0.0)
    for world in (Level(), Anatomical()):
        judged, read = pressures(world, flat, level_turns())
        # Round the limb a closed curve turns once, however flat its inner side.
        assert judged[ANKLE] == pytest.approx(37.70, rel=0.005)
        assert read[ANKLE] == pytest.approx(0.6 * 37.70, rel=0.005)
        assert judged[GAITER] == read[GAITER]


def test_slanted_turns_press_less_and_a_lengthwise_hollow_takes_from_them() -> None:
    # 30 degrees off level: 3/4 of 0.25 less 1/4 of 0.12 is 0.1575; upright fabric spans.
    slant = np.array([0.0, np.pi / 6, np.pi / 2])
    found = slanted_curvature(np.array([0.25]), -0.12, slant)
    np.testing.assert_allclose(found, [0.25, 0.1575, 0.0], atol=1e-12)
    # A turn that rises r tan 30 in a radian lies 30 degrees off level. On a round limb of radius
    # 25 / 2 pi with a hollow of -0.08/cm: (3/4 - 0.08 r / 4) of the girth formula, both ways.
    leg = TrueLeg(1.0, ROUND.inner_share, ROUND.softness, 0.0, along_per_cm=-0.08)
    rising = level_turns(slope_cm=RADIUS * np.tan(np.pi / 6))
    share = 3 / 4 - 0.08 * RADIUS / 4
    for found in pressures(Anatomical(), leg, rising):
        assert found[ANKLE] == pytest.approx(share * 37.70, rel=1e-3)
        # Elsewhere no hollow is reckoned with.
        assert found[GAITER] == pytest.approx(0.75 * 37.70, rel=1e-3)
    # World level gives every turn its full level curvature.
    assert pressures(Level(), leg, rising)[0][ANKLE] == pytest.approx(37.70, rel=1e-3)


def test_an_ellipse_has_its_curvature_by_the_textbook() -> None:
    # Half-axes 1.45 and 1: b / a^2 = 0.4756 at the inner side; girth 7.7620 (Ramanujan), so
    # 0.4756 x 7.7620 / 2 pi = 0.5876 of its circle; in front a / b^2, (a / b)^3 times as much.
    assert inner_share(1.45) == pytest.approx(0.5876, abs=2e-4)
    assert inner_share(1.0) == pytest.approx(1.0)
    shares = shares_round(inner_share(1.45), COLUMNS)
    assert shares.mean() == pytest.approx(1.0, abs=1e-6)
    assert shares[COLUMNS // 4] == pytest.approx(0.5876, rel=0.01)
    assert shares[0] / shares[COLUMNS // 4] == pytest.approx(1.45**3, rel=0.02)
    # The same by a hull of 600 corners, 5 and 3.5 cm: 3.5 / 25 = 0.14 and 5 / 3.5^2 = 0.408.
    angle = 2 * np.pi * np.arange(600) / 600
    hull = hull_of(np.stack([5 * np.cos(angle), 3.5 * np.sin(angle)], axis=-1))
    inner, front = hull.nearest_way_cm(np.array([0, 3.5])), hull.nearest_way_cm(np.array([5, 0]))
    assert hull.curvature(np.array([inner]), 0.3)[0] == pytest.approx(0.14, rel=0.01)
    assert hull.curvature(np.array([front]), 0.3)[0] == pytest.approx(0.408, rel=0.01)


def test_a_body_of_elliptic_sections_reads_its_inner_side() -> None:
    oval = Bodies(body(tube(lambda z: 3.5, depth=5 / 3.5, around=240)))
    girth = oval.body.level(20.0).girth_cm
    # Ramanujan: pi (8.5) (1 + 3h / (10 + sqrt(4 - 3h))), h = (1.5 / 8.5)^2 = 0.03114: 26.912 cm.
    assert girth == pytest.approx(26.912, abs=0.01)
    # Over 1.25 cm to each side of the minor axis, s = 5 t: curvature 0.14 (1 + 0.765 t^2 ...),
    # t up to 0.25 (5^2 - 3.5^2 over 2 x 5^2, three times), in the mean 1.6 % above 0.14.
    share = 0.14 * 1.016 * girth / (2 * np.pi)
    assert oval.body.level_share(GAITER) == pytest.approx(share, rel=0.01)
    judged, read = pressures(oval, ROUND, level_turns(), girth)
    assert read[GAITER] == pytest.approx(75.0062 * 2 * 0.14 * 1.016, rel=0.02)
    # Round it, the girth formula: 471.278 x 2 / 26.912 = 35.02.
    assert judged[ANKLE] == pytest.approx(35.02, rel=0.02)


@pytest.mark.parametrize("slant", [0.0, np.pi / 9, np.pi / 6])
@pytest.mark.parametrize("hollow", [0.0, 0.08])
def test_a_section_by_the_plane_of_a_slanted_turn_obeys_euler(slant: float, hollow: float) -> None:
    # A waist of radius 4 with lengthwise curvature -hollow: cos2 / 4 - hollow sin2.
    waist = Bodies(body(tube(lambda z: 4 + hollow * (z - 20) ** 2 / 2)))
    place = Place(np.array([0, 4.0, 20]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]), 1.0)
    direction = np.array([np.cos(slant), 0, np.sin(slant)])
    expected = np.cos(slant) ** 2 / 4 - hollow * np.sin(slant) ** 2
    # The 2.5 cm window sees a little of what is farther out.
    assert waist._curvature(place, direction) == pytest.approx(expected, abs=0.006)


def test_a_bandage_spans_a_hollow_in_the_skin() -> None:
    angle = 2 * np.pi * np.arange(400) / 400
    circle = 2 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    lobes = [circle + np.array([off, 0]) for off in (-2, 2)]
    hull = hull_of(np.concatenate(lobes))
    # Round two circles of radius 2, 4 cm apart: 2 pi 2 + 2 x 4; between them nothing presses.
    assert hull.girth_cm == pytest.approx(4 * np.pi + 8, abs=0.002)
    between = hull.nearest_way_cm(np.array([0, 2.0]))
    assert hull.curvature(np.array([between]), 2.5)[0] == pytest.approx(0, abs=1e-9)


def test_a_cut_takes_the_curve_that_is_meant() -> None:
    near, far = tube(lambda z: 4.0), tube(lambda z: 2.0)
    both = Mesh(
        np.concatenate([near.vertices_cm, far.vertices_cm + np.array([20, 0, 0])]),
        np.concatenate([near.faces, far.faces + len(near.vertices_cm)]),
    )
    cut = both.section(np.array([4.0, 0, 20.2]), np.array([0, 0, 1.0]))
    assert np.hypot(*cut[:, :2].T) == pytest.approx(4.0, abs=0.01)
    assert len(both.section(np.array([4.0, 0, 90.0]), np.array([0, 0, 1.0]))) == 0


def test_turns_cross_a_place_once_each_with_their_distance_and_slant() -> None:
    place = Place(np.array([0, RADIUS, 12.0]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]), 1.0)
    near = {turn: (up, half) for turn, up, _, half in crossings(place, level_turns())}
    # Middles at 5, 10, 15 and 20 cm; 0 and 25 are farther than half a width and 4 cm.
    assert sorted(near) == [1, 2, 3, 4]
    assert near[2] == (pytest.approx(-2.0), pytest.approx(5.0))
    # 30 degrees off level a width of 10 covers 10 / cos 30 up the leg.
    turn = np.arange(0, 3, 1 / 48)
    angle = -2 * np.pi * turn
    rise = RADIUS * np.tan(np.pi / 6) * 2 * np.pi * (turn - 0.75)
    line = np.stack([RADIUS * np.cos(angle), RADIUS * np.sin(angle), 12 + rise], axis=-1)
    edge = np.zeros((3, COLUMNS))
    rising = Planned(edge, edge, edge, np.ones(3), None, line, turn, 10.0)
    (one,) = [found for found in crossings(place, rising) if abs(found[1]) < 1]
    assert one[0] == 0
    assert one[1] == pytest.approx(0, abs=0.02)
    assert one[3] == pytest.approx(5 / np.cos(np.pi / 6), rel=0.002)


def test_wool_makes_a_body_rounder_by_its_thickness() -> None:
    world = Bodies(body(tube(lambda z: RADIUS)))
    layer = level_turns()
    lying = Lying((layer,), {GAITER: 20.0}, {GAITER: GIRTH}, {GAITER: 0.5})
    patches = world.under(ROUND, lying).judged[GAITER]
    found = patches.rigid_mmhg([layer.tension_n_per_cm], [np.zeros(TURNS)], [1.0])
    assert found == pytest.approx(37.70 * RADIUS / (RADIUS + 0.5), rel=0.012)


def test_the_anatomical_world_has_the_spread_it_names() -> None:
    rng, constants = np.random.default_rng(8), Constants()
    legs = [Anatomical().leg(rng, constants, 0.7, typical=False) for _ in range(4000)]
    logs = np.log([[leg.inner_share[site] for site in SITES] for leg in legs])
    # As written down before the first run; 4000 legs leave 1.6 % of an SD to chance.
    np.testing.assert_allclose(np.exp(logs.mean(axis=0)), [0.60, 0.92, 1.02, 0.95], rtol=0.015)
    np.testing.assert_allclose(logs.std(axis=0), [0.20, 0.10, 0.12, 0.15], rtol=0.05)
    along = [leg.along_per_cm for leg in legs]
    assert -0.12 <= min(along) < -0.119
    assert -0.031 < max(along) <= -0.03


def test_bodies_are_taped_as_their_table_says(tmp_path: Path) -> None:
    skin = tube(lambda z: RADIUS)
    np.savez(tmp_path / "leg-shapes.npz", vertices_cm=skin.vertices_cm[None], faces=skin.faces)
    row = {
        "sex": "female", "foot_length_cm": 25, "metatarsal_heads_heel_cm": 18,
        "instep_heel_cm": 14, "metatarsal_heads_girth_cm": 23, "instep_girth_cm": 24,
        "heel_instep_girth_cm": 32,
        **{f"{site.value}_height_cm": cm for site, cm in HEIGHTS.items()},
    }  # fmt: skip
    with (tmp_path / "leg-shapes.csv").open("w") as file:
        writer = csv.DictWriter(file, row)
        writer.writeheader()
        writer.writerow(row)
    (one,) = bodies(tmp_path)
    measured = one.measured()
    assert measured.girth_cm[GAITER] == pytest.approx(GIRTH, abs=0.02)
    assert measured.girth_cm[Landmark.INSTEP] == 24
    assert measured.position_cm[ANKLE] == 12
    assert set(MEAN_SHARE) == set(SITES)


def test_a_leg_is_taped_by_its_sections_as_it_was_measured() -> None:
    """The surface that the tool builds, cut as any other body: its hull has the tape's girth."""
    leg = random_leg(np.random.default_rng(9), Sex.FEMALE)
    points = leg_surface(leg).points_cm
    rings, around = points.shape[:2]
    at = np.arange((rings - 1) * around).reshape(rings - 1, around)
    beside = np.roll(at, -1, axis=1)
    lower = np.stack([at, beside, at + around], axis=-1).reshape(-1, 3)
    upper = np.stack([beside, beside + around, at + around], axis=-1).reshape(-1, 3)
    skin = Mesh(points.reshape(-1, 3), np.concatenate([lower, upper]))
    row = {f"{site.value}_height_cm": str(leg.position_cm[site]) for site in HEIGHTS}
    cut = Body(skin, row)
    for site in (GAITER, Landmark.CALF):
        # Columns 0.3 cm apart and linear between rings leave less than a millimetre.
        hull = cut.level(leg.position_cm[site])
        assert hull.girth_cm == pytest.approx(leg.girth_cm[site], abs=0.1)
