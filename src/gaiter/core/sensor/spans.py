"""When the leg rested, stood and moved: stated by the user, or found in a sensor log.

The postures belong to the leg, so one set of spans holds for every site of a log.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from gaiter.core.arrays import Array, Mask
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.artefacts import median_interval_s
from gaiter.core.sensor.movement import CYCLES_LEAST, cycles_of
from gaiter.core.sensor.phases import (
    LEVEL_APART_MMHG,
    PLATEAU_LEAST_S,
    QUIET_SD_MMHG,
    ROUNDING_S,
    Channels,
    Levels,
    Phases,
    Span,
    find_phases,
    level_means_mmhg,
    levels_of,
)
from gaiter.core.words import NOTHING, Said, Value, joined

_REST, _STANDING = Said("rest"), Said("standing")

UNLOADED_MMHG = 5.0
"""A quiet level below this is a sensor outside the bandage, or a bandage not yet on. Our choice."""


@dataclass(frozen=True)
class StatedSpans:
    """What the user says of the log; None is looked for in the log.

    Attributes
    ----------
    rest, standing, movement : Span or None
        [s].

    Raises
    ------
    InputError
        If two overlap.

    Examples
    --------
    >>> StatedSpans(rest=Span(0.0, 60.0)).standing is None
    True
    """

    rest: Span | None = None
    standing: Span | None = None
    movement: Span | None = None

    def __post_init__(self) -> None:
        for (name, span), (other_name, other) in combinations(self.named(), 2):
            if span.overlaps(other):
                raise InputError(
                    Said(
                        "{one} and {other} must not overlap; received {one_span} and {other_span}: "
                        "correct one of them",
                        {
                            "one": name,
                            "other": other_name,
                            "one_span": span.said,
                            "other_span": other.said,
                        },
                    )
                )

    def named(self) -> list[tuple[Said, Span]]:
        """Those that are stated, with their name.

        Returns
        -------
        list[tuple[Said, Span]]

        Examples
        --------
        >>> [name.text for name, span in StatedSpans(standing=Span(0.0, 60.0)).named()]
        ['standing']
        """
        spans = ((_REST, self.rest), (_STANDING, self.standing), (Said("movement"), self.movement))
        return [(name, span) for name, span in spans if span is not None]


@dataclass(frozen=True)
class SpanChoice:
    """A span, or why there is none.

    Attributes
    ----------
    span : Span or None
    stated : bool
        True where the user stated it, False where it was found.
    reason : Said
        Why there is none; empty otherwise.

    Examples
    --------
    >>> SpanChoice(None, reason=Said("only one quiet level")).span is None
    True
    """

    span: Span | None
    stated: bool = False
    reason: Said = NOTHING


@dataclass(frozen=True)
class LogSpans:
    """The three spans of a log.

    Examples
    --------
    >>> none = SpanChoice(None, reason=Said("no site has values that vary"))
    >>> LogSpans(none, none, none).rest.span is None
    True
    """

    rest: SpanChoice
    standing: SpanChoice
    movement: SpanChoice


def choose_spans(time_s: Array, channels: Channels, stated: StatedSpans) -> LogSpans:
    """Spans of rest, standing and movement.

    What is stated is taken as it is. The rest is found by this rule:

    A 5 s window is *quiet* when the standard deviation of every site in it is at most 1.5 mmHg.
    A run of quiet windows is a phase, from the middle of its first window to the middle of its
    last, and counts from 20 s on. At each site phases less than 3 mmHg apart are one level.
    With **exactly two levels** rest is the longest phase of the lower, standing the longest of
    the upper; the other sites must say the same or see one level only. Movement is the **only**
    restless phase with at least three cycles.

    Refused, with None and a reason: no or one level (which posture it is cannot be told), three
    or more (sitting, settling, a second bandage), a level below 5 mmHg (the sensor was not under
    the bandage), sites that contradict each other, more than one phase of movement. If rest or
    standing is stated, the other is the only level at least 3 mmHg above or below it. The rule
    cannot tell lying and sitting from lying and standing: two levels are taken for the latter.

    Parameters
    ----------
    time_s : Array
        Growing times, shape (samples,) [s].
    channels : Mapping[Landmark, Array]
        Pressures of the sites that vary, shape (samples,) each [mmHg].
    stated : StatedSpans

    Returns
    -------
    LogSpans

    Raises
    ------
    InputError
        If a stated span lies outside the log.

    Notes
    -----
    The limits of the rule are our choice.

    Examples
    --------
    >>> time = np.arange(0.0, 120.0, 0.5)
    >>> pressure = np.where(time < 60, 40.0, 54.0)
    >>> found = choose_spans(time, {Landmark.GAITER: pressure}, StatedSpans())
    >>> found.rest.span.start_s < found.standing.span.start_s
    True
    """
    _refuse_outside(time_s, stated)
    if not channels:
        none = Said("no site has values that vary")
        found = LogSpans(*[SpanChoice(None, reason=none)] * 3)
    elif stated.rest and stated.standing and stated.movement:
        found = LogSpans(*[SpanChoice(None)] * 3)
    else:
        phases = find_phases(time_s, channels, [span for _key, span in stated.named()])
        rest, standing = _postures(time_s, channels, phases, stated)
        movement = _movement(time_s, channels, phases)
        found = LogSpans(rest, standing, movement)
    return LogSpans(
        _stated_or(stated.rest, found.rest),
        _stated_or(stated.standing, found.standing),
        _stated_or(stated.movement, found.movement),
    )


def _stated_or(span: Span | None, found: SpanChoice) -> SpanChoice:
    return found if span is None else SpanChoice(span, stated=True)


def _refuse_outside(time_s: Array, stated: StatedSpans) -> None:
    first, last = float(time_s[0]), float(time_s[-1])
    for name, span in stated.named():
        if span.start_s < first - ROUNDING_S or span.end_s > last + ROUNDING_S:
            raise InputError(
                Said(
                    "{name} must lie within the log, {first:.1f} to {last:.1f} s; received {span}: "
                    "correct it",
                    {"name": name, "first": first, "last": last, "span": span.said},
                )
            )


def _postures(
    time_s: Array, channels: Channels, phases: Phases, stated: StatedSpans
) -> tuple[SpanChoice, SpanChoice]:
    if not phases.quiet:
        none = SpanChoice(
            None,
            reason=Said(
                "no phase of {least:g} s is quiet at every site (standard deviation at most "
                "{most:g} mmHg): state the span",
                {"least": PLATEAU_LEAST_S, "most": QUIET_SD_MMHG},
            ),
        )
        return none, none
    if stated.rest or stated.standing:
        other = stated.rest or stated.standing
        known = {s: _mean(p[other.holds(time_s)]) for s, p in channels.items()} if other else {}
        one = _beside(phases, known, standing=stated.rest is not None)
        return one, one
    return _two_levels(phases)


def _mean(values: Array) -> float:
    """Mean of what is not missing; NaN, which no comparison accepts, without any."""
    have = values[np.isfinite(values)]
    return float(have.mean()) if have.size else math.nan


def _two_levels(phases: Phases) -> tuple[SpanChoice, SpanChoice]:
    levels = {site: levels_of(means) for site, means in phases.means_mmhg.items()}
    reason = _why_not_two(phases, levels)
    if reason:
        return SpanChoice(None, reason=reason), SpanChoice(None, reason=reason)
    upper = next(level for level in levels.values() if level.max() == 1)
    return (
        SpanChoice(_longest(phases.quiet, upper == 0)),
        SpanChoice(_longest(phases.quiet, upper == 1)),
    )


def _why_not_two(phases: Phases, levels: Mapping[Landmark, Levels]) -> Said:
    for site, means in phases.means_mmhg.items():
        if means.min() < UNLOADED_MMHG:
            return Said(
                "the {site} reads {pressure:.1f} mmHg over a quiet phase: was the sensor under "
                "the bandage? state the spans",
                {"site": Said(site.label), "pressure": float(means.min())},
            )
        if levels[site].max() > 1:
            return Said(
                "the {site} has more than two quiet levels ({levels} mmHg): state which is rest "
                "and which is standing",
                {"site": Said(site.label), "levels": _listed(means)},
            )
    voters = {site: level for site, level in levels.items() if level.max() == 1}
    if not voters:
        means = next(iter(phases.means_mmhg.values()))
        return Said(
            "only one quiet level ({levels} mmHg): rest and standing cannot be told apart, state "
            "the spans",
            {"levels": _listed(means)},
        )
    for (site, level), (other, its_level) in pairwise(voters.items()):
        if (level != its_level).any():
            return Said(
                "{one} and {other} rise and fall at different times: state which span is rest and "
                "which is standing",
                {"one": Said(site.label), "other": Said(other.label)},
            )
    return NOTHING


def _beside(phases: Phases, known_mmhg: Mapping[Landmark, float], *, standing: bool) -> SpanChoice:
    """The only level above the stated rest, or below the stated standing."""
    sign = 1 if standing else -1
    off = np.array([sign * (m - known_mmhg[s]) for s, m in phases.means_mmhg.items()])
    above = np.any(off >= LEVEL_APART_MMHG, axis=0)
    on_side = np.asarray(above & ~np.any(off <= -LEVEL_APART_MMHG, axis=0))
    beside = Said(
        "{apart:g} mmHg or more above the span that was stated"
        if standing
        else "{apart:g} mmHg or more below the span that was stated",
        {"apart": LEVEL_APART_MMHG},
    )
    wanted: dict[str, Value] = {"wanted": _STANDING if standing else _REST}
    if not on_side.any():
        reason = Said(
            "no quiet phase lies {beside}: state {wanted} too", {"beside": beside, **wanted}
        )
        return SpanChoice(None, reason=reason)
    for site, means in phases.means_mmhg.items():
        if levels_of(means[on_side]).max() > 0:
            reason = Said(
                "the {site} has more than one quiet level ({levels} mmHg) {beside}: state "
                "{wanted} too",
                {
                    "site": Said(site.label),
                    "levels": _listed(means[on_side]),
                    "beside": beside,
                    **wanted,
                },
            )
            return SpanChoice(None, reason=reason)
        lowest = float(means[on_side].min())
        if lowest < UNLOADED_MMHG:
            reason = Said(
                "the {site} reads {pressure:.1f} mmHg: was the sensor under the bandage? state "
                "{wanted} too",
                {"site": Said(site.label), "pressure": lowest, **wanted},
            )
            return SpanChoice(None, reason=reason)
    return SpanChoice(_longest(phases.quiet, on_side))


def _longest(spans: Sequence[Span], among: Mask) -> Span:
    return max(
        (span for span, wanted in zip(spans, among, strict=True) if wanted),
        key=lambda span: span.end_s - span.start_s,
    )


def _listed(means_mmhg: Array) -> str:
    return ", ".join(f"{mean:.1f}" for mean in level_means_mmhg(means_mmhg))


def _movement(time_s: Array, channels: Channels, phases: Phases) -> SpanChoice:
    interval = median_interval_s(time_s)

    def moves(span: Span) -> bool:
        inside = span.holds(time_s)
        return any(
            cycles_of(time_s[inside], p[inside], interval).swings_mmhg.size >= CYCLES_LEAST
            for p in channels.values()
        )

    moving = [span for span in phases.restless if moves(span)]
    if not moving:
        none = Said("no phase with at least {least} cycles was found", {"least": CYCLES_LEAST})
        return SpanChoice(None, reason=none)
    if len(moving) > 1:
        listed = joined(span.said for span in moving[:3])
        reason = Said(
            "{count} phases of movement ({spans} …): state which one"
            if len(moving) > 3
            else "{count} phases of movement ({spans}): state which one",
            {"count": len(moving), "spans": listed},
        )
        return SpanChoice(None, reason=reason)
    return SpanChoice(moving[0])
