"""The public face of the library; ``import gaiter`` offers the same names, loaded when used."""

from gaiter.api.applied_bandage import AppliedBandage, applied
from gaiter.api.cohort import study
from gaiter.api.examples import copy_examples
from gaiter.api.planned import PlannedCase, PlannedLeg, PressureMap
from gaiter.api.planning import plan, safety
from gaiter.core.errors import InputError

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
