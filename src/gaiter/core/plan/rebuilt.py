"""What a plan describes, built again from the plan alone."""

from gaiter.core.errors import InputError
from gaiter.core.leg.completion import with_every_leg_site
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.plan.document import LegPlan, SurfaceSummary, SystemPlan
from gaiter.core.plan.laying import Geometry, LaidLayer
from gaiter.core.plan.padded_leg import BandagedLeg, PaddedLeg, Padding
from gaiter.core.words import Said


def surface_of(leg: LegPlan) -> SurfaceSummary:
    """What a plan knows of the leg's shape.

    Parameters
    ----------
    leg : LegPlan
        The leg's plan.

    Returns
    -------
    SurfaceSummary

    Raises
    ------
    InputError
        If the leg was stopped, so that there is nothing to draw.

    Examples
    --------
    >>> summary = SurfaceSummary.model_construct(foot_length_cm=26.5)
    >>> surface_of(LegPlan.model_construct(surface=summary)).foot_length_cm
    26.5
    """
    if leg.surface is None:
        raise InputError(
            Said(
                "the plan of the {side} leg holds no surface, because it is {status}: only a "
                "planned leg can be drawn",
                {"side": Said(leg.side.value), "status": Said(leg.status.value)},
            )
        )
    return leg.surface


def bandaged_leg_of(leg: LegPlan) -> BandagedLeg:
    """The leg of a plan, built again from the measurements that the plan carries.

    A landmark that was not known yet when the plan was written is estimated between the others.

    Parameters
    ----------
    leg : LegPlan
        A planned leg.

    Returns
    -------
    BandagedLeg

    Raises
    ------
    InputError
        If the leg was stopped.

    Examples
    --------
    >>> from gaiter.core.landmark import Landmark as L
    >>> summary = SurfaceSummary(
    ...     foot_length_cm=26.5, start=L.METATARSAL_HEADS, volume_ml=2000, estimated=(), s_cm={},
    ...     girth_cm=dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0))),
    ...     position_cm=dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                          (19.5, 14.5, 12.0, 19.5, 31.0, 39.0))),
    ... )
    >>> leg = bandaged_leg_of(LegPlan.model_construct(surface=summary))
    >>> round(leg.bare.girth_at_cm(L.CALF), 1)
    37.0
    """
    summary = surface_of(leg)
    measured = LegMeasurements(
        foot_length_cm=summary.foot_length_cm,
        girth_cm=summary.girth_cm,
        position_cm=summary.position_cm,
        start=summary.start,
        estimated=summary.estimated,
        depth_over_width=summary.depth_over_width,
    )
    return BandagedLeg(with_every_leg_site(measured))


def padded_leg_of(bandaged_leg: BandagedLeg, system: SystemPlan) -> PaddedLeg:
    """The padded leg of a system's pressing layers.

    Parameters
    ----------
    bandaged_leg : BandagedLeg
        As :func:`bandaged_leg_of` builds it.
    system : SystemPlan
        One of the leg's systems.

    Returns
    -------
    PaddedLeg

    Examples
    --------
    Half a centimetre of wool adds pi centimetres to a girth of 37.

    >>> from gaiter.core.landmark import Landmark as L
    >>> from gaiter.core.bandage.wool import Build
    >>> from gaiter.core.plan.document import PaddingUnder
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> wool = PaddingUnder(
    ...     even_cm=0.5, layer_cm=0.5, build=Build.EVEN, end=L.BELOW_KNEE, text="", extra_turns=0
    ... )
    >>> system = SystemPlan.model_construct(padding=wool, pads_mm={})
    >>> leg = BandagedLeg(LegMeasurements(26.5, girth, place))
    >>> round(padded_leg_of(leg, system).girth_cm(L.CALF), 1)
    40.1
    """
    under = system.padding
    pads = tuple((place, mm / 10) for place, mm in system.pads_mm.items())
    return bandaged_leg.under(
        Padding(under.even_cm, under.layer_cm, under.build, under.end, under.start, pads)
    )


def laid_layers(bandaged_leg: BandagedLeg, system: SystemPlan) -> list[LaidLayer]:
    """The system's pressing layers laid again, from the skin outwards.

    Parameters
    ----------
    bandaged_leg : BandagedLeg
        As :func:`bandaged_leg_of` builds it.
    system : SystemPlan
        One of the leg's systems.

    Returns
    -------
    list[LaidLayer]

    Examples
    --------
    >>> from gaiter.core.landmark import Landmark as L
    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build
    >>> from gaiter.core.plan.document import Layer, PaddingUnder
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> wool = PaddingUnder(
    ...     even_cm=0.5, layer_cm=0.5, build=Build.EVEN, end=L.BELOW_KNEE, text="", extra_turns=0
    ... )
    >>> layer = Layer.model_construct(
    ...     presses=True, pattern=Pattern.SPIRAL, overlap=0.5, width_cm=10.0, leg_width_cm=None
    ... )
    >>> system = SystemPlan.model_construct(padding=wool, pads_mm={}, layers=(layer,))
    >>> [laid] = laid_layers(BandagedLeg(LegMeasurements(26.5, girth, place)), system)
    >>> laid.geometry.overlap
    0.5
    """
    padded_leg = padded_leg_of(bandaged_leg, system)
    return [
        padded_leg.laid(Geometry(layer.pattern, layer.overlap, layer.width_cm, layer.leg_width_cm))
        for layer in system.layers
        if layer.presses
    ]
