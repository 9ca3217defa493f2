"""What a plan describes, built again from the plan alone."""

from gaiter.core.errors import InputError
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.plan.document import LegPlan, SurfaceSummary, SystemPlan
from gaiter.core.plan.laying import Fitting, Geometry, Ground, Laid, Padding


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


def fitting_of(leg: LegPlan) -> Fitting:
    """The leg of a plan, built again from the measurements that the plan carries."""
    summary = surface_of(leg)
    return Fitting(
        LegMeasurements(
            foot_length_cm=summary.foot_length_cm,
            girth_cm=summary.girth_cm,
            position_cm=summary.position_cm,
            start=summary.start,
            estimated=summary.estimated,
        )
    )


def ground_of(fitting: Fitting, system: SystemPlan) -> Ground:
    """The padded leg of a system's pressing layers."""
    under = system.padding
    pads = tuple((place, mm / 10) for place, mm in system.pads_mm.items())
    return fitting.under(
        Padding(under.even_cm, under.layer_cm, under.build, under.end, under.start, pads)
    )


def laid_layers(fitting: Fitting, system: SystemPlan) -> list[Laid]:
    """The system's pressing layers laid again, from the skin outwards."""
    ground = ground_of(fitting, system)
    return [
        ground.laid(Geometry(layer.pattern, layer.overlap, layer.width_cm, layer.leg_width_cm))
        for layer in system.layers
        if layer.presses
    ]
