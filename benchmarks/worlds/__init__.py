"""Worlds that are not the planner's: what ``headline.py`` lets bandages lie on.

A planner judged by its own model only hears itself. Nothing here uses the plan's spread, its
curvature or its pressure; from a plan come only where each turn should lie, with what tension,
and what fabric it is. Written down before the first run, constants in ``constants.py``, each with
its source or "our choice".

===========  =======================================================================================
World        Pressure at a place, times clinic level, times leg, less what soft tissue gives
===========  =======================================================================================
level        girth formula, every turn at its full level curvature; the inner side of an ellipse
anatomical   inner share and lengthwise hollow of each leg; a turn presses with its curvature at its
             true slant, across cos2 + along sin2, not below 0; round the ankle an ellipse
bodies       whole bodies: the section of the mesh by the plane of fabric and skin's normal, its
             convex hull (fabric spans hollows), its curvature over 2.5 cm
===========  =======================================================================================

What is judged: gaiter, calf and below the knee at a 2.5 cm wide place of the inner side, the ankle
by the mean round the limb of a band 2.5 cm wide, each against its range and its own maximum in the
plan's document. A clinic's level is what its sensor reads at a mean gaiter of this world at
40 mmHg, over the girth formula.
"""

from benchmarks.worlds.constants import Constants
from benchmarks.worlds.patches import Patches
from benchmarks.worlds.truth import SITES, Lying, TrueLeg, World

__all__ = ["SITES", "Constants", "Lying", "Patches", "TrueLeg", "World"]
