"""Lengths that are taken at landmarks: girths, heights, widths and depths."""

from gaiter.core.landmark import Landmark
from gaiter.core.record import Record


class AtLandmarks(Record):
    """One length [cm] for each landmark at which it is taken, in a field of the landmark's name.

    Examples
    --------
    >>> class Widths(AtLandmarks):
    ...     ankle: float | None = None
    >>> Widths(ankle=6.2).at(Landmark.ANKLE), Widths(ankle=6.2).at(Landmark.GAITER)
    (6.2, None)
    """

    def at(self, landmark: Landmark) -> float | None:
        """The length at a landmark [cm].

        Parameters
        ----------
        landmark : Landmark
            Where.

        Returns
        -------
        float or None
            [cm]; None where it was not taken, or is never taken.

        Examples
        --------
        >>> from gaiter.core.case.leg import KnownPositions
        >>> KnownPositions(calf=31).at(Landmark.CALF), KnownPositions().at(Landmark.HEEL_INSTEP)
        (31.0, None)
        """
        value: float | None = getattr(self, landmark.value, None)
        return value
