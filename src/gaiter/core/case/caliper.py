"""Width and depth of a leg, where somebody took a caliper, or a book, a wall and a ruler.

A tape tells how far it is round a limb, these how flat the limb is, and pressure follows how
sharply the skin bends. Both stand at the height of the girth of the same name. The allowed ranges
are our choice: what the least and the largest allowed girth make on an ellipse a third flatter or
deeper than legs are, rounded outwards.
"""

from typing import Annotated

from gaiter.core.case.at_landmarks import AtLandmarks
from gaiter.core.case.fields import measured
from gaiter.core.errors import FieldError
from gaiter.core.landmark import Landmark
from gaiter.core.words import Said


class Widths(AtLandmarks):
    """Side to side at the same height as the girth, with a caliper or between a book and a wall."""

    ankle: Annotated[
        float | None, measured("Width of the ankle, side to side at its girth", 2.5, 19, "cm")
    ] = None
    calf: Annotated[
        float | None, measured("Width of the calf, side to side at its girth", 4.5, 34, "cm")
    ] = None


class Depths(AtLandmarks):
    """Front to back at the same height as the girth, with a caliper or between a book and a wall.

    At the ankle from the shin to the back of the tendon.
    """

    ankle: Annotated[
        float | None, measured("Depth of the ankle, front to back at its girth", 4, 25, "cm")
    ] = None
    calf: Annotated[
        float | None, measured("Depth of the calf, front to back at its girth", 5, 35, "cm")
    ] = None


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
