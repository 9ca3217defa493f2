"""Hands, rolls and turns: tension and place of every turn as it really lies.

Tension is what hands laid, after neighbouring turns have shared it and the end has slipped.
``docs/headline.md`` tells in words how each part differs from the planner.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import gammaincinv

from benchmarks.worlds.constants import Constants
from gaiter.core.arrays import Array
from gaiter.core.fabric.curve import StretchCurve

MOST_TURNS = 64


@dataclass(frozen=True)
class Planned:
    """One pressing layer as the plan asks for it.

    Attributes
    ----------
    low_cm, high_cm : ndarray, shape (turns, columns)
        Edges of each turn on each column of the chart, NaN where it does not pass [cm up it].
    slope_cm : ndarray, shape (turns, columns)
        How far the turn rises along the chart in one radian round the leg [cm].
    tension_n_per_cm : ndarray, shape (turns,)
        Tension that the plan's stretch means [N/cm]; 0 for a turn that only holds the end.
    curve : StretchCurve or None
        The fabric's; None for a layer that is laid without stretch.
    line_cm, line_turn : ndarray, shape (samples, 3) and (samples,)
        Middle of the turns as places (forward, medial, up) [cm], and the turn there.
    width_cm : float or ndarray, shape (samples,)
        Width of the fabric along that line [cm].
    """

    low_cm: Array
    high_cm: Array
    slope_cm: Array
    tension_n_per_cm: Array
    curve: StretchCurve | None
    line_cm: Array | None = None
    line_turn: Array | None = None
    width_cm: Array | float = 10.0

    @property
    def turns(self) -> int:
        """Number of turns."""
        return len(self.tension_n_per_cm)

    @property
    def inner(self) -> int:
        """Column of the inner side, a quarter of the way round from the front."""
        return self.low_cm.shape[1] // 4

    @property
    def presses(self) -> npt.NDArray[np.bool_]:
        """Turns that pass the inner side and press."""
        return ~np.isnan(self.low_cm[:, self.inner]) & (self.tension_n_per_cm > 0)


@dataclass(frozen=True)
class Person:
    """Whoever bandages: tight or loose, and how tension drifts, in standard deviations."""

    tight: float
    drift: float


def drawn_person(rng: np.random.Generator, constants: Constants) -> Person:
    """Somebody's hands; the published spread decides how much they matter."""
    low, high = constants.tight
    size = rng.uniform(low, high) / np.sqrt((high**3 - low**3) / (3 * (high - low)))
    first, last = constants.grows
    mean_square = (last**3 - first**3) / (3 * (last - first))
    return Person(rng.choice([-1.0, 1.0]) * size, rng.uniform(first, last) / np.sqrt(mean_square))


@dataclass(frozen=True)
class Work:
    """Chance in one application of a bandage; arrays are by layer and turn.

    Attributes
    ----------
    turn_level : ndarray
        Place of each turn's tension in its distribution, 0 to 1.
    look : ndarray
        Error of each look at the gauge, in standard deviations.
    sway_cm : ndarray, shape (layers,)
        Largest sway of the turns along the leg [cm].
    jitter_cm : ndarray
        Each turn's own error of place [cm].
    transfer, end_loss : float
        Shares that slide to each neighbour, and that the last turn loses.
    resting : ndarray, shape (layers,)
        Tension of a layer laid without stretch over the plan's.
    """

    turn_level: Array
    look: Array
    sway_cm: Array
    jitter_cm: Array
    transfer: float
    end_loss: float
    resting: Array


def drawn_work(rng: np.random.Generator, layers: int, constants: Constants) -> Work:
    """One application, the same whoever's hands and whatever the plan."""
    size = (layers, MOST_TURNS)
    return Work(
        turn_level=rng.uniform(size=size),
        look=rng.standard_normal(size),
        sway_cm=rng.uniform(-constants.sway_cm, constants.sway_cm, layers),
        jitter_cm=rng.uniform(-constants.jitter_cm, constants.jitter_cm, size),
        transfer=rng.uniform(*constants.transfer),
        end_loss=constants.end_loss + constants.end_loss_spread * rng.uniform(-1, 1),
        resting=rng.uniform(*constants.resting, layers),
    )


def no_disturbance(layers: int) -> Work:
    """An application in which nothing goes astray."""
    size = (layers, MOST_TURNS)
    nothing = np.zeros(size)
    return Work(np.full(size, 0.5), nothing, np.zeros(layers), nothing, 0.0, 0.0, np.ones(layers))


def with_steady_hands(work: Work) -> Work:
    """The same application without errors of tension: turns keep what they were given."""
    still = no_disturbance(len(work.sway_cm))
    return replace(still, sway_cm=work.sway_cm, jitter_cm=work.jitter_cm)


def in_place(work: Work) -> Work:
    """The same application with every turn where the plan has it."""
    return replace(work, sway_cm=0 * work.sway_cm, jitter_cm=0 * work.jitter_cm)


def hands_sd(cv: float, constants: Constants) -> tuple[float, float, float]:
    """SD of whose hands, drift and single turns that together have this coefficient of variation.

    The three factors are independent with mean 1, so their squares multiply:
    (1 + p1 x) (1 + p2 x) (1 + p3 x) = 1 + cv^2 for the parts p.
    """
    parts = np.array(constants.hands_parts)
    parts /= parts.sum()
    if cv <= 0:
        return 0.0, 0.0, 0.0
    x = brentq(lambda x: float(np.prod(1 + parts * x)) - 1 - cv**2, 0, cv**2)
    bias, drift, turn = np.sqrt(parts * x)
    return float(bias), float(drift), float(turn)


def laid_tension(
    layer: Planned,
    hands: "Hands",
    work: Work,
    number: int,
    constants: Constants,
) -> Array:
    """Tension of every turn as the hands lay it, before turns settle [N/cm].

    Parameters
    ----------
    layer : Planned
        The layer, ``number`` of the bandage from 0.
    hands : Hands
        Whose, how steady, and whether they watch the marks.
    work : Work
        Chance.
    constants : Constants
        The world's.
    """
    if layer.curve is None:
        return layer.tension_n_per_cm * work.resting[number]
    bias, drift, turn = hands_sd(hands.cv, constants)
    turns = layer.turns
    up = np.linspace(-1, 1, turns) / np.sqrt((turns + 1) / (3 * (turns - 1)))
    ratio = (1 + bias * hands.person.tight) * (1 + drift * hands.person.drift * up)
    if turn > 0:
        ratio = ratio * gammaincinv(turn**-2, work.turn_level[number, :turns]) * turn**2
    if hands.gauge:
        ratio = _by_gauge(layer, layer.curve, ratio, work.look[number], constants)
    return layer.tension_n_per_cm * ratio


@dataclass(frozen=True)
class Hands:
    """A person with a published spread; ``gauge``: the marks of each turn are read."""

    person: Person
    cv: float
    gauge: bool = False


def _by_gauge(
    layer: Planned, curve: StretchCurve, ratio: Array, look: Array, constants: Constants
) -> Array:
    """Tension over planned when each turn is read and the next is pulled accordingly."""
    pull, kept, marks = 0.0, np.empty_like(ratio), constants.marks_sd_cm / 10
    for turn, planned in enumerate(layer.tension_n_per_cm):
        kept[turn] = ratio[turn] * np.exp(pull)
        if planned <= 0:
            continue
        stretch = float(curve.stretch_for(planned * kept[turn])) + marks * look[turn]
        seen = float(np.clip(stretch, 0.02, 0.98 * curve.locking_stretch))
        pull -= constants.gauge_gain * float(np.log(curve.tension_n_per_cm(seen) / planned))
    return kept


def settled_tension(layer: Planned, tension: Array, work: Work, constants: Constants) -> Array:
    """Tension after neighbouring turns have shared theirs and the end has slipped [N/cm]."""
    if layer.curve is None:
        return tension
    at = np.flatnonzero(layer.presses)
    flow = work.transfer * np.diff(tension[at])
    shared = tension[at] + np.append(flow, 0) - np.insert(flow, 0, 0)
    lost = work.end_loss * np.exp(-np.arange(len(at))[::-1] / constants.end_turns)
    settled = tension.copy()
    settled[at] = shared * (1 - lost)
    return settled


def off_cm(layer: Planned, work: Work, number: int) -> Array:
    """How far each turn lies up the leg from where the plan has it, shape (turns,) [cm]."""
    sway = work.sway_cm[number] * np.sin(np.linspace(0, np.pi, layer.turns))
    return sway + work.jitter_cm[number, : layer.turns]
