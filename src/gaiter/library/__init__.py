"""The public face of the library; ``import gaiter`` offers the same names, loaded when used."""

from gaiter.core.errors import InputError
from gaiter.library.applied_bandage import AppliedBandage, applied
from gaiter.library.cohort import study
from gaiter.library.examples import copy_examples
from gaiter.library.planned import PlannedCase, PlannedLeg, PressureMap
from gaiter.library.planning import plan, safety

__all__ = [
    "AppliedBandage",
    "InputError",
    "PlannedCase",
    "PlannedLeg",
    "PressureMap",
    "applied",
    "copy_examples",
    "plan",
    "safety",
    "study",
]
