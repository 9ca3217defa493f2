"""A bandage made of round numbers on the median woman's leg, for checks worked out by hand.

What it presses is set by hand: on every cell 10 mmHg cm/N by the turns on foot and ankle and 50 by
those up the leg, 2 thicknesses, and at every disc 1000 sampled bandages that press 0.1, 0.2 ...
100 mmHg.
"""

import math
from dataclasses import replace
from functools import cache

import numpy as np

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.wool import Build, WoolBuild
from gaiter.core.case import Sex
from gaiter.core.landmark import Side
from gaiter.core.plan.assemble import DesignedSystem, system_plan
from gaiter.core.plan.design import Aim
from gaiter.core.plan.document import Fit, SystemPlan
from gaiter.core.plan.layers import FixedLayer, PressingLayer
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.maxima import Maxima
from gaiter.core.plan.padded_leg import BandagedLeg, PaddedLeg, Padding, Sampling
from gaiter.core.plan.search import fixed_design
from gaiter.core.plan.systems import LayerRecipe, System
from gaiter.core.plan.target import target_range
from gaiter.core.plan.verdict import FitVerdict
from gaiter.core.safety import Aim as Aimed
from gaiter.core.spread.draws import Hands, SpreadInputs
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, percentile_leg

ELASTIC, COHESIVE = "long_stretch_elastic", "cohesive_elastic"
# Half of the generic wool's range of 0 to 5.65 mm [cm].
WOOL_CM = 0.2825
STRETCH, FOOT = 0.42, 0.30
# Tension of the long-stretch bandage. Class 40 mmHg, two thicknesses on 23 cm:
# 40 x 133.322 Pa x 0.23 m / (2 pi x 2) = 97.61 N/m; usual stretch 0.5, locking at 2.18.
USUAL_N_PER_CM = 40 * 133.322 * 0.23 / (4 * math.pi) / 100


def tension(stretch: float, usual: float = USUAL_N_PER_CM, locking: float = 2.18) -> float:
    """Tension of a fabric of usual stretch 0.5 while it is being stretched [N/cm]."""
    return usual * (stretch / 0.5) * (1 - 0.5 / locking) / (1 - stretch / locking)


# What the hand-made maps give on every cell of the elastic layer.
PRESSURE = 10 * tension(FOOT) + 50 * tension(STRETCH)
SAMPLES = np.arange(1, 1001) / 10


@cache
def bandaged_leg() -> BandagedLeg:
    """The median woman's leg."""
    return BandagedLeg(percentile_leg(Sex.FEMALE, 1))


def aim(leg: float = 60, low: float = 30, high: float = 50) -> Aim:
    """Range and maxima of the leg; the foot has 55 and bone 120 mmHg."""
    aimed = Aimed(low_mmhg=low, high_mmhg=high, source="test")
    maxima = Maxima(leg, leg, 55, 120)
    return Aim(target_range(aimed, maxima, shipped_policy()), maxima, 0.025)


def built(
    *materials: str,
    stretches: dict[str, tuple[float, float]] | None = None,
    hands: tuple[Hands, ...] = (Hands.of_spread(0.18),),
    turns: int = 0,
    pads_cm: dict[str, float] | None = None,
    leg_width_cm: float | None = None,
    **more,
) -> DesignedSystem:
    """A system of these materials over wool, with the hand-made pressures."""
    catalogue = shipped_catalogue()
    chosen = stretches or {ELASTIC: (STRETCH, FOOT)}
    system = System("made", "Made", tuple(LayerRecipe(key) for key in materials), frozenset(), 7)
    padding = Padding(WOOL_CM, WOOL_CM)
    plain = bandaged_leg().under(padding)
    wool = WoolBuild(Build.EVEN, plain.wool.extra_cm, "", turns, 0.0)
    padded_leg = PaddedLeg(plain.surface, wool, (), pads_cm)
    pressing = [
        PressingLayer(one, catalogue[one.material])
        for one in system.layers
        if catalogue[one.material].presses
    ]
    fixed = [
        FixedLayer(
            Geometry(Pattern.SPIRAL, 0.5, layer.material.usual_width_cm, leg_width_cm),
            *chosen.get(layer.material.key, (0.0, 0.0)),
        )
        for layer in pressing
    ]
    limits = more.pop("aim", aim())
    sampling = Sampling(SpreadInputs(hands, 0.92, 0.35, (0.0, WOOL_CM, 0.565)), 16, 3)
    made = fixed_design(padded_leg, pressing, fixed, limits, sampling)
    for layer in made.layers:
        shape = layer.laid.thicknesses.shape
        layer.laid.__dict__["part_maps"] = (np.full(shape, 10.0), np.full(shape, 50.0))
        layer.laid.__dict__["thicknesses"] = np.full(shape, 2.0)
    design = replace(made, pressure_mmhg=np.tile(SAMPLES, (len(made.pressure_mmhg), 1)))
    about = {
        "change_days": 2,
        "change_reason": "first look",
        "regular_days": 4,
        "policy": shipped_policy(),
        "leg": case().legs[Side.RIGHT],
        **more,
    }
    return DesignedSystem(
        system=system,
        materials=[catalogue[key] for key in materials],
        design=design,
        padding=padding,
        bandaged_leg=bandaged_leg(),
        aim=limits,
        **about,
    )


def written(made: DesignedSystem, **verdict) -> SystemPlan:
    """Its plan, under a verdict that fits unless told otherwise."""
    return system_plan(made, FitVerdict(**{"fit": Fit.FITS, "reason": "a reason", **verdict}))


def slope_of(stretch: float, usual: float, locking: float) -> float:
    """Growth of the tension by a small step of stretch, to about a millionth."""
    step = 1e-5
    more, less = (tension(stretch + d, usual, locking) for d in (step, -step))
    return (more - less) / (2 * step)
