"""Turns a design into the plan of one system: layers, sites, places, standing, supplies."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.coverage import gaps
from gaiter.core.bandage.pattern import ANKLE_TURN, Pattern
from gaiter.core.bandage.rolls import at_turn, rolls_for
from gaiter.core.case import Leg
from gaiter.core.fabric import Material
from gaiter.core.landmark import Landmark
from gaiter.core.leg.places import name_at, wound_at, wound_on_chart
from gaiter.core.plan.design import Aim, Design
from gaiter.core.plan.document import (
    Fabric,
    HandsBasis,
    Layer,
    PaddingUnder,
    SpreadBasis,
    SpreadShare,
    Standing,
    SystemPlan,
)
from gaiter.core.plan.layers import DesignedLayer
from gaiter.core.plan.laying import Geometry, LaidLayer
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.plan.pads import JudgedPlace
from gaiter.core.plan.pressures import Bridged, Gap, PressurePoint, Profile, SitePressure
from gaiter.core.plan.supplies import supplies_for
from gaiter.core.plan.systems import LayerRecipe, System
from gaiter.core.plan.verdict import FitVerdict
from gaiter.core.policy import Policy
from gaiter.core.pressure.bridging import bridged_areas
from gaiter.core.pressure.discs import disc
from gaiter.core.pressure.padding import pad_wool_cm
from gaiter.core.pressure.standing import LayerAtSite, standing_rise_mmhg
from gaiter.core.pressure.surface_map import highest_on_ring, ring_mean_at
from gaiter.core.spread.sampling import Band
from gaiter.core.words import NOTHING, THEN, Said, joined

MARK_SPACING_RELAXED_CM = 10.0
# A sideways bend that stretches an edge this much more than the middle wrinkles; from the bends
# at which elastic fabric still lies flat in the hand, no published value.
_WRINKLE_EDGE_STRETCH = 0.35
_NEXT_TO_WOUND_CM = 4.0
# A dressing reaches this far past the wound on every side; without a size it is taken as a
# square of twice this (assumption).
_DRESSING_MARGIN_CM = 2.0


@dataclass(frozen=True)
class DesignedSystem:
    """A system designed for one leg, before it is written down.

    Attributes
    ----------
    system : System
        With what the stock has.
    materials : sequence of Material
        One for each of its layers.
    design : Design
        Over its pads.
    padding : Padding
        What lies soft under it.
    bandaged_leg : BandagedLeg
        The leg's shape.
    leg : Leg
        The leg of the case.
    aim : Aim
        Range and maxima.
    policy : Policy
        Local policy.
    change_days, regular_days : int
        Days to the first change, and between changes later.
    change_reason : Said
        What sets the first.
    places : tuple[JudgedPlace, ...]
        Foot and bony places with their pads.
    by_hand : tuple[Said, ...]
        What was changed by hand.
    for_hands : Said
        What the bandager's own habits change.

    Examples
    --------
    A pad of 0.6 cm is five sheets, each half as thick as the layer of 0.2825 cm and 2 x 2.75 cm
    long; an ulcer at the inner ankle lies on the medial side.

    >>> from gaiter.files.example_bench import example_system
    >>> built = example_system()
    >>> built.pads_mm, built.extra_wool_cm(hollows=[])
    ({'heel': 6.0}, 27.5)
    >>> forward_cm, medial_cm, up_cm = built.wound_cm
    >>> bool(medial_cm > 0)
    True
    """

    system: System
    materials: Sequence[Material]
    design: Design
    padding: Padding
    bandaged_leg: BandagedLeg
    leg: Leg
    aim: Aim
    policy: Policy
    change_days: int
    change_reason: Said
    regular_days: int
    places: tuple[JudgedPlace, ...] = ()
    by_hand: tuple[Said, ...] = ()
    for_hands: Said = NOTHING

    @property
    def pads_mm(self) -> dict[str, float]:
        """Every pad of the plan, by place [mm].

        Returns
        -------
        dict[str, float]
        """
        return {place.name: 10 * place.pad_cm for place in self.places if place.pad_cm > 0}

    def extra_wool_cm(self, hollows: Sequence[Bridged]) -> float:
        """Wool of the build-up, the pads and the filled hollows, beside its layer [cm].

        Parameters
        ----------
        hollows : sequence of Bridged
            Skin that the fabric spans; each is filled to its depth.

        Returns
        -------
        float
            [cm] of the roll.
        """
        padded_leg = self.design.padded_leg
        # A layer half overlapping is two sheets thick.
        sheet_cm = self.padding.layer_cm / 2
        pads = [place.pad_cm for place in self.places] + [one.depth_mm / 10 for one in hollows]
        return padded_leg.wool.turns * padded_leg.surface.girth_at_cm(Landmark.GAITER) + sum(
            pad_wool_cm(thickness_cm, sheet_cm) for thickness_cm in pads
        )

    @property
    def wound_cm(self) -> Array | None:
        """Where the wound lies on the bandaged surface [cm].

        Returns
        -------
        ndarray, shape (3,), or None
            Forward, medial, up; None without a wound.
        """
        if self.leg.wound is None:
            return None
        return wound_at(self.design.padded_leg.surface, self.leg.wound.place)


def system_plan(built: DesignedSystem, verdict: FitVerdict) -> SystemPlan:
    """The plan of one system on one leg.

    Parameters
    ----------
    built : DesignedSystem
        The design with all that it was made for.
    verdict : FitVerdict
        Outcome and reasons.

    Returns
    -------
    SystemPlan

    Examples
    --------
    Marks stand 10 cm apart on the relaxed roll:

    >>> from gaiter.core.plan.document import Fit
    >>> from gaiter.files.example_bench import example_system
    >>> made = system_plan(example_system(), FitVerdict(Fit.FITS, Said("likely 36 mmHg")))
    >>> elastic = made.layers[1]
    >>> round(elastic.mark_spacing_cm / (1 + elastic.stretch_percent / 100), 6)
    10.0
    """
    design, wool = built.design, built.design.padded_leg.wool
    pressure = design.pressure_map_mmhg
    bridged = _bridged(design, pressure)
    layers = _layers(built, built.extra_wool_cm(bridged))
    return SystemPlan(
        name=built.system.name,
        title=built.system.title,
        outcome=verdict.fit,
        outcome_reason=verdict.reason,
        reasons_for=verdict.reasons_for,
        reasons_against=verdict.reasons_against,
        padding=PaddingUnder(
            even_cm=built.padding.even_cm,
            layer_cm=built.padding.layer_cm,
            build=built.padding.build,
            end=built.padding.end,
            start=built.padding.start,
            text=wool.text,
            extra_turns=wool.turns,
        ),
        layers=layers,
        sites=_sites(design, pressure, built.aim),
        chance_every_site_in_range=design.chance_in_range,
        profile=Profile.of(design.padded_leg.profile[0], design.profile_mmhg),
        basis=_basis(design),
        spread_from=_spread_from(design),
        pressure_points=_pressure_points(built.places),
        bridged=bridged,
        gaps=_gaps(built),
        wrinkle_risk=_wrinkle_risk(design.layers[-1].laid),
        pads_mm=built.pads_mm,
        to_accept=verdict.to_accept,
        rises=verdict.rises,
        by_hand=built.by_hand,
        for_hands=built.for_hands,
        dressing=_dressing(built, pressure),
        standing=_standing(design, built.policy),
        change_days=built.change_days,
        change_reason=built.change_reason,
        regular_days=built.regular_days,
        supplies=supplies_for(
            layers,
            built.materials,
            built.regular_days,
        ),
    )


def _layers(built: DesignedSystem, extra_wool_cm: float) -> tuple[Layer, ...]:
    """Layers from the skin outwards; soft ones lie on what is under them.

    Rolls of the wool include what build-up, pads and hollows take.
    """
    designed = {layer.material.key: layer for layer in built.design.layers}
    layers, soft_cm = [], 0.0
    pairs = zip(built.system.layers, built.materials, strict=True)
    for number, (recipe, material) in enumerate(pairs, start=1):
        layer = designed.get(material.key)
        if layer is None:
            whole = built.padding
            padded_leg = built.bandaged_leg.under(
                Padding(soft_cm, end=whole.end, start=whole.start)
            )
            geometry = Geometry(Pattern.SPIRAL, recipe.overlaps[0], material.usual_width_cm)
            laid = padded_leg.laid(geometry)
            layer = DesignedLayer(laid, material, material.usual_stretch, material.usual_stretch)
        made = _layer(number, recipe, layer, built)
        if material.kind == "padding" and extra_wool_cm > 0:
            whole_cm = made.relaxed_length_cm + extra_wool_cm
            count = math.ceil(whole_cm / material.relaxed_length_cm)
            made, extra_wool_cm = made.model_copy(update={"rolls": count}), 0.0
        layers.append(made)
        soft_cm += material.thickness.planned_cm if material.thickness else 0.0
    return tuple(layers)


def _layer(number: int, recipe: LayerRecipe, layer: DesignedLayer, built: DesignedSystem) -> Layer:
    material, strips, geometry = layer.material, layer.laid.strips, layer.laid.geometry
    on_leg = strips.path.turn >= ANKLE_TURN
    rolls = rolls_for(
        strips,
        np.where(on_leg, layer.stretch, layer.foot_stretch),
        material.relaxed_length_cm,
        cut_turn=None if geometry.leg_width_cm is None else ANKLE_TURN,
        keep_off_cm=built.wound_cm,
    )
    foot_differs = layer.foot_stretch != layer.stretch
    # What only holds the wool lies just taut and is read by the mark of the layer over it.
    marked = material.stretches and not layer.rests
    note = recipe.note
    if rolls.count > 1 and geometry.leg_width_cm is None:
        saves = Said("One double-length roll saves the join.")
        note = joined(filter(None, (note, saves)), THEN)
    return Layer(
        number=number,
        material=material.key,
        title=material.title,
        width_cm=geometry.width_cm,
        leg_width_cm=geometry.leg_width_cm,
        pattern=geometry.pattern,
        overlap=geometry.overlap,
        stretch_percent=100 * layer.stretch,
        mark_spacing_cm=MARK_SPACING_RELAXED_CM * (1 + layer.stretch) if marked else None,
        foot_stretch_percent=100 * layer.foot_stretch if foot_differs else None,
        foot_mark_spacing_cm=(
            MARK_SPACING_RELAXED_CM * (1 + layer.foot_stretch) if foot_differs else None
        ),
        turns=strips.turns,
        length_cm=rolls.length_cm,
        relaxed_length_cm=rolls.relaxed_length_cm,
        rolls=rolls.count,
        joins=rolls.joins,
        spare_cm=rolls.spare_cm,
        presses=material.presses,
        tensions_n_per_cm=layer.tensions_n_per_cm if material.presses else None,
        fabric=_fabric(material) if marked and material.presses else None,
        note=note,
    )


def _sites(design: Design, pressure: Array, aim: Aim) -> tuple[SitePressure, ...]:
    surface = design.padded_leg.surface
    thicknesses = design.thicknesses
    gaiter = design.padded_leg.sites[Landmark.GAITER].mean(pressure)
    # The map is theory's; what is likely stands to it as at the gaiter.
    likely = design.median_mmhg(Landmark.GAITER) / gaiter
    found = []
    for row, landmark in enumerate(design.padded_leg.sites):
        samples = design.pressure_mmhg[row]
        band = Band.of(samples)
        low, high = aim.target.site_mmhg.get(landmark, (None, None))
        in_range = None
        if low is not None and high is not None:
            in_range = float(((low <= samples) & (samples <= high)).mean())
        s = surface.landmark_s_cm[landmark]
        found.append(
            SitePressure(
                landmark=landmark,
                girth_cm=design.padded_leg.girth_cm(landmark),
                thicknesses=ring_mean_at(surface, thicknesses, s),
                ring_mean_mmhg=(
                    ring_mean_at(surface, pressure, s)
                    * surface.girth_at_cm(landmark)
                    / design.padded_leg.girth_cm(landmark)
                ),
                median_mmhg=band.median_mmhg,
                low_mmhg=band.low_mmhg,
                high_mmhg=band.high_mmhg,
                target_low_mmhg=low,
                target_high_mmhg=high,
                chance_in_range=in_range,
                chance_above_maximum=float((samples > aim.maxima.of(landmark.label)).mean()),
                maximum_mmhg=aim.maxima.of(landmark.label),
                is_ring=landmark in design.padded_leg.inner,
                inner_mmhg=design.sampling.inputs.site(landmark).median
                * float(np.median(design.pressure_mmhg[design.padded_leg.row_read(landmark)])),
                highest_mmhg=likely * highest_on_ring(surface, pressure, s),
            )
        )
    return tuple(found)


def _basis(design: Design) -> SpreadBasis:
    inputs = design.sampling.inputs
    return SpreadBasis(
        hands=tuple(HandsBasis(**asdict(hands)) for hands in inputs.hands),
        remainder_median=inputs.remainder_median,
        remainder_range95=inputs.remainder_range95,
        padding_cm=inputs.padding_cm,
        site_offsets=dict(inputs.offsets),
    )


def _fabric(material: Material) -> Fabric:
    return Fabric(
        **asdict(material.curve),
        least_stretch=material.least_stretch,
        largest_stretch=material.largest_stretch,
    )


def _spread_from(design: Design) -> tuple[SpreadShare, ...]:
    shares = [
        SpreadShare(source=group, percent=100 * share.total)
        for group, share in design.spread_from.items()
    ]
    return tuple(sorted(shares, key=lambda share: -share.percent))


def _pressure_points(places: Sequence[JudgedPlace]) -> tuple[PressurePoint, ...]:
    """Foot and bony places that need an answer, the worst first, with their pads on."""
    points = [
        PressurePoint(
            place=place.name,
            median_mmhg=place.band.median_mmhg,
            high_mmhg=place.high_mmhg,
            maximum_mmhg=place.maximum_mmhg,
            padding_mm=10 * place.pad_cm if place.pad_cm > 0 else None,
            bare_high_mmhg=place.bare_high_mmhg,
            exceeds=place.exceeds,
            overstated=place.exceeds and place.overstated,
        )
        for place in places
        if place.may_be_padded and (place.exceeds or place.pad_cm > 0)
    ]
    return tuple(
        sorted(points, key=lambda one: (not one.exceeds, -one.high_mmhg / one.maximum_mmhg))
    )


def _bridged(design: Design, pressure: Array) -> tuple[Bridged, ...]:
    areas = bridged_areas(design.padded_leg.surface, design.thicknesses, pressure)
    return tuple(
        Bridged(place=area.patch.place, area_cm2=area.patch.area_cm2, depth_mm=10 * area.depth_cm)
        for area in areas
    )


def _gaps(built: DesignedSystem) -> tuple[Gap, ...]:
    """Uncovered skin; a fault over the heel or next to the wound, where fluid gathers."""
    surface, wound = built.design.padded_leg.surface, built.wound_cm
    found = []
    for patch in gaps(surface, tuple(layer.laid.strips for layer in built.design.layers)):
        near_wound = False
        if wound is not None:
            off = np.linalg.norm(surface.points_cm[patch.cells] - wound, axis=-1)
            near_wound = bool(off.min() < _NEXT_TO_WOUND_CM)
        fault = patch.place == "heel" or near_wound
        found.append(Gap(place=patch.place, area_cm2=patch.area_cm2, fault=fault))
    return tuple(found)


def _wrinkle_risk(laid: LaidLayer) -> tuple[Said, ...]:
    """Where one edge is stretched much more than the other: the worst place of every such turn."""
    path, surface = laid.strips.path, laid.padded_leg.surface
    bent = np.abs(path.sideways_bend) * np.asarray(laid.strips.width_cm) / 2
    turns = path.turn.astype(int)
    worst = [
        int(np.where(turns == turn, bent, 0.0).argmax())
        for turn in np.unique(turns[bent > _WRINKLE_EDGE_STRETCH])
    ]
    return tuple(
        at_turn(int(turns[i]) + 1, name_at(surface, path.s_cm[i], path.angle[i])) for i in worst
    )


def _dressing(built: DesignedSystem, pressure: Array) -> Said:
    """What a bulky dressing adds under the bandage.

    A pad of thickness t and half width h is an arc of curvature 2 t / h^2 on top of the leg's.
    """
    wound = built.leg.wound
    if wound is None or not wound.dressing_thickness_mm:
        return NOTHING
    surface = built.design.padded_leg.surface
    where = disc(surface, "dressing", *wound_on_chart(surface, wound.place))
    half_cm = (wound.width_cm or 2 * _DRESSING_MARGIN_CM) / 2 + _DRESSING_MARGIN_CM
    own = where.mean(built.design.padded_leg.hoop_curvature)
    more = 2 * (wound.dressing_thickness_mm / 10) / half_cm**2
    under = built.design.sampling.inputs.remainder_median * where.mean(pressure)
    added = under * more / own if own > 0 else 0.0
    return Said(
        "A dressing {thickness:g} mm thick at the {place} adds about {added:.0f} mmHg there, "
        "{whole:.0f} in all: bevel its edges or take a thinner one.",
        {
            "thickness": wound.dressing_thickness_mm,
            "place": Said(wound.place.value),
            "added": float(added),
            "whole": float(under + added),
        },
        "dressing",
    )


def _standing(design: Design, policy: Policy) -> Standing:
    """The finished bandage on standing; with a layer without stretch it is stiff.

    What such a layer adds nobody has published: what the others add is the least.
    """
    site = design.padded_leg.sites[Landmark.GAITER]
    girth = design.padded_leg.surface.girth_at_cm(Landmark.GAITER)
    maps = [site.mean(layer.pressure_map_mmhg) for layer in design.layers]
    resting = design.median_mmhg(Landmark.GAITER)
    share = resting / sum(maps)
    layers = [
        LayerAtSite(
            share * pressure,
            layer.tensions_n_per_cm[1],
            float(layer.material.curve.slope_n_per_cm(layer.stretch)),
            layer.stretch,
        )
        for layer, pressure in zip(design.layers, maps, strict=True)
        if layer.material.stretches
    ]
    rigid = not all(layer.material.stretches for layer in design.layers)
    rise_cm = policy["standing_girth_rise_cm"]
    stiffness = standing_rise_mmhg(layers, girth, rise_cm)
    return Standing(
        pressure_mmhg=resting + stiffness,
        girth_rise_cm=rise_cm,
        static_stiffness_mmhg=stiffness,
        stiff=rigid or stiffness >= policy["stiff_from_mmhg"],
        at_least=rigid,
        per_cm_mmhg=standing_rise_mmhg(layers, girth, 1.0),
    )
