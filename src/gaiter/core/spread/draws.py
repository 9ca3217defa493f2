"""Whole bandages drawn at random: every uncertain input, sampled together.

==================  ==========================================================================
Input               Model
==================  ==========================================================================
hands               log of tension over planned tension: what is known of the person's habit at
                    three heights, a bias of the day, the same in every layer, and AR(1) scatter
                    along each layer; by default the published spread of the training level,
                    half of its variance in each
pitch               each turn's place: a sum of AR(1) errors, bridged to end at the knee
fabric              one factor for each roll kind
layers              share of its own pressure that a further compressive layer adds, uniform
                    between the published half (Dale et al. 2004) and the plain sum
resting layers      zinc paste does not stretch: its tension lies anywhere between none and the
                    largest that a (weak) source names
padding             thickness of wool between its bounds, uniform; a thicker wool is a larger
                    girth and so a lower pressure
tape                error of each landmark's girth, larger where the girth was estimated
theory remainder    rho, log-normal
==================  ==========================================================================
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri
from scipy.stats import qmc

from gaiter.core.arrays import Array
from gaiter.core.case import SiteOffset
from gaiter.core.landmark import Landmark
from gaiter.core.sensor_site import SENSOR_SITES

# Assumptions, no published value: how a person's tension wanders from turn to turn, how far a
# turn's place strays, and how rolls of one kind differ.
TENSION_AUTOCORRELATION = 0.6
PITCH_STEP_SD_CM = 0.4
PITCH_AUTOCORRELATION = 0.5
FABRIC_CV = 0.05
# Half of a further component's own pressure is the low end measured on padded cylinders:
# Dale et al. 2004, Phlebology (50-60 %); the high end is the plain sum.
LEAST_SHARE_OF_FURTHER_LAYER = 0.5
# Tape: figure-of-eight girth repeats within 0.3 cm between sessions (clinic studies of foot and
# ankle swelling); plain girth has no published value and is taken alike.
TAPE_SD_CM = 0.3
# Columns are dealt out in blocks of so many turns, so that candidates with a few turns more or
# fewer meet the same draws and compare fairly.
_TURN_BLOCK = 16
_REMAINDER, _ADDING, _PADDING, _BIAS = range(4)
_COMMON = 4
_SMALLEST = 1e-12


class InputGroup(StrEnum):
    """What the spread of a pressure comes from."""

    TAPE = "girth under the bandage (tape and wool)"
    STRETCH = "stretch of the hands"
    PITCH = "where each turn lies"
    FABRIC = "fabric of the roll"
    LAYERS = "how layers add up"
    THEORY = "what theory cannot tell"


@dataclass(frozen=True)
class Hands:
    """Somebody's tension over the planned tension with one material, as logarithms.

    Attributes
    ----------
    habit : tuple of float
        Mean just above the ankle, at the calf and below the knee.
    bias_sd, scatter_sd : float
        Spread of the day's bias, and of one turn about it.

    Examples
    --------
    >>> Hands(bias_sd=0.1, scatter_sd=0.1).habit
    (0.0, 0.0, 0.0)
    """

    bias_sd: float
    scatter_sd: float
    habit: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @classmethod
    def of_spread(cls, cv: float) -> "Hands":
        """Hands without a record: a coefficient of variation, half of its variance the day's.

        Parameters
        ----------
        cv : float
            Coefficient of variation of the tension, above 0.

        Returns
        -------
        Hands
            Without a habit.

        Notes
        -----
        The halves are our choice; no published value parts them.

        References
        ----------
        Ehmann et al. 2023, doi 10.25270/wmp.2023.2.22072 (one clinician, 11-18 %).

        Examples
        --------
        The logarithm's variance is log(1 + cv^2):

        >>> hands = Hands.of_spread(0.18)
        >>> round(hands.bias_sd**2 + hands.scatter_sd**2, 4)  # log(1.0324)
        0.0319
        """
        sd = float(np.sqrt(np.log1p(cv**2) / 2))
        return cls(sd, sd)


@dataclass(frozen=True)
class SiteAt:
    """What a sensor at a site reads over the pressure there, as the plan reckons with it.

    Attributes
    ----------
    median : float
        Of the ratio.
    log_sd : float
        Spread of its logarithm from leg to leg.

    Examples
    --------
    >>> SiteAt(median=1.0, log_sd=0.1).median
    1.0
    """

    median: float
    log_sd: float


@dataclass(frozen=True)
class SpreadInputs:
    """How uncertain each input is.

    Attributes
    ----------
    hands : tuple[Hands, ...]
        Of each pressing layer from the skin outwards; one alone serves every layer.
    remainder_median, remainder_range95 : float
        Median of the theory remainder and its 95 % range as a fraction up.
    padding_cm : tuple[float, float, float]
        Low, planned and high thickness of padding [cm].
    offsets : tuple of (Landmark, SiteOffset)
        What the clinic's sensor reads at a site beside the gaiter, where that was learnt.

    Examples
    --------
    >>> SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35).padding_cm
    (0.0, 0.0, 0.0)
    """

    hands: tuple[Hands, ...]
    remainder_median: float
    remainder_range95: float
    padding_cm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    offsets: tuple[tuple[Landmark, SiteOffset], ...] = ()

    @property
    def level_log_sd(self) -> float:
        """Spread of the theory remainder, as the SD of its logarithm.

        Returns
        -------
        float

        Examples
        --------
        >>> round(SpreadInputs((Hands(0.1, 0.1),), 0.9, np.expm1(1.96 * 0.15)).level_log_sd, 6)
        0.15
        """
        return float(np.log1p(self.remainder_range95)) / 1.96

    def site(self, landmark: Landmark) -> SiteAt:
        """What a sensor at a landmark reads over the pressure there.

        Parameters
        ----------
        landmark : Landmark
            Where the sensor lies.

        Returns
        -------
        SiteAt
            The clinic's own where it was learnt.

        Examples
        --------
        >>> inputs = SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35)
        >>> inputs.site(Landmark.GAITER)
        SiteAt(median=1.0, log_sd=0.1)
        """
        learnt = dict(self.offsets).get(landmark)
        if learnt is not None:
            return SiteAt(learnt.median, learnt.log_sd)
        # A place where nobody reads is as unsure as the ankle.
        return SiteAt(1.0, SENSOR_SITES.get(landmark, SENSOR_SITES[Landmark.ANKLE]).sd)

    def hands_of(self, layer: int) -> Hands:
        """Hands of a layer.

        Parameters
        ----------
        layer : int
            Counted from 0.

        Returns
        -------
        Hands

        Examples
        --------
        >>> inputs = SpreadInputs((Hands(0.1, 0.1), Hands(0.2, 0.2)), 0.9, 0.35)
        >>> inputs.hands_of(1).bias_sd
        0.2
        """
        return self.hands[layer] if len(self.hands) > 1 else self.hands[0]


@dataclass(frozen=True)
class LayerTurns:
    """One pressing layer as the draws see it.

    Attributes
    ----------
    turns, foot_turns : int
        Number of turns, and how many of them on foot and ankle.
    resting : bool
        True for a layer without stretch: its tension is not the hands'.
    heights : ndarray, shape (turns, 3)
        Share of each height of a habit (above the ankle, calf, below the knee) in each turn.

    Examples
    --------
    >>> LayerTurns(3, 1, False, np.full((3, 3), 1 / 3)).turns
    3
    """

    turns: int
    foot_turns: int
    resting: bool
    heights: Array


@dataclass(frozen=True)
class Draws:
    """Points of the unit cube, and the normal deviates at them, shape (inputs, samples).

    Examples
    --------
    >>> Draws(np.full((2, 4), 0.5)).uniform.shape
    (2, 4)
    """

    uniform: Array

    @cached_property
    def normal(self) -> Array:
        """Standard normal deviates at the points.

        Returns
        -------
        ndarray, shape (inputs, samples)

        Examples
        --------
        >>> Draws(np.array([[0.5, 0.975]])).normal.round(2).tolist()
        [[0.0, 1.96]]
        """
        return ndtri(self.uniform)

    def first(self, samples: int) -> "Draws":
        """The first samples only; a power of two of a Sobol sequence is even in itself.

        Parameters
        ----------
        samples : int
            How many, at most all.

        Returns
        -------
        Draws

        Examples
        --------
        >>> Draws(np.array([[0.1, 0.2, 0.3]])).first(2).uniform.tolist()
        [[0.1, 0.2]]
        """
        if samples == self.uniform.shape[1]:
            return self
        part = Draws(self.uniform[:, :samples])
        part.__dict__["normal"] = self.normal[:, :samples]
        return part


class Layout:
    """Which rows of the draws belong to which input of these layers.

    Parameters
    ----------
    turns : sequence of int
        Turns of every layer.

    Examples
    --------
    Four common inputs, seven landmarks, and for the layer one fabric and two blocks of 16 turns:

    >>> Layout([12]).inputs
    44
    """

    def __init__(self, turns: Sequence[int]) -> None:
        self.tape = slice(_COMMON, _COMMON + len(Landmark))
        self.fabric: list[int] = []
        self.tension: list[slice] = []
        self.pitch: list[slice] = []
        end = self.tape.stop
        for count in turns:
            block = -(-count // _TURN_BLOCK) * _TURN_BLOCK
            self.fabric.append(end)
            self.tension.append(slice(end + 1, end + 1 + count))
            self.pitch.append(slice(end + 1 + block, end + 1 + block + count))
            end += 1 + 2 * block
        self.inputs = end

    def rows_of(self, group: InputGroup) -> npt.NDArray[np.intp]:
        """Rows of one group of inputs.

        Parameters
        ----------
        group : InputGroup
            Which.

        Returns
        -------
        ndarray of int, shape (rows,)

        Examples
        --------
        Wool and the seven landmarks:

        >>> Layout([12]).rows_of(InputGroup.TAPE).size
        8
        """
        every = np.arange(self.inputs)
        chosen: list[int | slice]
        match group:
            case InputGroup.TAPE:
                chosen = [_PADDING, self.tape]
            case InputGroup.STRETCH:
                chosen = [_BIAS, *self.tension]
            case InputGroup.PITCH:
                chosen = [*self.pitch]
            case InputGroup.FABRIC:
                chosen = [*self.fabric]
            case InputGroup.LAYERS:
                chosen = [_ADDING]
            case InputGroup.THEORY:
                chosen = [_REMAINDER]
        return np.concatenate([np.atleast_1d(every[part]) for part in chosen])


@lru_cache(maxsize=8)
def draws(inputs: int, samples: int, seed: int) -> Draws:
    """Scrambled Sobol points, made once for every candidate that asks for the same.

    Parameters
    ----------
    inputs : int
        Number of uncertain inputs.
    samples : int
        How many; the next power of two is drawn and its first ones are given.
    seed : int
        Scrambling seed; the same seed gives the same points.

    Returns
    -------
    Draws
        Shape (inputs, samples).

    Examples
    --------
    Eight points of a Sobol sequence put one in every eighth of every input.

    >>> sorted((8 * draws(3, 8, seed=1).uniform[2]).astype(int).tolist())
    [0, 1, 2, 3, 4, 5, 6, 7]
    """
    sampler = qmc.Sobol(inputs, scramble=True, rng=np.random.default_rng(seed))
    points = sampler.random_base2(int(np.ceil(np.log2(samples))))[:samples]
    # A Sobol point can be 0 exactly, which no normal deviate answers.
    return Draws(np.clip(points.T, _SMALLEST, 1 - _SMALLEST, order="C"))


@dataclass(frozen=True)
class Bandages:
    """Sampled bandages before they meet a surface.

    Attributes
    ----------
    layer : ndarray of int, shape (turns,)
        Layer of each turn, all layers one after the other.
    log_tension : ndarray, shape (turns, samples)
        Log of the hands' tension over the planned one.
    shift_cm : ndarray, shape (turns, samples)
        How far each turn lies from its place along the leg [cm].
    fabric, adding : ndarray, shape (layers, samples)
        Factor of each layer's roll, and share of its own pressure that it adds.
    tape : ndarray, shape (landmarks, samples)
        Error of each girth in standard deviations.
    padding_cm : ndarray, shape (samples,)
        Thickness of padding over the planned one [cm].
    remainder : ndarray, shape (samples,)
        Theory remainder.

    Examples
    --------
    >>> one = np.ones((1, 1))
    >>> bandages = Bandages(np.array([0]), 0 * one, 0 * one, one, one, 0 * one, one[0], one[0])
    >>> bandages.tension.tolist()
    [[1.0]]
    """

    layer: npt.NDArray[np.intp]
    log_tension: Array
    shift_cm: Array
    fabric: Array
    adding: Array
    tape: Array
    padding_cm: Array
    remainder: Array

    @cached_property
    def tension(self) -> Array:
        """All that multiplies a turn's planned pressure but the girth.

        Returns
        -------
        ndarray, shape (turns, samples)

        Examples
        --------
        Fabric 1.1, layer adds half, remainder 0.9:

        >>> one = np.ones((1, 1))
        >>> bandages = Bandages(
        ...     np.array([0]), 0 * one, 0 * one, 1.1 * one, 0.5 * one, 0 * one, one[0], 0.9 * one[0]
        ... )
        >>> round(float(bandages.tension[0, 0]), 3)
        0.495
        """
        factor: Array = self.fabric * self.adding * self.remainder
        return np.exp(self.log_tension) * factor[self.layer]


def sampled_bandages(layers: Sequence[LayerTurns], inputs: SpreadInputs, points: Draws) -> Bandages:
    """Bandages of these layers at points made for their layout.

    Parameters
    ----------
    layers : sequence of LayerTurns
        Pressing layers, from the skin outwards.
    inputs : SpreadInputs
        How uncertain each input is.
    points : Draws
        As :func:`draws` gives it for ``Layout`` of these layers.

    Returns
    -------
    Bandages

    References
    ----------
    Dale JJ et al. Phlebology 2004 (share that a further layer adds: 50-60 % to the plain sum).

    Examples
    --------
    At the middle of every input a bandage lies as planned, times the theory remainder's median.

    >>> layer = LayerTurns(12, 5, False, np.zeros((12, 3)))
    >>> middle = Draws(np.full((44, 1), 0.5))
    >>> inputs = SpreadInputs((Hands(0.1, 0.1),), remainder_median=0.9, remainder_range95=0.35)
    >>> round(float(sampled_bandages([layer], inputs, middle).tension[7, 0]), 6)
    0.9
    """
    layout = Layout([layer.turns for layer in layers])
    uniform, normal = points.uniform, points.normal
    tension, shift, fabric, adding = [], [], [], []
    further = LEAST_SHARE_OF_FURTHER_LAYER + (1 - LEAST_SHARE_OF_FURTHER_LAYER) * uniform[_ADDING]
    for number, layer in enumerate(layers):
        row, hands = layout.fabric[number], inputs.hands_of(number)
        if layer.resting:
            tension.append(np.zeros((layer.turns, uniform.shape[1])))
            fabric.append(uniform[row])
        else:
            habit = layer.heights @ np.array(hands.habit)
            scatter = _autoregressive(normal[layout.tension[number]], TENSION_AUTOCORRELATION)
            day = hands.bias_sd * normal[_BIAS]
            tension.append(habit[:, None] + day + hands.scatter_sd * scatter)
            fabric.append(np.exp(FABRIC_CV * normal[row]))
        shift.append(_turn_shift_cm(normal[layout.pitch[number]]))
        adding.append(further if number else np.ones_like(further))
    low, planned, high = inputs.padding_cm
    return Bandages(
        layer=np.repeat(np.arange(len(layers)), [layer.turns for layer in layers]),
        log_tension=np.concatenate(tension),
        shift_cm=np.concatenate(shift),
        fabric=np.stack(fabric),
        adding=np.stack(adding),
        tape=normal[layout.tape],
        padding_cm=low + (high - low) * uniform[_PADDING] - planned,
        remainder=inputs.remainder_median * np.exp(inputs.level_log_sd * normal[_REMAINDER]),
    )


def _turn_shift_cm(scatter: Array) -> Array:
    """How far each turn lies from its place [cm]; the first and last are where they should be."""
    walk = np.cumsum(PITCH_STEP_SD_CM * _autoregressive(scatter, PITCH_AUTOCORRELATION), axis=0)
    walk -= walk[0].copy()
    walk -= np.linspace(0, 1, len(walk))[:, None] * walk[-1]
    return walk


def _autoregressive(white: Array, correlation: float) -> Array:
    """Unit-variance AR(1) series down the first axis."""
    series = np.empty_like(white)
    series[0] = white[0]
    fresh = np.sqrt(1 - correlation**2)
    for turn in range(1, len(white)):
        series[turn] = correlation * series[turn - 1] + fresh * white[turn]
    return series
