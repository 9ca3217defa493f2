"""A monotone interpolant with a continuous second derivative.

A kink in the second derivative of a girth along the leg becomes a ridge of false curvature on
the surface, so the usual monotone cubic (continuous first derivative only) will not do.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import BPoly, PchipInterpolator

_TRIALS = 12
_SAMPLES_PER_PIECE = 33
# A derivative of the wrong sign smaller than this (cm per cm) is rounding, not a dent.
_SLOPE_ROUNDING = 1e-9


def monotone_c2(positions: ArrayLike, values: ArrayLike) -> BPoly:
    """Quintic interpolant, monotone between neighbours, twice continuously differentiable.

    Slopes are those of the monotone cubic (PCHIP). The second derivative at each knot starts as
    the mean of the two cubics' own and is halved next to a piece that is not monotone until it
    is; with zero second derivatives a quintic with PCHIP slopes is accepted as it stands.

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
    for _ in range(_TRIALS):
        curve = BPoly.from_derivatives(x, np.column_stack([y, slopes, second]))
        uphill = curve.derivative()(samples) * np.sign(rise)[:, None]
        dented = (uphill < -_SLOPE_ROUNDING).any(axis=1)
        if not dented.any():
            return curve
        second[:-1][dented] *= 0.5
        second[1:][dented] *= 0.5
    second[:] = 0
    return BPoly.from_derivatives(x, np.column_stack([y, slopes, second]))
