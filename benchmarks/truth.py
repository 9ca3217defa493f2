"""A leg and a bandage that are not the planner's: what ``headline.py`` lets bandages lie on.

A planner judged by its own model is only told what it said. So nothing of the spread or of the
surface's pressure is used here. Pressure is the girth formula times what a clinic's sensor reads
of it, times this leg, times the medial curvature of an ellipse, less what soft tissue gives:

    P (1 + softness P / 40) = factor (2 pi 75.0062 / girth) sum over layers and turns of
                              share of layer * roll * tension * covered part of the disc

and tension is what hands laid, after neighbouring turns have shared it and the end has slipped.
``docs/headline.md`` tells in words how each part differs from the planner. A constant without a
source is an assumption and says so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import gammaincinv

from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.landmark import Landmark

Array = npt.NDArray[np.float64]

SITES = (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE)
# 1 mmHg is 133.322 Pa and 1 N/cm2 is 10 kPa; on a ring of girth G one thickness of t N/cm
# presses 2 pi t / G.
RING_MMHG_CM2_PER_N = 2 * np.pi * 1e4 / 133.322387415
# Measured at the gaiter over the girth formula, one clinic (its sensor, its materials) each:
# from 42.1 % below it (Garrigues-Ramon 2021) to the formula 19.2 % above it (Al Khaburi 2011);
# the two between and their equal weight are assumptions.
CLINIC_LEVELS = (0.579, 0.666, 0.752, 0.839)
# Leg to leg: a skewed beta of mean 1 and SD 0.10. With the curvature below 0.125; one clinician
# has 0.11 to 0.18 between subjects, hands included (Ehmann 2023). Form: assumption.
LEG_LOW, LEG_RANGE, LEG_BETA = 0.8, 0.5, (2.0, 3.0)
# Front-to-back over side-to-side of the section, an ellipse; drawn for each site: assumption.
ASPECT = {
    Landmark.ANKLE: (1.10, 1.45),
    Landmark.GAITER: (1.05, 1.30),
    Landmark.CALF: (0.95, 1.15),
    Landmark.BELOW_KNEE: (1.05, 1.30),
}
# Share by which 40 mmHg flattens the skin under it: a compressible limb presses back less than
# a rigid one (Richards, Steele, Spinks 2020, in kind); the sizes are assumptions.
SOFTNESS = {
    Landmark.ANKLE: 0.02,
    Landmark.GAITER: 0.05,
    Landmark.CALF: 0.10,
    Landmark.BELOW_KNEE: 0.08,
}
SOFT_AT_MMHG = 40.0
# Thickness of wool as it lies under a bandage [cm], beta between these: assumption.
WOOL_LOW_CM, WOOL_RANGE_CM, WOOL_BETA = 0.05, 0.35, (2.0, 3.0)
# A further compressive layer adds 50 to 60 % of its own pressure (Dale 2004); ends: assumption.
FURTHER_LAYER = (0.40, 0.55, 0.70)
# A roll's tension over the fabric's, evenly within this; and what the last turn loses, falling
# by a factor e with each turn away from the end: assumptions.
ROLL_SPREAD = 0.10
END_LOSS, END_LOSS_SPREAD, END_TURNS = 0.25, 0.15, 0.8
# Share of the difference that slides to each neighbouring turn: assumption.
TRANSFER = (0.05, 0.15)
# Where turns lie: a smooth sway up the leg and each turn's own error [cm], both even:
# assumptions.
SWAY_CM, JITTER_CM = 1.5, 0.7
# Parts of the square of a published spread: whose hands, drift as the roll shrinks, each turn:
# assumptions.
HANDS_PARTS = (0.45, 0.20, 0.35)
# Everybody is loose- or tight-handed, by so much between (nurses differ widely, each is steady:
# Raj 1980); most people's tension grows up the leg (a blind group's profile was inverse:
# fibre-optic tape study). Scaled to a mean square of 1; sizes: assumptions.
_TIGHT, _GROWS = (0.3, 1.6), (-0.8, 2.0)
# Of what the gauge shows, half is taken back on the next turn: assumption.
GAUGE_GAIN = 0.5
# Mark spacings are read to 2 mm: assumption, as in the tool. Sensors: 3 mmHg (Hafner 2000), and
# how a sensor sits on a leg: assumption.
MARKS_SD_CM, SENSOR_SD_MMHG, SENSOR_SEAT_SD = 0.2, 3.0, 0.05
MOST_TURNS = 64
_DISC_CM = 2.5


@dataclass(frozen=True)
class Planned:
    """One pressing layer as the plan asks for it.

    Attributes
    ----------
    low_cm, high_cm : ndarray, shape (turns,)
        Edges of each turn on the inner side, NaN where it does not pass [cm up the chart].
    tension_n_per_cm : ndarray, shape (turns,)
        Tension that the plan's stretch means [N/cm]; 0 for a turn that only holds the end.
    curve : StretchCurve
        The fabric's.
    """

    low_cm: Array
    high_cm: Array
    tension_n_per_cm: Array
    curve: StretchCurve

    @property
    def presses(self) -> npt.NDArray[np.bool_]:
        """Turns that pass the inner side and press."""
        return ~np.isnan(self.low_cm) & (self.tension_n_per_cm > 0)


@dataclass(frozen=True)
class TrueLeg:
    """What no tape tells of a leg in a clinic.

    Attributes
    ----------
    factor, softness : mapping
        By site: what multiplies the girth formula, and what 40 mmHg flattens.
    wool_cm : float
        Thickness of one planned layer of wool as it lies [cm].
    further_share : float
        What a further layer adds of its own pressure.
    seat : float
        Error of a sensor's seat on this leg, as a share.
    """

    factor: Mapping[Landmark, float]
    softness: Mapping[Landmark, float]
    wool_cm: float
    further_share: float = 1.0
    seat: float = 0.0


def drawn_leg(
    rng: np.random.Generator, level: float, ankle: tuple[float, float] | None = None
) -> TrueLeg:
    """A leg of a clinic whose sensor reads this share of the girth formula at the gaiter.

    Parameters
    ----------
    rng : Generator
        Chance.
    level : float
        One of ``CLINIC_LEVELS``, or any other.
    ankle : (float, float) or None
        Other bounds of the ankle's aspect than ``ASPECT``.
    """
    leg = LEG_LOW + LEG_RANGE * rng.beta(*LEG_BETA)
    softer = rng.uniform(0.5, 1.5)
    # The level is that of a mean gaiter at 40 mmHg, so curvature and give count from there.
    mean = medial_share(sum(ASPECT[Landmark.GAITER]) / 2) / (1 + SOFTNESS[Landmark.GAITER])
    bounds = ASPECT if ankle is None else {**ASPECT, Landmark.ANKLE: ankle}
    aspects = {site: low + (high - low) * rng.beta(2, 2) for site, (low, high) in bounds.items()}
    return TrueLeg(
        factor={site: level * leg * medial_share(a) / mean for site, a in aspects.items()},
        softness={site: softer * soft for site, soft in SOFTNESS.items()},
        wool_cm=WOOL_LOW_CM + WOOL_RANGE_CM * rng.beta(*WOOL_BETA),
        further_share=rng.triangular(*FURTHER_LAYER),
        seat=SENSOR_SEAT_SD * rng.standard_normal(),
    )


def medial_share(aspect: float) -> float:
    """Curvature at the inner side of an ellipse over that of a circle of its girth.

    Parameters
    ----------
    aspect : float
        Front-to-back over side-to-side.

    Notes
    -----
    With half-axes a (front) and 1 (side) it is 1 / a^2 against 2 pi / girth; Ramanujan's girth
    errs by less than 1e-5 here.
    """
    h = ((aspect - 1) / (aspect + 1)) ** 2
    girth = np.pi * (aspect + 1) * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h)))
    return float(girth / (2 * np.pi) / aspect**2)


@dataclass(frozen=True)
class Person:
    """Whoever bandages: tight or loose, and how tension drifts, in standard deviations."""

    tight: float
    drift: float


def drawn_person(rng: np.random.Generator) -> Person:
    """Somebody's hands; the published spread decides how much they matter."""
    low, high = _TIGHT
    size = rng.uniform(low, high) / np.sqrt((high**3 - low**3) / (3 * (high - low)))
    first, last = _GROWS
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
    """

    turn_level: Array
    look: Array
    sway_cm: Array
    jitter_cm: Array
    transfer: float
    end_loss: float


def drawn_work(rng: np.random.Generator, layers: int) -> Work:
    """One application, the same whoever's hands and whatever the plan."""
    size = (layers, MOST_TURNS)
    return Work(
        turn_level=rng.uniform(size=size),
        look=rng.standard_normal(size),
        sway_cm=rng.uniform(-SWAY_CM, SWAY_CM, layers),
        jitter_cm=rng.uniform(-JITTER_CM, JITTER_CM, size),
        transfer=rng.uniform(*TRANSFER),
        end_loss=END_LOSS + END_LOSS_SPREAD * rng.uniform(-1, 1),
    )


def no_disturbance(layers: int) -> Work:
    """An application in which nothing goes astray."""
    size = (layers, MOST_TURNS)
    nothing = np.zeros(size)
    return Work(np.full(size, 0.5), nothing, np.zeros(layers), nothing, 0.0, 0.0)


def hands_sd(cv: float) -> tuple[float, float, float]:
    """SD of whose hands, drift and single turns that together have this coefficient of variation.

    The three factors are independent with mean 1, so their squares multiply:
    (1 + p1 x) (1 + p2 x) (1 + p3 x) = 1 + cv^2 for the parts p.
    """
    parts = np.array(HANDS_PARTS)
    if cv <= 0:
        return 0.0, 0.0, 0.0
    x = brentq(lambda x: float(np.prod(1 + parts * x)) - 1 - cv**2, 0, cv**2)
    bias, drift, turn = np.sqrt(parts * x)
    return float(bias), float(drift), float(turn)


def laid_tension(
    layer: Planned, cv: float, person: Person, work: Work, number: int, *, gauge: bool = False
) -> Array:
    """Tension of every turn as the hands lay it, before turns settle [N/cm].

    Parameters
    ----------
    layer : Planned
        The layer, ``number`` of the bandage from 0.
    cv : float
        Published spread of such hands.
    person, work : Person, Work
        Whose hands, and chance.
    gauge : bool
        Whether the marks of each turn are read and half of what is off is taken back.
    """
    bias, drift, turn = hands_sd(cv)
    turns = len(layer.tension_n_per_cm)
    up = np.linspace(-1, 1, turns) / np.sqrt((turns + 1) / (3 * (turns - 1)))
    ratio = (1 + bias * person.tight) * (1 + drift * person.drift * up)
    if turn > 0:
        ratio = ratio * gammaincinv(turn**-2, work.turn_level[number, :turns]) * turn**2
    if gauge:
        ratio = _by_gauge(layer, ratio, work.look[number])
    return layer.tension_n_per_cm * ratio


def _by_gauge(layer: Planned, ratio: Array, look: Array) -> Array:
    """Tension over planned when each turn is read and the next is pulled accordingly."""
    curve, pull, kept = layer.curve, 0.0, np.empty_like(ratio)
    for turn, planned in enumerate(layer.tension_n_per_cm):
        kept[turn] = ratio[turn] * np.exp(pull)
        if planned <= 0:
            continue
        stretch = float(curve.stretch_for(planned * kept[turn])) + MARKS_SD_CM / 10 * look[turn]
        seen = float(np.clip(stretch, 0.02, 0.98 * curve.locking_stretch))
        pull -= GAUGE_GAIN * float(np.log(curve.tension_n_per_cm(seen) / planned))
    return kept


def settled_tension(layer: Planned, tension: Array, work: Work) -> Array:
    """Tension after neighbouring turns have shared theirs and the end has slipped [N/cm]."""
    at = np.flatnonzero(layer.presses)
    flow = work.transfer * np.diff(tension[at])
    shared = tension[at] + np.append(flow, 0) - np.insert(flow, 0, 0)
    settled = tension.copy()
    settled[at] = shared * (1 - work.end_loss * np.exp(-np.arange(len(at))[::-1] / END_TURNS))
    return settled


def places_cm(layer: Planned, work: Work, number: int) -> Array:
    """Edges of every turn where it really lies on the inner side, shape (2, turns) [cm]."""
    turns = len(layer.low_cm)
    off = (
        work.sway_cm[number] * np.sin(np.linspace(0, np.pi, turns)) + work.jitter_cm[number, :turns]
    )
    return np.stack([layer.low_cm + off, layer.high_cm + off])


def site_pressure_mmhg(
    leg: TrueLeg,
    site: Landmark,
    s_cm: float,
    girth_cm: float,
    layers: Sequence[tuple[Planned, Array, Array, float]],
) -> float:
    """Pressure under the whole bandage at a site [mmHg].

    Parameters
    ----------
    leg : TrueLeg
        The leg.
    site : Landmark
        One of ``SITES``, at ``s_cm`` up the chart with ``girth_cm`` over the wool.
    layers : sequence of (Planned, places, settled tension, roll factor)
        From the skin outwards.
    """
    total = 0.0
    for number, (layer, (low, high), tension, roll) in enumerate(layers):
        top, bottom = s_cm + _DISC_CM / 2, s_cm - _DISC_CM / 2
        covered = np.clip((np.minimum(high, top) - np.maximum(low, bottom)) / _DISC_CM, 0, 1)
        share = leg.further_share if number else 1.0
        total += share * roll * float((tension * np.nan_to_num(covered))[layer.presses].sum())
    rigid = leg.factor[site] * RING_MMHG_CM2_PER_N * total / girth_cm
    # P (1 + soft P / 40) = rigid, written so that no softness divides by nothing.
    soft = leg.softness[site] / SOFT_AT_MMHG
    return float(2 * rigid / (1 + np.sqrt(1 + 4 * soft * rigid)))
