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
    ],
)
def test_readings_of_another_plan_or_layer_are_refused(change: dict, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_system(plan(), readings(**change))


def test_a_sensor_is_read_where_theory_has_a_site() -> None:
    assert (
        "must be a reading site, gaiter, ankle, calf, below_knee, instep, metatarsal_heads; "
        "received heel_instep: read it there"
    ) in refused(sensor=[{"place": "heel_instep", "mmhg": 30.0}])
    assert "'ankle', 'gaiter', 'calf' or 'below_knee'; received 'shin'" in refused(
        sensor=[{"place": "shin", "mmhg": 30.0}]
    )


def test_a_site_beyond_the_bandage_is_refused_with_those_of_the_plan() -> None:
    made = plan()
    leg = next(iter(made.legs.values()))
    short = [
        system.model_copy(
            update={"sites": tuple(s for s in system.sites if s.landmark != "below_knee")}
        )
        for system in leg.systems
    ]
    to_calf = made.model_copy(
        update={"legs": {leg.side: leg.model_copy(update={"systems": short})}}
    )
    with pytest.raises(InputError, match=r"of this plan \(.*calf\); received below_knee"):
        read_system(to_calf, readings(sensor=[("below_knee", 30.0)]))


@pytest.mark.parametrize("mmhg", [-1.0, 150.5, 4000.0])
def test_a_wild_sensor_value_is_refused_at_any_site(mmhg: float) -> None:
    assert "must be 0 to 150 mmHg" in refused(sensor=[{"place": "ankle", "mmhg": mmhg}])


def test_a_document_of_one_value_at_the_gaiter_reads_as_before() -> None:
    old = (
        f'{{"schema": "gaiter.readings/1", "side": "right", "system": "{SYSTEM}", '
        '"sensor": [{"place": "gaiter", "mmhg": 38}]}'
    )
    read = Readings.model_validate_json(old)
    assert [(one.place, one.mmhg) for one in read.sensor] == [("gaiter", 38.0)]
    assert read_system(plan(), read)[1].name == SYSTEM


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


def limits(**given) -> bool:
    """Whether readings with these are taken, whatever plan they belong to."""
    try:
        readings(**{"spacings": [spacing(15.0)], **given})
    except ValidationError:
        return False
    return True


@pytest.mark.parametrize(
    ("within", "beyond"),
    [
        ({"spacings": [spacing(10.0)]}, {"spacings": [spacing(9.9)]}),
        ({"spacings": [spacing(30.0)]}, {"spacings": [spacing(30.5)]}),
        ({"spacings": [spacing(15.0, layer=1)]}, {"spacings": [spacing(15.0, layer=0)]}),
        ({"spacings": [spacing(15.0, layer=9)]}, {"spacings": [spacing(15.0, layer=10)]}),
        ({"overlaps": [{"layer": 1, "cm": 0}]}, {"overlaps": [{"layer": 1, "cm": -0.1}]}),
        ({"overlaps": [{"layer": 9, "cm": 30}]}, {"overlaps": [{"layer": 9, "cm": 30.5}]}),
        ({"overlaps": [{"layer": 1, "cm": 5}]}, {"overlaps": [{"layer": 0, "cm": 5}]}),
        ({"overlaps": [{"layer": 9, "cm": 5}]}, {"overlaps": [{"layer": 10, "cm": 5}]}),
        ({"case": 80 * "x"}, {"case": 81 * "x"}),
        ({"sensor": [("calf", 0)]}, {"sensor": [("calf", -1)]}),
        ({"sensor": [("calf", 150)]}, {"sensor": [("calf", 150.5)]}),
    ],
)
def test_the_limits_of_what_can_be_read_belong_to_it(within: dict, beyond: dict) -> None:
    """10 to 30 cm of marks, layers 1 to 9, up to 30 cm of overlap, 0 to 150 mmHg, 80 letters."""
    assert limits(**within)
    assert not limits(**beyond)


def test_the_same_layers_overlap_twice_is_refused() -> None:
    overlaps = [{"layer": 3, "cm": 5.0}, {"layer": 3, "cm": 6.0}]
    assert "received layer 3 twice" in refused(spacings=[spacing(15.0)], overlaps=overlaps)
    assert limits(overlaps=[{"layer": 2, "cm": 5.0}, {"layer": 3, "cm": 5.0}])


def test_of_several_given_twice_the_first_by_name_is_said() -> None:
    both = [spacing(15.0, place) for place in ("calf", "ankle", "calf", "ankle")]
    assert "received layer 3, ankle twice" in refused(spacings=both)


def test_one_sensor_value_alone_is_a_reading() -> None:
    assert readings([], sensor=[("gaiter", 40.0)]).spacings == ()
    assert not limits(spacings=[])


@pytest.mark.parametrize(("cm", "taken"), [(18.9, True), (19.0, False)])
def test_where_a_fabric_locks_no_spacing_can_be(cm: float, taken: bool) -> None:
    """Short stretch locks at 90 %: marks 19 cm apart."""
    given = readings(system="wool_short_stretch", spacings=[spacing(cm, layer=2)])
    if taken:
        assert read_system(plan(), given)[1].name == "wool_short_stretch"
    else:
        with pytest.raises(InputError, match="must be below 19.0 cm, .* received 19 cm"):
            read_system(plan(), given)


@pytest.mark.parametrize(("leg_width_cm", "most"), [(None, 9.0), (12.0, 10.8), (8.0, 7.2)])
def test_nine_tenths_of_the_width_may_overlap(leg_width_cm: float | None, most: float) -> None:
    """Of the width used up the leg, where it differs from the 10 cm on the foot."""
    made = plan()
    leg = next(iter(made.legs.values()))
    systems = tuple(
        one.model_copy(
            update={"layers": tuple(
                layer.model_copy(update={"leg_width_cm": leg_width_cm}) for layer in one.layers
            )}
        )
        for one in leg.systems
    )  # fmt: skip
    changed = made.model_copy(
        update={"legs": {leg.side: leg.model_copy(update={"systems": systems})}}
    )
    read_system(changed, readings(overlaps=[{"layer": 3, "cm": most}]))
    with pytest.raises(InputError, match=f"must be 0 to {most:.1f} cm of its"):
        read_system(changed, readings(overlaps=[{"layer": 3, "cm": most + 0.05}]))


def test_a_layer_or_leg_without_what_was_read_says_what_there_is() -> None:
    """An overlap of the wool; a leg that was planned but has no system left."""
    with pytest.raises(InputError, match="layer of an overlap must be one"):
        read_system(plan(), readings(overlaps=[{"layer": 1, "cm": 5.0}]))
    made = plan()
    leg = next(iter(made.legs.values()))
    none = made.model_copy(update={"legs": {leg.side: leg.model_copy(update={"systems": ()})}})
    with pytest.raises(InputError, match=r"a leg with a plan \(none\); received right"):
        read_system(none, readings())


def test_readings_that_name_case_and_day_of_the_plan_fit() -> None:
    _leg, system = read_system(plan(), readings(case=CASE, on=plan().today))
    assert system.name == SYSTEM
