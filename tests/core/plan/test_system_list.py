"""Limits of every field of a list, and which layers a system has on which ankle."""

from typing import Any

import pytest
from pydantic import ValidationError

from gaiter.core.landmark import Landmark
from gaiter.core.plan.system_list import ListedLayer, ListedSystem, OwnReason, SystemList
from gaiter.core.plan.systems import Trait

LAYER: dict[str, Any] = {"material": "wool"}
REASON = {"text": "slips", "source": "audit"}
SYSTEM: dict[str, Any] = {
    "title": "Wool and crepe", "source": "practice", "traits": ["light"], "change_days": 3,
    "layers": [LAYER],
}  # fmt: skip
LIST: dict[str, Any] = {"schema": "gaiter.systems/1", "name": "Heron Ford", "version": "1"}
BASES = {ListedLayer: LAYER, OwnReason: REASON, ListedSystem: SYSTEM, SystemList: LIST}

# Record; field; the extremes that are taken; what lies just outside them.
LIMITS = [
    (ListedLayer, "material", ["w" * 60], ["w" * 61]),
    (ListedLayer, "patterns", [["spiral"]], [[]]),
    (ListedLayer, "overlaps", [[0.3], [0.75]], [[], [0.29], [0.76]]),
    (ListedLayer, "note", ["", "n" * 300], ["n" * 301]),
    (ListedLayer, "only_holds", [True], ["yes"]),
    (ListedLayer, "largest_stretch", [0.01, 3.0], [0.009, 3.01]),
    (ListedLayer, "ankle_above_cm", [13.0, 60.0], [12.9, 60.1]),
    (ListedLayer, "ankle_to_cm", [13.0, 60.0], [12.9, 60.1]),
    (OwnReason, "text", ["abc", "t" * 200], ["ab", "t" * 201]),
    (OwnReason, "source", ["abc", "s" * 200], ["ab", "s" * 201]),
    (ListedSystem, "title", ["abc", "t" * 120], ["ab", "t" * 121]),
    (ListedSystem, "source", ["abc", "s" * 300], ["ab", "s" * 301]),
    (ListedSystem, "traits", [["light"]], [[]]),
    (ListedSystem, "change_days", [1, 7], [0, 8]),
    (ListedSystem, "end", ["calf", "below_knee"], ["gaiter"]),
    (ListedSystem, "layers", [[LAYER], [LAYER] * 10], [[], [LAYER] * 11]),
    (ListedSystem, "reasons_for", [[], [REASON] * 3], [[REASON] * 4]),
    (ListedSystem, "reasons_against", [[], [REASON] * 3], [[REASON] * 4]),
    (SystemList, "name", ["n", "n" * 120], ["", "n" * 121]),
    (SystemList, "version", ["1", "1" * 40], ["", "1" * 41]),
]


@pytest.mark.parametrize(("record", "field", "taken", "refused"), LIMITS)
def test_each_field_takes_its_extremes_and_nothing_beyond(record, field, taken, refused) -> None:
    for value in taken:
        assert record.model_validate({**BASES[record], field: value})
    for value in refused:
        with pytest.raises(ValidationError, match=field):
            record.model_validate({**BASES[record], field: value})


def test_a_layer_left_as_it_is_spirals_by_half_on_every_ankle() -> None:
    recipe = ListedLayer(**LAYER).recipe
    assert (recipe.material, recipe.overlaps, recipe.only_holds) == ("wool", (0.5,), False)
    assert [pattern.value for pattern in recipe.patterns] == ["spiral"]
    assert recipe.largest_stretch is None
    assert ListedLayer(**LAYER).used_on(13.0)
    assert ListedLayer(**LAYER).used_on(60.0)


def test_a_layer_keeps_what_its_list_says_of_it() -> None:
    said = {**LAYER, "patterns": ["herringbone"], "overlaps": [0.4], "note": "loose",
            "only_holds": True, "largest_stretch": 0.2}  # fmt: skip
    recipe = ListedLayer(**said).recipe
    assert (recipe.overlaps, recipe.only_holds, recipe.largest_stretch) == ((0.4,), True, 0.2)
    assert [pattern.value for pattern in recipe.patterns] == ["herringbone"]
    assert str(recipe.note) == "loose"


@pytest.mark.parametrize(
    ("above", "to", "ankles"),
    # Above is above, to is included: of 18, 25, 25.1, 30 and 30.1 cm.
    [
        (None, 25.0, [18.0, 25.0]),
        (25.0, None, [25.1, 30.0, 30.1]),
        (25.0, 30.0, [25.1, 30.0]),
    ],
)
def test_a_layer_is_used_above_one_girth_and_up_to_another(above, to, ankles) -> None:
    layer = ListedLayer(**LAYER, ankle_above_cm=above, ankle_to_cm=to)
    assert [cm for cm in (18.0, 25.0, 25.1, 30.0, 30.1) if layer.used_on(cm)] == ankles


@pytest.mark.parametrize("to", [24.9, 25.0])
def test_a_layer_for_no_ankle_is_refused(to: float) -> None:
    with pytest.raises(ValidationError, match=f"ankle_above_cm must be below .* 25 and {to:g} cm"):
        ListedLayer(**LAYER, ankle_above_cm=25.0, ankle_to_cm=to)
    assert ListedLayer(**LAYER, ankle_above_cm=25.0, ankle_to_cm=25.1)


def test_a_system_has_one_build_for_each_kind_of_ankle() -> None:
    """Edges at 25 and 30 cm make three: to 25, to 30, and above."""
    layers = [
        {"material": "wool"},
        {"material": "crepe", "ankle_to_cm": 25.0},
        {"material": "elastic", "ankle_above_cm": 30.0},
    ]
    system = ListedSystem.model_validate({**SYSTEM, "layers": layers})
    builds = [[layer.material for layer in build] for build in system.builds()]
    assert builds == [["wool", "crepe"], ["wool"], ["wool", "elastic"]]
    assert [len(ListedSystem.model_validate(SYSTEM).builds())] == [1]


def test_a_system_on_an_ankle_is_what_its_list_says() -> None:
    layers = [{"material": "wool"}, {"material": "crepe", "ankle_to_cm": 25.0}]
    said = {**SYSTEM, "layers": layers, "end": "calf", "reasons_for": [REASON],
            "reasons_against": [{"text": "warm", "source": "audit"}]}  # fmt: skip
    made = ListedSystem.model_validate(said).on_ankle("own", 26.0)
    assert (made.name, made.title, made.change_days) == ("own", "Wool and crepe", 3)
    assert (made.traits, made.end) == ({Trait.LIGHT}, Landmark.CALF)
    assert [layer.material for layer in made.layers] == ["wool"]
    assert [str(text) for text in made.reasons_for] == ["slips (audit)"]
    assert [str(text) for text in made.reasons_against] == ["warm (audit)"]


def test_a_list_is_called_by_name_and_version() -> None:
    made = SystemList.model_validate(LIST)
    assert made.label == "Heron Ford, version 1"
    assert (made.without, dict(made.systems)) == ((), {})
