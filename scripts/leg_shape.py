"""Learns the shape of legs from whole bodies and writes ``src/gaiter/data/leg_shape.npz``.

    python scripts/leg_shape.py FOLDER                  writes the file
    python scripts/leg_shape.py FOLDER --leave-one-out  how far each leg is from what others tell

FOLDER holds ``leg-shapes.npz`` (``vertices_cm`` legs x vertices x 3, ``faces``) and
``leg-shapes.csv`` (a tape for each): 55 right legs from toes to above the knee, cut from a
general parametric body model whose assets are CC0 (the MakeHuman assets), varied for sex, age,
muscle, weight, height and proportions. Frame: forward, medial, up, cm; origin on the floor under
the back of the heel. They are drawn by artists: good for how a leg is shaped, not for how people
vary. The meshes stay where they are; only what is learnt is shipped.
"""

import argparse
import csv
import sys
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.interpolate import BSpline
from scipy.spatial import cKDTree
from trimesh.remesh import subdivide_loop

from gaiter.core.arrays import Array
from gaiter.core.landmark import Landmark
from gaiter.core.leg.anatomy import CALIPER_SITES, Anatomy, features, way_up
from gaiter.core.leg.body_model import DEFAULT_BODY_MODEL
from gaiter.core.leg.build import guide_of, landmark_positions, leg_surface
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import taped_girth_cm

OUT = Path(__file__).parents[1] / "src" / "gaiter" / "data" / "leg_shape.npz"
# Splines along the way up the leg: about 0.8 cm apart in the foot and 1.8 cm in the leg, which is
# about a face of the meshes; harmonics round the leg: a face is a fortieth of the way.
_PIECES, _DEGREE, _HARMONICS = 36, 5, 8
_CUTS, _ROUND = 200, 384
# A little beyond both ends is learnt too, so that splines have no loose end on the leg.
_BEYOND_CM, _WAY = 2.0, (-0.4, 6.25)
# Bending of the splines is damped a little, because facets are no anatomy.
_DAMPING = 0.2
# Ridge, in bodies that would be the mean body. Chosen by leaving one out.
_RIDGE = 0.3
# A caliper is read to about 1 mm in 60 and 90, so ln(depth over width) to 0.02 (our choice).
_CALIPER_ERROR = 0.02
_SITES = (
    ("metatarsal_heads", Landmark.METATARSAL_HEADS, "metatarsal_heads_heel_cm"),
    ("instep", Landmark.INSTEP, "instep_heel_cm"),
    ("heel_instep", Landmark.HEEL_INSTEP, None),
    ("ankle", Landmark.ANKLE, "ankle_height_cm"),
    ("gaiter", Landmark.GAITER, "gaiter_height_cm"),
    ("calf", Landmark.CALF, "calf_height_cm"),
    ("below_knee", Landmark.BELOW_KNEE, "below_knee_height_cm"),
)


@dataclass(frozen=True)
class Body:
    """One leg: its mesh, its tape, and its shape in numbers."""

    vertices_cm: Array
    measured: LegMeasurements
    depth_over_width: Array
    coefficients: Array


def main() -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--leave-one-out", action="store_true")
    asked = parser.parse_args()
    legs = bodies(asked.folder)
    if asked.leave_one_out:
        leave_one_out(legs)
        return 0
    learnt = learn(legs)
    np.savez_compressed(
        OUT, **{name: value.astype(np.float32) for name, value in vars(learnt).items()}
    )
    sys.stdout.write(f"{OUT.name}: {OUT.stat().st_size / 1000:.0f} kB\n")
    return 0


def bodies(folder: Path) -> list[Body]:
    """Every leg of the folder."""
    with np.load(folder / "leg-shapes.npz") as arrays:
        meshes, faces = arrays["vertices_cm"].astype(float), arrays["faces"]
    with (folder / "leg-shapes.csv").open() as file:
        rows = list(csv.DictReader(file))
    return [_body(vertices, faces, row) for vertices, row in zip(meshes, rows, strict=True)]


def _body(vertices: Array, faces: Array, row: dict[str, str]) -> Body:
    measured = LegMeasurements(
        foot_length_cm=float(row["foot_length_cm"]),
        girth_cm={site: float(row[f"{name}_girth_cm"]) for name, site, _at in _SITES},
        position_cm={site: float(row[at]) for _name, site, at in _SITES if at},
    )
    guide = guide_of(measured)
    places = landmark_positions(measured, DEFAULT_BODY_MODEL, guide)
    s = np.linspace(-_BEYOND_CM, places[Landmark.BELOW_KNEE] + _BEYOND_CM, _CUTS)
    psi, x, z = guide.planes(s)
    # The facets are the artist's net for a smooth skin: the limit of Loop's subdivision.
    smooth, faces = subdivide_loop(vertices, faces, iterations=2)  # type: ignore[no-untyped-call]
    numbers = np.empty((_CUTS, 2 * (2 * _HARMONICS + 1) + 7))
    foot, ankle = measured.foot_length_cm, measured.girth_cm[Landmark.ANKLE]
    height = measured.position_cm[Landmark.ANKLE]
    for ring in range(_CUTS):
        front = np.array([np.sin(psi[ring]), 0, np.cos(psi[ring])])
        point = np.array([x[ring], 0, z[ring]])
        curve = _evenly(_cut(smooth, faces, point, front))
        girth = float(taped_girth_cm(np.stack([curve.real, curve.imag])[:, None])[0])
        waves = np.fft.fft(curve / girth)[np.r_[0 : _HARMONICS + 1, -_HARMONICS:0]] / _ROUND
        ends = [
            (point + one.real * front + [0, one.imag, 0]) / [foot, foot, height]
            for one in (curve[0], curve[_ROUND // 2])
        ]
        numbers[ring] = [*waves.real, *waves.imag, *ends[0], *ends[1], np.log(girth / ankle)]
    ratios = [
        float(row[f"{site}_depth_cm"]) / float(row[f"{site}_width_cm"]) for site in CALIPER_SITES
    ]
    return Body(vertices, measured, np.log(ratios), _splined(_way(places, s), numbers))


def _way(places: Mapping[Landmark, float], s: Array) -> Array:
    """The way up the leg, straight on beyond both ends."""
    along = way_up(places)
    inside = np.clip(s, 0, places[Landmark.BELOW_KNEE])
    return np.asarray(along(inside)) + (s - inside) * np.asarray(along.derivative()(inside))


def _cut(vertices: Array, faces: Array, point: Array, front: Array) -> Array:
    """The closed curve in which a plane through a point of the guide cuts the skin behind it.

    Towards the front + i towards the inner side, from the point, in order.
    """
    off = (vertices - point) @ np.cross(front, [0.0, 1.0, 0.0])
    above = off > 0
    cut = faces[above[faces].any(axis=1) & ~above[faces].all(axis=1)]
    ends = []
    for one, other in ((0, 1), (1, 2), (2, 0)):
        a, b = np.sort(cut[:, [one, other]], axis=1).T
        crosses = above[a] != above[b]
        ends.append(np.where(crosses, a * len(vertices) + b, -1))
    # Each face that is cut joins two of its sides.
    joined = np.sort(np.stack(ends, axis=1), axis=1)[:, 1:]
    beside: dict[int, list[int]] = {}
    for one, other in joined.tolist():
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    loops = []
    while beside:
        start, following = next(iter(beside.items()))
        loop, here = [start], following[0]
        del beside[start]
        while here in beside:
            loop.append(here)
            here = next((one for one in beside.pop(here) if one in beside), start)
        loops.append(np.array(loop))
    curves = []
    for sides in loops:
        a, b = np.divmod(sides, len(vertices))
        share = (off[a] / (off[a] - off[b]))[:, None]
        met = vertices[a] + share * (vertices[b] - vertices[a])
        curves.append((met - point) @ front + 1j * met[:, 1])
    # An upright plane meets the shin again, beyond the guide.
    behind = [curve for curve in curves if curve.real.mean() < 0]
    return max(behind, key=lambda curve: float(np.abs(np.diff(curve)).sum()))


def _evenly(curve: Array) -> Array:
    """The same curve from the front over the inner side, at equal steps round it."""
    if (curve.real * np.roll(curve.imag, -1) - curve.imag * np.roll(curve.real, -1)).sum() < 0:
        curve = curve[::-1]
    medial = curve.imag - (curve.imag.max() + curve.imag.min()) / 2
    crossing = (medial <= 0) & (np.roll(medial, -1) > 0)
    first = max(np.flatnonzero(crossing), key=lambda one: curve[one].real)
    following = np.roll(curve, -first - 1)
    share = -medial[first] / (following[0].imag - curve[first].imag)
    front = curve[first] + share * (following[0] - curve[first])
    closed = np.r_[front, following, front]
    length = np.r_[0, np.cumsum(np.abs(np.diff(closed)))]
    even = np.linspace(0, length[-1], _ROUND, endpoint=False)
    return np.interp(even, length, closed.real) + 1j * np.interp(even, length, closed.imag)


def _knots() -> Array:
    inner = np.linspace(*_WAY, _PIECES + 1)
    return np.r_[[_WAY[0]] * _DEGREE, inner, [_WAY[1]] * _DEGREE]


def _splined(r: Array, numbers: Array) -> Array:
    """Least squares with a little damping of the second differences."""
    design = BSpline.design_matrix(np.clip(r, *_WAY), _knots(), _DEGREE).toarray()
    bending = np.diff(np.eye(design.shape[1]), 2, axis=0)
    normal = design.T @ design + _DAMPING * bending.T @ bending
    coefficients: Array = np.linalg.solve(normal, design.T @ numbers)
    return coefficients


def learn(legs: list[Body]) -> Anatomy:
    """Conditional means of a joint normal distribution, shrunk towards the mean body."""
    tapes = np.array([features(leg.measured) for leg in legs])
    shapes = np.array([leg.coefficients for leg in legs])
    ratios = np.array([leg.depth_over_width for leg in legs])
    off = (tapes - tapes.mean(axis=0)) / tapes.std(axis=0)
    normal = off.T @ off + _RIDGE * np.eye(off.shape[1])
    flat = shapes.reshape(len(legs), -1)
    mean = flat.mean(axis=0)
    by_tape = np.linalg.solve(normal, off.T @ (flat - mean))
    ratio_by_tape = np.linalg.solve(normal, off.T @ (ratios - ratios.mean(axis=0)))
    shape_left = flat - mean - off @ by_tape
    ratio_left = ratios - ratios.mean(axis=0) - off @ ratio_by_tape
    by_caliper = ratio_left.T @ shape_left / len(legs)
    covariance = ratio_left.T @ ratio_left / len(legs) + _CALIPER_ERROR**2 * np.eye(2)
    size = shapes.shape[1:]
    return Anatomy(
        knots=_knots(),
        mean=mean.reshape(size),
        by_tape=by_tape.reshape(-1, *size),
        by_caliper=by_caliper.reshape(-1, *size),
        features_mean=tapes.mean(axis=0),
        features_sd=tapes.std(axis=0),
        features_joint=normal,
        caliper_mean=ratios.mean(axis=0),
        caliper_by_tape=ratio_by_tape,
        caliper_left=covariance,
    )


def leave_one_out(legs: list[Body]) -> None:
    """Distances of the skin from the surface that the other legs and the tape tell [mm]."""
    for what in ("tape", "tape and calipers", "tape without the instep"):
        shank: list[Array] = []
        foot: list[Array] = []
        ratios: list[Array] = []
        for number, leg in enumerate(legs):
            learnt = learn(legs[:number] + legs[number + 1 :])
            measured = leg.measured
            if what == "tape and calipers":
                taken = dict(zip(CALIPER_SITES, np.exp(leg.depth_over_width), strict=True))
                measured = replace(measured, depth_over_width=taken)
            if what == "tape without the instep":
                # Its girth still sizes the sections there; of the shape it tells nothing.
                measured = replace(measured, estimated=("girth_cm.instep",))
            surface = leg_surface(measured, learnt=learnt, rings=600, angles=192)
            vertices = leg.vertices_cm
            here = vertices[:, 0] < measured.position_cm[Landmark.METATARSAL_HEADS] - 0.3
            here &= vertices[:, 2] < measured.position_cm[Landmark.BELOW_KNEE] - 0.3
            above = vertices[:, 2] > measured.position_cm[Landmark.ANKLE]
            tree = cKDTree(surface.points_cm.reshape(-1, 3))
            shank.append(10 * np.asarray(tree.query(vertices[here & above])[0]))
            foot.append(10 * np.asarray(tree.query(vertices[here & ~above])[0]))
            found = []
            for site in CALIPER_SITES:
                ring = int(np.argmin(abs(surface.s_cm - surface.landmark_s_cm[site])))
                depth, width = np.ptp(surface.section_cm[:, ring], axis=1)
                found.append(np.log(depth / width))
            ratios.append(np.array(found) - leg.depth_over_width)
        off = np.sqrt(np.square(ratios).mean(axis=0))
        sys.stdout.write(
            f"{what}: shank mean {np.mean([one.mean() for one in shank]):.2f}, "
            f"95 % {np.percentile(np.concatenate(shank), 95):.1f} mm; foot "
            f"{np.mean([one.mean() for one in foot]):.2f}, "
            f"{np.percentile(np.concatenate(foot), 95):.1f} mm; depth over width "
            f"{100 * off[0]:.1f} % at the ankle, {100 * off[1]:.1f} % at the calf\n"
        )


if __name__ == "__main__":
    sys.exit(main())
