"""Pressure as applied beside the plan, and what to do about it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaiter import __version__
from gaiter.core.applied.document import (
    Advice,
    Applied,
    AppliedLayer,
    AppliedSite,
    AppliedSpacing,
    Redo,
)
from gaiter.core.applied.readings import RELAXED_CM, SPACING_PLACES, Readings, read_system
from gaiter.core.applied.redo import redo
from gaiter.core.applied.sampled import (
    OVERLAP_READING_SD_CM,
    SampledApplied,
    sampled_after,
)
from gaiter.core.applied.stretch import CONTRADICTS_FROM, READING_SD
from gaiter.core.arrays import Array
from gaiter.core.landmark import HABIT_HEIGHTS, LEG_SITES, Landmark
from gaiter.core.plan.document import Layer, LegPlan, Plan, SystemPlan
from gaiter.core.plan.pressures import Profile
from gaiter.core.spread.sampling import Band
from gaiter.core.words import Said, Value, words

# A plan carries policy's chances of exceeding a maximum from which its bandage comes off at once,
# and from which it is laid again; plans made before they were kept are judged by these.
_TAKE_OFF_BEFORE, _REDO_BEFORE = 0.25, 0.10
# Spacings that every stretching layer needs before a bandage is called good: above the ankle,
# at the calf and below the knee are asked for, two show a trend (our choice).
LEAST_SPACINGS = 2
# A bandage this near to its plan lies as planned (our choice; a sensor reads to 3 mmHg).
_LEAST_OFF_MMHG, _LEAST_OFF_SHARE = 2.0, 0.1
# A spread this wide, a factor of 150 either way, tells nothing; where fabric lies slack it has no
# end.
_TELLS_NOTHING_LOG_SD = 5.0
# Upper quartile of the standard normal.
_QUARTILE = 0.6744897501960817
_FOOT = (Landmark.METATARSAL_HEADS, Landmark.INSTEP)
_CAUTIONS = (
    Said(
        "Toes cold, blue or numb, or pain that grows: take the bandage off whatever the numbers "
        "say."
    ),
    Said(
        "Pressure is calculated from what was read; it does not replace the check of toes, fit and "
        "comfort."
    ),
)
_SPACING_SURPRISE = {
    "wider": "layer {layer}, {place}: marks {cm:g} cm apart are far wider than the plan, these "
    "hands and the other spacings lead one to expect; read it again",
    "closer": "layer {layer}, {place}: marks {cm:g} cm apart are far closer than the plan, these "
    "hands and the other spacings lead one to expect; read it again",
}
# By whether marks were read to compare it with.
_SENSOR_SURPRISE = {
    ("above", True): "sensor at the {place}: {mmhg:g} mmHg is far above what the marks can give "
    "there; read both again, and look whether the sensor lies flat",
    ("above", False): "sensor at the {place}: {mmhg:g} mmHg is far above what the plan can give "
    "there; read both again, and look whether the sensor lies flat",
    ("below", True): "sensor at the {place}: {mmhg:g} mmHg is far below what the marks can give "
    "there; read both again, and look whether the sensor lies flat",
    ("below", False): "sensor at the {place}: {mmhg:g} mmHg is far below what the plan can give "
    "there; read both again, and look whether the sensor lies flat",
}
_PAIR_SURPRISE = (
    "the sensor reads {high_mmhg:g} mmHg at the {high} and {low_mmhg:g} mmHg at the {low}: these "
    "do not go together; read both again, each at its own place"
)
_LOOSE = "{place}: too loose, likely {likely:.0f} mmHg where {low:.0f} to {high:.0f} is aimed at"
_TIGHT = "{place}: too tight, likely {likely:.0f} mmHg where {low:.0f} to {high:.0f} is aimed at"


def applied_pressure(plan: Plan, readings: Readings) -> Applied:
    """Pressure of a bandage that lies, from what was read on it.

    Parameters
    ----------
    plan : Plan
        What it was bandaged by.
    readings : Readings
        Mark spacings, overlaps, sensor values.

    Returns
    -------
    Applied

    Raises
    ------
    InputError
        If the readings belong to another plan, or cannot have been read on it.

    Notes
    -----
    How many spacings make a bandage good, and how near to its plan it lies as planned, is our
    choice.

    References
    ----------
    Hafner et al. 2000, doi 10.1046/j.1524-4725.2000.99257.x (sensors of the trade read to 3 mmHg).

    Examples
    --------
    A sensor that reads more than the maximum of 60 mmHg:

    >>> from gaiter.core.applied.readings import SensorValue
    >>> from gaiter.files.example_bench import example_bench
    >>> read = Readings(
    ...     document="gaiter.readings/1", side="right", system="one_elastic",
    ...     sensor=(SensorValue(place=Landmark.GAITER, mmhg=61.0),), confirmed=True,
    ... )
    >>> found = applied_pressure(example_bench().plan, read)
    >>> found.advice.value, next(one.text for one in found.reasons if "sensor" in one)
    ('take off now', 'gaiter: the sensor reads 61 mmHg, above the maximum of 60 mmHg')
    """
    leg, system = read_system(plan, readings)
    after = sampled_after(leg, system, readings, plan.seed)
    sites = _sites(leg, system, after, readings)
    questions = _questions(after, readings)
    limits = _Limits.of(leg, system)
    advice, reasons = _advice(sites, questions, system, readings, limits)
    return Applied(
        gaiter=__version__,
        case=plan.case.reference,
        invented=plan.case.invented,
        today=plan.today,
        side=leg.side,
        system=system.name,
        title=system.title,
        maximum_mmhg=leg.decision.maximum_mmhg or 0.0,
        advice=advice,
        reasons=tuple(reasons),
        redo=_redo_for(advice, after, sites, readings, plan.remainder_of(system), limits),
        questions=tuple(questions),
        confirmed=readings.confirmed,
        layers=_layers(after, readings),
        sites=tuple(sites),
        chance_every_site_in_range=_chance_every(sites, after),
        profile=Profile.of(after.padded_leg.profile[0], after.profile_mmhg),
        spacings_read=len(readings.spacings),
        sensor_values_read=len(readings.sensor),
        remainder_median=float(np.median(after.remainder)),
        remainder_planned=plan.remainder_of(system),
        cautions=_CAUTIONS,
    )


@dataclass(frozen=True)
class _Limits:
    """What a site is judged by: its maximum, and chances of exceeding it, as the plan has them."""

    maximum_mmhg: Mapping[Landmark, float]
    leg_mmhg: float
    take_off_from: float
    redo_from: float

    @classmethod
    def of(cls, leg: LegPlan, system: SystemPlan) -> "_Limits":
        whole = leg.decision.maximum_mmhg or 0.0
        return cls(
            {
                site.landmark: whole if site.maximum_mmhg is None else site.maximum_mmhg
                for site in system.sites
            },
            whole,
            _TAKE_OFF_BEFORE if leg.take_off_from_chance is None else leg.take_off_from_chance,
            _REDO_BEFORE if leg.redo_from_chance is None else leg.redo_from_chance,
        )

    def risky(self, site: AppliedSite) -> bool:
        """Whether a guarded site exceeds its maximum too often."""
        return site.guarded and site.chance_above_maximum > self.redo_from

    def values(self, site: AppliedSite) -> dict[str, Value]:
        """What is said of a site beside its maximum."""
        return {
            "place": Said(site.landmark.label),
            "likely": site.median_mmhg,
            "maximum": self.maximum_mmhg[site.landmark],
            "chance": site.chance_above_maximum,
        }

    def too_much(self, site: AppliedSite) -> Said | None:
        """Why the bandage comes off at once, None where it does not."""
        maximum = self.maximum_mmhg[site.landmark]
        # A sensor lies on one point, the inner side, as those did that the leg's maximum is from;
        # the ankle's own is a mean round the limb.
        read_maximum = min(maximum, self.leg_mmhg)
        if site.read_mmhg is not None and site.read_mmhg > read_maximum:
            return Said(
                "{place}: the sensor reads {mmhg:g} mmHg, above the maximum of {maximum:.0f} mmHg",
                {
                    "place": Said(site.landmark.label),
                    "mmhg": site.read_mmhg,
                    "maximum": read_maximum,
                },
                "sensor_above",
            )
        if site.chance_above_maximum >= self.take_off_from:
            return Said(
                "{place}: likely {likely:.0f} mmHg, and above the maximum of {maximum:.0f} mmHg "
                "with a chance of {chance:.0%}",
                self.values(site),
                "above",
            )
        return None


def _redo_for(
    advice: Advice,
    after: SampledApplied,
    sites: list[AppliedSite],
    readings: Readings,
    remainder: float,
    limits: _Limits,
) -> Redo | None:
    """How to bandage again; one that is taken off is begun anew, if it is begun at all."""
    if advice not in (Advice.REDO, Advice.TAKE_OFF):
        return None
    wrong = [site for site in sites if _outside(site) or limits.risky(site)] or sites
    found = redo(after, [site.landmark for site in wrong], remainder if readings.sensor else None)
    if found is None or advice is Advice.REDO:
        return found
    return found.model_copy(update={"from_turn": 1})


def _sites(
    leg: LegPlan, system: SystemPlan, after: SampledApplied, readings: Readings
) -> list[AppliedSite]:
    planned = {site.landmark: site for site in system.sites}
    read = {value.place: value.mmhg for value in readings.sensor}
    maximum = _Limits.of(leg, system).maximum_mmhg
    guarded = {*LEG_SITES, *(_FOOT if leg.guard_foot else ())}
    at_gaiter = after.theory_mmhg[after.padded_leg.row_read(Landmark.GAITER)]
    found = []
    for row, landmark in enumerate(after.padded_leg.sites):
        samples, plan = after.pressure_mmhg[row], planned[landmark]
        under_sensor = after.theory_mmhg[after.padded_leg.row_read(landmark)]
        band = Band.of(samples)
        low, high = plan.target_low_mmhg, plan.target_high_mmhg
        in_range = None
        if low is not None and high is not None:
            in_range = float(((low <= samples) & (samples <= high)).mean())
        found.append(
            AppliedSite(
                landmark=landmark,
                planned_mmhg=plan.median_mmhg,
                read_mmhg=read.get(landmark),
                theory_mmhg=float(np.median(under_sensor)),
                theory_log_sd=_log_sd(under_sensor),
                beside_gaiter_log_sd=_ratio_log_sd(under_sensor, at_gaiter),
                median_mmhg=band.median_mmhg,
                low_mmhg=band.low_mmhg,
                high_mmhg=band.high_mmhg,
                target_low_mmhg=low,
                target_high_mmhg=high,
                chance_in_range=in_range,
                chance_above_maximum=float((samples > maximum[landmark]).mean()),
                guarded=landmark in guarded,
            )
        )
    return found


def _log_sd(samples: Array) -> float:
    """Spread of a logarithm by its quartiles, which a few slack bandages do not move."""
    low, high = np.quantile(samples, [0.25, 0.75])
    if low <= 0:
        return _TELLS_NOTHING_LOG_SD
    return min(float(np.log(high / low) / (2 * _QUARTILE)), _TELLS_NOTHING_LOG_SD)


def _ratio_log_sd(samples: Array, at_gaiter: Array) -> float:
    """Spread of the logarithm of a ratio; a slack bandage, pressing nothing, has none."""
    pressing = (samples > 0) & (at_gaiter > 0)
    if not pressing.any():
        return _TELLS_NOTHING_LOG_SD
    return _log_sd(samples[pressing] / at_gaiter[pressing])


def _chance_every(sites: list[AppliedSite], after: SampledApplied) -> float:
    inside = np.ones(after.pressure_mmhg.shape[1], bool)
    for row, site in enumerate(sites):
        if site.target_low_mmhg is not None and site.target_high_mmhg is not None:
            pressure = after.pressure_mmhg[row]
            inside &= (site.target_low_mmhg <= pressure) & (pressure <= site.target_high_mmhg)
    return float(inside.mean())


def _questions(after: SampledApplied, readings: Readings) -> list[Said]:
    """Readings that do not go together, each named with what it contradicts."""
    questions = []
    for spacing, off in zip(readings.spacings, after.spacing_surprise, strict=True):
        if far := _far(off, "wider", "closer"):
            spaced: dict[str, Value] = {
                "layer": spacing.layer, "place": Said(spacing.place.label), "cm": spacing.cm
            }  # fmt: skip
            questions.append(Said(_SPACING_SURPRISE[far], spaced, "spacing"))
    for value, off in zip(readings.sensor, after.sensor_surprise, strict=True):
        if far := _far(off, "above", "below"):
            sensed: dict[str, Value] = {"place": Said(value.place.label), "mmhg": value.mmhg}
            template = _SENSOR_SURPRISE[far, bool(readings.spacings)]
            questions.append(Said(template, sensed, "sensor"))
    for one, other, off in after.sensor_pairs:
        if abs(off) > CONTRADICTS_FROM:
            high, low = (readings.sensor[at] for at in ((one, other) if off > 0 else (other, one)))
            paired: dict[str, Value] = {
                "high": Said(high.place.label), "high_mmhg": high.mmhg,
                "low": Said(low.place.label), "low_mmhg": low.mmhg,
            }  # fmt: skip
            questions.append(Said(_PAIR_SURPRISE, paired, "sensors"))
    return questions


def _far(off: float, over: str, under: str) -> str:
    """The word for a reading so many standard deviations off, empty where it may be chance."""
    if off > CONTRADICTS_FROM:
        return over
    return under if off < -CONTRADICTS_FROM else ""


def _outside(site: AppliedSite) -> bool:
    """Whether the bandage, and not the plan alone, lies outside the range aimed at."""
    if _inside(site):
        return False
    # A plan at the edge of its range that was laid as planned is not mended by laying it again.
    return abs(site.off_mmhg) > max(_LEAST_OFF_MMHG, _LEAST_OFF_SHARE * site.planned_mmhg)


def _advice(
    sites: list[AppliedSite],
    questions: list[Said],
    system: SystemPlan,
    readings: Readings,
    limits: _Limits,
) -> tuple[Advice, list[Said]]:
    """What to do, the gravest reason first."""
    too_much = [limits.too_much(site) for site in sites if site.guarded]
    if any(too_much):
        return Advice.TAKE_OFF, [said for said in too_much if said]
    if questions and not readings.confirmed:
        return Advice.READ_AGAIN, questions
    reasons = [_off_words(site) for site in sites if _outside(site)]
    reasons += [
        Said(
            "{place}: likely {likely:.0f} mmHg, but above the maximum of {maximum:.0f} mmHg with a "
            "chance of {chance:.0%}",
            limits.values(site),
            "risky",
        )
        for site in sites
        if limits.risky(site)
    ]
    if reasons:
        return Advice.REDO, [*reasons, *_overlap_words(system, readings)]
    missing = _missing(system, readings)
    if missing:
        return Advice.READ_MORE, missing
    if any(not _inside(site) for site in sites):
        return Advice.GOOD, [Said("it lies as planned, within the maximum")]
    return Advice.GOOD, [Said("every judged site is likely in its range, within the maximum")]


def _inside(site: AppliedSite) -> bool:
    low, high = site.target_low_mmhg, site.target_high_mmhg
    return low is None or high is None or low <= site.median_mmhg <= high


def _overlap_words(system: SystemPlan, readings: Readings) -> list[Said]:
    """Overlaps that differ from the plan by more than turns stray anyway."""
    layers = {layer.number: layer for layer in system.layers}
    found = []
    for reading in readings.overlaps:
        layer = layers[reading.layer]
        planned_cm = layer.overlap * (layer.leg_width_cm or layer.width_cm)
        if abs(reading.cm - planned_cm) > 2 * OVERLAP_READING_SD_CM:
            found.append(
                Said(
                    "layer {layer} overlaps by {cm:g} cm, planned {planned:.1f} cm",
                    {"layer": layer.number, "cm": reading.cm, "planned": planned_cm},
                    "overlap",
                )
            )
    return found


def _off_words(site: AppliedSite) -> Said:
    low, high = site.target_low_mmhg, site.target_high_mmhg
    loose = low is not None and site.median_mmhg < low
    values: dict[str, Value] = {
        "place": Said(site.landmark.label),
        "likely": site.median_mmhg,
        "low": low or 0.0,
        "high": high or 0.0,
    }
    return Said(_LOOSE if loose else _TIGHT, values, "off")


def _missing(system: SystemPlan, readings: Readings) -> list[Said]:
    """What is still to be read before the bandage may be called good."""
    if any(value.place is Landmark.GAITER for value in readings.sensor):
        return []
    found = []
    for layer in system.layers:
        if layer.fabric is None:
            continue
        have = {spacing.place for spacing in readings.spacings if spacing.layer == layer.number}
        if len(have) < LEAST_SPACINGS:
            left = [place.label for place in HABIT_HEIGHTS if place not in have]
            found.append(
                Said(
                    "layer {layer}, {material}: {count} of its spacings read; read {places} as "
                    "well, or a sensor at the gaiter",
                    {
                        "layer": layer.number,
                        "material": Said(layer.title.lower()),
                        "count": len(have),
                        "places": words(left),
                    },
                    "read_more",
                )
            )
    return found


def _layers(after: SampledApplied, readings: Readings) -> tuple[AppliedLayer, ...]:
    read = {(spacing.layer, spacing.place): spacing.cm for spacing in readings.spacings}
    found = []
    for layer, laid, stretch in zip(after.layers, after.laid, after.stretch, strict=True):
        if layer.fabric is None or layer.tensions_n_per_cm is None:
            continue
        planned = layer.stretch_percent / 100
        spacings = []
        for place in SPACING_PLACES:
            if place not in HABIT_HEIGHTS and (layer.number, place) not in read:
                continue
            there = np.maximum(stretch[after.turn_at(layer.number, place)], 0)
            low, middle, high = np.quantile(there, [0.05, 0.5, 0.95])
            tension = float(layer.fabric.curve.tension_n_per_cm(middle))
            told = _as_read(layer, read.get((layer.number, place)))
            spacings.append(
                AppliedSpacing(
                    place=place,
                    planned_cm=RELAXED_CM * (1 + planned),
                    read_cm=read.get((layer.number, place)),
                    likely_cm=RELAXED_CM * (1 + middle),
                    low_cm=RELAXED_CM * (1 + low),
                    high_cm=RELAXED_CM * (1 + high),
                    tension_percent=100 * (tension / layer.tensions_n_per_cm[1] - 1),
                    read_log_tension=told[0] if told else None,
                    read_log_error=told[1] if told else None,
                )
            )
        found.append(
            AppliedLayer(
                number=layer.number,
                material=layer.material,
                title=layer.title,
                planned_overlap=layer.overlap,
                overlap=laid.geometry.overlap,
                spacings=tuple(spacings),
            )
        )
    return tuple(found)


def _as_read(layer: Layer, read_cm: float | None) -> tuple[float, float] | None:
    """Log of tension as read over planned, and its reading error."""
    if read_cm is None or layer.fabric is None or layer.tensions_n_per_cm is None:
        return None
    curve = layer.fabric.curve
    # Less stretch than a tape can tell is slack, however little it was.
    stretch = max(read_cm / RELAXED_CM - 1, READING_SD)
    tension = float(curve.tension_n_per_cm(stretch))
    error = READING_SD * float(curve.slope_n_per_cm(stretch)) / tension
    return float(np.log(tension / layer.tensions_n_per_cm[1])), error
