"""The numbers of one site of a sensor log, each from the raw samples of a span."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.stats import linregress

from gaiter.core.arrays import Array, Mask
from gaiter.core.sensor.artefacts import is_gap
from gaiter.core.sensor.movement import CYCLES_LEAST, SAMPLES_PER_CYCLE_LEAST, cycles_of
from gaiter.core.sensor.phases import Span
from gaiter.core.sensor.spans import SpanChoice
from gaiter.core.words import NOTHING, Said

PLATEAU_LEAST_SAMPLES = 5
"""A plateau needs so many values for its standard deviation to mean something. Our choice."""

LEFT_OUT_MOST_SHARE = 0.5
"""A phase with more of its samples missing gives no number. Our choice."""

DRIFT_LEAST_S = 300.0
"""Over a shorter rest, breathing and settling outweigh the drift [s]. Our choice."""

SECONDS_PER_HOUR = 3600.0


class LogPart(StrEnum):
    """A part of the result that can be missing.

    Examples
    --------
    >>> [part.value for part in LogPart]
    ['resting', 'standing', 'working amplitude', 'drift']
    """

    REST = "resting"
    STANDING = "standing"
    MOVEMENT = "working amplitude"
    DRIFT = "drift"


@dataclass(frozen=True)
class Plateau:
    """The pressure over a span in which the leg keeps one posture.

    Attributes
    ----------
    mean_mmhg, sd_mmhg : float
        Mean and standard deviation of the samples [mmHg]. The deviation is their scatter; it
        knows nothing of the sensor's calibration.
    span : Span
        [s]
    stated : bool
        Whether the user stated the span.
    samples : int
        Number of values in the mean.
    left_out_share, flagged_share : float
        Share of the samples that should be there and have no value; share of the values used
        that lie in a flagged artefact.

    Examples
    --------
    >>> Plateau(40.0, 0.4, Span(0.0, 60.0), True, 120, 0.0, 0.0).mean_mmhg
    40.0
    """

    mean_mmhg: float
    sd_mmhg: float
    span: Span
    stated: bool
    samples: int
    left_out_share: float
    flagged_share: float


@dataclass(frozen=True)
class WorkingAmplitude:
    """The swing during movement.

    Attributes
    ----------
    median_mmhg : float
        Median over the cycles of peak minus the trough that follows [mmHg].
    cycles : int
    span, stated, left_out_share, flagged_share
        As in :class:`Plateau`.

    Examples
    --------
    >>> WorkingAmplitude(20.0, 9, Span(0.0, 10.0), False, 0.0, 0.0).cycles
    9
    """

    median_mmhg: float
    cycles: int
    span: Span
    stated: bool
    left_out_share: float
    flagged_share: float


@dataclass(frozen=True)
class Drift:
    """Slope of the resting pressure over time.

    Attributes
    ----------
    slope_mmhg_per_h, error_mmhg_per_h : float
        Least-squares slope and its standard error [mmHg/h]. The error takes the samples as
        independent, which neighbouring samples are not: the true one is larger.
    over_s : float
        Time from the first to the last value used [s].

    Examples
    --------
    >>> Drift(slope_mmhg_per_h=-6.0, error_mmhg_per_h=0.2, over_s=600.0).over_s
    600.0
    """

    slope_mmhg_per_h: float
    error_mmhg_per_h: float
    over_s: float


@dataclass(frozen=True, eq=False)
class Channel:
    """The samples of one site.

    Its methods give a number, or None with the reason in words.

    Attributes
    ----------
    time_s, pressure_mmhg : Array
        Shape (samples,) [s, mmHg]; NaN where missing.
    flagged : Mask
        Which samples lie in an artefact, shape (samples,).
    interval_s : float
        Median interval [s].

    Examples
    --------
    >>> time = np.arange(30.0)
    >>> float(Channel(time, 0 * time + 40, time < 0, 1.0).pressure_mmhg.mean())
    40.0
    """

    time_s: Array
    pressure_mmhg: Array
    flagged: Mask
    interval_s: float

    def plateau(self, choice: SpanChoice) -> tuple[Plateau | None, Said]:
        """Mean and scatter over a span; flagged samples stay in, and their share is said.

        Parameters
        ----------
        choice : SpanChoice
            The span, or why there is none.

        Returns
        -------
        plateau : Plateau or None
            None where too little is there.
        reason : Said
            Why it is None; empty otherwise.

        Examples
        --------
        >>> time = np.arange(30.0)
        >>> gaiter = Channel(time, np.where(time % 2 == 0, 39.0, 41.0), time < 0, 1.0)
        >>> rest, reason = gaiter.plateau(SpanChoice(Span(0.0, 29.0)))
        >>> rest.mean_mmhg, rest.samples, bool(reason)
        (40.0, 30, False)
        """
        span = choice.span
        if span is None:
            return None, choice.reason
        values, left_out, flagged = self._values(span)
        reason = self._too_little(values, left_out, span)
        if reason:
            return None, reason
        mean, sd = float(values.mean()), float(values.std(ddof=1))
        return Plateau(mean, sd, span, choice.stated, values.size, left_out, flagged), NOTHING

    def working(self, choice: SpanChoice) -> tuple[WorkingAmplitude | None, Said]:
        """Median swing over a span of movement.

        Parameters
        ----------
        choice : SpanChoice
            The span, or why there is none.

        Returns
        -------
        amplitude : WorkingAmplitude or None
            None where too little is there, or too few samples a cycle.
        reason : Said
            Why it is None; empty otherwise.

        Examples
        --------
        A swing of 10 mmHg to both sides, ten seconds of one a second:

        >>> time = np.arange(0, 10, 0.05)
        >>> gaiter = Channel(time, 50 + 10 * np.sin(2 * np.pi * time), time < 0, 0.05)
        >>> amplitude, reason = gaiter.working(SpanChoice(Span(0.0, 9.95)))
        >>> round(amplitude.median_mmhg, 1), amplitude.cycles
        (20.0, 9)
        """
        span = choice.span
        if span is None:
            return None, choice.reason
        values, left_out, flagged = self._values(span)
        reason = self._too_little(values, left_out, span)
        if reason:
            return None, reason
        inside = span.holds(self.time_s)
        cycles = cycles_of(self.time_s[inside], self.pressure_mmhg[inside], self.interval_s)
        count = cycles.swings_mmhg.size
        if count < CYCLES_LEAST:
            return None, Said(
                "{count} whole cycles in {span}, at least {least} are needed",
                {"count": count, "span": span.said, "least": CYCLES_LEAST},
            )
        if cycles.samples_per_cycle < SAMPLES_PER_CYCLE_LEAST:
            return None, Said(
                "{count:g} samples in a cycle, at least {least} are needed to meet its peak: "
                "record faster",
                {"count": cycles.samples_per_cycle, "least": SAMPLES_PER_CYCLE_LEAST},
            )
        median = float(np.median(cycles.swings_mmhg))
        return WorkingAmplitude(median, count, span, choice.stated, left_out, flagged), NOTHING

    def drift(self, rest: Plateau | None) -> tuple[Drift | None, Said]:
        """Slope over the resting plateau.

        Parameters
        ----------
        rest : Plateau or None
            As :meth:`plateau` gives it.

        Returns
        -------
        drift : Drift or None
            None without a rest of at least 300 s.
        reason : Said
            Why it is None; empty otherwise.

        Examples
        --------
        A fall of 1 mmHg in ten minutes is one of 6 mmHg/h.

        >>> time = np.arange(0.0, 601.0)
        >>> gaiter = Channel(time, 40 - time / 600, time < 0, 1.0)
        >>> drift, reason = gaiter.drift(gaiter.plateau(SpanChoice(Span(0.0, 600.0)))[0])
        >>> round(drift.slope_mmhg_per_h, 3)
        -6.0
        """
        if rest is None:
            return None, Said("there is no resting pressure")
        have = rest.span.holds(self.time_s) & np.isfinite(self.pressure_mmhg)
        time = self.time_s[have]
        over = float(time[-1] - time[0])
        if over < DRIFT_LEAST_S:
            return None, Said(
                "the rest is too short, {over:.1f} s; at least {least:.0f} s",
                {"over": over, "least": DRIFT_LEAST_S},
            )
        hours = (time - time[0]) / SECONDS_PER_HOUR
        fit = linregress(hours, self.pressure_mmhg[have])
        return Drift(float(fit.slope), float(fit.stderr), over), NOTHING

    def _values(self, span: Span) -> tuple[Array, float, float]:
        """Values in a span, the share missing, and the share of the values that is flagged."""
        inside = span.holds(self.time_s)
        have = inside & np.isfinite(self.pressure_mmhg)
        values = self.pressure_mmhg[have]
        # Rows that were never written are missing samples too.
        times = np.concatenate(([span.start_s], self.time_s[inside], [span.end_s]))
        steps = np.diff(times)
        steps = steps[is_gap(steps, self.interval_s)] / self.interval_s
        absent = (np.round(steps) - 1).sum()
        due = int(inside.sum()) + float(absent)
        left_out = 1 - values.size / due if due else 1.0
        flagged = float(self.flagged[have].mean()) if values.size else 0.0
        return values, left_out, flagged

    @staticmethod
    def _too_little(values: Array, left_out: float, span: Span) -> Said:
        if values.size < PLATEAU_LEAST_SAMPLES:
            return Said(
                "{count} values in {span}, at least {least} are needed",
                {"count": values.size, "span": span.said, "least": PLATEAU_LEAST_SAMPLES},
            )
        if left_out > LEFT_OUT_MOST_SHARE:
            return Said(
                "{share:.0%} of the samples in {span} are missing",
                {"share": left_out, "span": span.said},
            )
        return NOTHING
