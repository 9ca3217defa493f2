"""Bandages that agree with what was read, laid again from a plan."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np
import numpy.typing as npt

from gaiter.core.applied.readings import RELAXED_CM, Readings
from gaiter.core.applied.stretch import (
    LayerStretch,
    TurnReading,
    expected_stretch,
    log_tension,
    met_by_readings,
    stretch_covariance,
    stretch_of,
    surprise,
)
from gaiter.core.arrays import Array
from gaiter.core.landmark import Landmark
from gaiter.core.plan.document import Layer, LegPlan, SystemPlan
from gaiter.core.plan.laying import FOOT_TURNS, Geometry, LaidLayer
from gaiter.core.plan.padded_leg import PaddedLeg
from gaiter.core.plan.rebuilt import bandaged_leg_of, padded_leg_of
from gaiter.core.sensor_site import SENSOR_SD_MMHG
from gaiter.core.spread.draws import (
    Draws,
    Hands,
    Layout,
    SiteAt,
    SpreadInputs,
    draws,
    sampled_bandages,
)
from gaiter.core.spread.sampling import SampledLayer, units_of

SAMPLES = 4096
# How far the mean overlap of a layer strays from the plan in anybody's hands, and how surely one
# reading tells it: 3 mm of tape and the 4 mm by which single turns stray (assumptions).
OVERLAP_SD_CM, OVERLAP_READING_SD_CM = 1.0, 0.5
# Widest published spread: mid-calf 44 ± 19 mmHg in a blind mixed group (fibre-optic tape study).
WIDEST_HANDS = Hands.of_spread(19 / 44)


@dataclass(frozen=True)
class SampledApplied:
    """Sampled bandages after the readings.

    Attributes
    ----------
    padded_leg : PaddedLeg
        The padded leg.
    layers : tuple[Layer, ...]
        Pressing layers of the plan, from the skin outwards.
    laid : tuple[LaidLayer, ...]
        The same as they were laid.
    pressure_mmhg, profile_mmhg : ndarray, shape (discs, samples)
        At reading sites then bony places, and up the inner side.
    stretch : tuple of ndarray, shape (turns, samples)
        Stretch of every layer's turns.
    remainder : ndarray, shape (samples,)
        Theory remainder.
    theory_mmhg : ndarray, shape (discs, samples)
        Pressure without the remainder, before any sensor value.
    spacing_surprise, sensor_surprise : tuple of float
        Standard deviations between each reading and what the others lead one to expect.
    sensor_pairs : tuple of (int, int, float)
        Every two sensor values, and the standard deviations by which the first is too high for
        the second.

    Examples
    --------
    >>> none = np.zeros((0, 0))
    >>> after = SampledApplied(None, (), (), none, none, (), np.full(4, 0.9), none, (), ())
    >>> float(np.median(after.remainder))
    0.9
    """

    padded_leg: PaddedLeg
    layers: tuple[Layer, ...]
    laid: tuple[LaidLayer, ...]
    pressure_mmhg: Array
    profile_mmhg: Array
    stretch: tuple[Array, ...]
    remainder: Array
    theory_mmhg: Array
    spacing_surprise: tuple[float, ...]
    sensor_surprise: tuple[float, ...]
    sensor_pairs: tuple[tuple[int, int, float], ...] = ()

    def turn_at(self, number: int, place: Landmark) -> int:
        """The turn of a layer that is read at a place.

        Parameters
        ----------
        number : int
            Number of the layer on the plan.
        place : Landmark
            Where it is read.

        Returns
        -------
        int
            Counted from 0.

        Examples
        --------
        >>> from types import SimpleNamespace
        >>> places = SimpleNamespace(landmark_s_cm={Landmark.CALF: 30.0})
        >>> leg = SimpleNamespace(surface=places)
        >>> laid = SimpleNamespace(turn_s_cm=np.arange(0.0, 60.0, 5.0), padded_leg=leg)
        >>> none = np.zeros((0, 0))
        >>> layers = (SimpleNamespace(number=2),)
        >>> after = SampledApplied(leg, layers, (laid,), none, none, (), none[0:0], none, (), ())
        >>> after.turn_at(2, Landmark.CALF)
        6
        """
        index = [layer.number for layer in self.layers].index(number)
        return turn_at(self.laid[index], place)


def turn_at(laid: LaidLayer, place: Landmark) -> int:
    """The turn up the leg whose middle lies nearest to a landmark.

    Parameters
    ----------
    laid : LaidLayer
        A layer as it lies.
    place : Landmark
        Where.

    Returns
    -------
    int
        Counted from 0, never one of foot and ankle.

    Examples
    --------
    Five turns on foot and ankle and more every 5 cm; the calf at 30 cm.

    >>> from types import SimpleNamespace
    >>> places = SimpleNamespace(landmark_s_cm={Landmark.CALF: 30.0})
    >>> leg = SimpleNamespace(surface=places)
    >>> laid = SimpleNamespace(turn_s_cm=np.arange(0.0, 60.0, 5.0), padded_leg=leg)
    >>> turn_at(laid, Landmark.CALF)
    6
    """
    off = np.abs(laid.turn_s_cm - laid.padded_leg.surface.landmark_s_cm[place])
    return FOOT_TURNS + int(np.argmin(off[FOOT_TURNS:]))


def sampled_after(
    leg: LegPlan, system: SystemPlan, readings: Readings, seed: int
) -> SampledApplied:
    """Bandages of a planned system that agree with the readings.

    Parameters
    ----------
    leg, system : LegPlan, SystemPlan
        As :func:`gaiter.core.applied.readings.read_system` gives them.
    readings : Readings
        What was read.
    seed : int
        Seed of the samples.

    Returns
    -------
    SampledApplied

    References
    ----------
    Hafner et al. 2000, doi 10.1046/j.1524-4725.2000.99257.x (sensors of the trade read to 3 mmHg);
    how far single sites (:mod:`gaiter.core.sensor_site`) and mean overlaps stray is our choice.

    Examples
    --------
    Marks 15.2 cm apart at the calf are a stretch of 0.52, to what a tape can tell:

    >>> from gaiter.core.applied.readings import Spacing
    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().plan.legs["right"]
    >>> read = Readings(
    ...     document="gaiter.readings/1", side="right", system="one_elastic",
    ...     spacings=(Spacing(layer=2, place=Landmark.CALF, cm=15.2),),
    ... )
    >>> after = sampled_after(leg, leg.systems[0], read, seed=1)
    >>> there = np.median(after.stretch[0][after.turn_at(2, Landmark.CALF)])
    >>> bool(abs(there - 0.52) < 0.02)  # the error of one reading
    True
    """
    padded_leg = padded_leg_of(bandaged_leg_of(leg), system)
    layers = tuple(layer for layer in system.layers if layer.presses)
    laid = tuple(padded_leg.laid(_geometry(layer, readings)) for layer in layers)
    inputs = spread_inputs_of(system)
    if readings.spacings:
        inputs = replace(inputs, hands=tuple(_on_any_day(hands) for hands in inputs.hands))
    sampled = [
        one.sampled(resting=layer.fabric is None) for layer, one in zip(layers, laid, strict=True)
    ]
    stretches = [
        _layer_stretch(layer, one, inputs.hands_of(number))
        for number, (layer, one) in enumerate(zip(layers, laid, strict=True))
    ]
    read = _turn_readings(layers, laid, readings)
    size = Layout([layer.turns.turns for layer in sampled]).inputs
    points = draws(size + len(read), SAMPLES, seed)
    bandages = sampled_bandages(
        [layer.turns for layer in sampled], inputs, Draws(points.uniform[:size])
    )
    stretch, spacing_surprise = _stretched(
        stretches, bandages.log_tension, read, points.normal[size:]
    )
    bandages = replace(bandages, log_tension=log_tension(stretches, stretch))
    tensions = [_tensions_n_per_cm(layer) for layer in layers]
    pressure = _total(units_of(sampled, padded_leg.girths(padded_leg.discs), bandages), tensions)
    _first, discs = padded_leg.profile
    line = [
        SampledLayer(layer.turns, one.profile_table)
        for layer, one in zip(sampled, laid, strict=True)
    ]
    profile = _total(units_of(line, padded_leg.girths(discs), bandages), tensions)
    sites = tuple(inputs.site(value.place) for value in readings.sensor)
    kept, sensor_surprise = _agreeing(padded_leg, pressure, readings, sites)
    starts = np.cumsum([0, *(layer.turns.turns for layer in sampled)])
    return SampledApplied(
        padded_leg, layers, laid, pressure[:, kept], profile[:, kept],
        tuple(stretch[a:b, kept] for a, b in pairwise(starts)),
        bandages.remainder[kept], pressure / bandages.remainder, spacing_surprise, sensor_surprise,
        _pairs(padded_leg, pressure, readings, sites),
    )  # fmt: skip


def spread_inputs_of(system: SystemPlan) -> SpreadInputs:
    """What the plan's spread was sampled with.

    Parameters
    ----------
    system : SystemPlan
        A system of a plan.

    Returns
    -------
    SpreadInputs

    Raises
    ------
    ValueError
        If the plan keeps no spread.

    Examples
    --------
    >>> from gaiter.core.plan.document import HandsBasis, SpreadBasis
    >>> basis = SpreadBasis(
    ...     hands=(HandsBasis(bias_sd=0.1, scatter_sd=0.1, habit=(0, 0, 0)),),
    ...     remainder_median=0.9, remainder_range95=0.35, padding_cm=(0.2, 0.3, 0.4),
    ... )
    >>> spread_inputs_of(SystemPlan.model_construct(basis=basis)).remainder_median
    0.9
    """
    basis = system.basis
    if basis is None:
        raise ValueError("the plan keeps no spread")
    return SpreadInputs(
        tuple(Hands(h.bias_sd, h.scatter_sd, h.habit) for h in basis.hands),
        basis.remainder_median,
        basis.remainder_range95,
        basis.padding_cm,
        tuple(basis.site_offsets.items()),
    )


def _on_any_day(hands: Hands) -> Hands:
    """The same hands, but a bandage that lies far off the plan is believed when it is read."""
    return replace(hands, bias_sd=max(hands.bias_sd, WIDEST_HANDS.bias_sd))


def _geometry(layer: Layer, readings: Readings) -> Geometry:
    """The layer as it lies: its overlap as read, drawn to the plan by the reading's error."""
    width = layer.leg_width_cm or layer.width_cm
    overlap = layer.overlap
    for reading in readings.overlaps:
        if reading.layer == layer.number:
            trust = OVERLAP_SD_CM**2 / (OVERLAP_SD_CM**2 + OVERLAP_READING_SD_CM**2)
            overlap += trust * (reading.cm / width - overlap)
    return Geometry(layer.pattern, overlap, layer.width_cm, layer.leg_width_cm)


def _tensions_n_per_cm(layer: Layer) -> tuple[float, float]:
    """On foot and ankle, and up the leg; a layer that has none presses nothing."""
    return layer.tensions_n_per_cm or (0.0, 0.0)


def _layer_stretch(layer: Layer, laid: LaidLayer, hands: Hands) -> LayerStretch:
    foot, leg = _tensions_n_per_cm(layer)
    turns = np.arange(laid.strips.turns)
    return LayerStretch(
        curve=layer.fabric.curve if layer.fabric else None,
        planned_n_per_cm=np.where(turns < FOOT_TURNS, foot, leg),
        hands=hands,
        habit=laid.heights @ np.array(hands.habit),
    )


def _turn_readings(
    layers: Sequence[Layer], laid: Sequence[LaidLayer], readings: Readings
) -> list[TurnReading]:
    starts = np.cumsum([0, *(one.strips.turns for one in laid)])
    numbers = [layer.number for layer in layers]
    found = []
    for spacing in readings.spacings:
        index = numbers.index(spacing.layer)
        turn = int(starts[index]) + turn_at(laid[index], spacing.place)
        found.append(TurnReading(turn, spacing.cm / RELAXED_CM - 1))
    return found


def _stretched(
    layers: Sequence[LayerStretch], before: Array, read: Sequence[TurnReading], noise: Array
) -> tuple[Array, tuple[float, ...]]:
    stretch = stretch_of(layers, before)
    if not read:
        return stretch, ()
    covariance = stretch_covariance(layers)
    odd = surprise(expected_stretch(layers), covariance, read)
    return met_by_readings(stretch, covariance, read, noise), tuple(odd.tolist())


def _total(units: Array, tensions: Sequence[tuple[float, float]]) -> Array:
    total: Array = np.einsum("lp,lpds->ds", np.array(tensions), units)
    return total


def _agreeing(
    padded_leg: PaddedLeg, pressure: Array, readings: Readings, sites: Sequence[SiteAt]
) -> tuple[npt.NDArray[np.intp], tuple[float, ...]]:
    """Samples drawn again in proportion to how well they agree with the sensor."""
    samples = pressure.shape[1]
    everything = np.arange(samples)
    if not readings.sensor:
        return everything, ()
    read = np.array([value.mmhg for value in readings.sensor])
    there = _under_sensors(padded_leg, pressure, readings, sites)
    share = np.array([site.log_sd for site in sites])
    sd = np.hypot(SENSOR_SD_MMHG, share[:, None] * there)
    off = (read[:, None] - there) / sd
    log_weight = -(off**2 / 2 + np.log(sd)).sum(axis=0)
    weight = np.exp(log_weight - log_weight.max())
    # Evenly spaced picks through the weights' running sum: the same readings, the same samples.
    steps = (everything + 0.5) / samples
    picks = np.searchsorted(np.cumsum(weight) / weight.sum(), steps)
    expected, spread = there.mean(axis=1), there.std(axis=1)
    far = (read - expected) / np.sqrt(spread**2 + (sd**2).mean(axis=1))
    return picks, tuple(far.tolist())


def _under_sensors(
    padded_leg: PaddedLeg, pressure: Array, readings: Readings, sites: Sequence[SiteAt]
) -> Array:
    """What each sensor would read of every sample, shape (values, samples) [mmHg]."""
    rows = [padded_leg.row_read(value.place) for value in readings.sensor]
    offset = np.array([site.median for site in sites])
    there: Array = pressure[rows] * offset[:, None]
    return there


def _pairs(
    padded_leg: PaddedLeg, pressure: Array, readings: Readings, sites: Sequence[SiteAt]
) -> tuple[tuple[int, int, float], ...]:
    """How far the ratio of every two sensor values is from what the bandages have.

    A ratio, because what makes a whole bandage tight or loose leaves it alone. Less than a
    sensor's own error is taken as that error: its logarithm would tell of nothing else.
    """
    if len(readings.sensor) < 2:
        return ()
    there = np.maximum(_under_sensors(padded_leg, pressure, readings, sites), SENSOR_SD_MMHG)
    read = np.maximum([value.mmhg for value in readings.sensor], SENSOR_SD_MMHG)
    error = [
        np.hypot(SENSOR_SD_MMHG / np.median(row), site.log_sd)
        for row, site in zip(there, sites, strict=True)
    ]
    found = []
    for one, other in combinations(range(len(read)), 2):
        ratio = np.log(there[one] / there[other])
        off = np.log(read[one] / read[other]) - ratio.mean()
        sd = np.sqrt(ratio.var() + error[one] ** 2 + error[other] ** 2)
        found.append((one, other, float(off / sd)))
    return tuple(found)
