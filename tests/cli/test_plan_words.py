"""What ``gaiter plan`` prints, line by line, of a leg made by hand."""

from datetime import date
from types import SimpleNamespace

import pytest

from gaiter.cli.plan_words import heading, leg_words, system_words
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import LegPlan, Status, SystemPlan
from gaiter.core.plan.document import Layer
from gaiter.core.plan.pressures import PressurePoint, SitePressure, SkinAbove
from gaiter.core.safety import LegDecision, Outcome
from gaiter.core.words import NOTHING, Said

STOP = "Stop and refer: no compression"


def reason(code: str, text: str) -> SimpleNamespace:
    return SimpleNamespace(code=code, text=text)


def decision(**given) -> LegDecision:
    made = {
        "outcome": Outcome.STOP, "headline": STOP, "maximum_mmhg": None, "limiting": ("clot",),
        "reasons": (reason("clot", "A clot is likely."), reason("age", "The person is 71.")),
    }  # fmt: skip
    return LegDecision.model_construct(**{**made, **given})


def leg(**given) -> LegPlan:
    made = {
        "side": Side.LEFT, "purpose": "venous ulcer", "status": Status.STOPPED,
        "status_reason": Said(STOP), "decision": decision(),
    }  # fmt: skip
    return LegPlan.model_construct(**{**made, **given})


def site(landmark: Landmark, **given) -> SitePressure:
    made = {
        "median_mmhg": 40.4, "low_mmhg": 29.6, "high_mmhg": 51.2, "chance_in_range": 0.874,
        "chance_above_maximum": 0.01, "maximum_mmhg": 60.0,
    }  # fmt: skip
    return SitePressure.model_construct(landmark=landmark, **{**made, **given})


def layer(number: int, title: str, **given) -> Layer:
    made = {
        "pattern": "spiral", "turns": 11, "overlap": 0.5, "mark_spacing_cm": None,
        "foot_mark_spacing_cm": None, "rolls": 1,
    }  # fmt: skip
    return Layer.model_construct(number=number, title=title, **{**made, **given})


def system(**given) -> SystemPlan:
    made = {
        "title": "Four layers", "outcome_reason": Said("likely 40 mmHg at the gaiter"),
        "sites": (site(Landmark.GAITER),), "chance_every_site_in_range": 0.6151,
        "pads_mm": {}, "padding": SimpleNamespace(text=NOTHING), "layers": (),
        "change_reason": Said("usual for this system"),
    }  # fmt: skip
    return SystemPlan.model_construct(**{**made, **given})


def test_a_leg_is_headed_by_its_side_and_purpose() -> None:
    assert heading(leg()) == "Left leg, venous ulcer"


def test_a_stopped_leg_says_once_what_stops_it() -> None:
    """Only reasons that limit are told, and a status that repeats the headline is not."""
    assert list(leg_words(leg())) == [f"  {STOP}", "  - A clot is likely."]


def test_a_status_with_a_reason_of_its_own_is_told_beside_the_headline() -> None:
    found = list(leg_words(leg(status_reason=Said("the foot is collapsed"))))
    assert found == [f"  {STOP}", "  - A clot is likely.", "  the foot is collapsed"]


def test_questions_about_the_tape_stand_before_the_system_and_the_next_visit_after() -> None:
    open_question = SimpleNamespace(questions=(Said("calf 60 cm: read it again"),))
    lines = list(
        leg_words(leg(surface=open_question, systems=(system(),), next_visit=date(2026, 11, 27)))
    )
    assert lines[2:4] == [
        "  Question: calf 60 cm: read it again",
        "  System: Four layers; likely 40 mmHg at the gaiter",
    ]
    assert lines[4] == "    Likely at the gaiter: 40 mmHg (30–51 in nine of ten bandages)"
    assert lines[-1] == "  Next visit: 2026-11-27 (usual for this system)"


def test_only_the_first_system_is_printed_and_without_a_visit_none_is_named() -> None:
    lines = list(leg_words(leg(systems=(system(), system(title="Zinc paste")))))
    assert sum("System:" in line for line in lines) == 1
    assert not any("Zinc paste" in line or "Next visit" in line for line in lines)


@pytest.mark.parametrize(
    ("sites", "said"),
    [
        ((), ["Chance in range: 62% at every judged site at once"]),
        (
            (site(Landmark.CALF), site(Landmark.GAITER)),
            [
                "Likely at the gaiter: 40 mmHg (30–51 in nine of ten bandages)",
                "Chance in range: 87% at the gaiter, 62% at every judged site at once",
            ],
        ),
        (
            (site(Landmark.GAITER, chance_in_range=None),),
            [
                "Likely at the gaiter: 40 mmHg (30–51 in nine of ten bandages)",
                "Chance in range: 62% at every judged site at once",
            ],
        ),
    ],
)
def test_chances_are_those_of_the_gaiter_and_of_every_site(sites, said) -> None:
    assert list(system_words(system(sites=sites), 0.025))[: len(said)] == said


@pytest.mark.parametrize(
    ("chance", "allowed", "told"),
    [(0.026, 0.025, True), (0.025, 0.025, False), (0.9, None, False)],
)
def test_a_site_is_named_beyond_the_chance_that_is_allowed(chance, allowed, told) -> None:
    risky = site(Landmark.CALF, chance_above_maximum=chance, high_mmhg=66.4)
    lines = list(system_words(system(sites=(site(Landmark.GAITER), risky)), allowed))
    said = (
        "Above its maximum: calf, up to 66 mmHg, above 60 mmHg with a chance of 2.6% (2.5% allowed)"
    )
    assert (said in lines) is told
    assert ("Above its maximum: no place" in lines) is not told


def test_a_site_of_an_older_plan_is_named_without_the_maximum_it_did_not_keep() -> None:
    risky = site(Landmark.GAITER, chance_above_maximum=0.5, maximum_mmhg=None)
    said = "above its maximum with a chance of 50.0%"
    assert any(said in line for line in system_words(system(sites=(risky,)), 0.025))


def point(**given) -> PressurePoint:
    made = {
        "place": "heel", "high_mmhg": 130.6, "maximum_mmhg": 120.0, "padding_mm": None,
        "exceeds": True, "overstated": False,
    }  # fmt: skip
    return PressurePoint.model_construct(**{**made, **given})


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "heel, up to 131 mmHg, its maximum is 120"),
        ({"padding_mm": 20.0}, "heel, up to 131 mmHg with its pad of 20 mm on, its maximum is 120"),
        (
            {"overstated": True},
            "heel, up to 131 mmHg, its maximum is 120 (surface overstates this place)",
        ),
        ({"exceeds": False}, "no place"),
    ],
)
def test_a_bony_place_is_named_where_it_still_exceeds(given, said) -> None:
    lines = [
        line
        for line in system_words(system(pressure_points=(point(**given),)), 0.025)
        if line.startswith("Above")
    ]
    assert lines == [f"Above its maximum: {said}"]


def test_skin_and_what_a_prescriber_accepts_are_named_before_the_pads() -> None:
    lines = list(
        system_words(
            system(
                to_accept=("heel", "instep"),
                often_above=(SkinAbove(place="shin", area_cm2=12.4, limit_mmhg=60),),
                pads_mm={"heel": 6.0, "shin edge": 4.0},
                padding=SimpleNamespace(text=Said("2 more turns of wool at the ankle")),
                dressing=Said("A dressing 8 mm thick adds about 6 mmHg."),
            ),
            0.025,
        )
    )
    assert lines[2:] == [
        "A prescriber has to accept by name: heel, instep",
        "Above its maximum: skin at shin, 12 cm² above 60 mmHg in most bandages",
        "Pads of wool: heel 6 mm, shin edge 4 mm",
        "2 more turns of wool at the ankle",
        "A dressing 8 mm thick adds about 6 mmHg.",
    ]


def test_layers_stand_last_with_marks_turns_and_rolls() -> None:
    layers = (
        layer(1, "Wool", rolls=2),
        layer(2, "Elastic", mark_spacing_cm=15.0, foot_mark_spacing_cm=13.9, overlap=2 / 3),
        layer(3, "Cover", mark_spacing_cm=14.0, turns=12),
    )
    assert list(system_words(system(layers=layers), 0.025))[-4:] == [
        "Pads of wool: none",
        "1. Wool: spiral, 11 turns, overlap 50%; 2 rolls",
        "2. Elastic: spiral, 11 turns, overlap 67%, 10 cm marks 15.0 cm apart on the leg, 13.9 cm "
        "on foot and ankle; 1 roll",
        "3. Cover: spiral, 12 turns, overlap 50%, 10 cm marks 14.0 cm apart on the leg; 1 roll",
    ]


def test_what_is_judged_round_the_ankle_is_said_after_the_chances() -> None:
    ankle = site(Landmark.ANKLE, is_ring=True, inner_mmhg=15.9, highest_mmhg=89.5)
    lines = list(system_words(system(sites=(site(Landmark.GAITER), ankle)), None))
    assert lines[2] == (
        "The ankle is judged by its mean round the limb, likely 40 mmHg. A sensor on its inner "
        "side would likely read 16; its highest 2.5 cm likely have 90."
    )
