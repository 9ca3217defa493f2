"""Where the tape would lie on a leg whose survey took the heights of bones instead.

Every share and distance here is an assumption without a published value; whatever is derived
with them is marked as estimated.
"""

from gaiter.core.leg.completion import ANKLE_ABOVE_BONE_CM

# The tibial height of surveys is the upper edge of the bone; the tuberosity lies about 3 cm
# lower, and the below-knee girth is taken under it (assumptions).
TUBEROSITY_UNDER_TIBIA_CM = 3.0
BELOW_KNEE_UNDER_TIBIA_CM = 6.0
# Share of the way from the ankle girth to the tuberosity at which the calf is largest, and
# girth below the knee over the calf's (assumptions).
CALF_SHARE_OF_WAY = 0.63
BELOW_KNEE_OVER_CALF_GIRTH = 0.92


def ankle_height_cm(malleolus_height_cm: float) -> float:
    """Height of the smallest ankle girth from the height of the ankle bone [cm].

    Parameters
    ----------
    malleolus_height_cm : float
        Height of the bone above the floor [cm].

    Returns
    -------
    float
        [cm].

    Notes
    -----
    4 cm above the bone: our choice, no published value.

    Examples
    --------
    >>> ankle_height_cm(6.3)
    10.3
    """
    return malleolus_height_cm + ANKLE_ABOVE_BONE_CM


def calf_height_cm(ankle_height_cm: float, tibial_height_cm: float) -> float:
    """Height of the largest calf girth from ankle girth and top of the tibia [cm].

    Parameters
    ----------
    ankle_height_cm : float
        Height of the smallest ankle girth [cm].
    tibial_height_cm : float
        Height of the upper edge of the tibia [cm].

    Returns
    -------
    float
        [cm].

    Notes
    -----
    0.63 of the way to the tuberosity, 3 cm under the edge: our choice, no published value.

    Examples
    --------
    10.3 + 0.63 (43.7 - 3 - 10.3):

    >>> round(calf_height_cm(10.3, 43.7), 1)
    29.5
    """
    way = tibial_height_cm - TUBEROSITY_UNDER_TIBIA_CM - ankle_height_cm
    return ankle_height_cm + CALF_SHARE_OF_WAY * way


def below_knee_height_cm(tibial_height_cm: float) -> float:
    """Height just under the tibial tuberosity from the top of the tibia [cm].

    Parameters
    ----------
    tibial_height_cm : float
        Height of the upper edge of the tibia [cm].

    Returns
    -------
    float
        [cm].

    Notes
    -----
    6 cm under the edge: our choice, no published value.

    Examples
    --------
    >>> round(below_knee_height_cm(43.7), 1)
    37.7
    """
    return tibial_height_cm - BELOW_KNEE_UNDER_TIBIA_CM


def below_knee_girth_cm(calf_girth_cm: float) -> float:
    """Girth just under the tuberosity from the calf's [cm].

    Parameters
    ----------
    calf_girth_cm : float
        Largest calf girth [cm].

    Returns
    -------
    float
        [cm].

    Notes
    -----
    0.92 of the calf's: our choice, no published value.

    Examples
    --------
    >>> round(below_knee_girth_cm(37.2), 1)
    34.2
    """
    return BELOW_KNEE_OVER_CALF_GIRTH * calf_girth_cm
