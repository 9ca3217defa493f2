"""The bandaging plan as a document, ``gaiter.plan/1``: plain data that everything else reads.

Pressures are resting interface pressures [mmHg]; lengths are in cm; stretch and overlap of a
layer are given in the trade's terms (per cent; share of the width).
"""

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.wool import Build
from gaiter.core.case import Case
from gaiter.core.case.findings import WoundPlace
from gaiter.core.case.person import Mobility, SiteOffset
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan.pressures import (
    Bridged,
    Gap,
    PlaceMaxima,
    PressurePoint,
    Profile,
    Rise,
    SitePressure,
    SkinAbove,
)
from gaiter.core.record import GrownRecord, Record
from gaiter.core.safety.decision import LegDecision, Outcome
from gaiter.core.safety.reason import Reason
from gaiter.core.spread.draws import InputGroup
from gaiter.core.words import COMMA, NOTHING, Said, Sentence, joined

# What is said of a planned leg, by what the rules allow, and by whether a likely pressure is told.
_PLANNED = {
    (Outcome.FULL, True): "Full: aim {low:g}–{high:g}, likely {likely:.0f}, never above "
    "{maximum:g} mmHg at the gaiter",
    (Outcome.FULL, False): "Full: aim {low:g}–{high:g}, never above {maximum:g} mmHg at the gaiter",
    (Outcome.REDUCED, True): "Reduced: aim {low:g}–{high:g}, likely {likely:.0f}, never above "
    "{maximum:g} mmHg at the gaiter",
    (Outcome.REDUCED, False): "Reduced: aim {low:g}–{high:g}, never above {maximum:g} mmHg at the "
    "gaiter",
}


class Status(StrEnum):
    """What came of planning one leg."""

    PLANNED = "planned"
    STOPPED = "stopped"
    NOT_YET = "not yet"
    CANNOT_BE_REACHED = "cannot be reached"


class Fit(StrEnum):
    """How well a system answers the target range on this leg in these hands."""

    FITS = "fits"
    TO_ACCEPT = "to be accepted by name"
    NOT_IN_THESE_HANDS = "not in these hands"
    CANNOT_BE_REACHED = "cannot be reached"


class Versions(Record):
    """Everything that decides the numbers."""

    gaiter: str
    policy: str
    policy_changes: tuple[Sentence, ...] = ()
    policy_sha256: str
    catalogue_sha256: str
    # Plans made when the systems were part of the program have no such file.
    systems_sha256: str = ""
    systems_changes: tuple[Sentence, ...] = ()


class CaseLabel(Record):
    """What ties the plan to its case, and what sheets say of the person."""

    reference: str | None = None
    invented: bool = False
    allergies: tuple[str, ...] = ()
    mobility: Mobility | None = None
    can_report_pain: bool | None = None
    daily_observer: str | None = None

    @classmethod
    def of(cls, case: Case) -> "CaseLabel":
        """The label of a case.

        Parameters
        ----------
        case : Case
            One person, one day.

        Returns
        -------
        CaseLabel
            What was not said of the person stays None.

        Examples
        --------
        >>> from gaiter.files.example_bench import example_case
        >>> label = CaseLabel.of(example_case())
        >>> label.invented, label.mobility.value
        (True, 'walks')
        """
        person = case.person
        return cls(
            reference=case.reference,
            invented=case.invented,
            allergies=tuple(allergen.value for allergen in person.allergies or ()),
            mobility=person.mobility,
            can_report_pain=person.can_report_pain,
            daily_observer=getattr(person, "daily_observer", None),
        )


class TargetRange(Record):
    """The band of pressure aimed at, at the gaiter, and why."""

    gaiter_low_mmhg: float
    gaiter_high_mmhg: float
    source: Sentence


class SurfaceSummary(GrownRecord):
    """The leg as measured and modelled; enough to build the same surface again."""

    later = (("depth_over_width",),)

    foot_length_cm: float
    position_cm: Mapping[Landmark, float]
    start: Landmark
    volume_ml: float = Field(description="Ankle to below knee, from the girths [mL]")
    estimated: tuple[str, ...]
    questions: tuple[Sentence, ...] = ()
    girth_cm: Mapping[Landmark, float]
    s_cm: Mapping[Landmark, float]
    depth_over_width: Annotated[
        Mapping[Landmark, float],
        Field(description="Depth over width, where a caliper was taken; else the shape is learnt"),
    ] = {}


class Fabric(Record):
    """What a stretching layer's tension follows from."""

    usual_stretch: float
    usual_tension_n_per_cm: float
    locking_stretch: float
    hysteresis: float
    least_stretch: float
    largest_stretch: float

    @property
    def curve(self) -> StretchCurve:
        """Tension for stretch.

        Returns
        -------
        StretchCurve

        Examples
        --------
        >>> fabric = Fabric(
        ...     usual_stretch=0.5, usual_tension_n_per_cm=0.976, locking_stretch=2.18,
        ...     hysteresis=0.2, least_stretch=0.3, largest_stretch=0.7,
        ... )
        >>> round(float(fabric.curve.tension_n_per_cm(0.5)), 3)  # at usual stretch
        0.976
        """
        return StretchCurve(
            self.usual_stretch,
            self.usual_tension_n_per_cm,
            self.locking_stretch,
            self.hysteresis,
        )


class Layer(Record):
    """One material applied once from start to end."""

    number: int
    material: str
    title: str
    width_cm: float
    pattern: Pattern
    leg_width_cm: float | None = Field(description="From the ankle up, where it differs")
    overlap: float
    stretch_percent: float
    mark_spacing_cm: float | None = Field(
        description="On the leg, between pen marks 10 cm apart on the relaxed roll"
    )
    foot_stretch_percent: float | None = Field(description="On foot and ankle, where it differs")
    foot_mark_spacing_cm: float | None = None
    turns: int
    length_cm: float
    relaxed_length_cm: float
    rolls: int
    joins: tuple[Sentence, ...] = ()
    spare_cm: float
    presses: bool
    tensions_n_per_cm: tuple[float, float] | None = Field(
        description="On foot and ankle, and up the leg; null for a layer that presses nothing"
    )
    fabric: Fabric | None = Field(None, description="null: presses nothing or does not stretch")
    note: Sentence = NOTHING


class PaddingUnder(Record):
    """What lies soft under the pressing layers; enough to pad the same surface again."""

    even_cm: float
    layer_cm: float
    build: Build
    end: Landmark
    start: Landmark | None = Field(None, description="null: as far down as the leg was measured")
    text: Sentence = Field(description="What to build up, for the bandager")
    extra_turns: int


class HandsBasis(Record):
    """Log of tension over planned tension that the spread was sampled with, for one layer."""

    bias_sd: float
    scatter_sd: float
    habit: tuple[float, float, float] = Field(
        description="Mean just above the ankle, at the calf and below the knee"
    )


class SpreadBasis(GrownRecord):
    """What the spread rests on; enough to sample the same bandages again."""

    later = (("site_offsets",),)

    hands: tuple[HandsBasis, ...] = Field(description="One for each pressing layer, or one for all")
    remainder_median: float
    remainder_range95: float
    padding_cm: tuple[float, float, float] = Field(description="Low, planned and high")
    site_offsets: Annotated[
        Mapping[Landmark, SiteOffset],
        Field(description="What the clinic's sensor reads at a site beside the gaiter"),
    ] = {}


class SpreadShare(Record):
    """How much of the spread at the gaiter one group of uncertain inputs brings."""

    source: InputGroup
    percent: float = Field(description="Of the variance; shares overlap where inputs act together")


class Supply(Record):
    """What to take from stock."""

    material: str
    title: Sentence
    now: Sentence
    week: Sentence
    rolls: int | None = Field(None, description="For one bandage; null: not counted in rolls")


class Standing(GrownRecord):
    """The finished bandage when the person stands up."""

    later = (("at_least",),)

    pressure_mmhg: float
    girth_rise_cm: float
    static_stiffness_mmhg: float
    stiff: bool
    at_least: bool = Field(
        default=False, description="A layer does not stretch: more than the numbers say"
    )
    per_cm_mmhg: float


class Alternative(Record):
    """Something else that compresses, not laid turn by turn: for self-care or refusal."""

    name: str
    title: str
    level: Sentence = Field(description="Pressure it gives, in words, with its source")
    reasons_for: tuple[Sentence, ...] = ()
    reasons_against: tuple[Sentence, ...] = ()


class SystemPlan(Record):
    """One bandage system fitted to one leg."""

    name: str
    title: str
    outcome: Fit
    outcome_reason: Sentence
    reasons_for: tuple[Sentence, ...] = ()
    reasons_against: tuple[Sentence, ...] = ()
    padding: PaddingUnder
    layers: tuple[Layer, ...]
    sites: tuple[SitePressure, ...]
    chance_every_site_in_range: float
    profile: Profile
    basis: SpreadBasis | None = Field(None, description="null: made before it was kept")
    spread_from: tuple[SpreadShare, ...] = Field((), description="At the gaiter, largest first")
    pressure_points: tuple[PressurePoint, ...] = ()
    bridged: tuple[Bridged, ...] = ()
    gaps: tuple[Gap, ...] = ()
    often_above: tuple[SkinAbove, ...] = Field(
        (), description="Skin above its maximum in most bandages, as the designer saw it"
    )
    wrinkle_risk: tuple[Sentence, ...] = ()
    pads_mm: Mapping[str, float] = Field({}, description="Every pad of the plan, by place [mm]")
    to_accept: tuple[str, ...] = Field(
        (), description="What a prescriber must accept by name before it may be approved"
    )
    rises: tuple[Rise, ...] = ()
    by_hand: tuple[Sentence, ...] = Field((), description="What was changed by hand, in words")
    for_hands: Sentence = Field(
        NOTHING, description="What the bandager's own habits change, in words"
    )
    dressing: Sentence = Field(NOTHING, description="What a bulky dressing adds under the bandage")
    standing: Standing
    change_days: int
    change_reason: Sentence
    regular_days: int | None = Field(
        None, description="Days between changes once the first bandage has been looked at"
    )
    supplies: tuple[Supply, ...] = ()

    def __repr__(self) -> str:
        gaiter = next((s for s in self.sites if s.landmark is Landmark.GAITER), None)
        likely = f", likely {gaiter.median_mmhg:.0f} mmHg at the gaiter" if gaiter else ""
        return f"<SystemPlan {self.title}: {self.outcome.value}{likely}>"

    __str__ = __repr__

    @property
    def round_words(self) -> tuple[Said, ...]:
        """What is judged by the mean round the limb, and what a sensor there would read.

        Returns
        -------
        tuple[Said, ...]
            One sentence a site; none in plans made before the numbers were kept.

        Examples
        --------
        >>> from gaiter.files.example_bench import example_bench
        >>> system, = example_bench().plan.legs["right"].systems
        >>> [str(one).partition(",")[0] for one in system.round_words]
        ['The ankle is judged by its mean round the limb']
        """
        return tuple(site.round_words for site in self.sites if site.round_words)

    @property
    def spread_words(self) -> Said:
        """Where the band at the gaiter comes from, in words.

        Returns
        -------
        Said
            Shares to the nearest 5 %; those below 5 % are left out.

        Examples
        --------
        >>> shares = [(InputGroup.STRETCH, 46.9), (InputGroup.THEORY, 38.2), (InputGroup.TAPE, 2.2)]
        >>> made = tuple(SpreadShare(source=source, percent=p) for source, p in shares)
        >>> SystemPlan.model_construct(spread_from=made).spread_words.text
        'stretch of the hands 45 %, what theory cannot tell 40 %'
        """
        shares = (
            Said(
                "{source} {percent} %",
                {"source": Said(share.source.value), "percent": round(share.percent / 5) * 5},
            )
            for share in self.spread_from
            if share.percent >= 5
        )
        return joined(shares, COMMA)


class LegPlan(Record):
    """Decision and plan for one leg."""

    side: Side
    purpose: str
    status: Status
    status_reason: Sentence
    decision: LegDecision
    target: TargetRange | None = None
    maxima: PlaceMaxima | None = Field(None, description="null: made before they were kept")
    headline: Sentence = Field(NOTHING, description="Aim, likely and never above, after planning")
    guard_foot: bool = Field(False, description="The foot, too, is held under its maximum")
    chance_allowed: float | None = Field(
        None, description="Chance of exceeding the maximum that policy allows"
    )
    redo_from_chance: float | None = Field(
        None, description="Chance of exceeding it from which a bandage is laid again"
    )
    take_off_from_chance: float | None = Field(
        None, description="Chance of exceeding it from which a bandage comes off at once"
    )
    surface: SurfaceSummary | None = None
    systems: tuple[SystemPlan, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    excluded: tuple[Sentence, ...] = ()
    wound_place: WoundPlace | None = None
    next_visit: date | None = None

    def __repr__(self) -> str:
        first = f"; {self.systems[0].title}" if self.systems else ""
        return f"<LegPlan {self.side.value}, {self.status.value}: {self.headline_words}{first}>"

    __str__ = __repr__

    @property
    def headline_words(self) -> Said:
        """The decision's words; of a planned leg with the likely pressure between its numbers.

        Returns
        -------
        Said

        Examples
        --------
        >>> from gaiter.files.example_bench import example_bench
        >>> leg = example_bench().plan.legs["right"]
        >>> gaiter = next(s for s in leg.systems[0].sites if s.landmark == "gaiter")
        >>> f"likely {gaiter.median_mmhg:.0f}, never above 60 mmHg" in leg.headline_words
        True
        """
        outcome = self.decision.outcome
        planned = self.status is Status.PLANNED and outcome.may_be_compressed
        if not planned or not self.headline:
            return self.decision.said
        if values := self.headline.values:
            return Said(_PLANNED[outcome, "likely" in values], values, outcome.name.lower())
        # Plans made before there were templates hold the sentence with its numbers.
        aim = self.headline.text[0].lower() + self.headline.text[1:]
        return Said("{outcome}: {aim}", {"outcome": Said(outcome.value.capitalize()), "aim": aim})


class Plan(Record):
    """The whole document."""

    document: Literal["gaiter.plan/1"] = Field("gaiter.plan/1", alias="schema")
    case: CaseLabel
    today: date
    versions: Versions
    seed: int
    samples: int
    theory_remainder: float = Field(description="Median of measured over theory, by policy")
    bandager: str
    person_reasons: tuple[Reason, ...] = ()
    legs: Mapping[Side, LegPlan]
    assumptions: tuple[Sentence, ...] = ()
    limits: tuple[Sentence, ...] = ()
    cautions: tuple[Sentence, ...] = ()
    sources: tuple[Sentence, ...] = ()
    written: str = Field(
        "", description="SHA-256 over the rest, as it was written to a file; a changed file shows"
    )

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    def __repr__(self) -> str:
        legs = ", ".join(f"{side.value} {leg.status.value}" for side, leg in self.legs.items())
        return f"<Plan {self.case.reference or 'without reference'}, {self.today}: {legs}>"

    __str__ = __repr__

    def remainder_of(self, system: SystemPlan) -> float:
        """Median of measured over theory that a system was planned with.

        Parameters
        ----------
        system : SystemPlan
            One of the plan's.

        Returns
        -------
        float
            The system's own; the policy's where the plan was made before systems kept theirs.

        Examples
        --------
        >>> plan = Plan.model_construct(theory_remainder=0.92)
        >>> plan.remainder_of(SystemPlan.model_construct(basis=None))
        0.92
        >>> own = SpreadBasis.model_construct(remainder_median=0.8)
        >>> plan.remainder_of(SystemPlan.model_construct(basis=own))
        0.8
        """
        return system.basis.remainder_median if system.basis else self.theory_remainder
