from datetime import date

import pytest
from pydantic import ValidationError

from gaiter.core.applied.readings import Readings, read_system
from gaiter.core.errors import InputError
from gaiter.files.wording import problems_of
from tests.core.applied.applied_plan import CASE, SYSTEM, plan, readings


def refused(**changes) -> str:
    given = {"schema": "gaiter.readings/1", "side": "right", "system": SYSTEM, **changes}
    with pytest.raises(ValidationError) as caught:
        Readings.model_validate(given)
    return " ".join(str(problem) for problem in problems_of(caught.value, Readings))


def spacing(cm: float, place: str = "calf", layer: int = 3) -> dict:
    return {"layer": layer, "place": place, "cm": cm}


@pytest.mark.parametrize(
    ("cm", "said"),
    [
        (5.9, "must be 10 to 30 cm; received 5.9: this looks like inches, give 15.0 cm"),
        (9.0, "must be 10 to 30 cm; received 9.0"),
        (150.0, "this looks like millimetres, give 15 cm"),
    ],
)
def test_a_spacing_that_cannot_be_is_refused_with_its_likely_unit(cm: float, said: str) -> None:
    assert said in refused(spacings=[spacing(cm)])


def test_a_spacing_is_read_up_the_leg() -> None:
    assert "must be ankle, gaiter, calf, below_knee; received instep" in refused(
        spacings=[spacing(15.0, "instep")]
    )


def test_nothing_read_and_the_same_place_twice_are_refused() -> None:
    assert "an overlap alone does not tell the pressure" in refused(
        overlaps=[{"layer": 3, "cm": 5.0}]
    )
    twice = refused(spacings=[spacing(15.0), spacing(15.4)])
    assert "received layer 3, calf twice" in twice
    assert "received gaiter twice" in refused(
        sensor=[{"place": "gaiter", "mmhg": 40.0}, {"place": "gaiter", "mmhg": 42.0}]
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"case": "another"}, "case must be the plan's, .*; received another: .* another plan"),
        ({"on": date(2026, 1, 2)}, "on must be the plan's, .*; received 2026-01-02"),
        ({"side": "left"}, r"side must be a leg with a plan \(right\); received left"),
        ({"system": "unknown"}, "system must be one of this plan .*; received unknown"),
        (
            {"spacings": [spacing(15.0, layer=1)]},
            r"layer of a mark spacing must be one that stretches and presses: 3 .*; received 1",
        ),
        (
            {"system": "wool_short_stretch", "spacings": [spacing(19.2, layer=2)]},
            "mark spacing of layer 2 must be below 19.0 cm, where its fabric locks; received 19.2",
        ),
        (
            {"overlaps": [{"layer": 3, "cm": 9.5}]},
            "overlap of layer 3 must be 0 to 9.0 cm of its 10 cm; received 9.5 cm",
        ),
        (
            {"sensor": [("heel_instep", 30.0)]},
            "place of a sensor value must be a reading site .*; received heel_instep",
        ),
    ],
)
def test_readings_of_another_plan_or_layer_are_refused(change: dict, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_system(plan(), readings(**change))


def test_a_plan_without_its_spread_asks_to_be_made_again() -> None:
    made = plan()
    leg = next(iter(made.legs.values()))
    bare = [system.model_copy(update={"basis": None}) for system in leg.systems]
    old = made.model_copy(update={"legs": {leg.side: leg.model_copy(update={"systems": bare})}})
    with pytest.raises(InputError, match="plan the case again"):
        read_system(old, readings())


def test_fitting_readings_find_their_system() -> None:
    leg, system = read_system(plan(), readings(case=CASE))
    assert (leg.side, system.name) == ("right", SYSTEM)
