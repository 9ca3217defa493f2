"""Tension of a fabric for its stretch."""

from dataclasses import dataclass

import numpy as np

from gaiter.core.arrays import Array


@dataclass(frozen=True)
class StretchCurve:
    """Tension per width of a generic fabric, fixed by two published facts.

    Loading: t = t_u (e / e_u) (1 - e_u / e_l) / (1 - e / e_l). It is zero at zero, grows, and
    stiffens without limit towards the stretch at which the fabric locks; the tension at usual
    stretch comes from a pressure class, the locking stretch from an extension class. No open
    curve of any generic kind was found to test the form against: bench-test your own.

    Attributes
    ----------
    usual_stretch : float
        Stretch at which the tension is known, as a fraction of the relaxed length.
    usual_tension_n_per_cm : float
        Tension there [N per cm of width].
    locking_stretch : float
        Stretch at which the fabric locks.
    hysteresis : float
        Share of the tension lost on unloading half-way back; an assumption, no published value.

    Raises
    ------
    ValueError
        If the stretches are not in order, the tension not above 0, or the hysteresis not in 0..1.

    Examples
    --------
    >>> StretchCurve(0.5, 1.0, 2.0).hysteresis
    0.2
    """

    usual_stretch: float
    usual_tension_n_per_cm: float
    locking_stretch: float
    hysteresis: float = 0.2

    def __post_init__(self) -> None:
        if not 0 < self.usual_stretch < self.locking_stretch:
            raise ValueError(
                f"usual stretch must lie above 0 and below the locking stretch "
                f"{self.locking_stretch:.0%}; received {self.usual_stretch:.0%}"
            )
        if not self.usual_tension_n_per_cm > 0:
            raise ValueError(
                f"tension at usual stretch must be above 0 N/cm; received "
                f"{self.usual_tension_n_per_cm:g} N/cm"
            )
        if not 0 <= self.hysteresis < 1:
            raise ValueError(f"hysteresis must be 0 up to below 1; received {self.hysteresis:g}")

    def tension_n_per_cm(self, stretch: Array | float) -> Array:
        """Tension while the fabric is being stretched [N/cm].

        Parameters
        ----------
        stretch : float or ndarray
            As a fraction, 0 up to below the locking stretch.

        Returns
        -------
        ndarray
            [N/cm], of the stretch's shape.

        Raises
        ------
        ValueError
            Below zero or at the locking stretch and above, where no tension is defined.

        Notes
        -----
        The form is our choice; no open curve of any generic kind was found to test it against.

        Examples
        --------
        >>> curve = StretchCurve(0.5, 1.0, 2.0)
        >>> float(curve.tension_n_per_cm(0.5)), float(curve.tension_n_per_cm(1.0))
        (1.0, 3.0)
        """
        e = self._checked(stretch)
        tension: Array = self._scale * e / (1 - e / self.locking_stretch)
        return tension

    def slope_n_per_cm(self, stretch: Array | float) -> Array:
        """Growth of the loading tension per unit of stretch [N/cm].

        Parameters
        ----------
        stretch : float or ndarray
            As a fraction, 0 up to below the locking stretch.

        Returns
        -------
        ndarray
            [N/cm], of the stretch's shape.

        Raises
        ------
        ValueError
            If the stretch is out of range.

        Examples
        --------
        At 0 the slope is (1 / 0.5) (1 - 0.5 / 2) = 1.5; at 1 it is that over (1 - 1 / 2) squared.

        >>> curve = StretchCurve(0.5, 1.0, 2.0)
        >>> float(curve.slope_n_per_cm(0.0)), float(curve.slope_n_per_cm(1.0))
        (1.5, 6.0)
        """
        e = self._checked(stretch)
        slope: Array = self._scale / (1 - e / self.locking_stretch) ** 2
        return slope

    def unloading_n_per_cm(self, stretch: Array | float, from_stretch: float) -> Array:
        """Tension while the fabric goes back from a larger stretch [N/cm].

        It meets the loading branch at both ends and lies below it between.

        Parameters
        ----------
        stretch : float or ndarray
            As a fraction, 0 up to ``from_stretch``.
        from_stretch : float
            Where it turned back, below the locking stretch.

        Returns
        -------
        ndarray
            [N/cm], of the stretch's shape.

        Raises
        ------
        ValueError
            If the stretch is out of range.

        Notes
        -----
        The hysteresis is our choice, no published value.

        Examples
        --------
        Half-way back a fifth is lost:

        >>> curve = StretchCurve(0.5, 1.0, 2.0, hysteresis=0.2)
        >>> round(float(curve.unloading_n_per_cm(0.5, 1.0)), 6)
        0.8
        """
        e = self._checked(stretch)
        if np.any(e > from_stretch):
            raise ValueError(
                f"stretch on the way back must be at most {from_stretch:.0%}; "
                f"received {float(np.max(e)):.0%}"
            )
        back = 4 * self.hysteresis * e * (from_stretch - e) / from_stretch**2
        tension: Array = self.tension_n_per_cm(e) * (1 - back)
        return tension

    def stretch_for(self, tension_n_per_cm: Array | float) -> Array:
        """Stretch at which the loading tension is reached, the inverse of the loading branch.

        Parameters
        ----------
        tension_n_per_cm : float or ndarray
            [N/cm], 0 or more.

        Returns
        -------
        ndarray
            As a fraction, of the tension's shape.

        Raises
        ------
        ValueError
            If the tension is below 0.

        Examples
        --------
        >>> float(StretchCurve(0.5, 1.0, 2.0).stretch_for(3.0))
        1.0
        """
        t = np.asarray(tension_n_per_cm, float)
        if np.any(~(t >= 0)):
            raise ValueError(f"tension must be 0 N/cm or more; received {float(np.min(t)):g} N/cm")
        stretch: Array = t / (self._scale + t / self.locking_stretch)
        return stretch

    @property
    def _scale(self) -> float:
        """Tension per stretch at zero stretch [N/cm]."""
        share = 1 - self.usual_stretch / self.locking_stretch
        return self.usual_tension_n_per_cm * share / self.usual_stretch

    def _checked(self, stretch: Array | float) -> Array:
        e = np.asarray(stretch, float)
        if np.any(~(e >= 0)) or np.any(e >= self.locking_stretch):
            raise ValueError(
                f"stretch must be 0 up to below {self.locking_stretch:.0%}, where this fabric "
                f"locks; received {float(np.min(e)):.0%} to {float(np.max(e)):.0%}"
            )
        return e
