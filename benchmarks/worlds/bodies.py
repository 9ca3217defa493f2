"""World *bodies*: strips laid on whole bodies, place by place, by sections of the mesh.

At every place of a site the fabric of each turn runs in a known direction. The plane of that
direction and of the skin's normal cuts the body; a bandage spans hollows, so it follows the convex
hull of the cut, and it presses with the hull's curvature there, smoothed over 2.5 cm. Which turns
cross the place, and where, follows from the middle lines of the plan's turns, as a bandager lays
them by heights and landmarks; surface, curvature and number of layers are the body's own.
"""

import argparse
import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

import numpy as np

from benchmarks.worlds.constants import Constants
from benchmarks.worlds.hands import Planned
from benchmarks.worlds.mesh import Hull, Mesh, hull_of
from benchmarks.worlds.patches import DISC_CM, Over, Patches
from benchmarks.worlds.truth import Lying, TrueLeg, Under, common, factor_of, last_draws
from gaiter.core.arrays import Array
from gaiter.core.case import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.pressure.discs import JUDGED_ROUND

# Places on a site: heights over the 2.5 cm, and steps round the limb where a ring is judged.
HEIGHTS, ROUND = 5, 24
# A mean gaiter of the 55 bodies, curvature at the inner side over that of a circle of the girth:
# `python -m benchmarks.worlds.bodies FOLDER` prints it.
MEAN_SHARE = {
    Landmark.ANKLE: 0.491,
    Landmark.GAITER: 0.905,
    Landmark.CALF: 1.229,
    Landmark.BELOW_KNEE: 1.093,
}
_UP = np.array([0.0, 0.0, 1.0])
# Turns whose middle lies farther off than this do not reach a place, however they stray [cm].
_STRAYS_CM = 4.0
_HEIGHT_OF = {
    Landmark.ANKLE: "ankle_height_cm",
    Landmark.GAITER: "gaiter_height_cm",
    Landmark.CALF: "calf_height_cm",
    Landmark.BELOW_KNEE: "below_knee_height_cm",
}
_IN_THE_FOOT = {
    Landmark.METATARSAL_HEADS: "metatarsal_heads_girth_cm",
    Landmark.INSTEP: "instep_girth_cm",
    Landmark.HEEL_INSTEP: "heel_instep_girth_cm",
}


@dataclass(frozen=True)
class Place:
    """A place on the fabric's side of the skin.

    Attributes
    ----------
    point_cm, normal, up : ndarray, shape (3,)
        Where, which way is outwards, and which way is up the leg along the skin.
    length_cm : float
        Length of skin round the limb that it stands for [cm].
    """

    point_cm: Array
    normal: Array
    up: Array
    length_cm: float


@dataclass(frozen=True)
class Body:
    """One body: its skin, the heights of its landmarks, and what a tape reads there."""

    mesh: Mesh
    row: Mapping[str, str]

    @property
    def sex(self) -> Sex:
        """Its sex."""
        return Sex(self.row["sex"])

    @cached_property
    def height_cm(self) -> Mapping[Landmark, float]:
        """Heights of the landmarks of the leg above the floor [cm]."""
        return {site: float(self.row[name]) for site, name in _HEIGHT_OF.items()}

    def level(self, height_cm: float) -> Hull:
        """Hull of the level section at a height, (forward, medial)."""
        # From the middle of the shank: a level plane low on the leg may cut the toes as well.
        ankle = self.height_cm[Landmark.ANKLE]
        near = self.mesh.vertices_cm[np.abs(self.mesh.vertices_cm[:, 2] - ankle) < 3].mean(axis=0)
        point = np.array([near[0], near[1], height_cm])
        return hull_of(self.mesh.section(point, _UP)[:, :2])

    def measured(self) -> LegMeasurements:
        """What a tape reads: convex girths at the landmarks, in the foot as the table has them."""
        heights = self.height_cm
        return LegMeasurements(
            foot_length_cm=float(self.row["foot_length_cm"]),
            girth_cm={
                **{site: float(self.row[name]) for site, name in _IN_THE_FOOT.items()},
                **{site: self.level(height).girth_cm for site, height in heights.items()},
            },
            position_cm={
                Landmark.METATARSAL_HEADS: float(self.row["metatarsal_heads_heel_cm"]),
                Landmark.INSTEP: float(self.row["instep_heel_cm"]),
                **heights,
            },
        )

    def places(self, height_cm: float, *, inner: bool) -> list[Place]:
        """Places of a site: up the inner side of 2.5 cm, or as well round the limb."""
        found = []
        for rise in (np.arange(HEIGHTS) - (HEIGHTS - 1) / 2) * DISC_CM / HEIGHTS:
            below, here, above = (
                self.level(height_cm + rise + off) for off in (-DISC_CM / 2, 0, DISC_CM / 2)
            )
            steps = np.zeros(1) if inner else np.arange(ROUND) / ROUND
            low, middle, high = (
                np.column_stack([hull.at(inner_way_cm(hull) + steps * hull.girth_cm),
                                 np.full(len(steps), height)])
                for hull, height in ((below, -DISC_CM / 2), (here, 0.0), (above, DISC_CM / 2))
            )  # fmt: skip
            span = DISC_CM * (1 if inner else 0.4)
            way = inner_way_cm(here) + steps * here.girth_cm
            along = here.at(way + span / 2) - here.at(way - span / 2)
            for step in range(len(steps)):
                up = high[step] - low[step]
                hoop = np.array([*along[step], 0.0])
                # Anticlockwise seen from above: hoop x up points outwards.
                normal = np.cross(hoop, up)
                normal /= np.linalg.norm(normal)
                up = np.cross(normal, hoop / np.linalg.norm(hoop))
                point = middle[step] + (height_cm + rise) * _UP
                found.append(Place(point, normal, up, here.girth_cm / len(steps)))
        return found

    def level_share(self, site: Landmark) -> float:
        """Curvature of level fabric at the inner side over that of a circle of the girth."""
        height = self.height_cm[site]
        shares = []
        for rise in (np.arange(HEIGHTS) - (HEIGHTS - 1) / 2) * DISC_CM / HEIGHTS:
            hull = self.level(height + rise)
            curvature = hull.curvature(np.array([inner_way_cm(hull)]), DISC_CM)[0]
            shares.append(curvature * hull.girth_cm / (2 * np.pi))
        return float(np.mean(shares))


def inner_way_cm(hull: Hull) -> float:
    """Way along a level hull to the middle between its front and its back on the inner side."""
    front, back = (hull.way_cm[int(pick(hull.places[:, 0]))] for pick in (np.argmax, np.argmin))
    # Anticlockwise from forward over medial to the back.
    return float(front + ((back - front) % hull.girth_cm) / 2)


def crossings(place: Place, layer: Planned) -> list[tuple[int, float, Array, float]]:
    """Turns of a layer whose middle line passes near a place.

    Returns
    -------
    list
        For each: the turn, how far the middle line lies up the leg from the place [cm], the
        direction of the fabric along the skin, and its half width measured up the leg [cm].
    """
    if layer.line_cm is None or layer.line_turn is None:
        raise ValueError("this world needs the middle lines of the turns")
    line, along = layer.line_cm, np.gradient(layer.line_cm, axis=0)
    off = line - place.point_cm
    # The line passes where the place stops being ahead of it.
    ahead = np.einsum("ij,ij->i", off, along)
    near = np.flatnonzero((ahead[:-1] < 0) & (ahead[1:] >= 0))
    width = np.broadcast_to(layer.width_cm, layer.line_turn.shape)
    found = []
    for at in near:
        share = ahead[at] / (ahead[at] - ahead[at + 1])
        middle = off[at] + share * (off[at + 1] - off[at])
        # Farther behind the skin than this it passes the other side of the limb.
        behind = abs(middle @ place.normal) > _STRAYS_CM
        if behind or np.linalg.norm(middle) > width[at] / 2 + _STRAYS_CM:
            continue
        direction = along[at] - (along[at] @ place.normal) * place.normal
        direction /= np.linalg.norm(direction)
        across = np.cross(place.normal, direction)
        across *= np.sign(across @ place.up)
        upright = float(across @ place.up)
        if upright < 0.2:  # it runs up the leg and crosses no height
            continue
        turn = int(np.floor(layer.line_turn[at] - layer.line_turn[0] + 1e-6))
        found.append((turn, float(middle @ across) / upright, direction, width[at] / 2 / upright))
    return found


class Bodies:
    """Whole bodies; a leg's own curvature is its mesh's."""

    def __init__(self, body: Body) -> None:
        self.body = body

    def leg(
        self, rng: np.random.Generator, constants: Constants, level: float, *, typical: bool
    ) -> TrueLeg:
        """A leg of a clinic of this level; a typical one has its mesh, but mean level shares."""
        drawn = common(rng, constants, typical=typical)
        # What multiplies the curvature of the mesh: 1, or what makes the leg's share the mean.
        share = {
            site: mean / self.body.level_share(site) if typical else 1.0
            for site, mean in MEAN_SHARE.items()
        }
        return TrueLeg(
            factor=factor_of(level, drawn.leg, MEAN_SHARE[Landmark.GAITER], constants),
            inner_share=share,
            softness=drawn.softness,
            **last_draws(rng, constants, typical=typical),
        )

    def under(self, leg: TrueLeg, lying: Lying) -> Under:
        """Planned turns at every place of every site, by sections of the mesh."""
        judged, read = {}, {}
        for site in lying.s_cm:
            height = self.body.height_cm[site] - lying.below_cm.get(site, 0.0)
            read[site] = self._patches(height, site, leg, lying, inner=True)
            judged[site] = (
                self._patches(height, site, leg, lying, inner=False)
                if site in JUDGED_ROUND
                else read[site]
            )
        return Under(judged, read)

    def _patches(
        self, height_cm: float, site: Landmark, leg: TrueLeg, lying: Lying, *, inner: bool
    ) -> Patches:
        places = self._places(height_cm, inner=inner)
        wool = lying.wool_cm[site]
        # A ring's mean is that of its girth; the mesh's own place keeps its share.
        share = leg.inner_share[site] if inner else 1.0
        layers, lengths = [], np.zeros(len(places))
        for layer in lying.layers:
            low = np.full((len(places), layer.turns), np.nan)
            high, curvature = low.copy(), np.zeros_like(low)
            for number, place in enumerate(places):
                for turn, up, direction, half in crossings(place, layer):
                    low[number, turn], high[number, turn] = up - half, up + half
                    if layer.tension_n_per_cm[turn] > 0:
                        bare = share * self._curvature(place, direction)
                        curvature[number, turn] = bare / (1 + bare * wool)
            layers.append(Over(low, high, curvature))
        for number, place in enumerate(places):
            hoop = np.cross(place.up, place.normal)
            # Over wool the way round is longer where the skin is rounder.
            lengths[number] = place.length_cm * (1 + self._curvature(place, hoop) * wool)
        return Patches(lengths / lengths.sum(), DISC_CM / HEIGHTS / 2, tuple(layers))

    @cache  # noqa: B019 - a world lives as long as its leg's story
    def _places(self, height_cm: float, *, inner: bool) -> list[Place]:
        return self.body.places(height_cm, inner=inner)

    def _curvature(self, place: Place, direction: Array) -> float:
        """Of the hull of the section that holds this direction and the normal [1/cm]."""
        cut = self.body.mesh.section(place.point_cm, np.cross(place.normal, direction))
        if len(cut) < 3:
            return 0.0
        off = cut - place.point_cm
        hull = hull_of(np.column_stack([off @ direction, off @ place.normal]))
        return float(hull.curvature(np.array([hull.nearest_way_cm(np.zeros(2))]), DISC_CM)[0])


@cache
def bodies(folder: Path, rounds: int = 1) -> tuple[Body, ...]:
    """Every body of a folder that holds ``leg-shapes.npz`` and ``leg-shapes.csv``.

    ``rounds`` of Loop's subdivision: the facets are the artist's net for a smooth skin.
    """
    from trimesh.remesh import subdivide_loop  # noqa: PLC0415 - a package of the check alone

    with np.load(folder / "leg-shapes.npz") as arrays:
        meshes, faces = arrays["vertices_cm"].astype(float), arrays["faces"]
    with (folder / "leg-shapes.csv").open() as file:
        rows = list(csv.DictReader(file))
    found = []
    for vertices, row in zip(meshes, rows, strict=True):
        smooth, finer = vertices, faces
        if rounds:
            smooth, finer = subdivide_loop(vertices, faces, iterations=rounds)  # type: ignore[no-untyped-call]
        found.append(Body(Mesh(np.asarray(smooth), np.asarray(finer)), row))
    return tuple(found)


def main() -> None:
    """Print the mean level shares of the bodies, and how their tape agrees with their table."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    every = bodies(folder)
    for site in MEAN_SHARE:
        shares = [body.level_share(site) for body in every]
        print(f"{site.label}: {np.mean(shares):.3f} (SD {np.std(shares):.3f})")
    off, ratio = [], []
    for body in bodies(folder, 0):
        for site, height in body.height_cm.items():
            off.append(body.level(height).girth_cm / float(body.row[f"{site.value}_girth_cm"]) - 1)
        size = np.ptp(body.level(body.height_cm[Landmark.ANKLE]).places, axis=0)
        ratio.append(size[0] / size[1])
    print(f"girths against the table, as drawn: {100 * np.mean(off):+.2f} % in the mean, "
          f"at most {100 * np.abs(off).max():.2f} %; depth over width at the smallest girth "
          f"{np.mean(ratio):.2f}")  # fmt: skip


if __name__ == "__main__":
    main()
