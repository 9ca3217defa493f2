"""Search for the pattern, overlap and stretch that most likely put every site in its range.

For one geometry pressure is proportional to the tension, so unit pressures are sampled once and
every stretch is judged on the same samples.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from gaiter.core.landmark import Landmark
from gaiter.core.material import Material
from gaiter.core.plan.fitting import Geometry, Ground, Laid
from gaiter.core.plan.systems import LayerRecipe
from gaiter.core.plan.target import JUDGED_SITES, Target
from gaiter.core.pressure.spread import SpreadInputs, draws, sample_units

Array = npt.NDArray[np.float64]

# A mark spacing is read to about 2 mm; a finer stretch means nothing.
STRETCH_STEP = 0.02
# A chance this much better is not worth another roll.
_AS_GOOD = 0.01


@dataclass(frozen=True)
class Aim:
    """What a design is judged by.

    Attributes
    ----------
    target : Target
        Range at every site.
    maximum_mmhg : float
        Maximum at the gaiter; no other reading site on the leg may exceed it either.
    allowed_chance_above : float
        Chance of exceeding it that policy allows.
    """

    target: Target
    maximum_mmhg: float
    allowed_chance_above: float


@dataclass(frozen=True)
class Design:
    """One layer's geometry and stretch with sampled pressures.

    Attributes
    ----------
    laid : Laid
        Geometry.
    stretch : float
        Stretch as a fraction.
    pressure_mmhg : ndarray, shape (discs, samples)
        Sampled pressure at reading sites, then bony places.
    inputs, samples, seed
        What the sampling rests on.
    chance_in_range : float
        Chance that every judged site lies in its range.
    chance_above : float
        Largest chance, over the judged sites, of exceeding the maximum.
    within : bool
        Whether that chance is allowed.
    """

    laid: Laid
    stretch: float
    pressure_mmhg: Array
    chance_in_range: float
    chance_above: float
    within: bool
    tension_n_per_cm: float
    inputs: SpreadInputs
    samples: int
    seed: int

    @cached_property
    def profile_mmhg(self) -> Array:
        """Sampled pressure at the discs up the inner side, shape (discs, samples) [mmHg]."""
        _, discs = self.laid.ground.profile
        table = self.laid.profile_table
        points = draws([table.shape[1]], len(discs), self.samples, self.seed)
        units = sample_units([table], self.inputs, self.laid.ground.tape(discs), points)[0]
        return self.tension_n_per_cm * units

    def median_mmhg(self, landmark: Landmark) -> float:
        """Median pressure at a reading site [mmHg]."""
        row = list(self.laid.ground.sites).index(landmark)
        return float(np.median(self.pressure_mmhg[row]))


def stretches(material: Material) -> Array:
    """Stretches of a material that may be chosen, least to largest."""
    past = material.largest_stretch + STRETCH_STEP / 2
    return np.arange(material.least_stretch, past, STRETCH_STEP).clip(max=material.largest_stretch)


def best_design(
    ground: Ground,
    recipe: LayerRecipe,
    material: Material,
    aim: Aim,
    inputs: SpreadInputs,
    *,
    samples: int,
    seed: int,
) -> Design:
    """The design with the best chance within the maximum; failing that, the mildest one.

    Parameters
    ----------
    ground : Ground
        The padded leg.
    recipe : LayerRecipe
        Patterns and overlaps that may be chosen.
    material : Material
        The layer's material.
    aim : Aim
        Range and maximum.
    inputs : SpreadInputs
        Hands and theory.
    samples, seed : int
        Size and seed of the sample.

    Returns
    -------
    Design
        ``within`` is False where every choice exceeds the maximum too often.
    """
    designs = []
    for pattern in recipe.patterns:
        for overlap in recipe.overlaps:
            laid = ground.laid(Geometry(pattern, overlap, material.widths_cm[0]))
            points = draws([laid.table.shape[1]], len(ground.discs), samples, seed)
            tape = ground.tape(ground.discs)
            units = sample_units([laid.table], inputs, tape, points)[0]
            stretch, judged = _best_stretch(laid, units, material, aim)
            tension = float(material.curve.tension_n_per_cm(stretch))
            designs.append(
                Design(
                    laid=laid,
                    stretch=stretch,
                    pressure_mmhg=tension * units,
                    chance_in_range=judged.in_range,
                    chance_above=judged.above,
                    within=judged.above <= aim.allowed_chance_above,
                    tension_n_per_cm=tension,
                    inputs=inputs,
                    samples=samples,
                    seed=seed,
                )
            )
    allowed = [design for design in designs if design.within]
    if not allowed:
        return min(designs, key=lambda design: design.chance_above)
    best = max(design.chance_in_range for design in allowed)
    as_good = [design for design in allowed if design.chance_in_range >= best - _AS_GOOD]
    return min(as_good, key=lambda design: design.laid.strips.path.length_cm)


class _Chances(NamedTuple):
    in_range: float
    above: float


def _best_stretch(laid: Laid, units: Array, material: Material, aim: Aim) -> tuple[float, _Chances]:
    """The stretch with the best chance within the maximum; the mildest when none is allowed."""
    names = list(laid.ground.sites)
    rows = [names.index(site) for site in JUDGED_SITES]
    low = np.array([aim.target.site_mmhg[site][0] for site in JUDGED_SITES])[:, None]
    high = np.array([aim.target.site_mmhg[site][1] for site in JUDGED_SITES])[:, None]
    choices = stretches(material)
    judged = []
    for tension in material.curve.tension_n_per_cm(choices):
        pressure = tension * units[rows]
        in_range = ((low <= pressure) & (pressure <= high)).all(axis=0).mean()
        above = (pressure > aim.maximum_mmhg).mean(axis=1).max()
        judged.append(_Chances(float(in_range), float(above)))
    within = [n for n, chances in enumerate(judged) if chances.above <= aim.allowed_chance_above]
    chosen = max(within, key=lambda n: judged[n].in_range) if within else 0
    return float(choices[chosen]), judged[chosen]
