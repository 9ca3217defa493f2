"""A round cone under a chart that is skewed in every way, and where its places lie unrolled."""

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.leg.surface import Surface

# The cone widens by 0.15 for each centimetre of height, from a radius of 4 cm at height 0.
SLOPE, RADIUS_CM = 0.15, 4.0
# Its sections are tilted: each centimetre to the front they lie half a centimetre deeper.
TILT = 0.5
_SINE = SLOPE / np.hypot(1, SLOPE)


def skewed_cone(angles: int = 96) -> Surface:
    """The cone by tilted sections, which turn about it and do not lie evenly far apart.

    So that neither E, F, G nor any of the Christoffel symbols is 0 or 1.
    """
    s = np.linspace(0, 40, 401)
    grid_s, angle = np.meshgrid(s, 2 * np.pi * np.arange(angles) / angles, indexing="ij")
    height, turned, radius = _on_cone(grid_s, angle)
    towards_front = radius * np.cos(turned) * np.hypot(1, TILT)
    origin = np.stack([0 * s, 0 * s, _height_of_section(s)], axis=-1)
    front = np.tile(np.array([1.0, 0.0, -TILT]) / np.hypot(1, TILT), (len(s), 1))
    surface = Surface(s, {}, np.stack([towards_front, radius * np.sin(turned)]), origin, front)
    np.testing.assert_allclose(surface.points_cm[..., 2], height, atol=1e-9)
    return surface


def unrolled(s_cm: Array, angle: Array) -> Array:
    """Places on the cone cut open and laid flat, as complex numbers [cm].

    The distance from the tip along the skin stays, the angle shrinks by the sine of the cone's.
    """
    _height, turned, radius = _on_cone(s_cm, angle)
    return radius / _SINE * np.exp(1j * turned * _SINE)


def _height_of_section(s_cm: Array) -> Array:
    return s_cm + 0.004 * (s_cm - 20) ** 2


def _on_cone(s_cm: Array, angle: Array) -> tuple[Array, Array, Array]:
    """Height, angle round the cone and radius of places on the chart.

    radius = RADIUS + SLOPE height, and height = that of the section - TILT radius cos(angle).
    """
    turned = angle + 0.02 * s_cm + 0.0004 * s_cm**2
    middle = _height_of_section(s_cm)
    radius = (RADIUS_CM + SLOPE * middle) / (1 + SLOPE * TILT * np.cos(turned))
    return middle - TILT * radius * np.cos(turned), turned, radius
