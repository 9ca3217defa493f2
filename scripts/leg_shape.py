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
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.interpolate import BSpline
from scipy.spatial import cKDTree

from gaiter.core.arrays import Array
from gaiter.core.landmark import Landmark
from gaiter.core.leg.anatomy import CALIPER_SITES, Anatomy, anatomy, features, way_up
from gaiter.core.leg.body_model import DEFAULT_BODY_MODEL
from gaiter.core.leg.build import guide_of, landmark_positions, leg_surface
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import taped_girth_cm

OUT = Path(__file__).parents[1] / "src" / "gaiter" / "data" / "leg_shape.npz"
# Splines along the way up the leg: about 0.8 cm apart in the foot and 1.8 cm in the leg, which is
# about a face of the meshes; harmonics round the leg: a face is a fortieth of the way.
_PIECES, _DEGREE, _HARMONICS = 40, 5, 10
_CUTS, _ROUND = 200, 384
# Bending of the splines is damped a little, because facets are no anatomy.
_DAMPING = 0.02
# Ridge: as if so many further bodies had been the mean body. Chosen by leaving one out.
_RIDGE = 2.0
# A caliper is read to about 2 mm in 60, so ln(depth over width) to 0.04 (our choice).
_CALIPER_ERROR = 0.04
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
    sides = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    edges = np.unique(np.sort(sides, axis=1), axis=0)
    with (folder / "leg-shapes.csv").open() as file:
        rows = list(csv.DictReader(file))
    return [_body(vertices, edges, row) for vertices, row in zip(meshes, rows, strict=True)]


def _body(vertices: Array, edges: Array, row: dict[str, str]) -> Body:
    measured = LegMeasurements(
        foot_length_cm=float(row["foot_length_cm"]),
        girth_cm={site: float(row[f"{name}_girth_cm"]) for name, site, _at in _SITES},
        position_cm={site: float(row[at]) for _name, site, at in _SITES if at},
    )
    guide = guide_of(measured)
    places = landmark_positions(measured, DEFAULT_BODY_MODEL, guide)
    s = np.linspace(0, places[Landmark.BELOW_KNEE], _CUTS)
    psi, x, z = guide.planes(s)
    numbers = np.empty((_CUTS, 2 * (2 * _HARMONICS + 1) + 3))
    foot, ankle = measured.foot_length_cm, measured.girth_cm[Landmark.ANKLE]
    for ring in range(_CUTS):
        front = np.array([np.sin(psi[ring]), 0, np.cos(psi[ring])])
        point = np.array([x[ring], 0, z[ring]])
        curve = _evenly(_cut(vertices, edges, point, front))
        # From the origin, which is where every leg stands, instead of from its guide.
        curve = curve + point @ front
        girth = float(taped_girth_cm(np.stack([curve.real, curve.imag])[:, None])[0])
        waves = np.fft.fft(curve / girth)[np.r_[0 : _HARMONICS + 1, -_HARMONICS:0]] / _ROUND
        back = curve[_ROUND // 2] / foot
        numbers[ring] = [*waves.real, *waves.imag, back.real, back.imag, np.log(girth / ankle)]
    ratios = [
        float(row[f"{site}_depth_cm"]) / float(row[f"{site}_width_cm"]) for site in CALIPER_SITES
    ]
    return Body(vertices, measured, np.log(ratios), _splined(np.asarray(way_up(places)(s)), numbers))


def _cut(vertices: Array, edges: Array, point: Array, front: Array) -> Array:
    """Where a plane through a point of the guide cuts the edges, behind the guide."""
    off = (vertices - point) @ np.cross(front, [0.0, 1.0, 0.0])
    a, b = edges.T
    crosses = off[a] * off[b] < 0
    share = (off[a] / np.where(crosses, off[a] - off[b], 1))[crosses, None]
    met = vertices[a[crosses]] + share * (vertices[b[crosses]] - vertices[a[crosses]])
    towards_front = (met - point) @ front
    # A level plane meets the leg alone; others would meet the shin again beyond the guide.
    here = towards_front < (1.5 if front[0] < 0.95 else np.inf)  # noqa: PLR2004
    return np.column_stack([towards_front, met[:, 1]])[here]


def _evenly(met: Array) -> Array:
    """The closed curve through points round a middle, from the front, at equal steps round it."""
    middle = (met.max(axis=0) + met.min(axis=0)) / 2
    order = np.argsort(np.arctan2(*(met - middle).T[::-1]))
    curve = (met[order] @ [1, 1j]).ravel()
    medial = curve.imag - middle[1]
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
    inner = np.linspace(0, 6, _PIECES + 1)
    return np.r_[[0.0] * _DEGREE, inner, [6.0] * _DEGREE]


def _splined(r: Array, numbers: Array) -> Array:
    """Least squares with a little damping of the second differences."""
    design = BSpline.design_matrix(np.clip(r, 0, 6), _knots(), _DEGREE).toarray()
    bending = np.diff(np.eye(design.shape[1]), 2, axis=0)
    normal = design.T @ design + _DAMPING * bending.T @ bending
    return np.linalg.solve(normal, design.T @ numbers)


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
        caliper_mean=ratios.mean(axis=0),
        caliper_by_tape=ratio_by_tape,
        caliper_left=covariance,
    )


def leave_one_out(legs: list[Body]) -> None:
    """Distances of the skin from the surface that the other legs and the tape tell [mm]."""
    for calipers in (False, True):
        shank, foot, ratios, places = [], [], [], {}
        for number, leg in enumerate(legs):
            learnt = learn(legs[:number] + legs[number + 1 :])
            measured = leg.measured
            if calipers:
                taken = dict(zip(CALIPER_SITES, np.exp(leg.depth_over_width), strict=True))
                measured = LegMeasurements(**{**vars(measured), "depth_over_width": taken})
            surface = leg_surface(measured, learnt=learnt, rings=600, angles=192)
            vertices = leg.vertices_cm
            here = vertices[:, 0] < measured.position_cm[Landmark.METATARSAL_HEADS] - 0.3
            here &= vertices[:, 2] < measured.position_cm[Landmark.BELOW_KNEE] - 0.3
            above = vertices[:, 2] > measured.position_cm[Landmark.ANKLE]
            tree = cKDTree(surface.points_cm.reshape(-1, 3))
            shank.append(10 * tree.query(vertices[here & above])[0])
            foot.append(10 * tree.query(vertices[here & ~above])[0])
            found = []
            for site in CALIPER_SITES:
                ring = int(np.argmin(abs(surface.s_cm - surface.landmark_s_cm[site])))
                depth, width = np.ptp(surface.section_cm[:, ring], axis=1)
                found.append(np.log(depth / width))
            ratios.append(np.array(found) - leg.depth_over_width)
        off = np.sqrt(np.square(ratios).mean(axis=0))
        sys.stdout.write(
            f"calipers {calipers}: shank mean {np.mean([one.mean() for one in shank]):.2f}, "
            f"95 % {np.percentile(np.concatenate(shank), 95):.1f} mm; foot "
            f"{np.mean([one.mean() for one in foot]):.2f}, "
            f"{np.percentile(np.concatenate(foot), 95):.1f} mm; depth over width "
            f"{100 * off[0]:.1f} % at the ankle, {100 * off[1]:.1f} % at the calf\n"
        )


if __name__ == "__main__":
    sys.exit(main())
