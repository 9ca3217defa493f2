"""Pressure on standing and the stiffness of the finished bandage."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class LayerAtSite:
    """One compressive layer at one site.

    Attributes
    ----------
    resting_mmhg : float
        What it adds at rest [mmHg].
    tension_n_per_cm, tension_slope_n_per_cm : float
        Its tension and the growth of tension per unit of stretch [N/cm].
    stretch : float
        Its stretch as a fraction.

    Examples
    --------
    >>> LayerAtSite(40.0, 1.0, 5.0, 0.5).stretch
    0.5
    """

    resting_mmhg: float
    tension_n_per_cm: float
    tension_slope_n_per_cm: float
    stretch: float


def standing_rise_mmhg(
    layers: Sequence[LayerAtSite], girth_cm: float, girth_rise_cm: float
) -> float:
    """Rise of pressure when the girth under the bandage rises [mmHg].

    A girth that rises by dG stretches every layer by (1 + stretch) dG / G more, and spreads the
    old tension over a larger radius. The stiffness is that of the finished bandage, not of a
    roll's label.

    Parameters
    ----------
    layers : sequence of LayerAtSite
        The compressive layers.
    girth_cm : float
        Girth at rest [cm], above 0.
    girth_rise_cm : float
        Its rise [cm].

    Returns
    -------
    float
        [mmHg].

    Notes
    -----
    Derived here from the hoop balance.

    References
    ----------
    One study, stockings, doi 10.1177/02683555261424072: the girth rises by 0.50 to 1.05 cm on
    moving; the shipped policy takes the middle, 0.75 cm.

    Examples
    --------
    The share is 0.75 / 24, the tension grows by 5 (1 + 0.5) times that, and
    40 (1 + 0.234375) / 1.03125 - 40 is left:

    >>> stiff = LayerAtSite(40.0, 1.0, 5.0, 0.5)
    >>> round(standing_rise_mmhg([stiff], 24.0, 0.75), 1)
    7.9
    """
    share = girth_rise_cm / girth_cm
    rise = 0.0
    for layer in layers:
        more = layer.tension_slope_n_per_cm * (1 + layer.stretch) * share / layer.tension_n_per_cm
        rise += layer.resting_mmhg * (1 + more) / (1 + share) - layer.resting_mmhg
    return rise
