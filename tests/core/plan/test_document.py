"""What a plan says of itself: labels, shares and bands read back from its numbers."""

import pytest

from gaiter.core.case import Case
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan.document import (
    CaseLabel,
    Fabric,
    Fit,
    LegPlan,
    Plan,
    SpreadBasis,
    SpreadShare,
    Status,
    SystemPlan,
)
from gaiter.core.plan.pressures import SitePressure
from gaiter.core.safety import LegDecision, Outcome
from gaiter.core.spread.draws import InputGroup
from gaiter.core.words import NOTHING, Said
from tests.strategies import case


def test_a_label_says_of_the_person_what_sheets_need() -> None:
    made: Case = case(
        reference="Heron (invented)",
        **{"person.allergies": ["latex"], "person.mobility": "chair"},
    )
    label = CaseLabel.of(made)
    assert (label.reference, label.invented) == ("Heron (invented)", True)
    assert (label.allergies, label.mobility) == (("latex",), "chair")
    assert CaseLabel.of(case(**{"person.allergies": None})).allergies == ()


def test_a_fabric_gives_its_curve_again() -> None:
    made = Fabric(
        usual_stretch=0.5, usual_tension_n_per_cm=1.2, locking_stretch=2.0, hysteresis=0.3,
        least_stretch=0.3, largest_stretch=0.7,
    ).curve  # fmt: skip
    assert float(made.tension_n_per_cm(0.5)) == pytest.approx(1.2)
    assert (made.usual_stretch, made.locking_stretch, made.hysteresis) == (0.5, 2.0, 0.3)


@pytest.mark.parametrize(
    ("percent", "told"),
    # To the nearest 5 %; less than 5 % is left out.
    [(4.99, ""), (5.0, "5 %"), (5.9, "5 %"), (7.6, "10 %"), (41.0, "40 %"), (93.0, "95 %")],
)
def test_shares_of_the_spread_are_told_to_the_nearest_five_per_cent(percent, told) -> None:
    share = SpreadShare(source=InputGroup.THEORY, percent=percent)
    words = str(SystemPlan.model_construct(spread_from=(share,)).spread_words)
    assert words == (f"{InputGroup.THEORY.value} {told}" if told else "")


def test_shares_stand_in_a_row() -> None:
    shares = tuple(
        SpreadShare(source=group, percent=percent)
        for group, percent in ((InputGroup.THEORY, 60.0), (InputGroup.TAPE, 30.0))
    )
    words = str(SystemPlan.model_construct(spread_from=shares).spread_words)
    assert words == f"{InputGroup.THEORY.value} 60 %, {InputGroup.TAPE.value} 30 %"


def test_a_system_shows_its_likely_pressure_at_the_gaiter() -> None:
    sites = tuple(
        SitePressure.model_construct(landmark=site, median_mmhg=mmhg)
        for site, mmhg in ((Landmark.ANKLE, 44.0), (Landmark.GAITER, 40.2))
    )
    system = SystemPlan.model_construct(title="Four layers", outcome=Fit.FITS, sites=sites)
    assert repr(system) == "<SystemPlan Four layers: fits, likely 40 mmHg at the gaiter>"
    assert str(system.model_copy(update={"sites": ()})) == "<SystemPlan Four layers: fits>"


def planned(status: Status = Status.PLANNED, outcome: Outcome = Outcome.FULL, **more) -> LegPlan:
    decision = LegDecision.model_construct(
        outcome=outcome, headline="the decision's words", maximum_mmhg=60.0, aim=None
    )
    return LegPlan.model_construct(
        side=Side.LEFT, status=status, decision=decision, systems=(), **more
    )


@pytest.mark.parametrize(
    ("leg", "own"),
    [
        (planned(headline=Said("Aim 30–50")), True),
        (planned(outcome=Outcome.REDUCED, headline=Said("Aim 20–30")), True),
        (planned(headline=NOTHING), False),
        (planned(Status.CANNOT_BE_REACHED, headline=Said("Aim 30–50")), False),
        (planned(outcome=Outcome.STOP, headline=Said("Aim 30–50")), False),
    ],
)
def test_only_a_planned_leg_that_may_be_compressed_tells_its_aim(leg: LegPlan, own: bool) -> None:
    told = str(leg.headline_words)
    if own:
        assert told == f"{leg.decision.outcome.value.capitalize()}: a{leg.headline.text[1:]}"
    else:
        assert told == "the decision's words"


@pytest.mark.parametrize("outcome", [Outcome.FULL, Outcome.REDUCED])
def test_a_leg_planned_by_hand_alone_has_no_likely_pressure_in_its_headline(outcome) -> None:
    """What nothing reached as computed, somebody changed: the aim stands without a likely one."""
    values = {"low": 20.0, "high": 30.0, "maximum": 40.0}
    aim = Said("Aim {low:g}–{high:g}, never above {maximum:g} mmHg at the gaiter", values)
    likely = Said(
        "Aim {low:g}–{high:g}, likely {likely:.0f}, never above {maximum:g} mmHg at the gaiter",
        {**values, "likely": 26.4},
    )
    start = f"{outcome.value.capitalize()}: aim 20–30, "
    told = [planned(outcome=outcome, headline=one).headline_words.text for one in (aim, likely)]
    assert told == [
        f"{start}never above 40 mmHg at the gaiter",
        f"{start}likely 26, never above 40 mmHg at the gaiter",
    ]


def test_a_leg_shows_its_first_system() -> None:
    leg = planned(Status.STOPPED, headline="")
    assert repr(leg) == "<LegPlan left, stopped: the decision's words>"
    systems = tuple(SystemPlan.model_construct(title=title) for title in ("One", "Two"))
    assert str(leg.model_copy(update={"systems": systems})).endswith("the decision's words; One>")


def test_a_plan_shows_its_case_day_and_legs() -> None:
    leg = planned(Status.STOPPED, headline="")
    plan = Plan.model_construct(
        case=CaseLabel(reference="Heron"), today="2026-11-25", legs={Side.LEFT: leg}
    )
    assert repr(plan) == "<Plan Heron, 2026-11-25: left stopped>"
    nameless = plan.model_copy(update={"case": CaseLabel()})
    assert str(nameless) == "<Plan without reference, 2026-11-25: left stopped>"


def test_a_system_keeps_the_remainder_that_it_was_planned_with() -> None:
    basis = SpreadBasis.model_construct(remainder_median=0.85)
    plan = Plan.model_construct(theory_remainder=0.92)
    assert plan.remainder_of(SystemPlan.model_construct(basis=basis)) == 0.85
    assert plan.remainder_of(SystemPlan.model_construct(basis=None)) == 0.92
