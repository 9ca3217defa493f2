"""What a log of pressure sensors under a bandage says, site by site.

Resting and standing plateau, static stiffness, working amplitude, drift, and what is not to be
trusted. Every number comes from the raw samples: artefacts are flagged, nothing is smoothed or
filled in, and every mean says which share of its samples was missing or flagged.

References
----------
Static stiffness is the standing minus the supine pressure at the inner gaiter; 10 mmHg and above
is called stiff: Partsch H. (2005), Eur J Vasc Endovasc Surg 30:415-421 (cut-off from memory, not
verified). The working amplitude is the swing between systole and diastole on movement.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.errors import InputError
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.sensor.artefacts import (
    Artefact,
    artefacts_of,
    inside_artefact,
    is_flat,
    median_interval_s,
    unchecked_of,
)
from gaiter.core.sensor.channel import Channel, Drift, LogPart, Plateau, WorkingAmplitude
from gaiter.core.sensor.spans import LogSpans, StatedSpans, choose_spans
from gaiter.core.words import Said, words

STIFF_MMHG = 10.0
"""Static stiffness at the inner gaiter from which a bandage is called stiff [mmHg]. Partsch 2005,
Eur J Vasc Endovasc Surg 30:415-421 (from memory, not verified)."""

LOG_LEAST_SAMPLES = 10
"""A shorter log says nothing. Our choice."""

SWAPPED_APART_MMHG = 20.0
"""A higher site is asked about when it reads so much more than a lower one, and twice as much.
Pressure usually falls towards the knee; bandages that press more at the calf stay below this.
Our choice."""

_SWAPPED_TIMES = 2.0


@dataclass(frozen=True, eq=False)
class SensorLog:
    """Pressures of one leg over time.

    Attributes
    ----------
    time_s : Array
        Times, growing from sample to sample, shape (samples,) [s].
    pressure_mmhg : Mapping[Landmark, Array]
        Pressure at each site, shape (samples,), NaN where missing [mmHg].

    Raises
    ------
    InputError
        If there is no site, there are too few samples, a pressure is infinite or missing its
        time, or times do not grow.

    Examples
    --------
    >>> time = np.arange(0.0, 20.0)
    >>> SensorLog(time, {Landmark.GAITER: 40 + np.sin(time)}).time_s.size
    20
    """

    time_s: Array
    pressure_mmhg: Mapping[Landmark, Array]

    def __post_init__(self) -> None:
        time = _read_only(self.time_s)
        channels = {site: _read_only(p) for site, p in self.pressure_mmhg.items()}
        if not channels:
            raise InputError(Said("a log must have at least one site; received none: name one"))
        if time.ndim != 1 or time.size < LOG_LEAST_SAMPLES:
            raise InputError(
                Said(
                    "a log must have at least {least} samples; received {count}: record longer",
                    {"least": LOG_LEAST_SAMPLES, "count": time.size},
                )
            )
        for site, pressure in channels.items():
            if pressure.shape != time.shape or np.isinf(pressure).any():
                raise InputError(
                    Said(
                        "the {site} must have one finite pressure in mmHg, or NaN, for each of the "
                        "{count} times; received shape {shape}: correct it",
                        {
                            "site": Said(site.label),
                            "count": time.size,
                            "shape": str(pressure.shape),
                        },
                    )
                )
        if not np.isfinite(time).all() or not (np.diff(time) > 0).all():
            raise InputError(
                Said(
                    "times in s must grow from sample to sample; received times that stand still "
                    "or go backwards: put the samples in order"
                )
            )
        object.__setattr__(self, "time_s", time)
        object.__setattr__(self, "pressure_mmhg", MappingProxyType(channels))


def _read_only(values: Array) -> Array:
    copied = np.array(values, dtype=np.float64)
    copied.flags.writeable = False
    return copied


@dataclass(frozen=True)
class SiteResult:
    """What the log says of one site.

    Attributes
    ----------
    resting, standing, working, drift
        None where they cannot be had.
    reasons : Mapping[LogPart, Said]
        Why a part is None, in words.
    artefacts : tuple of Artefact
        In order of time.
    unchecked : tuple of Said
        What could not be judged, in words.

    Examples
    --------
    >>> reasons = {LogPart.REST: Said("the rest is too short")}
    >>> site = SiteResult(Landmark.CALF, None, None, None, None, (), (), reasons)
    >>> site.reasons[LogPart.REST].text
    'the rest is too short'
    """

    site: Landmark
    resting: Plateau | None
    standing: Plateau | None
    working: WorkingAmplitude | None
    drift: Drift | None
    artefacts: tuple[Artefact, ...]
    unchecked: tuple[Said, ...]
    reasons: Mapping[LogPart, Said]

    @property
    def static_stiffness_mmhg(self) -> float | None:
        """Standing minus resting pressure [mmHg].

        Returns
        -------
        float or None
            [mmHg]; None without both.

        References
        ----------
        Partsch H. 2005, Eur J Vasc Endovasc Surg 30:415-421.

        Examples
        --------
        >>> from types import SimpleNamespace
        >>> rest, standing = SimpleNamespace(mean_mmhg=40.0), SimpleNamespace(mean_mmhg=54.0)
        >>> site = SiteResult(Landmark.GAITER, rest, standing, None, None, (), (), {})
        >>> site.static_stiffness_mmhg, site.stiff
        (14.0, True)
        """
        if self.resting is None or self.standing is None:
            return None
        return self.standing.mean_mmhg - self.resting.mean_mmhg

    @property
    def stiff(self) -> bool | None:
        """Whether the bandage is called stiff, judged to 0.1 mmHg as it is printed.

        Returns
        -------
        bool or None
            None without a stiffness and at any site but the gaiter, the only one the yardstick is
            for.

        References
        ----------
        Partsch H. 2005, Eur J Vasc Endovasc Surg 30:415-421 (10 mmHg; from memory, not verified).

        Examples
        --------
        >>> SiteResult(Landmark.GAITER, None, None, None, None, (), (), {}).stiff is None
        True
        """
        stiffness = self.static_stiffness_mmhg
        if stiffness is None or self.site is not Landmark.GAITER:
            return None
        return round(stiffness, 1) >= STIFF_MMHG


@dataclass(frozen=True)
class LogResult:
    """What a log says.

    Attributes
    ----------
    sites : Mapping[Landmark, SiteResult]
    spans : LogSpans
    interval_s, duration_s : float
        Median time between samples, and from the first to the last [s].
    questions : tuple of Said
        What contradicts itself, to be asked and not to be taken for true.

    Examples
    --------
    >>> time = np.arange(0.0, 120.0, 0.5)
    >>> result = analyse_log(SensorLog(time, {Landmark.GAITER: 40 + np.sin(time)}))
    >>> result.interval_s, result.duration_s
    (0.5, 119.5)
    """

    sites: Mapping[Landmark, SiteResult]
    spans: LogSpans
    interval_s: float
    duration_s: float
    questions: tuple[Said, ...]


@dataclass(frozen=True)
class RestingPressure:
    """The resting pressure at a site, as a sensor reading.

    Attributes
    ----------
    mean_mmhg, sd_mmhg : float
        [mmHg]
    samples : int
    cautions : tuple of Said
        What casts doubt on it, in words.

    Examples
    --------
    >>> RestingPressure(Landmark.GAITER, 40.0, 0.4, 120, ()).cautions
    ()
    """

    site: Landmark
    mean_mmhg: float
    sd_mmhg: float
    samples: int
    cautions: tuple[Said, ...]


def analyse_log(log: SensorLog, stated: StatedSpans | None = None) -> LogResult:
    """What a sensor log says of the bandage.

    Parameters
    ----------
    log : SensorLog
        Pressures of one leg over time.
    stated : StatedSpans, optional
        When the leg rested, stood and moved. What is not stated is looked for, by the rule of
        :func:`gaiter.core.sensor.spans.choose_spans`, and refused where it is ambiguous.

    Returns
    -------
    LogResult

    Raises
    ------
    InputError
        If a stated span lies outside the log.

    References
    ----------
    Partsch H. 2005, Eur J Vasc Endovasc Surg 30:415-421 (static stiffness).

    Examples
    --------
    >>> time = np.arange(0.0, 120.0, 0.5)
    >>> pressure = np.where(time < 60, 40.0, 54.0) + 0.2 * np.sin(time)
    >>> result = analyse_log(SensorLog(time, {Landmark.GAITER: pressure}))
    >>> gaiter = result.sites[Landmark.GAITER]
    >>> round(gaiter.static_stiffness_mmhg), gaiter.stiff
    (14, True)
    """
    live = {site: p for site, p in log.pressure_mmhg.items() if not is_flat(p)}
    spans = choose_spans(log.time_s, live, stated or StatedSpans())
    sites = {site: _site_result(log, site, spans) for site in log.pressure_mmhg}
    return LogResult(
        sites=sites,
        spans=spans,
        interval_s=median_interval_s(log.time_s),
        duration_s=float(log.time_s[-1] - log.time_s[0]),
        questions=(*_lower_standing(sites), *_swapped(log, sites)),
    )


def resting_pressure(result: LogResult, site: Landmark) -> RestingPressure:
    """The resting pressure at a site with its standard deviation [mmHg].

    Parameters
    ----------
    result : LogResult
        As :func:`analyse_log` gives it.
    site : Landmark
        One of the log's.

    Returns
    -------
    RestingPressure
        Its cautions name the artefacts within the rest and the questions about the site.

    Raises
    ------
    InputError
        If the site is not in the log or its resting pressure cannot be had.

    Examples
    --------
    >>> time = np.arange(0.0, 120.0, 0.5)
    >>> pressure = np.where(time < 60, 40.0, 54.0) + 0.2 * np.sin(time)
    >>> result = analyse_log(SensorLog(time, {Landmark.GAITER: pressure}))
    >>> round(resting_pressure(result, Landmark.GAITER).mean_mmhg)
    40
    """
    found = result.sites.get(site)
    if found is None:
        raise InputError(
            Said(
                "site must be one of the log's, {sites}; received {site}: choose one of them",
                {
                    "sites": words(known.label for known in result.sites),
                    "site": Said(site.label),
                },
            )
        )
    rest = found.resting
    if rest is None:
        raise InputError(
            Said(
                "no resting pressure at the {site}: {why}",
                {"site": Said(site.label), "why": found.reasons[LogPart.REST]},
            )
        )
    doubts = [
        Said("{kind}: {seen}", {"kind": Said(artefact.kind.value), "seen": artefact.words})
        for artefact in found.artefacts
        if artefact.start_s <= rest.span.end_s and artefact.end_s >= rest.span.start_s
    ]
    doubts += [question for question in result.questions if site.label in question]
    return RestingPressure(site, rest.mean_mmhg, rest.sd_mmhg, rest.samples, tuple(doubts))


def _site_result(log: SensorLog, site: Landmark, spans: LogSpans) -> SiteResult:
    time, pressure = log.time_s, log.pressure_mmhg[site]
    found = artefacts_of(time, pressure)
    unchecked = unchecked_of(time, pressure)
    if is_flat(pressure):
        unusable = dict.fromkeys(LogPart, Said("the site has no value that varies"))
        return SiteResult(site, None, None, None, None, found, unchecked, unusable)
    channel = Channel(time, pressure, inside_artefact(time, found), median_interval_s(time))
    rest, no_rest = channel.plateau(spans.rest)
    standing, no_standing = channel.plateau(spans.standing)
    working, no_working = channel.working(spans.movement)
    drift, no_drift = channel.drift(rest)
    reasons = {
        LogPart.REST: no_rest,
        LogPart.STANDING: no_standing,
        LogPart.MOVEMENT: no_working,
        LogPart.DRIFT: no_drift,
    }
    given = {part: reason for part, reason in reasons.items() if reason}
    return SiteResult(site, rest, standing, working, drift, found, unchecked, given)


def _lower_standing(sites: Mapping[Landmark, SiteResult]) -> list[Said]:
    return [
        Said(
            "the {site} reads {less:.1f} mmHg less on standing than at rest: are the spans right?",
            {"site": Said(site.label), "less": -result.static_stiffness_mmhg},
        )
        for site, result in sites.items()
        if result.static_stiffness_mmhg is not None and result.static_stiffness_mmhg < 0
    ]


def _swapped(log: SensorLog, sites: Mapping[Landmark, SiteResult]) -> list[Said]:
    """The pair of sites whose order is furthest from what is expected, as a question."""
    level = {
        site: _level_mmhg(log, sites[site])
        for site in LEG_SITES
        if site in sites and not is_flat(log.pressure_mmhg[site])
    }
    odd = [
        (level[upper] - level[lower], upper, lower)
        for lower, upper in combinations(level, 2)
        if level[upper] >= level[lower] + SWAPPED_APART_MMHG
        and level[upper] >= _SWAPPED_TIMES * level[lower]
    ]
    if not odd:
        return []
    _first, upper, lower = max(odd)
    return [
        Said(
            "{upper} reads {high:.0f} mmHg and {lower} {low:.0f} mmHg: were the channels swapped?",
            {
                "upper": Said(upper.label),
                "high": level[upper],
                "lower": Said(lower.label),
                "low": level[lower],
            },
        )
    ]


def _level_mmhg(log: SensorLog, result: SiteResult) -> float:
    """Resting pressure, or the median of the log where that is not known [mmHg]."""
    if result.resting is not None:
        return result.resting.mean_mmhg
    return float(np.nanmedian(log.pressure_mmhg[result.site]))
