"""The hands and the theory that a plan reckons with: what is published, or what was learnt."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeGuard

import numpy as np

from gaiter.core.case import Bandager, Calibration, Case, Habit, SiteOffset
from gaiter.core.fabric import Material
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark
from gaiter.core.plan.assemble import MARK_SPACING_RELAXED_CM
from gaiter.core.plan.design import Design
from gaiter.core.plan.layers import DesignedLayer
from gaiter.core.policy import Policy
from gaiter.core.spread.draws import Hands, SpreadInputs
from gaiter.core.words import COMMA, NOTHING, SEMICOLON, Said, Value, joined

# One slip of typing must not move every plan of a clinic; five bandages already helped in the
# headline benchmark (our choice).
COUNTS_FROM_BANDAGES = 5
_AT = {
    Landmark.ANKLE: Said("above the ankle"),
    Landmark.CALF: Said("at the calf"),
    Landmark.BELOW_KNEE: Said("below the knee"),
}
_TIGHT, _LOOSE = "{percent:.0f} % too tight {where}", "{percent:.0f} % too loose {where}"
_ONE_READING = "{tends}, ± {spread:.0f} %, from {readings} reading"
_READINGS = "{tends}, ± {spread:.0f} %, from {readings} readings"
_MEASURED = "Measured over theory by this clinic's sensor: {parts}; policy has {shipped:.2f}."
_TOO_FEW = (
    "Measured over theory by this clinic's sensor: {parts}; policy has {shipped:.2f}, which is "
    "taken until {bandages} bandages were read."
)

_OFFSET = (
    "At the {place} this clinic's sensor reads {median:.2f} of what it would by its readings at "
    "the gaiter (up to {more:.0f} % more or as much less on another leg): legs {legs}, bandages "
    "{bandages}."
)
_OFFSET_TOO_FEW = (
    "At the {place} this clinic's sensor reads {median:.2f} of what it would by its readings at "
    "the gaiter (up to {more:.0f} % more or as much less on another leg): legs {legs}, bandages "
    "{bandages}; not used until {needed} bandages were read there."
)


def spread_inputs(
    system: str, materials: Sequence[Material], case: Case, bandager: Bandager, policy: Policy
) -> SpreadInputs:
    """How uncertain hands, theory and padding are for a system of these materials.

    Parameters
    ----------
    system : str
        Name of the system.
    materials : sequence of Material
        One for each layer.
    case : Case
        What its clinic's sensor taught.
    bandager : Bandager
        Training, and habits where they are known.
    policy : Policy
        Spread by training, and the theory remainder of whoever has none of their own.

    Returns
    -------
    SpreadInputs
        Padding is that of all layers together, low, planned and high [cm].

    References
    ----------
    The policy's numbers: Ehmann et al. 2023, doi 10.25270/wmp.2023.2.22072 (trained hands); a blind
    mixed group, fibre-optic tape study (mid-calf 44 ± 19 mmHg); Al Khaburi et al. 2011 and
    Garrigues-Ramón et al. 2021 (measured over theory).

    Examples
    --------
    One layer of wool, 0 to 5.65 mm thick, half of it planned:

    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> task, materials = leg.task, leg.made["one_elastic"].materials
    >>> inputs = spread_inputs(
    ...     "one_elastic", materials, task.patient.case, task.bandager, task.policy
    ... )
    >>> inputs.padding_cm, inputs.remainder_median == task.policy["theory_remainder_median"]
    ((0.0, 0.2825, 0.565), True)
    """
    thicknesses = [m.thickness for m in materials if m.thickness is not None]
    stranger = Hands.of_spread(policy.hands[bandager.training].tension_cv)
    pressing = [material.key for material in materials if material.presses]
    habits = [bandager.habits.get(key) for key in pressing]
    level = level_of(system, case.calibration, policy)
    return SpreadInputs(
        hands=tuple(_known_hands(habit) if habit else stranger for habit in habits),
        remainder_median=level.median,
        remainder_range95=level.range95,
        padding_cm=(
            sum(t.low_cm for t in thicknesses),
            sum(t.planned_cm for t in thicknesses),
            sum(t.high_cm for t in thicknesses),
        ),
        offsets=offsets_of(case.calibration),
    )


def _known_hands(habit: Habit) -> Hands:
    """Hands of a record; a height without readings is taken as planned."""
    at = [habit.heights.get(height) for height in HABIT_HEIGHTS]
    sure = [one.sure_percent for one in at if one]
    return Hands(
        bias_sd=float(np.log1p(sum(sure) / len(sure) / 100)),
        scatter_sd=float(np.log1p(habit.spread_percent / 100)),
        habit=tuple(float(np.log1p(one.tension_percent / 100)) if one else 0.0 for one in at),  # type: ignore[arg-type] # three heights
    )


def habit_in_words(habit: Habit) -> Said:
    """One habit in words; a height is named when its bias is larger than what is unsure of it.

    Parameters
    ----------
    habit : Habit
        Learnt from readings, by height of the leg.

    Returns
    -------
    Said

    Examples
    --------
    >>> from gaiter.core.case import HabitAt
    >>> at = HabitAt(tension_percent=-8.0, sure_percent=4.0)
    >>> habit_in_words(Habit(readings=12, heights={"calf": at}, spread_percent=11.0)).text
    'tends to 8 % too loose at the calf, ± 11 %, from 12 readings'
    """
    named = [
        Said(
            _TIGHT if at.tension_percent > 0 else _LOOSE,
            {"percent": abs(at.tension_percent), "where": _AT[height]},
        )
        for height, at in habit.heights.items()
        if abs(at.tension_percent) > at.sure_percent and abs(at.tension_percent) >= 1
    ]
    tends = Said("no habit that stands out")
    if named:
        tends = Said("tends to {habits}", {"habits": joined(named, COMMA)})
    return Said(
        _ONE_READING if habit.readings == 1 else _READINGS,
        {"tends": tends, "spread": habit.spread_percent, "readings": habit.readings},
        "habit",
    )


def what_habits_change(design: Design, strangers: Design, bandager: Bandager) -> Said:
    """What a plan for these hands asks that one for anybody of their training would not.

    Parameters
    ----------
    design, strangers : Design
        For these hands, and for hands of the same training that nobody knows.
    bandager : Bandager
        Whose habits are known.

    Returns
    -------
    Said
        Empty where no habit of a layer is known.

    Examples
    --------
    Hands that pull 10 % too tight are given marks that stand closer:

    >>> from types import SimpleNamespace
    >>> from gaiter.core.case import HabitAt
    >>> tight = HabitAt(tension_percent=10.0, sure_percent=4.0)
    >>> habit = Habit(readings=12, heights={"calf": tight}, spread_percent=11.0)
    >>> known = Bandager(training="trained", initials="AB", habits={"elastic": habit})
    >>> cloth, laid = SimpleNamespace(key="elastic", title="Elastic"), SimpleNamespace(geometry=0)
    >>> design, strangers = (
    ...     SimpleNamespace(layers=[SimpleNamespace(material=cloth, laid=laid, stretch=stretch)])
    ...     for stretch in (0.5, 0.6)
    ... )
    >>> what_habits_change(design, strangers, known).text.partition("; ")[2]
    'aim for 15.0 cm marks instead of 16.0'
    """
    words = []
    for ours, theirs in zip(design.layers, strangers.layers, strict=True):
        habit = bandager.habits.get(ours.material.key)
        if habit is None:
            continue
        values = {
            "material": Said(ours.material.title.lower()),
            "habit": habit_in_words(habit),
            "aim": _aim(ours, theirs),
        }
        words.append(Said("{material}: {habit}; {aim}", values))
    if not words:
        return NOTHING
    who = bandager.initials or Said("this bandager")
    layers = joined(words, SEMICOLON)
    return Said("Made for {who}: {layers}", {"who": who, "layers": layers}, "for_hands")


def _aim(ours: DesignedLayer, theirs: DesignedLayer) -> Said:
    """What to do otherwise than somebody unknown; how it lies is named only where it differs."""
    marks, others = (
        round(MARK_SPACING_RELAXED_CM * (1 + one.stretch), 1) for one in (ours, theirs)
    )
    if ours.laid.geometry == theirs.laid.geometry:
        if marks == others:
            return Said("the marks stay as for anybody")
        return Said(
            "aim for {marks:.1f} cm marks instead of {others:.1f}",
            {"marks": marks, "others": others},
        )
    return Said(
        "{how} and {marks:.1f} cm marks instead of {instead} and {others:.1f} cm",
        {"how": _lies(ours), "marks": marks, "instead": _lies(theirs), "others": others},
    )


def _lies(layer: DesignedLayer) -> Said:
    """How a layer lies."""
    geometry = layer.laid.geometry
    return Said(
        "{pattern}, overlap {overlap:.0f} %",
        {"pattern": Said(geometry.pattern.value), "overlap": 100 * geometry.overlap},
    )


@dataclass(frozen=True)
class Level:
    """The theory remainder that a plan reckons with.

    Attributes
    ----------
    median, range95 : float
        Median of measured over theory, and its 95 % range as a fraction up.

    Examples
    --------
    >>> Level(0.9, 0.35).median
    0.9
    """

    median: float
    range95: float


def level_of(system: str, calibration: Calibration | None, policy: Policy) -> Level:
    """Measured over theory for a system: the clinic's own where it counts, else the policy's.

    Parameters
    ----------
    system : str
        Name of the system.
    calibration : Calibration or None
        What the clinic's sensor taught.
    policy : Policy
        The remainder of whoever has none of their own.

    Returns
    -------
    Level

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> level_of("four_layer", None, shipped_policy()).range95
    0.35
    """
    if _counts(calibration):
        own = calibration.of(system)
        return Level(own.median, own.range95)
    return Level(policy["theory_remainder_median"], policy["theory_remainder_range95"])


def offsets_of(calibration: Calibration | None) -> tuple[tuple[Landmark, SiteOffset], ...]:
    """What the clinic's sensor reads at sites beside the gaiter, where enough bandages say it.

    Parameters
    ----------
    calibration : Calibration or None
        What the clinic's sensor taught.

    Returns
    -------
    tuple of (Landmark, SiteOffset)

    Examples
    --------
    >>> offsets_of(None)
    ()
    """
    if not _counts(calibration):
        return ()
    return tuple(
        (site, one)
        for site, one in calibration.sites.items()
        if one.bandages >= COUNTS_FROM_BANDAGES
    )


def _counts(calibration: Calibration | None) -> TypeGuard[Calibration]:
    """Whether a calibration rests on enough bandages to move a plan."""
    return calibration is not None and calibration.clinic.bandages >= COUNTS_FROM_BANDAGES


def calibration_in_words(calibration: Calibration | None, policy: Policy) -> Said:
    """How many readings stand behind the theory remainder.

    Parameters
    ----------
    calibration : Calibration or None
        What the clinic's sensor taught; None: nothing.
    policy : Policy
        The remainder that is taken without it.

    Returns
    -------
    Said

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> calibration_in_words(None, shipped_policy()).code
    'not_calibrated'
    """
    shipped = policy["theory_remainder_median"]
    if calibration is None:
        return Said(
            "No reading of this clinic's sensor stands behind the pressures: measured over theory "
            "is taken as {shipped:.2f}, by policy.",
            {"shipped": shipped},
            "not_calibrated",
        )
    systems = calibration.systems.items()
    named = [
        (Said("this clinic"), calibration.clinic),
        *((Said(name.replace("_", " ")), one) for name, one in systems),
    ]
    parts = [
        Said(
            "{name} {median:.2f} (up to {more:.0f} % more or as much less) from {values} values on "
            "{bandages} bandages",
            {
                "name": name,
                "median": one.median,
                "more": 100 * one.range95,
                "values": one.values,
                "bandages": one.bandages,
            },
        )
        for name, one in named
    ]
    values: dict[str, Value] = {"parts": joined(parts, SEMICOLON), "shipped": shipped}
    if _counts(calibration):
        return Said(_MEASURED, values, "calibrated")
    return Said(_TOO_FEW, {**values, "bandages": COUNTS_FROM_BANDAGES}, "calibrated")


def offsets_in_words(calibration: Calibration | None) -> tuple[Said, ...]:
    """What the clinic's sensor reads at sites beside the gaiter, a sentence a site.

    Parameters
    ----------
    calibration : Calibration or None
        What the clinic's sensor taught.

    Returns
    -------
    tuple[Said, ...]

    Examples
    --------
    >>> from gaiter.core.case import Remainder
    >>> clinic = Remainder(bandages=9, values=9, median=0.9, range95=0.3)
    >>> ankle = SiteOffset(bandages=9, legs=4, median=0.82, range95=0.5)
    >>> made = Calibration(clinic=clinic, sites={"ankle": ankle})
    >>> print(*offsets_in_words(made))
    At the ankle this clinic's sensor reads 0.82 of what it would by its readings at the gaiter \
    (up to 50 % more or as much less on another leg): legs 4, bandages 9.
    """
    if calibration is None:
        return ()
    used = dict(offsets_of(calibration))
    return tuple(
        Said(
            _OFFSET if site in used else _OFFSET_TOO_FEW,
            {
                "place": Said(site.label),
                "median": one.median,
                "more": 100 * one.range95,
                "legs": one.legs,
                "bandages": one.bandages,
                "needed": COUNTS_FROM_BANDAGES,
            },
            "site_offset",
        )
        for site, one in calibration.sites.items()
    )
