"""Closed-form pressure of a bandage on a cylinder, and the published ways of adding layers.

On one turn the hoop balance is P = t / R with t the tension per width and R the radius, so n
thicknesses on a girth G give P = 471.278 n t / G (t in N/cm, G in cm). It is the mean round the
section, whatever the section's convex shape.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaiter.core.errors import InputError
from gaiter.core.units import LAPLACE_MMHG_CM2_PER_N
from gaiter.core.words import Said


class LayerAddition(StrEnum):
    """Published ways in which the pressures of several layers add up. They disagree.

    References
    ----------
    Thomas S. EWMA Journal 2003;3(1):21-23. Al Khaburi J et al. Phlebology 2011;26(2):75-83. Al
    Khaburi J et al. Med Eng Phys 2012;34:378-385 (from memory). Dale JJ et al. Phlebology 2004.

    Examples
    --------
    >>> [rule.name[-4:] for rule in LayerAddition]
    ['2003', '2011', '2012', '2004']
    """

    PLAIN_SUM_THOMAS_2003 = "plain sum (Thomas 2003)"
    GROWING_RADII_AL_KHABURI_2011 = "growing radii (Al Khaburi 2011)"
    THICK_WALL_AL_KHABURI_2012 = "thick wall (Al Khaburi 2012)"
    SHARE_OF_FURTHER_DALE_2004 = "half of each further layer (Dale 2004)"


# Dale et al. 2004, Phlebology: each further component added 50-60 % of its own pressure.
DALE_2004_SHARE = 0.55


def ring_mean_mmhg(tension_n_per_cm: float, girth_cm: float, thicknesses: float = 1.0) -> float:
    """Mean pressure of a thin bandage round a section [mmHg].

    Parameters
    ----------
    tension_n_per_cm : float
        Tension per cm of width [N/cm], 0 or more.
    girth_cm : float
        Girth [cm], above 0.
    thicknesses : float
        How many thicknesses lie on each other, 0 or more.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If a value is out of range.

    References
    ----------
    Thomas S. The use of the Laplace equation in the calculation of sub-bandage pressure.
    EWMA Journal 2003;3(1):21-23 (form of the equation; the constant is derived here).

    Examples
    --------
    >>> round(ring_mean_mmhg(1.0609, 25.0, 2), 1)
    40.0
    """
    for name, value, least, unit in (
        ("tension", tension_n_per_cm, 0.0, "N/cm"),
        ("thicknesses", thicknesses, 0.0, ""),
    ):
        if not value >= least or math.isinf(value):
            raise ValueError(
                f"{name} must be {least:g} {unit} or more; received {value:g}".replace("  ", " ")
            )
    if not girth_cm > 0 or math.isinf(girth_cm):
        raise ValueError(f"girth must be above 0 cm; received {girth_cm:g} cm")
    return LAPLACE_MMHG_CM2_PER_N * thicknesses * tension_n_per_cm / girth_cm


@dataclass(frozen=True)
class Cylinder:
    """A bandage on a cylinder: tension per width, girth, thicknesses and pressure agree.

    Attributes
    ----------
    tension_n_per_cm : float
        Tension per cm of width [N/cm], above 0.
    girth_cm : float
        Girth [cm], above 0.
    thicknesses : float
        How many lie on each other, above 0.
    pressure_mmhg : float
        Pressure [mmHg], above 0.

    Examples
    --------
    >>> round(cylinder(tension_n_per_cm=1.0, girth_cm=25.0, thicknesses=1.0).pressure_mmhg, 2)
    18.85
    """

    tension_n_per_cm: float
    girth_cm: float
    thicknesses: float
    pressure_mmhg: float


def cylinder(
    *,
    tension_n_per_cm: float | None = None,
    girth_cm: float | None = None,
    thicknesses: float | None = None,
    pressure_mmhg: float | None = None,
) -> Cylinder:
    """The bandage on a cylinder of which any three quantities are given.

    Parameters
    ----------
    tension_n_per_cm : float or None
        Tension per cm of width [N/cm], above 0.
    girth_cm : float or None
        Girth [cm], above 0.
    thicknesses : float or None
        How many lie on each other, above 0.
    pressure_mmhg : float or None
        Pressure [mmHg], above 0.

    Returns
    -------
    Cylinder
        All four.

    Raises
    ------
    InputError
        If not exactly three are given, or one is not above 0.

    References
    ----------
    Thomas S. The use of the Laplace equation in the calculation of sub-bandage pressure.
    EWMA Journal 2003;3(1):21-23 (form of the equation; the constant is derived here).

    Examples
    --------
    >>> found = cylinder(girth_cm=25.0, thicknesses=2.0, pressure_mmhg=40.0)
    >>> round(found.tension_n_per_cm, 3)
    1.061
    """
    given = {
        "tension": tension_n_per_cm,
        "girth": girth_cm,
        "thicknesses": thicknesses,
        "pressure": pressure_mmhg,
    }
    given = {name: None if value is None else float(value) for name, value in given.items()}
    for name, value in given.items():
        if value is not None and not 0 < value < math.inf:
            raise InputError(
                Said(
                    "{name} must be above 0; received {value:g}: correct it",
                    {"name": name, "value": value},
                )
            )
    k = LAPLACE_MMHG_CM2_PER_N
    match tuple(given.values()):
        case None, float(g), float(n), float(p):
            return Cylinder(p * g / (k * n), g, n, p)
        case float(t), None, float(n), float(p):
            return Cylinder(t, k * n * t / p, n, p)
        case float(t), float(g), None, float(p):
            return Cylinder(t, g, p * g / (k * t), p)
        case float(t), float(g), float(n), None:
            return Cylinder(t, g, n, k * n * t / g)
    missing = [name for name, value in given.items() if value is None]
    raise InputError(
        Said(
            "give exactly three of tension, girth, thicknesses and pressure; received {count}: "
            "missing {missing}"
            if missing
            else "give exactly three of tension, girth, thicknesses and pressure; received "
            "{count}: leave one out",
            {"count": len(given) - len(missing), "missing": ", ".join(missing)},
        )
    )


def layered_mmhg(
    tensions_n_per_cm: Sequence[float],
    girth_cm: float,
    thickness_cm: float,
    rule: LayerAddition,
) -> float:
    """Pressure of several thicknesses on a cylinder [mmHg], by one published rule.

    Parameters
    ----------
    tensions_n_per_cm : sequence of float
        Tension of each thickness from the skin outwards [N/cm].
    girth_cm : float
        Girth of the skin [cm].
    thickness_cm : float
        Thickness of each [cm], 0 or more.
    rule : LayerAddition
        Which rule.

    Returns
    -------
    float

    References
    ----------
    Al Khaburi J, Nelson EA, Hutchinson J, Dehghani-Sanij AA. Phlebology 2011;26(2):75-83
    (components add at the radius enlarged by those beneath). Al Khaburi et al. Med Eng Phys
    2012;34:378-385 (thick wall; from memory, re-derived: the hoop stress of a thick tube at its
    inner surface set equal to t / thickness). Dale JJ et al. Phlebology 2004 (share).

    Examples
    --------
    >>> rule = LayerAddition.GROWING_RADII_AL_KHABURI_2011
    >>> round(layered_mmhg([0.5, 0.5], 25.0, 0.1, rule), 3)
    18.62
    """
    single = [ring_mean_mmhg(tension, girth_cm) for tension in tensions_n_per_cm]
    if rule is LayerAddition.PLAIN_SUM_THOMAS_2003:
        return sum(single)
    if rule is LayerAddition.SHARE_OF_FURTHER_DALE_2004:
        return sum(single[:1]) + DALE_2004_SHARE * sum(single[1:])
    inner = [girth_cm / math.pi + 2 * thickness_cm * i for i in range(len(single))]
    if rule is LayerAddition.GROWING_RADII_AL_KHABURI_2011:
        grown = [girth_cm / math.pi / diameter for diameter in inner]
    else:
        grown = [
            girth_cm
            / math.pi
            * (d + thickness_cm)
            / (d * d + 2 * thickness_cm * (d + thickness_cm))
            for d in inner
        ]
    return sum(p * share for p, share in zip(single, grown, strict=True))


def thicknesses_from_overlap(overlap: float) -> float:
    """Mean number of thicknesses of a spiral whose turns overlap by this share of the width.

    Exact geometry: each point is covered by width / pitch turns on average.

    Parameters
    ----------
    overlap : float
        Share of the width on the previous turn, 0 up to below 1.

    Returns
    -------
    float
        1 / (1 - overlap), at least 1.

    Raises
    ------
    ValueError
        If the overlap is out of range.

    Examples
    --------
    >>> thicknesses_from_overlap(0.5), thicknesses_from_overlap(0.75)
    (2.0, 4.0)
    """
    if not 0 <= overlap < 1:
        raise ValueError(
            f"overlap must be 0 up to below 1 of the width; received {overlap:g}: 0.5 covers half"
        )
    return 1 / (1 - overlap)
