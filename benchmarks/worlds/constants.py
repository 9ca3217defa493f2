"""Constants of the worlds, each with its source or "our choice", and how they are redrawn."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np

from gaiter.core.landmark import Landmark

A, G, C, K = Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE

Pair = tuple[float, float]
REDRAWN_BY = 0.30


@dataclass(frozen=True)
class Constants:
    """What the worlds are made of.

    Attributes
    ----------
    clinic_levels : (float, float)
        Lowest and highest of four clinics, evenly between. Measured at the gaiter over the girth
        formula, one clinic (its sensor, its materials) each: from 42.1 % below it
        (Garrigues-Ramon 2021) to the formula 19.2 % above it (Al Khaburi 2011); two between and
        their equal weight are our choice.
    leg_sd : float
        Leg to leg beside curvature, a beta (2, 3) scaled to mean 1; one clinician has 0.11 to
        0.18 between subjects, hands included (Ehmann 2023). Form: our choice.
    aspect : mapping
        World *level*: front-to-back over side-to-side of an ellipse, beta (2, 2) between these:
        our choice.
    inner_share, inner_sd : mapping
        World *anatomical*: curvature at the inner side over that of a circle of the girth, median
        and SD of its logarithm. Read off whole-body scan means and bodies of a parametric model:
        depth over width 1.45 at the ankle is 0.60 of the circle; sizes as the outside study of
        these legs had them.
    along_per_cm : (float, float)
        World *anatomical*: lengthwise curvature at the ankle, even between these, the same all
        round the limb (it is deeper in front: our choice); none at the other sites, where turns
        are nearly level.
    softness, softer : mapping, (float, float)
        Share by which 40 mmHg flattens the skin: a compressible limb presses back less than a
        rigid one (Richards, Steele, Spinks 2020, in kind); sizes, and the leg's multiple: our
        choice.
    wool_low_cm, wool_range_cm : float
        Thickness of wool as it lies, beta (2, 3) between: our choice.
    further_layer : (float, float, float)
        A further compressive layer adds 50 to 60 % of its own pressure (Dale 2004), triangular;
        ends: our choice.
    roll_spread : float
        A roll's tension over the fabric's, even within this: our choice.
    resting : (float, float)
        Tension of a layer laid without stretch over the plan's, even: our choice.
    end_loss, end_loss_spread, end_turns : float
        What the last turn loses, and turns over which that falls by a factor e: our choice.
    transfer : (float, float)
        Share of the difference that slides to each neighbouring turn: our choice.
    sway_cm, jitter_cm : float
        Where turns lie: a smooth sway up the leg and each turn's own error, even: our choice.
    hands_parts : (float, float, float)
        Parts of the square of a published spread: whose hands, drift as the roll shrinks, each
        turn: our choice.
    tight, grows : (float, float)
        Everybody is loose- or tight-handed by so much (nurses differ widely, each is steady: Raj
        1980); most people's tension grows up the leg (a blind group's profile was inverse:
        fibre-optic tape study). Scaled to a mean square of 1; sizes: our choice.
    gauge_gain : float
        Of what the gauge shows, this share is taken back on the next turn: our choice.
    marks_sd_cm, sensor_sd_mmhg, sensor_seat_sd : float
        Marks are read to 2 mm: our choice, as in the tool. Sensors: 3 mmHg (Hafner 2000), and how
        one sits on a leg: our choice.
    unmeasured_share, tape_cm : float
        How far a girth strays from the estimate that stands for it where the cohort lacks it, and
        a tape from the girth, evenly: our choice.
    """

    clinic_levels: Pair = (0.579, 0.839)
    leg_sd: float = 0.10
    aspect: Mapping[Landmark, Pair] = field(
        default_factory=lambda: {A: (1.10, 1.45), G: (1.05, 1.30), C: (0.95, 1.15), K: (1.05, 1.30)}
    )
    inner_share: Mapping[Landmark, float] = field(
        default_factory=lambda: {A: 0.60, G: 0.92, C: 1.02, K: 0.95}
    )
    inner_sd: Mapping[Landmark, float] = field(
        default_factory=lambda: {A: 0.20, G: 0.10, C: 0.12, K: 0.15}
    )
    along_per_cm: Pair = (-0.12, -0.03)
    softness: Mapping[Landmark, float] = field(
        default_factory=lambda: {A: 0.02, G: 0.05, C: 0.10, K: 0.08}
    )
    softer: Pair = (0.5, 1.5)
    wool_low_cm: float = 0.05
    wool_range_cm: float = 0.35
    further_layer: tuple[float, float, float] = (0.40, 0.55, 0.70)
    roll_spread: float = 0.10
    resting: Pair = (0.5, 1.5)
    end_loss: float = 0.25
    end_loss_spread: float = 0.15
    end_turns: float = 0.8
    transfer: Pair = (0.05, 0.15)
    sway_cm: float = 1.5
    jitter_cm: float = 0.7
    hands_parts: tuple[float, float, float] = (0.45, 0.20, 0.35)
    tight: Pair = (0.3, 1.6)
    grows: Pair = (-0.8, 2.0)
    gauge_gain: float = 0.5
    marks_sd_cm: float = 0.2
    sensor_sd_mmhg: float = 3.0
    sensor_seat_sd: float = 0.05
    unmeasured_share: float = 0.07
    tape_cm: float = 0.5

    @property
    def clinics(self) -> tuple[float, ...]:
        """Level of each of the four clinics."""
        return tuple(np.linspace(*self.clinic_levels, 4).tolist())

    def redrawn(self, seed: int) -> "Constants":
        """Every constant anew, evenly within 30 %; bounds stay in order.

        The mean of the clinics' levels stays, because it is measured; their spread does not.
        """
        rng = np.random.default_rng([seed, 0x77])
        new = {one.name: _redrawn(getattr(self, one.name), rng) for one in fields(self)}
        middle = sum(self.clinic_levels) / 2
        half = (self.clinic_levels[1] - middle) * _factor(rng)
        return replace(self, **{**new, "clinic_levels": (middle - half, middle + half)})


def _factor(rng: np.random.Generator) -> float:
    return float(1 + rng.uniform(-REDRAWN_BY, REDRAWN_BY))


def _redrawn(value: Any, rng: np.random.Generator) -> Any:
    if isinstance(value, Mapping):
        return {key: _redrawn(one, rng) for key, one in value.items()}
    if isinstance(value, tuple):
        drawn = [one * _factor(rng) for one in value]
        # Bounds are rising; the parts of a spread are in no order.
        return tuple(sorted(drawn) if list(value) == sorted(value) else drawn)
    return value * _factor(rng)
