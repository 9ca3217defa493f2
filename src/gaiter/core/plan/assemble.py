"""Turns a design into the plan of one system: layers, sites, places, standing."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaiter.core.bandage.coverage import gaps
from gaiter.core.bandage.rolls import rolls_for
from gaiter.core.bandage.technique import Pattern
from gaiter.core.case import Leg
from gaiter.core.landmark import Landmark
from gaiter.core.leg.places import name_at, wound_at
from gaiter.core.material import Material
from gaiter.core.plan.design import Aim, Design
from gaiter.core.plan.document import (
    Bridged,
    Fit,
    Gap,
    Layer,
    PressurePoint,
    Profile,
    SitePressure,
    Standing,
    SystemPlan,
)
from gaiter.core.plan.fitting import Fitting, Geometry, Laid
from gaiter.core.plan.systems import LayerRecipe, System
from gaiter.core.policy import Policy
from gaiter.core.pressure.bridging import bridged_areas
from gaiter.core.pressure.padding import padding_that_answers
from gaiter.core.pressure.spread import Band
from gaiter.core.pressure.standing import LayerAtSite, standing_rise_mmhg
from gaiter.core.pressure.surface_map import ring_mean_at
from gaiter.core.units import MMHG_PER_N_PER_CM2

Array = npt.NDArray[np.float64]

MARK_SPACING_RELAXED_CM = 10.0
# A sideways bend that stretches an edge this much more than the middle wrinkles; from the bends
# at which elastic fabric still lies flat in the hand, no published value.
_WRINKLE_EDGE_STRETCH = 0.35
_NEXT_TO_WOUND_CM = 4.0


@dataclass(frozen=True)
class Verdict:
    """How a system answers the target in these hands, in words."""

    fit: Fit
    reason: str
    reasons_for: tuple[str, ...] = ()
    reasons_against: tuple[str, ...] = ()


def system_plan(
    system: System,
    materials: Sequence[Material],
    design: Design,
    verdict: Verdict,
    fitting: Fitting,
    leg: Leg,
    aim: Aim,
    policy: Policy,
) -> SystemPlan:
    """The plan of one system on one leg."""
    pressing = next(material for material in materials if material.presses)
    tension = float(pressing.curve.tension_n_per_cm(design.stretch))
    pressure = tension * design.laid.unit_map
    return SystemPlan(
        name=system.name,
        title=system.title,
        outcome=verdict.fit,
        outcome_reason=verdict.reason,
        reasons_for=verdict.reasons_for,
        reasons_against=verdict.reasons_against,
        padding_cm=design.laid.ground.surface.padding_cm,
        layers=_layers(system, materials, design, fitting),
        sites=_sites(design, pressure, aim),
        chance_every_site_in_range=design.chance_in_range,
        profile=_profile(design),
        pressure_points=_pressure_points(design, pressure, aim, policy),
        bridged=_bridged(design.laid, pressure),
        gaps=_gaps(design.laid, leg),
        wrinkle_risk=_wrinkle_risk(design.laid),
        standing=_standing(design, pressing, tension, policy),
    )


def padding_thickness_cm(materials: Sequence[Material]) -> float:
    """Planned thickness of everything soft under the pressing layer [cm]."""
    return sum(m.thickness.planned_cm for m in materials if m.thickness is not None)


def _layers(
    system: System, materials: Sequence[Material], design: Design, fitting: Fitting
) -> tuple[Layer, ...]:
    layers, padding = [], 0.0
    for number, (recipe, material) in enumerate(
        zip(system.layers, materials, strict=True), start=1
    ):
        if material.presses:
            laid, stretch = design.laid, design.stretch
        else:
            geometry = Geometry(Pattern.SPIRAL, recipe.overlaps[0], material.widths_cm[0])
            laid, stretch = (
                fitting.under(padding).laid(geometry),
                material.usual_stretch,
            )
        layers.append(_layer(number, recipe, material, laid, stretch))
        padding += material.thickness.planned_cm if material.thickness else 0.0
    return tuple(layers)


def _layer(
    number: int, recipe: LayerRecipe, material: Material, laid: Laid, stretch: float
) -> Layer:
    rolls = rolls_for(laid.strips, stretch, material.relaxed_length_cm)
    return Layer(
        number=number,
        material=material.key,
        title=material.title,
        width_cm=laid.geometry.width_cm,
        pattern=laid.geometry.pattern,
        overlap=laid.geometry.overlap,
        stretch_percent=100 * stretch,
        mark_spacing_cm=MARK_SPACING_RELAXED_CM * (1 + stretch) if material.presses else None,
        turns=laid.strips.turns,
        length_cm=rolls.length_cm,
        relaxed_length_cm=rolls.relaxed_length_cm,
        rolls=rolls.count,
        joins=rolls.joins,
        spare_cm=rolls.spare_cm,
        presses=material.presses,
        note=recipe.note,
    )


def _sites(design: Design, pressure: Array, aim: Aim) -> tuple[SitePressure, ...]:
    ground = design.laid.ground
    found = []
    for row, landmark in enumerate(ground.sites):
        samples = design.pressure_mmhg[row]
        band = Band.of(samples)
        low, high = aim.target.site_mmhg.get(landmark, (None, None))
        s = ground.surface.landmark_s_cm[landmark]
        found.append(
            SitePressure(
                landmark=landmark,
                girth_cm=ground.surface.girth_at_cm(landmark),
                thicknesses=ring_mean_at(ground.surface, design.laid.thicknesses, s),
                ring_mean_mmhg=ring_mean_at(ground.surface, pressure, s),
                median_mmhg=band.median_mmhg,
                low_mmhg=band.low_mmhg,
                high_mmhg=band.high_mmhg,
                target_low_mmhg=low,
                target_high_mmhg=high,
                chance_in_range=(
                    None
                    if low is None or high is None
                    else float(((low <= samples) & (samples <= high)).mean())
                ),
                chance_above_maximum=float((samples > aim.maximum_mmhg).mean()),
            )
        )
    return tuple(found)


def _profile(design: Design) -> Profile:
    s, _ = design.laid.ground.profile
    low, median, high = np.quantile(design.profile_mmhg, [0.05, 0.5, 0.95], axis=1)
    return Profile(
        s_cm=tuple(s.tolist()),
        median_mmhg=tuple(median.tolist()),
        low_mmhg=tuple(low.tolist()),
        high_mmhg=tuple(high.tolist()),
    )


def _pressure_points(
    design: Design, pressure: Array, aim: Aim, policy: Policy
) -> tuple[PressurePoint, ...]:
    """Bony places judged on the high side, worst first; only those that need an answer."""
    ground = design.laid.ground
    maximum = policy["bony_place_factor"] * aim.maximum_mmhg
    points = []
    for row, where in enumerate(ground.bony, start=len(ground.sites)):
        band = Band.of(design.pressure_mmhg[row])
        if band.high_mmhg <= maximum:
            continue
        on_the_high_side = pressure * band.high_mmhg / where.mean(pressure)
        one_thickness = MMHG_PER_N_PER_CM2 * where.mean(design.laid.thicknesses)
        curvature = where.mean(design.laid.unit_map) / one_thickness
        thickness = padding_that_answers(
            ground.surface, on_the_high_side, curvature, where, maximum
        )
        points.append(
            PressurePoint(
                place=where.name,
                median_mmhg=band.median_mmhg,
                high_mmhg=band.high_mmhg,
                maximum_mmhg=maximum,
                padding_mm=None if thickness is None else 10 * thickness,
            )
        )
    return tuple(sorted(points, key=lambda point: -point.high_mmhg))


def _bridged(laid: Laid, pressure: Array) -> tuple[Bridged, ...]:
    areas = bridged_areas(laid.ground.surface, laid.thicknesses, pressure)
    return tuple(
        Bridged(
            place=area.patch.place,
            area_cm2=area.patch.area_cm2,
            depth_mm=10 * area.depth_cm,
        )
        for area in areas
    )


def _gaps(laid: Laid, leg: Leg) -> tuple[Gap, ...]:
    """Uncovered skin; a fault over the heel or next to the wound, where fluid gathers."""
    surface = laid.ground.surface
    wound = wound_at(surface, leg.wound.place) if leg.wound else None
    found = []
    for patch in gaps(surface, (laid.strips,)):
        near_wound = False
        if wound is not None:
            off = np.linalg.norm(surface.points_cm[patch.cells] - wound, axis=-1)
            near_wound = bool(off.min() < _NEXT_TO_WOUND_CM)
        found.append(
            Gap(
                place=patch.place,
                area_cm2=patch.area_cm2,
                fault=patch.place == "heel" or near_wound,
            )
        )
    return tuple(found)


def _wrinkle_risk(laid: Laid) -> tuple[str, ...]:
    """Places where one edge is stretched much more than the other, each named once."""
    path = laid.strips.path
    bent = np.abs(path.sideways_bend) * laid.geometry.width_cm / 2 > _WRINKLE_EDGE_STRETCH
    names = (
        f"turn {int(path.turn[i]) + 1}, {name_at(laid.ground.surface, path.s_cm[i], path.angle[i])}"
        for i in np.flatnonzero(bent)
    )
    return tuple(dict.fromkeys(names))


def _standing(design: Design, material: Material, tension: float, policy: Policy) -> Standing:
    resting = design.median_mmhg(Landmark.GAITER)
    girth = design.laid.ground.surface.girth_at_cm(Landmark.GAITER)
    slope = float(material.curve.slope_n_per_cm(design.stretch))
    layer = LayerAtSite(resting, tension, slope, design.stretch)
    rise_cm = policy["standing_girth_rise_cm"]
    stiffness = standing_rise_mmhg([layer], girth, rise_cm)
    return Standing(
        pressure_mmhg=resting + stiffness,
        girth_rise_cm=rise_cm,
        static_stiffness_mmhg=stiffness,
        stiff=stiffness >= policy["stiff_from_mmhg"],
        per_cm_mmhg=standing_rise_mmhg([layer], girth, 1.0),
    )
