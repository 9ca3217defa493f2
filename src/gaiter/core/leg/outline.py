"""The back of the leg seen from the side: sole, rounding of the heel, Achilles tendon."""

import numpy as np

from gaiter.core.arrays import Array

_FAR_CM = 60.0


def heel_profile(
    heel_radius_cm: float, heel_exponent: float, achilles_x_cm: float, ankle_z_cm: float
) -> Array:
    """Polyline from the sole under the toes to the back of the leg, seen from the side [cm].

    The floor, a superellipse quarter of the heel's radius, then an S-curve to the Achilles
    tendon at the height of the ankle and straight up from there.

    Parameters
    ----------
    heel_radius_cm : float
        Radius of the heel's rounding [cm], above 0.
    heel_exponent : float
        Exponent of the superellipse, 2 for a circle.
    achilles_x_cm : float
        How far before the back of the heel the tendon stands [cm].
    ankle_z_cm : float
        Height of the ankle girth [cm], above the radius.

    Returns
    -------
    ndarray, shape (points, 2)
        Columns x (forward of the back of the heel) and z (above the floor) [cm].

    Notes
    -----
    The shape is our choice; no published outline was found.

    Examples
    --------
    >>> profile = heel_profile(5.0, 2.4, 1.6, 12.0)
    >>> profile[0].tolist(), profile[-2].round(6).tolist(), bool(profile.min().round(6) == 0)
    ([60.0, 0.0], [1.6, 12.0], True)
    """
    t = np.linspace(0, np.pi / 2, 160)
    power = 2 / heel_exponent
    heel = heel_radius_cm * np.column_stack([1 - np.sin(t) ** power, 1 - np.cos(t) ** power])
    z = np.linspace(heel_radius_cm, ankle_z_cm, 80)[1:]
    w = (z - heel_radius_cm) / (ankle_z_cm - heel_radius_cm)
    tendon = np.column_stack([achilles_x_cm * w * w * (3 - 2 * w), z])
    return np.vstack(
        [[_FAR_CM, 0.0], heel, tendon, [achilles_x_cm, ankle_z_cm + _FAR_CM]],
        dtype=float,
    )


def distance_behind(psi: Array, x_cm: Array, z_cm: Array, profile: Array) -> Array:
    """Distance from each guide point, along its plane, back to the profile [cm].

    Parameters
    ----------
    psi, x_cm, z_cm : ndarray, shape (rings,)
        Plane angle [rad] and guide point [cm], as
        :meth:`~gaiter.core.leg.guide.Guide.planes` gives them.
    profile : ndarray, shape (points, 2)
        As :func:`heel_profile` gives it.

    Returns
    -------
    ndarray, shape (rings,)
        The farthest crossing where a plane meets the profile more than once.

    Notes
    -----
    A plane that meets the profile nowhere gives minus infinity.

    Examples
    --------
    A level plane at a height of 30 cm, 7 cm before the heel, over a tendon at 1.6 cm:

    >>> level, x, z = np.array([np.pi / 2]), np.array([7.0]), np.array([30.0])
    >>> distance_behind(level, x, z, heel_profile(5.0, 2.4, 1.6, 12.0)).round(3).tolist()
    [5.4]
    """
    along = (profile[:, 0] - x_cm[:, None]) * -np.cos(psi)[:, None]
    along += (profile[:, 1] - z_cm[:, None]) * np.sin(psi)[:, None]
    behind = (profile[:, 0] - x_cm[:, None]) * -np.sin(psi)[:, None]
    behind -= (profile[:, 1] - z_cm[:, None]) * np.cos(psi)[:, None]
    crosses = (along[:, :-1] <= 0) & (along[:, 1:] > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = along[:, :-1] / (along[:, :-1] - along[:, 1:])
        meet = behind[:, :-1] + share * np.diff(behind, axis=1)
    return np.where(crosses, meet, -np.inf).max(axis=1)
