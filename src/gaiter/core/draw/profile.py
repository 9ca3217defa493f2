"""Pressure along the leg, planned and as applied: bands, target range, maximum."""

from collections.abc import Mapping, Sequence
from typing import Protocol

from gaiter.core.applied.document import Applied
from gaiter.core.draw.palette import ACCENT, INK, PAPER, QUIET, RULE, STOP, TINT
from gaiter.core.draw.svg import Drawing
from gaiter.core.landmark import Landmark
from gaiter.core.plan.document import LegPlan, SystemPlan
from gaiter.core.plan.pressures import Profile, SitePressure
from gaiter.core.plan.rebuilt import surface_of
from gaiter.core.words import SEMICOLON, Said, Translate, joined

_WIDTH, _LEFT, _RIGHT, _TOP, _BOTTOM = 360.0, 92.0, 16.0, 34.0, 40.0
_STEP_MMHG = 20


def pressure_profile(
    leg: LegPlan, system: SystemPlan, height: float = 380.0, translate: Translate = str
) -> Drawing:
    """Pressure in mmHg across, place along the leg upwards.

    Parameters
    ----------
    leg : LegPlan
        A planned leg.
    system : SystemPlan
        One of its systems.
    height : float
        Height of the drawing [px].
    translate : callable
        From a template of its words to the same in the reader's language.

    Returns
    -------
    Drawing

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> decision = SimpleNamespace(maximum_mmhg=50.0, outcome=SimpleNamespace(value="full"))
    >>> surface = SimpleNamespace(s_cm={Landmark.GAITER: 20.0})
    >>> side = SimpleNamespace(value="right")
    >>> leg = LegPlan.model_construct(side=side, decision=decision, surface=surface)
    >>> site = SimpleNamespace(
    ...     landmark=Landmark.GAITER, median_mmhg=40.0, low_mmhg=30.0, high_mmhg=48.0,
    ...     target_low_mmhg=30.0, target_high_mmhg=50.0, maximum_mmhg=None,
    ... )
    >>> ends = (30.0, 20.0)
    >>> profile = Profile(s_cm=(0.0, 40.0), median_mmhg=ends, low_mmhg=ends, high_mmhg=ends)
    >>> system = SystemPlan.model_construct(sites=(site,), profile=profile)
    >>> "gaiter: likely 40 mmHg (30 to 48), aim 30 to 50" in pressure_profile(leg, system).to_text()
    True
    """
    maximum = leg.decision.maximum_mmhg or 0.0
    own = _own_maxima(system.sites, maximum)
    facts = joined(map(_site_said, system.sites), SEMICOLON)
    tops = [maximum, *own.values(), *system.profile.high_mmhg]
    axes = _Axes(
        system.profile,
        max([*tops, *(site.high_mmhg for site in system.sites)]),
        height,
        Said("Pressure along the {side} leg", {"side": Said(leg.side.value)}),
        _with_maxima(facts, maximum, own),
        translate,
    )
    axes.band(system.profile)
    axes.line(system.profile, QUIET, stroke_width=1)
    for site in system.sites:
        row = axes.row(surface_of(leg).s_cm[site.landmark])
        axes.aim(row, site)
        axes.whisker(row, site)
        axes.drawing.circle(axes.x(site.median_mmhg), row, 4, fill=INK)
        axes.label(row, site)
    axes.maximum(leg)
    axes.own_maxima(leg, own)
    return axes.drawing


def applied_profile(
    leg: LegPlan, applied: Applied, height: float = 400.0, translate: Translate = str
) -> Drawing:
    """Pressure as applied beside the plan: the plan grey and round, as applied dark and square.

    Parameters
    ----------
    leg : LegPlan
        The leg's plan.
    applied : Applied
        As :func:`gaiter.core.applied.judge.applied_pressure` gives it for this leg.
    height : float
        Height of the drawing [px].
    translate : callable
        From a template of its words to the same in the reader's language.

    Returns
    -------
    Drawing

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> decision = SimpleNamespace(maximum_mmhg=50.0, outcome=SimpleNamespace(value="full"))
    >>> ends = (30.0, 20.0)
    >>> profile = Profile(s_cm=(0.0, 40.0), median_mmhg=ends, low_mmhg=ends, high_mmhg=ends)
    >>> leg = LegPlan.model_construct(
    ...     side=SimpleNamespace(value="right"), decision=decision,
    ...     surface=SimpleNamespace(s_cm={Landmark.GAITER: 20.0}),
    ...     systems=[SimpleNamespace(name="own", profile=profile, sites=[])],
    ... )
    >>> site = SimpleNamespace(
    ...     landmark=Landmark.GAITER, planned_mmhg=40.0, median_mmhg=33.0, low_mmhg=28.0,
    ...     high_mmhg=39.0, target_low_mmhg=30.0, target_high_mmhg=50.0,
    ... )
    >>> applied = Applied.model_construct(
    ...     system="own", sites=[site], profile=profile, maximum_mmhg=50.0
    ... )
    >>> words = "gaiter: likely 33 mmHg (28 to 39), aim 30 to 50, planned 40"
    >>> words in applied_profile(leg, applied).to_text()
    True
    """
    planned = next(s for s in leg.systems if s.name == applied.system)
    facts = joined(
        (
            Said(
                "{site}, planned {planned:.0f}",
                {"site": _site_said(site), "planned": site.planned_mmhg},
            )
            for site in applied.sites
        ),
        SEMICOLON,
    )
    own = _own_maxima(planned.sites, applied.maximum_mmhg)
    tops = [applied.maximum_mmhg, *own.values(), *planned.profile.high_mmhg]
    tops += applied.profile.high_mmhg
    axes = _Axes(
        planned.profile,
        max([*tops, *(site.high_mmhg for site in applied.sites)]),
        height,
        Said("Pressure as applied along the {side} leg", {"side": Said(leg.side.value)}),
        _with_maxima(facts, applied.maximum_mmhg, own),
        translate,
    )
    axes.band(planned.profile)
    axes.line(planned.profile, QUIET, dashes="4 3", stroke_width=1)
    axes.line(applied.profile, INK, stroke_width=2)
    for site in applied.sites:
        row = axes.row(surface_of(leg).s_cm[site.landmark])
        axes.aim(row, site)
        axes.whisker(row, site)
        axes.drawing.circle(axes.x(site.planned_mmhg), row, 3.5, fill=PAPER, stroke=QUIET)
        axes.drawing.rectangle(axes.x(site.median_mmhg) - 4, row - 4, 8, 8, fill=INK)
        axes.label(row, site)
    axes.maximum(leg)
    axes.own_maxima(leg, own)
    axes.drawing.rectangle(_LEFT, 4, 8, 8, fill=INK)
    axes.drawing.text(_LEFT + 13, 12, Said("as applied, with its 90 % band"), font_size=10)
    axes.drawing.circle(_LEFT + 168, 8, 3.5, fill=PAPER, stroke=QUIET)
    axes.drawing.text(_LEFT + 176, 12, Said("planned, band grey"), font_size=10)
    return axes.drawing


class _Site(Protocol):
    """What a drawing needs to know of a reading site, planned or as applied."""

    @property
    def landmark(self) -> Landmark: ...
    @property
    def median_mmhg(self) -> float: ...
    @property
    def low_mmhg(self) -> float: ...
    @property
    def high_mmhg(self) -> float: ...
    @property
    def target_low_mmhg(self) -> float | None: ...
    @property
    def target_high_mmhg(self) -> float | None: ...


class _Axes:
    """Pressure across and place along the leg upwards, with what is drawn on them."""

    def __init__(  # what lies on the axes, and the words of the drawing
        self,
        profile: Profile,
        most_mmhg: float,
        height: float,
        title: Said,
        facts: Said,
        translate: Translate,
    ) -> None:
        self.drawing = Drawing(_WIDTH, height, title, facts, translate)
        self._top = _STEP_MMHG * (int(most_mmhg // _STEP_MMHG) + 1)
        self._s = profile.s_cm[0], profile.s_cm[-1]
        low, high = (self.row(s) for s in self._s)
        self._low, self._high = low, high
        for tick in range(0, self._top + 1, _STEP_MMHG):
            self.drawing.line(self.x(tick), low, self.x(tick), high, stroke=RULE, stroke_width=0.7)
            self.drawing.text(
                self.x(tick),
                low + 14,
                str(tick),
                text_anchor="middle",
                fill=QUIET,
                font_size=10,
            )
        self.drawing.text(
            (self.x(0) + self.x(self._top)) / 2,
            height - 8,
            Said("pressure, mmHg"),
            text_anchor="middle",
            fill=QUIET,
        )

    def x(self, pressure_mmhg: float) -> float:
        """Where a pressure lies across [px]."""
        return _LEFT + pressure_mmhg / self._top * (_WIDTH - _LEFT - _RIGHT)

    def row(self, s_cm: float) -> float:
        """Where a place lies upwards, at an end when it is beyond [px]."""
        first, last = self._s
        share = (min(max(s_cm, first), last) - first) / (last - first)
        height = self.drawing.height
        return height - _BOTTOM - share * (height - _TOP - _BOTTOM)

    def band(self, profile: Profile) -> None:
        """The 90 % band."""
        low, high = self._points(profile, "low_mmhg"), self._points(profile, "high_mmhg")
        self.drawing.curve([*low, *reversed(high)], closed=True, fill=RULE, fill_opacity=0.55)

    def line(
        self, profile: Profile, colour: str, *, stroke_width: float, dashes: str = "none"
    ) -> None:
        """The likely pressure."""
        self.drawing.curve(
            self._points(profile, "median_mmhg"),
            stroke=colour,
            stroke_width=stroke_width,
            stroke_dasharray=dashes,
        )

    def _points(self, profile: Profile, name: str) -> list[tuple[float, float]]:
        pairs = zip(getattr(profile, name), profile.s_cm, strict=True)
        return [(self.x(value), self.row(s)) for value, s in pairs]

    def aim(self, row: float, site: _Site) -> None:
        """The range aimed at."""
        if site.target_low_mmhg is None or site.target_high_mmhg is None:
            return
        left, right = self.x(site.target_low_mmhg), self.x(site.target_high_mmhg)
        self.drawing.rectangle(
            left,
            row - 9,
            right - left,
            18,
            fill=TINT,
            stroke=ACCENT,
            stroke_width=0.8,
            stroke_dasharray="1 2",
        )

    def whisker(self, row: float, site: _Site) -> None:
        """The band at a site."""
        low, high = self.x(site.low_mmhg), self.x(site.high_mmhg)
        self.drawing.line(low, row, high, row, stroke_width=1.5)
        for end in (low, high):
            self.drawing.line(end, row - 4, end, row + 4, stroke_width=1.5)

    def label(self, row: float, site: _Site) -> None:
        """Name and likely pressure of a site."""
        self.drawing.text(
            self.x(site.median_mmhg),
            row - 12,
            f"{site.median_mmhg:.0f}",
            text_anchor="middle",
            font_size=11,
            font_weight="600",
        )
        self.drawing.text(
            _LEFT - 8, row + 4, Said(site.landmark.label), text_anchor="end", font_size=10.5
        )

    def maximum(self, leg: LegPlan) -> None:
        """The maximum, named."""
        maximum = leg.decision.maximum_mmhg or 0.0
        at = self.x(maximum)
        self.drawing.line(at, self._low, at, self._high - 6, stroke=STOP, stroke_width=1.5)
        self.drawing.text(
            at,
            self._high - 10,
            Said(
                "maximum {maximum:.0f}, {outcome}",
                {"maximum": maximum, "outcome": Said(leg.decision.outcome.value.split(":")[0])},
            ),
            text_anchor="middle",
            fill=STOP,
            font_size=10,
            font_weight="600",
        )

    def own_maxima(self, leg: LegPlan, own: Mapping[Landmark, float]) -> None:
        """The maximum of a site that has another than the gaiter's: a stroke at its height."""
        for landmark, mmhg in own.items():
            at, row = self.x(mmhg), self.row(surface_of(leg).s_cm[landmark])
            self.drawing.line(at, row - 9, at, row + 9, stroke=STOP, stroke_width=1.5)
            self.drawing.text(
                at + 4, row + 4, f"{mmhg:.0f}", fill=STOP, font_size=10, font_weight="600"
            )


def _own_maxima(sites: Sequence[SitePressure], maximum_mmhg: float) -> dict[Landmark, float]:
    """Maxima that differ from the gaiter's; plans from before they were kept have none."""
    return {
        site.landmark: site.maximum_mmhg
        for site in sites
        if site.maximum_mmhg is not None and site.maximum_mmhg != maximum_mmhg
    }


def _site_said(site: _Site) -> Said:
    pressure = Said(
        "{place}: likely {likely:.0f} mmHg ({low:.0f} to {high:.0f})",
        {
            "place": Said(site.landmark.label),
            "likely": site.median_mmhg,
            "low": site.low_mmhg,
            "high": site.high_mmhg,
        },
    )
    if site.target_low_mmhg is None or site.target_high_mmhg is None:
        return pressure
    return Said(
        "{pressure}, aim {low:.0f} to {high:.0f}",
        {"pressure": pressure, "low": site.target_low_mmhg, "high": site.target_high_mmhg},
    )


def _with_maxima(facts: Said, maximum_mmhg: float, own: Mapping[Landmark, float]) -> Said:
    whole = Said(
        "{facts}. Maximum at the gaiter {maximum:.0f} mmHg.",
        {"facts": facts, "maximum": maximum_mmhg},
    )
    for landmark, mmhg in own.items():
        whole = Said(
            "{whole} Maximum at the {place} {maximum:.0f} mmHg.",
            {"whole": whole, "place": Said(landmark.label), "maximum": mmhg},
        )
    return whole
