"""Constants and conversions. Inside the core lengths are cm, forces N, pressures mmHg."""

import math

STANDARD_GRAVITY_M_PER_S2 = 9.80665  # exact, 3rd CGPM 1901
PASCAL_PER_MMHG = 133.322387415  # conventional millimetre of mercury, BS 350 / NIST SP 811 (2008)
PASCAL_PER_CMH2O = 98.0665  # conventional centimetre of water, NIST SP 811 (2008)
CM_PER_INCH = 2.54  # exact, international inch 1959
PASCAL_PER_N_PER_CM2 = 1e4  # exact

MMHG_PER_N_PER_CM2 = PASCAL_PER_N_PER_CM2 / PASCAL_PER_MMHG
"""75.0062: pressure of 1 N on 1 cm2."""

MMHG_PER_KILOPASCAL = 1000 / PASCAL_PER_MMHG
"""7.50062: 1 kPa in conventional millimetres of mercury."""

LAPLACE_MMHG_CM2_PER_N = 2 * math.pi * MMHG_PER_N_PER_CM2
"""471.278: pressure [mmHg] = this * thicknesses * tension per width [N/cm] / girth [cm]."""

LAPLACE_MMHG_CM2_PER_KGF = LAPLACE_MMHG_CM2_PER_N * STANDARD_GRAVITY_M_PER_S2
"""4621.65: the same with the tension in kgf."""

LAPLACE_PUBLISHED_MMHG_CM2_PER_KGF = 4630.0
"""The rounding in print: Thomas 2003, EWMA Journal 3(1):21-23 (from memory, not verified)."""


def newton_from_kgf(force_kgf: float) -> float:
    """Force of a weight [N].

    Parameters
    ----------
    force_kgf : float
        What a scale shows [kgf], any sign.

    Returns
    -------
    float
        Force [N].

    References
    ----------
    3rd General Conference on Weights and Measures, 1901: standard gravity 9.80665 m/s2.

    Examples
    --------
    >>> newton_from_kgf(1.0)
    9.80665
    """
    return force_kgf * STANDARD_GRAVITY_M_PER_S2


def cm_from_inch(length_inch: float) -> float:
    """Length of a length in inches [cm].

    Parameters
    ----------
    length_inch : float
        Length [inch], any sign.

    Returns
    -------
    float
        Length [cm].

    References
    ----------
    International inch, 1959: 2.54 cm exactly.

    Examples
    --------
    >>> cm_from_inch(10.0)
    25.4
    """
    return length_inch * CM_PER_INCH
