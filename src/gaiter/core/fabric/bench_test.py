"""Bench test of a clinic's own roll: readings of scale and tape to a stretch curve.

The curve is fitted to the loading readings by least squares in the two parameters that the
catalogue's classes stand for; unloading readings give the hysteresis, a held stretch the
relaxation.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator
from scipy.optimize import curve_fit

from gaiter.core.arrays import Array
from gaiter.core.errors import InputError
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.record import Record
from gaiter.core.units import newton_from_kgf
from gaiter.core.words import Said

_LEAST_READINGS = 4
# The fitted lock lies beyond the largest stretch that was read, and not absurdly far.
_LARGEST_LOCK = 6.0
# A reading this far off the fitted curve is named as odd [share of the largest tension].
_ODD_SHARE = 0.08


class BenchReading(Record):
    """One step: the pull, and the distance between the marks."""

    mass_kg: Annotated[float | None, Field(ge=0, le=30, json_schema_extra={"unit": "kg"})] = None
    force_n: Annotated[float | None, Field(ge=0, le=300, json_schema_extra={"unit": "N"})] = None
    length_cm: Annotated[float, Field(gt=0, le=600, json_schema_extra={"unit": "cm"})]
    branch: Literal["up", "down"] = "up"

    @model_validator(mode="after")
    def _one_pull(self) -> Self:
        if (self.mass_kg is None) == (self.force_n is None):
            raise InputError("give either mass_kg or force_n, the scale's reading in kg or N")
        return self

    @property
    def newton(self) -> float:
        """The pull [N].

        Returns
        -------
        float
            [N].

        Examples
        --------
        >>> BenchReading(mass_kg=1.0, length_cm=140).newton
        9.80665
        """
        if self.force_n is not None:
            return self.force_n
        return newton_from_kgf(self.mass_kg or 0.0)


class Hold(Record):
    """A stretch held for a while: the pull at its start and end."""

    length_cm: Annotated[float, Field(gt=0, le=600, json_schema_extra={"unit": "cm"})]
    start_kg: Annotated[float, Field(gt=0, le=30, json_schema_extra={"unit": "kg"})]
    end_kg: Annotated[float, Field(gt=0, le=30, json_schema_extra={"unit": "kg"})]
    hours: Annotated[float, Field(gt=0, le=72, json_schema_extra={"unit": "h"})] = 1.0

    @model_validator(mode="after")
    def _loses(self) -> Self:
        if self.end_kg > self.start_kg:
            raise InputError(
                Said(
                    "hold.end_kg must be at most start_kg, {start:g} kg: fabric relaxes; received "
                    "{end:g} kg: read the scale again",
                    {"start": self.start_kg, "end": self.end_kg},
                )
            )
        return self


class BenchTest(Record):
    """The document, ``gaiter.bench/1``."""

    document: Annotated[Literal["gaiter.bench/1"], Field(alias="schema")]
    material: str
    tested_on: date
    washes: Annotated[int, Field(ge=0, le=1000)] = 0
    width_cm: Annotated[float, Field(ge=2, le=40, json_schema_extra={"unit": "cm"})]
    relaxed_cm: Annotated[float, Field(ge=10, le=300, json_schema_extra={"unit": "cm"})]
    usual_stretch: Annotated[float | None, Field(gt=0, le=3)] = None
    readings: tuple[BenchReading, ...]
    hold: Hold | None = None

    @model_validator(mode="after")
    def _readable(self) -> Self:
        up = [r for r in self.readings if r.branch == "up" and r.newton > 0]
        if len(up) < _LEAST_READINGS:
            raise InputError(
                Said(
                    "readings must hold at least {least} on the way up with a pull above 0; "
                    "received {count}: pull in more steps",
                    {"least": _LEAST_READINGS, "count": len(up)},
                )
            )
        for reading in self.readings:
            if reading.length_cm < self.relaxed_cm:
                raise InputError(
                    Said(
                        "length_cm must be at least the relaxed {relaxed:g} cm; received "
                        "{length:g} cm: measure between the same marks",
                        {"relaxed": self.relaxed_cm, "length": reading.length_cm},
                    )
                )
        for before, after in pairwise(up):
            longer, harder = after.length_cm > before.length_cm, after.newton > before.newton
            if not (longer and harder):
                raise InputError(
                    Said(
                        "on the way up both pull and length must grow; {after:.2f} N at "
                        "{after_cm:g} cm follows {before:.2f} N at {before_cm:g} cm: read that "
                        "step again",
                        {
                            "after": after.newton,
                            "after_cm": after.length_cm,
                            "before": before.newton,
                            "before_cm": before.length_cm,
                        },
                    )
                )
        return self

    def stretch(self, length_cm: float) -> float:
        """Stretch at a length between the marks, as a fraction.

        Parameters
        ----------
        length_cm : float
            Distance between the marks [cm].

        Returns
        -------
        float
            0 at the relaxed length.

        Examples
        --------
        >>> BenchTest.model_construct(relaxed_cm=100.0).stretch(125.0)
        0.25
        """
        return length_cm / self.relaxed_cm - 1


@dataclass(frozen=True)
class BenchResult:
    """What a bench test says of a roll.

    Attributes
    ----------
    curve : StretchCurve
        Fitted curve.
    tension_sd_n_per_cm : float
        Scatter of the loading readings about it [N/cm].
    tension_error_share, lock_error : float
        Standard errors of the tension at usual stretch (as a share) and of the locking stretch.
    hysteresis : float or None
        Share of tension lost half-way back; None without readings on the way down.
    relaxation : float or None
        Share of tension lost over the hold; None without one.
    odd : tuple[str, ...]
        Readings far off the curve, in words.

    Examples
    --------
    >>> curve = StretchCurve(0.5, 1.0, 2.0)
    >>> BenchResult(curve, 0.01, 0.02, 0.1, None, None, ()).curve.locking_stretch
    2.0
    """

    curve: StretchCurve
    tension_sd_n_per_cm: float
    tension_error_share: float
    lock_error: float
    hysteresis: float | None
    relaxation: float | None
    odd: tuple[str, ...]


def fit_bench_test(test: BenchTest) -> BenchResult:
    """The stretch curve of a roll from its readings.

    Parameters
    ----------
    test : BenchTest
        Readings up, and down if there are any.

    Returns
    -------
    BenchResult

    Raises
    ------
    InputError
        If no curve of the model's form passes near the readings.

    Notes
    -----
    The recipe of the test and the form of the curve are our choice; no open curve was found.

    Examples
    --------
    Readings on a curve of 1 N/cm at a stretch of 0.5 that locks at 2, on 10 cm of width:

    >>> curve = StretchCurve(0.5, 1.0, 2.0)
    >>> pulls = [(10 * float(curve.tension_n_per_cm(e)), e) for e in (0.2, 0.4, 0.5, 0.8, 1.0)]
    >>> found = fit_bench_test(BenchTest(
    ...     document="gaiter.bench/1", material="elastic", tested_on=date(2026, 1, 1),
    ...     width_cm=10, relaxed_cm=100, usual_stretch=0.5,
    ...     readings=[{"force_n": n, "length_cm": 100 * (1 + e)} for n, e in pulls],
    ... )).curve
    >>> round(found.usual_tension_n_per_cm, 3), round(found.locking_stretch, 3)
    (1.0, 2.0)
    """
    up = [r for r in test.readings if r.branch == "up" and r.newton > 0]
    stretch = np.array([test.stretch(r.length_cm) for r in up])
    tension = np.array([r.newton for r in up]) / test.width_cm
    usual = test.usual_stretch or float(stretch[len(stretch) // 2])
    largest = float(stretch.max())

    def loading(e: Array, usual_tension: float, lock: float) -> Array:
        return StretchCurve(usual, usual_tension, lock).tension_n_per_cm(e)

    start = (float(np.interp(usual, stretch, tension)), 2 * largest)
    bounds = ([1e-3, max(largest, usual) * 1.001], [50.0, _LARGEST_LOCK])
    try:
        (usual_tension, lock), covariance = curve_fit(
            loading, stretch, tension, start, bounds=bounds
        )
    except RuntimeError as error:
        raise InputError(
            "no stretch curve passes near the readings: check the marks and read again"
        ) from error
    curve = StretchCurve(usual, float(usual_tension), float(lock))
    residual = tension - curve.tension_n_per_cm(stretch)
    errors = np.sqrt(np.diag(covariance))
    hysteresis = _hysteresis(test, curve, largest)
    if hysteresis is not None:
        curve = StretchCurve(usual, float(usual_tension), float(lock), hysteresis)
    hold = test.hold
    return BenchResult(
        curve=curve,
        tension_sd_n_per_cm=float(np.sqrt((residual**2).sum() / max(len(up) - 2, 1))),
        tension_error_share=float(errors[0] / usual_tension),
        lock_error=float(errors[1]),
        hysteresis=hysteresis,
        relaxation=None if hold is None else 1 - hold.end_kg / hold.start_kg,
        odd=tuple(_odd(up, residual, float(tension.max()))),
    )


def _hysteresis(test: BenchTest, curve: StretchCurve, largest: float) -> float | None:
    """Least-squares share lost half-way back: the loss is 4 h (e / m) (1 - e / m) of loading."""
    down = [r for r in test.readings if r.branch == "down"]
    stretch = np.array([test.stretch(r.length_cm) for r in down])
    inside = (stretch > 0) & (stretch < largest)
    if not inside.any():
        return None
    share = stretch[inside] / largest
    loading = curve.tension_n_per_cm(stretch[inside])
    read = np.array([r.newton for r in down])[inside] / test.width_cm
    shape = 4 * share * (1 - share) * loading
    return float(np.clip((shape @ (loading - read)) / (shape @ shape), 0, 0.95))


def _odd(up: Sequence[BenchReading], residual: Array, largest: float) -> list[str]:
    return [
        f"{reading.newton:.2f} N at {reading.length_cm:g} cm lies "
        f"{abs(off) / largest:.0%} of the largest tension off the curve: read it again"
        for reading, off in zip(up, residual, strict=True)
        if abs(off) > _ODD_SHARE * largest
    ]
