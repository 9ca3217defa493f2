"""What a plan describes, built again from the plan alone."""

from gaiter.core.errors import InputError
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.plan.document import LegPlan, SurfaceSummary, SystemPlan
from gaiter.core.plan.laying import BandagedLeg, Geometry, LaidLayer, PaddedLeg, Padding


def surface_of(leg: LegPlan) -> SurfaceSummary:
    """What a plan knows of the leg's shape.

    Raises
    ------
    InputError
        If the leg was stopped, so that there is nothing to draw.
    """
    if leg.surface is None:
        raise InputError(
            f"the plan of the {leg.side} leg holds no surface, because it is {leg.status}: only "
            f"a planned leg can be drawn"
        )
    return leg.surface


def bandaged_leg_of(leg: LegPlan) -> BandagedLeg:
    """The leg of a plan, built again from the measurements that the plan carries."""
    summary = surface_of(leg)
    return BandagedLeg(
        LegMeasurements(
            foot_length_cm=summary.foot_length_cm,
            girth_cm=summary.girth_cm,
            position_cm=summary.position_cm,
            start=summary.start,
            estimated=summary.estimated,
        )
    )


def padded_leg_of(bandaged_leg: BandagedLeg, system: SystemPlan) -> PaddedLeg:
    """The padded leg of a system's pressing layers."""
    under = system.padding
    pads = tuple((place, mm / 10) for place, mm in system.pads_mm.items())
    return bandaged_leg.under(
        Padding(under.even_cm, under.layer_cm, under.build, under.end, under.start, pads)
    )


def laid_layers(bandaged_leg: BandagedLeg, system: SystemPlan) -> list[LaidLayer]:
    """The system's pressing layers laid again, from the skin outwards."""
    padded_leg = padded_leg_of(bandaged_leg, system)
    return [
        padded_leg.laid(Geometry(layer.pattern, layer.overlap, layer.width_cm, layer.leg_width_cm))
        for layer in system.layers
        if layer.presses
    ]
