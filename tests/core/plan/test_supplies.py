"""Rolls, tape and a week of it, counted by hand."""

import pytest

from gaiter.core.plan.document import Supply
from gaiter.core.plan.supplies import rolls_to_take, supplies_for
from gaiter.files.catalogue_file import shipped_catalogue
from tests.core.plan.hand_made import ELASTIC, built, written

WOOL = "orthopaedic_wool"


def layers(wool_rolls: int = 1, elastic_rolls: int = 2, leg_width_cm: float | None = None):
    wool, elastic = written(built(WOOL, ELASTIC)).layers
    return (
        wool.model_copy(update={"rolls": wool_rolls}),
        elastic.model_copy(update={"rolls": elastic_rolls, "leg_width_cm": leg_width_cm}),
    )


def supplies(days: int, **rolls) -> dict[str, Supply]:
    catalogue = shipped_catalogue()
    found = supplies_for(layers(**rolls), [catalogue[WOOL], catalogue[ELASTIC]], days)
    return {one.material: one for one in found}


@pytest.mark.parametrize(
    ("days", "changes", "elastic"),
    [
        # Seven days over three: three changes. Washed fabric needs a second set, never a third.
        (7, 1, "2 rolls"),
        (6, 2, "4 rolls, wash"),
        (4, 2, "4 rolls, wash"),
        (3, 3, "4 rolls, wash"),
        (1, 7, "4 rolls, wash"),
    ],
)
def test_a_week_takes_a_bandage_for_each_change(days: int, changes: int, elastic: str) -> None:
    found = supplies(days)
    assert found[WOOL].now.text == "1 roll"
    assert found[WOOL].week.text == ("1 roll" if changes == 1 else f"{changes} rolls")
    assert found[ELASTIC].now.text == "2 rolls"
    assert found[ELASTIC].week.text == elastic
    assert (found[WOOL].rolls, found[ELASTIC].rolls) == (1, 2)


def test_tape_is_three_strips_of_eight_centimetres_for_each_change() -> None:
    tape = supplies(3)["tape"]
    assert tape.now.text == "3 strips of 8 cm"
    assert tape.week.text == "9 strips, 72 cm"
    assert tape.rolls is None


def test_widths_are_in_the_title() -> None:
    assert supplies(7)[ELASTIC].title.text.endswith(", 10 cm wide")
    assert supplies(7, leg_width_cm=12.5)[ELASTIC].title.text.endswith(", 10 and 12.5 cm wide")


def taken(leg_width_cm: float | None = None, elastic_rolls: int = 2, **said):
    system = written(built(WOOL, ELASTIC))
    wool, elastic = layers(3, elastic_rolls, leg_width_cm)
    catalogue = shipped_catalogue()
    found = supplies_for((wool, elastic), [catalogue[WOOL], catalogue[ELASTIC]], 7)
    return rolls_to_take(
        system.model_copy(
            update={
                "layers": (wool, elastic),
                "supplies": tuple(one.model_copy(update=said) for one in found),
            }
        )
    )


def test_rolls_are_taken_by_material_and_width() -> None:
    assert taken() == {(WOOL, 10.0): 3, (ELASTIC, 10.0): 2}


def test_of_two_widths_the_narrow_one_is_one_roll() -> None:
    assert taken(12.0, 3) == {(WOOL, 10.0): 3, (ELASTIC, 10.0): 1, (ELASTIC, 12.0): 2}
    assert taken(12.0, 1) == {(WOOL, 10.0): 3, (ELASTIC, 10.0): 1}


def test_an_earlier_plans_rolls_are_read_from_its_words() -> None:
    assert taken(rolls=None) == {(WOOL, 10.0): 3, (ELASTIC, 10.0): 2}


def test_two_layers_of_one_material_are_added() -> None:
    system = written(built(WOOL, WOOL, ELASTIC))
    assert rolls_to_take(system)[(WOOL, 10.0)] == 2
