"""World *anatomical*: each leg's own inner share and lengthwise hollow, turns at their slant."""

import numpy as np
from scipy.optimize import brentq

from benchmarks.worlds.constants import Constants
from benchmarks.worlds.level import ellipse_girth, inner_share
from benchmarks.worlds.patches import DISC_CM, Over, Patches
from benchmarks.worlds.truth import Lying, TrueLeg, Under, common, factor_of, last_draws
from gaiter.core.arrays import Array
from gaiter.core.landmark import Landmark
from gaiter.core.pressure.discs import JUDGED_ROUND

# Ellipses flatter or rounder than these are no limb.
_ASPECTS = (0.4, 3.0)


class Anatomical:
    """Curvature across and along the limb, and the slant of every turn."""

    def leg(
        self, rng: np.random.Generator, constants: Constants, level: float, *, typical: bool
    ) -> TrueLeg:
        """A leg of a clinic of this level."""
        drawn = common(rng, constants, typical=typical)
        low, high = constants.along_per_cm
        # Drawn also where a typical leg does not use them, so that later draws stay the same.
        off = {site: sd * rng.standard_normal() for site, sd in constants.inner_sd.items()}
        along = rng.uniform(low, high)
        if typical:
            off, along = dict.fromkeys(off, 0.0), (low + high) / 2
        return TrueLeg(
            factor=factor_of(level, drawn.leg, constants.inner_share[Landmark.GAITER], constants),
            inner_share={
                site: float(share * np.exp(off[site]))
                for site, share in constants.inner_share.items()
            },
            softness=drawn.softness,
            along_per_cm=along,
            **last_draws(rng, constants, typical=typical),
        )

    def under(self, leg: TrueLeg, lying: Lying) -> Under:
        """Planned turns at every site, at the curvature of their true slant."""
        read = {
            site: slanted_patches(lying, leg, site, np.array([leg.inner_share[site]]))
            for site in lying.s_cm
        }
        columns = lying.layers[0].low_cm.shape[1]
        judged = {
            site: slanted_patches(lying, leg, site, shares_round(leg.inner_share[site], columns))
            if site in JUDGED_ROUND
            else one
            for site, one in read.items()
        }
        return Under(judged, read)


def slanted_curvature(across: Array, along: float, slant: Array) -> Array:
    """Curvature of fabric that crosses a limb at this slant off level [rad], 0 or more [1/cm].

    Euler: across cos2 + along sin2; over a hollow the fabric presses nothing.
    """
    return np.maximum(across * np.cos(slant) ** 2 + along * np.sin(slant) ** 2, 0)


def slanted_patches(lying: Lying, leg: TrueLeg, site: Landmark, shares: Array) -> Patches:
    """Every turn at its slant; one share for the inner side alone, else one for each column."""
    girth = lying.girth_cm[site]
    across = shares * 2 * np.pi / girth
    along = leg.along_per_cm if site is Landmark.ANKLE else 0.0
    layers = []
    for layer in lying.layers:
        columns = np.array([layer.inner]) if len(shares) == 1 else np.arange(len(shares))
        # The chart counts the way round in shares of the girth.
        slant = np.arctan(layer.slope_cm[:, columns].T * 2 * np.pi / girth)
        layers.append(
            Over(
                layer.low_cm[:, columns].T - lying.s_cm[site],
                layer.high_cm[:, columns].T - lying.s_cm[site],
                slanted_curvature(across[:, None], along, slant),
            )
        )
    return Patches(np.full(len(shares), 1 / len(shares)), DISC_CM / 2, tuple(layers))


def shares_round(inner: float, columns: int) -> Array:
    """Curvature of an ellipse over that of a circle of its girth at equal steps round it.

    Parameters
    ----------
    inner : float
        At its inner side, a quarter of the way round from the front.
    columns : int
        How many steps; the first at the front.

    Returns
    -------
    ndarray, shape (columns,)
        Their mean is 1, as that of any closed convex curve.
    """
    a = float(brentq(lambda aspect: inner_share(aspect) - inner, *_ASPECTS))
    fine = np.linspace(0, 2 * np.pi, 20 * columns + 1)
    speed = np.hypot(a * np.sin(fine), np.cos(fine))
    way = np.concatenate([[0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(fine))])
    # Turning of the tangent over each step: its mean curvature, whose sum is one whole turn.
    tangent = np.unwrap(np.arctan2(np.cos(fine), -a * np.sin(fine)))
    edges = (np.arange(columns + 1) - 0.5) / columns * way[-1]
    whole = np.concatenate([way[:-1] - way[-1], way, way[1:] + way[-1]])
    turned = np.concatenate([tangent[:-1] - 2 * np.pi, tangent, tangent[1:] + 2 * np.pi])
    curvature = np.diff(np.interp(edges, whole, turned)) / np.diff(edges)
    return curvature * ellipse_girth(a) / (2 * np.pi)
