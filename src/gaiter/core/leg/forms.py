"""First and second fundamental forms of a leg surface on its chart (s, angle).

Derivatives are spectral round the leg and those of a quintic spline along it: finite
differences on a bumpy leg err by more than 2 mmHg per turn and N/cm.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import make_interp_spline

from gaiter.core.arrays import Array


@dataclass(frozen=True)
class Forms:
    """Metric and curvature on the grid; each array has shape (rings, angles).

    Symbols follow the usual ones: E, F, G of the first form, L, M, N of the second with the
    normal pointing inwards, so that the curvature of a round leg is positive.

    Attributes
    ----------
    metric : ndarray, shape (3, rings, angles)
        E, F, G.
    second : ndarray, shape (3, rings, angles)
        L, M, N.
    christoffel : ndarray, shape (6, rings, angles)
        Christoffel symbols of the second kind: s_ss, s_st, s_tt, t_ss, t_st, t_tt with s the
        position along the leg and t the angle.
    outward : ndarray, shape (rings, angles, 3)
        Unit normal away from the leg.

    Examples
    --------
    A flat cell of a round leg of radius 4 cm:

    >>> shape = (1, 1)
    >>> metric = np.stack([np.ones(shape), np.zeros(shape), np.full(shape, 16.0)])
    >>> second = np.stack([np.zeros(shape), np.zeros(shape), np.full(shape, 4.0)])
    >>> forms = Forms(metric, second, np.zeros((6, 1, 1)), np.zeros((1, 1, 3)))
    >>> float(forms.area_element[0, 0])
    4.0
    """

    metric: Array
    second: Array
    christoffel: Array
    outward: Array

    @property
    def area_element(self) -> Array:
        """Area per unit of chart, sqrt(EG - F^2) [cm/rad].

        Returns
        -------
        ndarray, shape (rings, angles)

        References
        ----------
        do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (from memory).

        Examples
        --------
        >>> metric = np.array([1.0, 0.0, 25.0]).reshape(3, 1, 1)
        >>> float(Forms(metric, metric, metric, metric).area_element[0, 0])
        5.0
        """
        e, f, g = self.metric
        return np.sqrt(e * g - f * f)


def normal_curvature(metric: Array, second: Array, slope: Array | float) -> Array:
    """Normal curvature in the direction ds/dangle = slope [1/cm]; positive where convex.

    Parameters
    ----------
    metric, second : ndarray, shape (3, ...)
        First and second form, as :class:`Forms` holds them.
    slope : float or ndarray
        ds/dangle of the direction [cm/rad]; 0 is round the leg.

    Returns
    -------
    ndarray, shape (...)
        [1/cm].

    References
    ----------
    do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (from memory).

    Examples
    --------
    Round a cylinder of radius 4 cm, and at 45 degrees up it (Euler: half of that):

    >>> metric, second = np.array([1.0, 0.0, 16.0]), np.array([0.0, 0.0, 4.0])
    >>> float(normal_curvature(metric, second, 0.0)), float(normal_curvature(metric, second, 4.0))
    (0.25, 0.125)
    """
    e, f, g = metric
    bend, twist, hoop = second
    along = (bend * slope + 2 * twist) * slope + hoop
    return along / ((e * slope + 2 * f) * slope + g)


def fundamental_forms(s_cm: Array, points_cm: Array) -> Forms:
    """Forms of the surface that the points sample.

    Parameters
    ----------
    s_cm : ndarray, shape (rings,)
        Increasing chart positions [cm].
    points_cm : ndarray, shape (rings, angles, 3)
        Points at equal steps of the angle from 0, growing to the medial side [cm].

    Returns
    -------
    Forms

    References
    ----------
    do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (from memory).
    Checked against closed forms of cylinder, cone, ellipsoid and torus bend in the tests.

    Examples
    --------
    >>> s = np.linspace(0, 10, 40)
    >>> t = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    >>> ring = np.stack([4 * np.cos(t), 4 * np.sin(t), 0 * t], axis=-1)
    >>> tube = ring + s[:, None, None] * np.array([0, 0, 1.0])
    >>> forms = fundamental_forms(s, tube)
    >>> bool(np.allclose(normal_curvature(forms.metric, forms.second, 0.0), 1 / 4))
    True
    """
    rings, angles, _rest = points_cm.shape
    spline = make_interp_spline(s_cm, points_cm.reshape(rings, -1), 5)
    d_s = spline(s_cm, 1).reshape(points_cm.shape)
    d_ss = spline(s_cm, 2).reshape(points_cm.shape)
    wave = np.fft.rfftfreq(angles, 1 / angles)[:, None]
    slope_wave = 1j * wave
    if angles % 2 == 0:
        slope_wave[-1] = 0  # the highest wave has no defined slope on an even grid

    def round_the_leg(values: Array, factor: npt.NDArray[np.complex128]) -> Array:
        return np.fft.irfft(np.fft.rfft(values, axis=1) * factor, angles, axis=1)

    d_t = round_the_leg(points_cm, slope_wave)
    d_tt = round_the_leg(points_cm, -(wave**2) + 0j)
    d_st = round_the_leg(d_s, slope_wave)

    outward = np.cross(d_t, d_s)
    outward /= np.linalg.norm(outward, axis=-1, keepdims=True)

    def dot(a: Array, b: Array) -> Array:
        return np.einsum("rac,rac->ra", a, b)

    e, f, g = dot(d_s, d_s), dot(d_s, d_t), dot(d_t, d_t)
    seconds = (d_ss, d_st, d_tt)
    second = np.stack([-dot(derivative, outward) for derivative in seconds])
    tangential = [(dot(derivative, d_s), dot(derivative, d_t)) for derivative in seconds]
    along_s = [g * on_s - f * on_t for on_s, on_t in tangential]
    along_t = [e * on_t - f * on_s for on_s, on_t in tangential]
    christoffel = np.stack(along_s + along_t) / (e * g - f * f)
    return Forms(np.stack([e, f, g]), second, christoffel, outward)
