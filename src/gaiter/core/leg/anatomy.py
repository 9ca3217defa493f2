"""The shape of a leg that a tape alone cannot tell, learnt from whole legs in three dimensions.

A section is a closed curve of unit girth, its points at equal steps of the way round from the
front over the inner side. It is known along the way up the leg r, on which the landmarks that
anybody's leg has stand at whole numbers. The most probable shape for a tape is the conditional
mean of a joint normal distribution of shapes and tapes; depth over width of the leg, where
somebody took a caliper, corrects it as further conditions.

Sizes never come from here: every girth is the tape's, and what a tape lacks is estimated from
published anthropometry. A tape outside those the shape was learnt with keeps the shape of the
nearest one inside, so that no shape is drawn from further out than it was learnt.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from scipy.interpolate import BPoly, BSpline

from gaiter.core.arrays import Array, Complex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.interpolation import monotone_c2
from gaiter.core.leg.measurements import LegMeasurements

# Landmarks whose place on the way up the leg is fixed. The gaiter is none: it is measured at
# different heights, and no joint or muscle marks it. Nor is the heel: between instep and ankle
# the planes turn alike on all legs, and the one through the heel is about half-way.
WAY_UP: Mapping[Landmark, float] = {
    Landmark.METATARSAL_HEADS: 0.0,
    Landmark.INSTEP: 1.0,
    Landmark.ANKLE: 3.0,
    Landmark.CALF: 5.0,
    Landmark.BELOW_KNEE: 6.0,
}
CALIPER_SITES = (Landmark.ANKLE, Landmark.CALF)
# Features further from the mean of the bodies than this many standard deviations count as so far.
FARTHEST = 2.0
# Published proportions stand behind every other estimate. This one is our own assumption, and the
# shape of the ankle hangs on it: 4 % of the instep's girth are 8 % of its depth over width.
_INSTEP, _TELLS_NOTHING = 1, f"girth_cm.{Landmark.INSTEP}"
_DEGREE = 5
_FILE = "leg_shape.npz"


@dataclass(frozen=True)
class Anatomy:
    """What was learnt: the mean shape, and how it goes with the tape and with calipers.

    Attributes
    ----------
    knots : ndarray, shape (knots,)
        Of the splines along the way up the leg.
    mean : ndarray, shape (splines, numbers)
        Spline coefficients of the mean shape. Numbers are the real, then the imaginary parts of
        the section's Fourier coefficients, where its front and its back stand, and the logarithm
        of the girth over the ankle's.
    by_tape : ndarray, shape (features, splines, numbers)
        Change for one standard deviation of each feature of the tape.
    by_caliper : ndarray, shape (sites, splines, numbers)
        Change for 1 of what :attr:`caliper_left` leaves of ln(depth over width).
    features_mean, features_sd : ndarray, shape (features,)
        Of :func:`features`.
    features_joint : ndarray, shape (features, features)
        How they go with each other; tells the most probable value of one that nobody measured.
    caliper_mean : ndarray, shape (sites,)
        Of ln(depth over width).
    caliper_by_tape : ndarray, shape (features, sites)
        Its change for one standard deviation of each feature.
    caliper_left : ndarray, shape (sites, sites)
        Covariance of ln(depth over width) that the tape leaves, the caliper's own error included.

    References
    ----------
    Learnt by ``scripts/leg_shape.py`` from 55 right legs of a parametric body model (CC0); its
    docstring names the data. They tell how a leg is shaped, not how people vary.

    Examples
    --------
    >>> anatomy().features_mean.shape
    (7,)
    """

    knots: Array
    mean: Array
    by_tape: Array
    by_caliper: Array
    features_mean: Array
    features_sd: Array
    features_joint: Array
    caliper_mean: Array
    caliper_by_tape: Array
    caliper_left: Array

    def most_probable(self, measured: LegMeasurements) -> "Shape":
        """Shape of a leg with these measurements.

        Parameters
        ----------
        measured : LegMeasurements
            Complete; depth over width where it was taken.

        Returns
        -------
        Shape

        Examples
        --------
        >>> girth = dict(zip(Landmark, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
        >>> measured = LegMeasurements(26.5, girth, {})
        >>> shape = anatomy().most_probable(measured)
        >>> round(float(shape.girth_over_ankle(np.array([3.0]))[0]), 1)  # at the ankle itself
        1.0
        """
        off = (features(measured) - self.features_mean) / self.features_sd
        off = np.clip(off, -FARTHEST, FARTHEST)
        if _TELLS_NOTHING in measured.estimated:
            told = np.arange(len(off)) != _INSTEP
            joint = self.features_joint[:, told]
            off[_INSTEP] = joint[_INSTEP] @ np.linalg.solve(joint[told], off[told])
        coefficients = self.mean + np.tensordot(off, self.by_tape, 1)
        taken = [
            number for number, site in enumerate(CALIPER_SITES) if site in measured.depth_over_width
        ]
        if taken:
            found = np.log([measured.depth_over_width[CALIPER_SITES[one]] for one in taken])
            expected = (self.caliper_mean + off @ self.caliper_by_tape)[taken]
            left = self.caliper_left[np.ix_(taken, taken)]
            deviation = np.sqrt(np.diag(left))
            news = np.clip(found - expected, -FARTHEST * deviation, FARTHEST * deviation)
            weights = np.linalg.solve(left, news)
            coefficients = coefficients + np.tensordot(weights, self.by_caliper[taken], 1)
        return Shape(BSpline(self.knots, coefficients, _DEGREE, extrapolate=True))


@dataclass(frozen=True)
class Shape:
    """The shape of one leg along the way up it, before any size is given to it.

    Attributes
    ----------
    spline : scipy.interpolate.BSpline
        The numbers of :class:`Anatomy` along the way up the leg.

    Examples
    --------
    >>> girth = dict(zip(Landmark, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> shape = anatomy().most_probable(LegMeasurements(26.5, girth, {}))
    >>> section, front, back = shape.sections(np.array([3.0]), 96)
    >>> round(float(abs(np.diff(section[0], append=section[0, 0])).sum()), 1)  # of unit girth
    1.0
    >>> bool(front[0, 0] > back[0, 0])
    True
    """

    spline: BSpline

    def sections(self, r: Array, angles: int) -> tuple[Complex, Array, Array]:
        """Sections, and where their front and their back stand.

        Parameters
        ----------
        r : ndarray, shape (rings,)
            Places on the way up the leg, 0 at the metatarsal heads to 6 below the knee.
        angles : int
            Points of each section, evenly spaced round it, the first at the front.

        Returns
        -------
        section : ndarray of complex, shape (rings, angles)
            Towards the front + i towards the inner side, of girth about 1.
        front, back : ndarray, shape (rings, 3)
            Where the first point and the one half-way round stand: forward and medial over the
            foot's length, height over the ankle's.
        """
        numbers = self.spline(r)
        harmonics = (numbers.shape[1] - 7) // 2
        waves = numbers[:, :harmonics] + 1j * numbers[:, harmonics : 2 * harmonics]
        spectrum = np.zeros((len(r), angles), complex)
        spectrum[:, _harmonic_numbers(harmonics)] = waves
        section = np.fft.ifft(spectrum * angles, axis=1)
        return section, numbers[:, -7:-4], numbers[:, -4:-1]

    def girth_over_ankle(self, r: Array) -> Array:
        """Girth over the girth at the ankle, as the shape alone would have it.

        Parameters
        ----------
        r : ndarray, shape (rings,)
            Places on the way up the leg.

        Returns
        -------
        ndarray, shape (rings,)

        Examples
        --------
        >>> girth = dict(zip(Landmark, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
        >>> measured = LegMeasurements(26.5, girth, {})
        >>> shape = anatomy().most_probable(measured)
        >>> calf, below_knee = shape.girth_over_ankle(np.array([5.0, 6.0]))
        >>> bool(calf > below_knee > 1)
        True
        """
        over: Array = np.exp(self.spline(r)[:, -1])
        return over


@cache
def anatomy() -> Anatomy:
    """What was learnt from whole legs; read once, as the constants of any formula are.

    Returns
    -------
    Anatomy

    Examples
    --------
    >>> anatomy() is anatomy()
    True
    """
    path = resources.files("gaiter.data").joinpath(_FILE)
    with path.open("rb") as file, np.load(file) as arrays:
        return Anatomy(**{name: arrays[name].astype(float) for name in arrays})


def features(measured: LegMeasurements) -> Array:
    """What a tape tells of the shape: proportions by logarithms, and size.

    Heights are none of them: what they say of a drawn body they do not say of people, whose
    ankles stand lower (five standard deviations of the bodies); the way up the leg follows them.

    Parameters
    ----------
    measured : LegMeasurements
        Complete.

    Returns
    -------
    ndarray, shape (features,)

    Examples
    --------
    Every girth 20 cm and a foot of 25 cm: ln 1, ln 1.25 and ln 20.

    >>> features(LegMeasurements(25.0, dict.fromkeys(Landmark, 20.0), {})).round(2).tolist()
    [0.0, 0.0, 0.0, 0.0, 0.0, 0.22, 3.0]
    """
    girth = measured.girth_cm
    ankle = girth[Landmark.ANKLE]
    return np.log(
        [
            girth[Landmark.METATARSAL_HEADS] / ankle,
            girth[Landmark.INSTEP] / ankle,
            girth[Landmark.HEEL_INSTEP] / ankle,
            girth[Landmark.CALF] / ankle,
            girth[Landmark.BELOW_KNEE] / ankle,
            measured.foot_length_cm / ankle,
            ankle,
        ]
    )


def way_up(landmark_s_cm: Mapping[Landmark, float]) -> BPoly:
    """The way up the leg r as a smooth function of the chart position s.

    Parameters
    ----------
    landmark_s_cm : Mapping[Landmark, float]
        Chart positions of at least the landmarks of ``WAY_UP`` [cm].

    Returns
    -------
    scipy.interpolate.BPoly

    Examples
    --------
    >>> along = way_up(dict(zip(WAY_UP, (0.0, 5.0, 16.0, 34.0, 42.0))))
    >>> along([0.0, 16.0, 42.0]).tolist()
    [0.0, 3.0, 6.0]
    """
    return monotone_c2([landmark_s_cm[one] for one in WAY_UP], list(WAY_UP.values()))


def _harmonic_numbers(count: int) -> Array:
    """Places of 0, 1 .. h, -h .. -1 in a spectrum, as they are stored."""
    highest = count // 2
    numbers: Array = np.r_[0 : highest + 1, -highest:0]
    return numbers
