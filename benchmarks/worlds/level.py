"""World *level*: the girth formula, every turn at its full level curvature."""

import numpy as np

from benchmarks.worlds.constants import Constants
from benchmarks.worlds.patches import DISC_CM, Over, Patches
from benchmarks.worlds.truth import Lying, TrueLeg, Under, common, factor_of, last_draws
from gaiter.core.landmark import Landmark
from gaiter.core.pressure.discs import JUDGED_ROUND


class Level:
    """Curvature of an ellipse at the inner side; round the limb the mean of its girth."""

    def leg(
        self, rng: np.random.Generator, constants: Constants, level: float, *, typical: bool
    ) -> TrueLeg:
        """A leg of a clinic of this level."""
        drawn = common(rng, constants, typical=typical)
        aspects = {
            site: low + (high - low) * (rng.beta(2, 2) if not typical else 0.5)
            for site, (low, high) in constants.aspect.items()
        }
        mean = inner_share(sum(constants.aspect[Landmark.GAITER]) / 2)
        return TrueLeg(
            factor=factor_of(level, drawn.leg, mean, constants),
            inner_share={site: inner_share(aspect) for site, aspect in aspects.items()},
            softness=drawn.softness,
            **last_draws(rng, constants, typical=typical),
        )

    def under(self, leg: TrueLeg, lying: Lying) -> Under:
        """Planned turns at every site, at level curvature."""
        read = {
            site: level_patches(lying, site, leg.inner_share[site], inner=True)
            for site in lying.s_cm
        }
        judged = {
            site: level_patches(lying, site, 1.0, inner=False) if site in JUDGED_ROUND else one
            for site, one in read.items()
        }
        return Under(judged, read)


def level_patches(lying: Lying, site: Landmark, share: float, *, inner: bool) -> Patches:
    """Every turn at this share of the curvature of a circle, at the inner side or all round."""
    curvature = share * 2 * np.pi / lying.girth_cm[site]
    layers = []
    for layer in lying.layers:
        columns = np.array([layer.inner]) if inner else np.arange(layer.low_cm.shape[1])
        low = layer.low_cm[:, columns].T - lying.s_cm[site]
        high = layer.high_cm[:, columns].T - lying.s_cm[site]
        layers.append(Over(low, high, np.full_like(low, curvature)))
    patches = len(layers[0].low_cm)
    return Patches(np.full(patches, 1 / patches), DISC_CM / 2, tuple(layers))


def inner_share(aspect: float) -> float:
    """Curvature at the inner side of an ellipse over that of a circle of its girth.

    Parameters
    ----------
    aspect : float
        Front-to-back over side-to-side.

    Notes
    -----
    With half-axes a (front) and 1 (side) it is 1 / a^2 against 2 pi / girth; Ramanujan's girth
    errs by less than 1e-5 here.
    """
    return ellipse_girth(aspect) / (2 * np.pi) / aspect**2


def ellipse_girth(aspect: float) -> float:
    """Girth of an ellipse of half-axes ``aspect`` (front) and 1 (side)."""
    h = ((aspect - 1) / (aspect + 1)) ** 2
    return float(np.pi * (aspect + 1) * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h))))
