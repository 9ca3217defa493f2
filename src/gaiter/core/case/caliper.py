"""Width and depth of a leg, where somebody took a caliper, or a book, a wall and a ruler.

A tape tells how far it is round a limb, these how flat the limb is, and pressure follows how
sharply the skin bends. Both stand at the height of the girth of the same name. The allowed ranges
are our choice: what the least and the largest allowed girth make on an ellipse a third flatter or
deeper than legs are, rounded outwards.
"""

from typing import Annotated

from gaiter.core.case.fields import measured
from gaiter.core.errors import FieldError
from gaiter.core.landmark import Landmark
from gaiter.core.record import Record
from gaiter.core.words import Said


class Widths(Record):
    """Side to side at the same height as the girth, with a caliper or between a book and a wall."""

    ankle: Annotated[
        float | None, measured("Width of the ankle, side to side at its girth", 2.5, 19, "cm")
    ] = None
    calf: Annotated[
        float | None, measured("Width of the calf, side to side at its girth", 4.5, 34, "cm")
    ] = None

    def at(self, landmark: Landmark) -> float | None:
        """Width at a landmark [cm].

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
        >>> Widths(ankle=6.2).at(Landmark.ANKLE), Widths(ankle=6.2).at(Landmark.GAITER)
        (6.2, None)
        """
        value: float | None = getattr(self, landmark.value, None)
        return value


class Depths(Record):
    """Front to back at the same height as the girth, with a caliper or between a book and a wall.

    At the ankle from the shin to the back of the tendon.
    """

    ankle: Annotated[
        float | None, measured("Depth of the ankle, front to back at its girth", 4, 25, "cm")
    ] = None
    calf: Annotated[
        float | None, measured("Depth of the calf, front to back at its girth", 5, 35, "cm")
    ] = None

    def at(self, landmark: Landmark) -> float | None:
        """Depth at a landmark [cm].

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
        >>> Depths(calf=12.4).at(Landmark.CALF), Depths(calf=12.4).at(Landmark.ANKLE)
        (12.4, None)
        """
        value: float | None = getattr(self, landmark.value, None)
        return value


def require_both(width: Widths, depth: Depths) -> None:
    """Refuses a width without its depth and a depth without its width.

    Parameters
    ----------
    width, depth : Widths, Depths
        Of one leg [cm].

    Raises
    ------
    FieldError
        Naming the one that lacks.

    Examples
    --------
    >>> require_both(Widths(ankle=6.2), Depths(ankle=8.3))
    """
    for site in Widths.model_fields:
        taken = {
            "width_cm": width.at(Landmark(site)) is not None,
            "depth_cm": depth.at(Landmark(site)) is not None,
        }
        if len(set(taken.values())) == 1:
            continue
        lacking, given = sorted(taken, key=lambda table: taken[table])
        raise FieldError(
            f"{lacking}.{site}",
            Said(
                "is required beside {given}: measure it in cm at the same height, or leave both "
                "out",
                {"given": f"{given}.{site}"},
            ),
            missing=True,
        )
