"""What an address asks to change: only what differs, in whole per cent and mm, refused in words."""

import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.errors import InputError
from gaiter.core.plan import LayerChange
from gaiter.web.plan.controls import adjustment_of
from tests.sheets.small_plan import system


def layer():
    return next(one for one in system().layers if one.presses)


def test_what_an_address_repeats_is_no_change() -> None:
    one = layer()
    asked = {
        f"stretch.{one.material}": f"{one.stretch_percent:.0f}",
        f"overlap.{one.material}": f"{100 * one.overlap:.0f}",
        f"pattern.{one.material}": one.pattern.value,
        "start": "", "end": system().padding.end.value,
        **{f"pad.{place}": f"{mm:.0f}" for place, mm in system().pads_mm.items()},
    }  # fmt: skip
    assert adjustment_of(asked, system()).changes_nothing


def test_per_cent_become_shares_and_a_comma_is_a_point() -> None:
    one = layer()
    asked = {f"stretch.{one.material}": "37,5", f"overlap.{one.material}": "66"}
    change = adjustment_of(asked, system()).layers[one.material]
    assert change == LayerChange(stretch=0.375, overlap=0.66)


def test_another_pattern_and_a_pad_are_taken_as_asked() -> None:
    one = layer()
    other = next(p for p in Pattern if p is not one.pattern)
    asked = {f"pattern.{one.material}": other.value, "pad.heel": "8", "pad.shin": ""}
    made = adjustment_of(asked, system())
    assert made.layers == {one.material: LayerChange(pattern=other)}
    assert made.pads_mm == {"heel": 8.0}


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"stretch.{m}": "much"}, "Stretch must be a number; received 'much'"),
        ({"overlap.{m}": "half"}, "Overlap must be a number"),
        ({"pattern.{m}": "figure"}, "Pattern must be spiral or herringbone"),
        ({"pad.heel": "thick"}, "Padding must be a number; received 'thick'"),
        ({"end": "moon"}, "Start and end are places of the leg"),
    ],
)
def test_what_is_no_number_and_no_choice_is_refused(asked: dict, words: str) -> None:
    material = layer().material
    with pytest.raises(InputError, match=words):
        adjustment_of({k.format(m=material): v for k, v in asked.items()}, system())
