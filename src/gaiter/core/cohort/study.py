"""A study: every leg of a cohort with every candidate system, and what it says about stock."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean

from gaiter.core.case import Purpose, Training
from gaiter.core.cohort.legs import CohortLeg, case_for
from gaiter.core.errors import InputError
from gaiter.core.landmark import LEG_SITES, Landmark, Side
from gaiter.core.plan import DEFAULT_SEED, LegPlan, SystemPlan, plan
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.policy import Policy
from gaiter.core.words import Said

STUDY_SAMPLES = 1024
_FEWEST_SAMPLES, _MOST_SAMPLES = 64, 65_536


class LegOutcome(StrEnum):
    """What came of one system on one leg; the first four are the plan's own words.

    Examples
    --------
    >>> LegOutcome("fits") is LegOutcome.FITS
    True
    """

    FITS = "fits"
    TO_ACCEPT = "to be accepted by name"
    NOT_IN_THESE_HANDS = "not in these hands"
    CANNOT_BE_REACHED = "cannot be reached"
    LEFT_OUT = "left out"
    NOT_PLANNED = "not planned"


@dataclass(frozen=True)
class StudyTerms:
    """What every leg of a study is planned with.

    Attributes
    ----------
    systems : tuple[str, ...]
        Candidate systems by name.
    purpose, training : Purpose, Training
        As in a case.
    seed, samples : int
        Seed and size (a power of two) of the spread, the same for every leg.
    prices : Mapping[str, float] or None
        Price of a roll by material, in one currency.

    Raises
    ------
    InputError
        If a system is unknown or named twice, or the sample size is no allowed power of two.

    Examples
    --------
    >>> StudyTerms(systems=("wool_short_stretch",)).samples == STUDY_SAMPLES
    True
    """

    systems: tuple[str, ...]
    purpose: Purpose = Purpose.VENOUS_ULCER
    training: Training = Training.TRAINED
    seed: int = DEFAULT_SEED
    samples: int = STUDY_SAMPLES
    prices: Mapping[str, float] | None = None

    def __post_init__(self) -> None:
        if not self.systems or len(set(self.systems)) < len(self.systems):
            raise InputError("systems must name at least one system, each once: correct the list")
        power_of_two = self.samples > 0 and self.samples & (self.samples - 1) == 0
        if not (power_of_two and _FEWEST_SAMPLES <= self.samples <= _MOST_SAMPLES):
            raise InputError(
                Said(
                    "samples must be a power of two, {fewest} to {most}; received {samples}: take "
                    "1024",
                    {"fewest": _FEWEST_SAMPLES, "most": _MOST_SAMPLES, "samples": self.samples},
                )
            )


def candidates(catalogue: BandageCatalogue, wanted: Iterable[str] | None = None) -> tuple[str, ...]:
    """Names of the systems that a study compares: those wanted, or every one.

    Parameters
    ----------
    catalogue : BandageCatalogue
        What there is.
    wanted : iterable of str or None
        Names of systems; None for every one.

    Returns
    -------
    tuple[str, ...]
        In the order they were wanted.

    Raises
    ------
    InputError
        If the catalogue has no such system.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> candidates(shipped_catalogue(), ["four_layer"])
    ('four_layer',)
    """
    names = tuple(catalogue.systems if wanted is None else wanted)
    for name in names:
        if name not in catalogue.systems:
            known = ", ".join(catalogue.systems)
            raise InputError(
                Said(
                    "systems must be among {known}; received {name}: correct it",
                    {"known": known, "name": name},
                )
            )
    return names


@dataclass(frozen=True)
class LegRow:
    """One system on one leg; None stands where nothing was planned.

    Attributes
    ----------
    leg, system : str
        Names.
    outcome, reason : LegOutcome, str
        What came of it and why.
    estimated : tuple[str, ...]
        What of the leg was not measured.
    materials : tuple[str, ...]
        Every material of the layers, once each, in alphabetical order.
    chance_in_range : float or None
        Chance that every judged site lies in its range.
    chance_at_gaiter : float or None
        Chance that the gaiter lies in its range.
    chance_above_maximum : float or None
        Largest chance above the maximum at any judged site.
    median_at_gaiter_mmhg : float or None
        Likely pressure at the gaiter [mmHg].
    rolls : int or None
        Rolls for one bandage.
    cost : float or None
        Price of these rolls; None also where a price is missing.

    Examples
    --------
    >>> LegRow("a", "wool_short_stretch", LegOutcome.NOT_PLANNED, "no girth", ()).rolls is None
    True
    """

    leg: str
    system: str
    outcome: LegOutcome
    reason: str
    estimated: tuple[str, ...] = ()
    materials: tuple[str, ...] = ()
    chance_in_range: float | None = None
    chance_at_gaiter: float | None = None
    chance_above_maximum: float | None = None
    median_at_gaiter_mmhg: float | None = None
    rolls: int | None = None
    cost: float | None = None


def study_leg(
    leg: CohortLeg, terms: StudyTerms, policy: Policy, catalogue: BandageCatalogue
) -> tuple[LegRow, ...]:
    """Every candidate system on one leg.

    Parameters
    ----------
    leg : CohortLeg
        One leg of the cohort.
    terms : StudyTerms
        Candidate systems and how to plan.
    policy, catalogue : Policy, BandageCatalogue
        As for a plan.

    Returns
    -------
    tuple[LegRow, ...]
        One row a system, in the order of ``terms.systems``; they depend on nothing but the
        arguments. A leg that cannot be planned gives rows with the reason.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.files.policy_file import shipped_policy
    >>> unmeasured = CohortLeg("17", None, None, reason="no ankle girth")
    >>> terms = StudyTerms(systems=("wool_short_stretch",))
    >>> study_leg(unmeasured, terms, shipped_policy(), shipped_catalogue())[0].reason
    'no ankle girth'
    """
    if leg.leg is None:
        return _unplanned(leg, terms, leg.reason)
    case = case_for(leg.leg, leg.sex, terms.purpose, terms.training, policy)
    try:
        planned = plan(
            case,
            policy,
            catalogue,
            seed=terms.seed,
            samples=terms.samples,
            systems=frozenset(terms.systems),
        ).legs[Side.RIGHT]
    except (ValueError, ArithmeticError) as error:
        # One odd leg among thousands must not end the study; its row keeps what went wrong.
        return _unplanned(leg, terms, f"the leg could not be planned ({error})")
    return tuple(_row(leg, name, planned, terms, catalogue.titles[name]) for name in terms.systems)


def _unplanned(leg: CohortLeg, terms: StudyTerms, reason: str) -> tuple[LegRow, ...]:
    return tuple(
        LegRow(leg.name, name, LegOutcome.NOT_PLANNED, reason, leg.estimated)
        for name in terms.systems
    )


def _row(leg: CohortLeg, name: str, planned: LegPlan, terms: StudyTerms, title: str) -> LegRow:
    completed = planned.surface.estimated if planned.surface else ()
    estimated = tuple(dict.fromkeys((*leg.estimated, *completed)))
    made = next((system for system in planned.systems if system.name == name), None)
    if made is None:
        for said in planned.excluded:
            if said.code == name:
                reason = str(said.values["why"])
                return LegRow(leg.name, name, LegOutcome.LEFT_OUT, reason, estimated)
        reason = planned.status_reason.text
        return LegRow(leg.name, name, LegOutcome.NOT_PLANNED, reason, estimated)
    sites = {site.landmark: site for site in made.sites}
    rolls = _rolls(made)
    return LegRow(
        leg=leg.name,
        system=name,
        outcome=LegOutcome(made.outcome.value),
        reason=made.outcome_reason.text,
        estimated=estimated,
        materials=tuple(sorted(rolls)),
        chance_in_range=made.chance_every_site_in_range,
        chance_at_gaiter=sites[Landmark.GAITER].chance_in_range,
        chance_above_maximum=max(
            sites[site].chance_above_maximum for site in LEG_SITES if site in sites
        ),
        median_at_gaiter_mmhg=sites[Landmark.GAITER].median_mmhg,
        rolls=sum(rolls.values()),
        cost=_cost(rolls, terms.prices),
    )


def _rolls(made: SystemPlan) -> dict[str, int]:
    """Rolls of each material for one bandage, the wool of build-up and pads among them."""
    rolls: dict[str, int] = defaultdict(int)
    for layer in made.layers:
        rolls[layer.material] += layer.rolls
    return dict(rolls)


def _cost(rolls: Mapping[str, int], prices: Mapping[str, float] | None) -> float | None:
    if prices is None or any(material not in prices for material in rolls):
        return None
    return sum(count * prices[material] for material, count in rolls.items())


@dataclass(frozen=True)
class SystemSummary:
    """One system over the whole cohort.

    Attributes
    ----------
    system, title : str
        Name, and name for a reader.
    legs, planned, fit : int
        Legs of the cohort, legs with numbers, and legs on which the system fits.
    share_fit : float
        ``fit`` over ``legs``.
    mean_chance_in_range, mean_rolls, mean_cost : float or None
        Means over the planned legs; None where there is none.
    share_above_maximum : float or None
        Share of the planned legs on which the system exceeds the maximum more often than allowed.

    Examples
    --------
    >>> rows = [LegRow("b", "wool_short_stretch", LegOutcome.NOT_PLANNED, "no girth", ())]
    >>> [found] = summary(rows, 0.025, {"wool_short_stretch": "Short-stretch over wool"})
    >>> found.legs, found.planned, found.mean_rolls is None
    (1, 0, True)
    """

    system: str
    title: str
    legs: int
    planned: int
    fit: int
    share_fit: float
    mean_chance_in_range: float | None
    share_above_maximum: float | None
    mean_rolls: float | None
    mean_cost: float | None


def summary(
    rows: Iterable[LegRow], allowed_chance_above: float, titles: Mapping[str, str]
) -> tuple[SystemSummary, ...]:
    """What each system does over the cohort, the one that fits most legs first.

    Parameters
    ----------
    rows : iterable of LegRow
        All rows of a study.
    allowed_chance_above : float
        Chance above the maximum that the policy allows, 0 to 1.
    titles : Mapping[str, str]
        Names of the systems for a reader, by name.

    Returns
    -------
    tuple[SystemSummary, ...]

    Examples
    --------
    It fits one of two legs; the chance of the planned one is 0.8.

    >>> made = LegRow("a", "wool_short_stretch", LegOutcome.FITS, "", (), ("wool",), 0.8)
    >>> none = LegRow("b", "wool_short_stretch", LegOutcome.NOT_PLANNED, "no girth", ())
    >>> found = summary([made, none], 0.025, {"wool_short_stretch": "Short-stretch"})[0]
    >>> found.share_fit, found.mean_chance_in_range
    (0.5, 0.8)
    """
    by_system: dict[str, list[LegRow]] = defaultdict(list)
    for row in rows:
        by_system[row.system].append(row)
    found = [
        _summary(name, titles[name], part, allowed_chance_above) for name, part in by_system.items()
    ]
    return tuple(sorted(found, key=lambda s: (-s.fit, -(s.mean_chance_in_range or 0.0), s.system)))


def _summary(name: str, title: str, rows: Sequence[LegRow], allowed: float) -> SystemSummary:
    above = [row.chance_above_maximum for row in rows if row.chance_above_maximum is not None]
    fit = sum(row.outcome is LegOutcome.FITS for row in rows)
    return SystemSummary(
        system=name,
        title=title,
        legs=len(rows),
        planned=len(above),
        fit=fit,
        share_fit=fit / len(rows),
        mean_chance_in_range=_mean(row.chance_in_range for row in rows),
        share_above_maximum=_mean(float(chance > allowed) for chance in above),
        mean_rolls=_mean(row.rolls for row in rows),
        mean_cost=_mean(row.cost for row in rows),
    )


def _mean(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return fmean(known) if known else None


@dataclass(frozen=True)
class Stock:
    """What a few materials can do for the cohort.

    Attributes
    ----------
    materials, added : tuple[str, ...]
        All materials in stock, and those that this step added.
    fit : int
        Legs with a system that fits and can be made of these materials.
    share_fit : float
        ``fit`` over all legs.
    mean_best_chance : float
        Mean over all legs of the best bandaged_leg system's chance in range; 0 for a leg with none.

    Examples
    --------
    >>> Stock(("short", "wool"), ("short", "wool"), fit=8, share_fit=0.8, mean_best_chance=0.6).fit
    8
    """

    materials: tuple[str, ...]
    added: tuple[str, ...]
    fit: int
    share_fit: float
    mean_best_chance: float


def few_materials(rows: Iterable[LegRow]) -> tuple[Stock, ...]:
    """Which few materials to stock, a growing list: each step keeps what came before.

    Every step adds the materials of one system: those that give the most legs a system that
    fits for each material added, then the most chance in range. It ends when nothing gains.
    Greedy, so a larger list is not always the best of its size. A system counts only with all
    its materials, although gauze or crepe may be left out in need.

    Parameters
    ----------
    rows : iterable of LegRow
        All rows of a study.

    Returns
    -------
    tuple[Stock, ...]
        Step by step.

    Notes
    -----
    The order of gains is our choice.

    Examples
    --------
    >>> fits = LegRow("a", "wool_short_stretch", LegOutcome.FITS, "", (), ("short", "wool"), 0.5)
    >>> few_materials([fits])[0].materials
    ('short', 'wool')
    """
    chances: dict[str, dict[frozenset[str], float]] = {}
    for row in rows:
        bandaged_leg = chances.setdefault(row.leg, {})
        if row.outcome is LegOutcome.FITS:
            build = frozenset(row.materials)
            bandaged_leg[build] = max(bandaged_leg.get(build, 0.0), row.chance_in_range or 0.0)
    builds = sorted(
        {build for bandaged_leg in chances.values() for build in bandaged_leg}, key=sorted
    )
    held: frozenset[str] = frozenset()
    steps: list[Stock] = []
    fit, mean = 0, 0.0
    while missing := [build for build in builds if not build <= held]:
        offers = [(_done(chances, held | build), build - held) for build in missing]
        # Rounded, so that the order of addition of equal chances cannot decide.
        (now_fit, now_mean), added = max(
            offers,
            key=lambda o: (
                (o[0][0] - fit) / len(o[1]), round((o[0][1] - mean) / len(o[1]), 9), -len(o[1]),
            ),
        )  # fmt: skip
        if now_fit <= fit and round(now_mean - mean, 9) <= 0:
            break
        held, fit, mean = held | added, now_fit, now_mean
        steps.append(
            Stock(tuple(sorted(held)), tuple(sorted(added)), fit, fit / len(chances), mean)
        )
    return tuple(steps)


def _done(
    chances: Mapping[str, Mapping[frozenset[str], float]], held: frozenset[str]
) -> tuple[int, float]:
    """Legs that have a system of these materials, and the mean of their best chance."""
    best = [
        max((chance for build, chance in bandaged_leg.items() if build <= held), default=None)
        for bandaged_leg in chances.values()
    ]
    served = [chance for chance in best if chance is not None]
    return len(served), sum(served) / len(chances)
