"""A monotone interpolant with a continuous second derivative.

A kink in the second derivative of a girth along the leg becomes a ridge of false curvature on
the surface, so the usual monotone cubic (continuous first derivative only) will not do.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import BPoly, PchipInterpolator

_TRIALS, _TRIALS_WITH_FULL_SLOPES = 60, 8
_SAMPLES_PER_PIECE = 33
# A derivative of the wrong sign smaller than this (cm per cm) is rounding, not a dent.
_SLOPE_ROUNDING = 1e-9


def monotone_c2(positions: ArrayLike, values: ArrayLike) -> BPoly:
    """Quintic interpolant, monotone between neighbours, twice continuously differentiable.

    Slopes are those of the monotone cubic (PCHIP). The second derivative at each knot starts as
    the mean of the two cubics' own and is halved next to a piece that is not monotone until it
    is; where that does not do, the slopes there are lowered too. With neither, a quintic is
    monotone.

    Parameters
    ----------
    positions : array_like, shape (knots,)
        Strictly increasing positions [cm].
    values : array_like, shape (knots,)
        Values there.

    Returns
    -------
    scipy.interpolate.BPoly
        Callable; has ``derivative``.

    Raises
    ------
    ValueError
        If positions do not increase.

    References
    ----------
    Fritsch F, Butland J. A method for constructing local monotone piecewise cubic
    interpolants. SIAM J Sci Stat Comput 1984;5:300-304 (the slopes).

    Examples
    --------
    >>> girth = monotone_c2([0.0, 8.0, 20.0], [22.0, 27.0, 37.0])
    >>> float(girth(8.0))
    27.0
    """
    x = np.asarray(positions, float)
    y = np.asarray(values, float)
    steps = np.diff(x)
    if (steps <= 0).any():
        raise ValueError(f"positions must increase along the leg; received {x.tolist()}")
    slopes = PchipInterpolator(x, y).derivative()(x)
    rise = np.diff(y) / steps
    second = np.zeros_like(x)
    second[1:-1] = 0.5 * (
        (-6 * rise + 2 * slopes[:-1] + 4 * slopes[1:])[:-1] / steps[:-1]
        + (6 * rise - 4 * slopes[:-1] - 2 * slopes[1:])[1:] / steps[1:]
    )
    within = np.linspace(0, 1, _SAMPLES_PER_PIECE)
    samples = x[:-1, None] + steps[:, None] * within
    for trial in range(_TRIALS):
        curve = BPoly.from_derivatives(x, np.column_stack([y, slopes, second]))
        uphill = curve.derivative()(samples) * np.sign(rise)[:, None]
        dented = (uphill < -_SLOPE_ROUNDING).any(axis=1)
        if not dented.any():
            break
        at_dent = np.zeros(len(x), bool)
        at_dent[:-1] |= dented
        at_dent[1:] |= dented
        second[at_dent] *= 0.5
        if trial >= _TRIALS_WITH_FULL_SLOPES:
            slopes[at_dent] *= 0.8
    return curve
