"""What a caliper tells of a leg beside the tape."""

from collections.abc import Iterator, Mapping

from scipy.special import ellipe

from gaiter.core.case.leg import MeasuredLeg
from gaiter.core.landmark import Landmark
from gaiter.core.leg.anatomy import CALIPER_SITES
from gaiter.core.words import Said

# Our choice. The shipped shapes have the girth of their ellipse to 1 %, so what is left is the
# error of three measurements, and a caliper presses soft tissue in.
WILD_SHARE = 0.15


def depth_over_width(leg: MeasuredLeg) -> Mapping[Landmark, float]:
    """Depth over width at each site where both were taken.

    Parameters
    ----------
    leg : MeasuredLeg
        What was measured.

    Returns
    -------
    Mapping[Landmark, float]
        Without dimension; empty without a caliper.

    Examples
    --------
    >>> from gaiter.core.case.caliper import Depths, Widths
    >>> leg = MeasuredLeg.model_construct(
    ...     width_cm=Widths(ankle=6.0), depth_cm=Depths(ankle=9.0)
    ... )
    >>> depth_over_width(leg)[Landmark.ANKLE]
    1.5
    """
    return {site: depth / width for site, width, depth in _taken(leg)}


def ellipse_girth_cm(width_cm: float, depth_cm: float) -> float:
    """Girth of an ellipse of this width and depth [cm].

    Parameters
    ----------
    width_cm, depth_cm : float
        Whole axes, above 0 [cm].

    Returns
    -------
    float
        Four quarters: twice the longer axis times the complete elliptic integral of the second
        kind, of the parameter 1 - (shorter / longer)^2.

    Examples
    --------
    >>> round(ellipse_girth_cm(10.0, 10.0), 2)  # 10 pi
    31.42
    """
    shorter, longer = sorted((width_cm, depth_cm))
    return float(2 * longer * ellipe(1 - (shorter / longer) ** 2))


def caliper_questions(leg: MeasuredLeg) -> Iterator[Said]:
    """Width and depth that do not go with the girth the tape read.

    Parameters
    ----------
    leg : MeasuredLeg
        What was measured.

    Yields
    ------
    Said
        One question a site.

    Examples
    --------
    5 by 5 cm are 15.7 cm round, far from 22.5:

    >>> from gaiter.core.case.caliper import Depths, Widths
    >>> from gaiter.core.case.leg import KnownGirths
    >>> leg = MeasuredLeg.model_construct(
    ...     width_cm=Widths(ankle=5.0), depth_cm=Depths(ankle=5.0),
    ...     girth_cm=KnownGirths(ankle=22.5),
    ... )
    >>> [question.code for question in caliper_questions(leg)]
    ['wild_caliper']
    """
    for site, width, depth in _taken(leg):
        girth = leg.girth_cm.at(site)
        made = ellipse_girth_cm(width, depth)
        if girth is None or abs(made / girth - 1) <= WILD_SHARE:
            continue
        yield Said(
            "width {width:g} cm and depth {depth:g} cm of the {place} make a girth of about "
            "{made:.0f} cm, where the tape read {girth:g} cm: measure all three again",
            {
                "width": width,
                "depth": depth,
                "place": Said(site.label),
                "made": made,
                "girth": girth,
            },
            "wild_caliper",
        )


def _taken(leg: MeasuredLeg) -> Iterator[tuple[Landmark, float, float]]:
    """Sites with both, their width and their depth [cm]."""
    for site in CALIPER_SITES:
        width, depth = leg.width_cm.at(site), leg.depth_cm.at(site)
        if width is not None and depth is not None:
            yield site, width, depth
