r"""The guide line in front of the skin, whose normal planes cut the leg into sections.

A tube of sections round a bent centre line folds at the front of the ankle. Planes that are
normal to a line *in front of* the skin can meet only beyond that line, so they cut each leg once.

Side view of a right foot (x forward from the back of the heel, z up)::

        |   |          planes: level above the ankle,
    ____|   | guide    a fan between, upright in the foot
   leg  |   |          plane angle psi: 0 upright .. 90 degrees level
        |    \
        |     '-----------  guide
    heel|________________  dorsum
        '----------------' x
"""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from gaiter.core.arrays import Array


def _bend_angle(u: Array) -> Array:
    # Turns at the rate 1 - cos(2 pi u), which is zero at both ends of the bend.
    return np.pi / 2 * (u - np.sin(2 * np.pi * u) / (2 * np.pi))


_U = np.linspace(0, 1, 201)
_BEND_X = CubicSpline(_U, np.cos(_bend_angle(_U))).antiderivative()
_BEND_Z = CubicSpline(_U, np.sin(_bend_angle(_U))).antiderivative()
# Even a very short, steep ankle gets a bend this wide [cm]; less would crowd the fan.
_LEAST_ROOM_CM = 0.8


@dataclass(frozen=True)
class Guide:
    """A level line over the foot, a smooth quarter bend and an upright line before the leg.

    Attributes
    ----------
    start_x_cm : float
        Forward position of the metatarsal heads, where s = 0 [cm].
    upright_x_cm, level_z_cm : float
        Where the upright part and the level part run [cm].
    room_cm : float
        Size of the bend in each direction [cm].
    fan_cm_per_radian : float
        Chart length added per radian of bend [cm].

    Examples
    --------
    >>> Guide(19.5, 7.0, 6.5, 4.0, 6.5).bend_start_cm
    8.5
    """

    start_x_cm: float
    upright_x_cm: float
    level_z_cm: float
    room_cm: float
    fan_cm_per_radian: float

    @classmethod
    def round_the_ankle(
        cls,
        *,
        start_x_cm: float,
        instep_x_cm: float,
        ankle_z_cm: float,
        upright_x_cm: float,
        level_z_cm: float,
        fan_cm_per_radian: float,
    ) -> "Guide":
        """The guide whose bend fits between instep and ankle.

        Parameters
        ----------
        start_x_cm, instep_x_cm : float
            Metatarsal heads and instep before the back of the heel [cm].
        ankle_z_cm : float
            Height of the ankle girth [cm].
        upright_x_cm, level_z_cm : float
            Where the upright part and the level part run [cm].
        fan_cm_per_radian : float
            Chart length added per radian of bend [cm].

        Returns
        -------
        Guide
            Its bend is at least 0.8 cm wide (our choice).

        Examples
        --------
        The bend takes the smaller of 14 - 9 and 12 - 8 cm:

        >>> Guide.round_the_ankle(
        ...     start_x_cm=19.5, instep_x_cm=14.0, ankle_z_cm=12.0,
        ...     upright_x_cm=9.0, level_z_cm=8.0, fan_cm_per_radian=6.5,
        ... ).room_cm
        4.0
        """
        room = min(instep_x_cm - upright_x_cm, ankle_z_cm - level_z_cm)
        return cls(
            start_x_cm,
            upright_x_cm,
            level_z_cm,
            max(room, _LEAST_ROOM_CM),
            fan_cm_per_radian,
        )

    @property
    def bend_length_cm(self) -> float:
        """Arc length of the bend [cm].

        Returns
        -------
        float
            [cm]; in proportion to the room.

        Examples
        --------
        >>> small, large = Guide(19.5, 7.0, 6.5, 2.0, 6.5), Guide(19.5, 7.0, 6.5, 4.0, 6.5)
        >>> round(large.bend_length_cm / small.bend_length_cm, 6)
        2.0
        """
        return self.room_cm / float(_BEND_X(1.0))

    @property
    def bend_start_cm(self) -> float:
        """Arc length from the metatarsal heads to the start of the bend [cm].

        Returns
        -------
        float
            [cm].

        Examples
        --------
        19.5 - (7 + 4):

        >>> Guide(19.5, 7.0, 6.5, 4.0, 6.5).bend_start_cm
        8.5
        """
        return self.start_x_cm - (self.upright_x_cm + self.room_cm)

    def s_in_foot_cm(self, x_cm: float) -> float:
        """Chart position of the upright plane at a distance from the back of the heel [cm].

        Parameters
        ----------
        x_cm : float
            Distance from the back of the heel [cm], before the bend.

        Returns
        -------
        float
            [cm].

        Examples
        --------
        >>> Guide(19.5, 7.0, 6.5, 4.0, 6.5).s_in_foot_cm(14.5)
        5.0
        """
        return self.start_x_cm - x_cm

    def s_in_leg_cm(self, height_cm: float) -> float:
        """Chart position of the level plane at a height above the floor [cm].

        Parameters
        ----------
        height_cm : float
            Height above the floor [cm], above the bend.

        Returns
        -------
        float
            [cm].

        Examples
        --------
        >>> guide = Guide(19.5, 7.0, 6.5, 4.0, 6.5)
        >>> round(guide.s_in_leg_cm(30.0) - guide.s_in_leg_cm(20.0), 6)
        10.0
        """
        bend_end = self.bend_start_cm + self.bend_length_cm
        arc = bend_end + height_cm - (self.level_z_cm + self.room_cm)
        return arc + self.fan_cm_per_radian * np.pi / 2

    def planes(self, s_cm: Array) -> tuple[Array, Array, Array]:
        """Plane angle and guide point at chart positions.

        Parameters
        ----------
        s_cm : ndarray, shape (places,)
            Chart positions [cm].

        Returns
        -------
        psi : ndarray, shape (places,)
            Plane angle [rad], 0 upright in the foot to pi / 2 level in the leg.
        x_cm, z_cm : ndarray, shape (places,)
            The guide there, before the heel and above the floor [cm].

        Examples
        --------
        >>> guide = Guide(19.5, 7.0, 6.5, 4.0, 6.5)
        >>> psi, x, z = guide.planes(np.array([guide.s_in_foot_cm(15.0), guide.s_in_leg_cm(30.0)]))
        >>> np.rad2deg(psi).round(3).tolist(), x.round(3).tolist(), z.round(3).tolist()
        ([0.0, 90.0], [15.0, 7.0], [6.5, 30.0])
        """
        into_bend = s_cm - self.bend_start_cm
        u = self._bend_share(into_bend)
        beyond = np.maximum(into_bend - self._bend_chart_length_cm, 0)
        before = np.maximum(-into_bend, 0)
        bend = self.bend_length_cm
        x = self.upright_x_cm + self.room_cm - bend * _BEND_X(u) + before
        z = self.level_z_cm + bend * _BEND_Z(u) + beyond
        return _bend_angle(u), x, z

    @property
    def _bend_chart_length_cm(self) -> float:
        return self.bend_length_cm + self.fan_cm_per_radian * np.pi / 2

    def _bend_share(self, into_bend_cm: Array) -> Array:
        """How far round the bend, 0..1, for chart positions counted from its start."""
        bend, fan = self.bend_length_cm, self.fan_cm_per_radian
        target = np.clip(into_bend_cm, 0, self._bend_chart_length_cm)
        u = np.interp(target, bend * _U + fan * _bend_angle(_U), _U)
        for _turn in range(3):  # Newton; the slope never falls below the bend length
            slope = bend + fan * np.pi / 2 * (1 - np.cos(2 * np.pi * u))
            u = u - (bend * u + fan * _bend_angle(u) - target) / slope
        return np.clip(u, 0, 1)
