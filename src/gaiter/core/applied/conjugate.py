"""A mean and a variance learnt together: the normal-inverse-gamma family."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class MeanAndSpread:
    """What is believed of a normal variable's mean and variance.

    Attributes
    ----------
    mean : float
        Expected mean.
    weight : float
        Readings' worth of belief in it: the mean's variance is the variable's over this.
    shape, scale : float
        Of the inverse gamma of the variance; the expected variance is scale / (shape - 1).

    References
    ----------
    Murphy KP. Conjugate Bayesian analysis of the Gaussian distribution, 2007, section 6 (from
    memory); checked in the tests against a grid integration with scipy.stats.
    """

    mean: float
    weight: float
    shape: float
    scale: float

    @classmethod
    def of_total(cls, mean: float, sd: float, shape: float) -> "MeanAndSpread":
        """Belief that a new value has this mean and SD, half of the variance in the mean."""
        return cls(mean, 1.0, shape, sd**2 * (shape - 1) / 2)

    def after(self, value: float, worth: float = 1.0) -> "MeanAndSpread":
        """The belief after one value, which counts as so many readings."""
        weight = self.weight + worth
        off = value - self.mean
        return MeanAndSpread(
            self.mean + worth * off / weight,
            weight,
            self.shape + worth / 2,
            self.scale + worth * self.weight / weight * off**2 / 2,
        )

    def faded(self, prior: "MeanAndSpread", share: float) -> "MeanAndSpread":
        """The belief when only a share of what was learnt since the prior is still held."""

        def towards(now: float, first: float) -> float:
            return first + share * (now - first)

        weight = towards(self.weight, prior.weight)
        pull = towards(self.weight * self.mean, prior.weight * prior.mean)
        mean = pull / weight

        def energy(one: "MeanAndSpread") -> float:
            return one.scale + one.weight * one.mean**2 / 2

        scale = towards(energy(self), energy(prior)) - weight * mean**2 / 2
        return MeanAndSpread(mean, weight, towards(self.shape, prior.shape), scale)

    @property
    def variance(self) -> float:
        """Expected variance of a value about the mean."""
        return self.scale / (self.shape - 1)

    @property
    def mean_sd(self) -> float:
        """How surely the mean is known."""
        return float(np.sqrt(self.variance / self.weight))

    @property
    def predictive_sd(self) -> float:
        """Spread of the next value, with the mean's own uncertainty."""
        return float(np.sqrt(self.variance * (1 + 1 / self.weight)))
