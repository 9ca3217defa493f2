"""What of the catalogue a clinic has, and its own sizes and curves in place of the catalogue's."""

import pytest

from gaiter.core.case import Case, StockItem
from gaiter.core.plan.stock import UnknownMaterialError, in_stock
from gaiter.files.catalogue_file import shipped_catalogue

WOOL, SHORT = "orthopaedic_wool", "short_stretch"


def stocked(**items: dict) -> dict:
    stock = {key: StockItem(**item) for key, item in items.items()}
    return dict(in_stock(Case.model_construct(stock=stock), shipped_catalogue()))


def test_without_a_stock_everything_is_there() -> None:
    found = in_stock(Case.model_construct(stock=None), shipped_catalogue())
    assert found == dict(shipped_catalogue().materials)


def test_only_what_has_a_roll_is_there_and_as_the_catalogue_has_it() -> None:
    found = stocked(**{WOOL: {"rolls": 1}, SHORT: {"rolls": 0}})
    assert found == {WOOL: shipped_catalogue()[WOOL]}


def test_an_empty_stock_has_nothing() -> None:
    assert stocked() == {}


@pytest.mark.parametrize(
    ("own", "changed"),
    [
        ({"widths_cm": [8.0, 12.0]}, {"widths_cm": (8.0, 12.0)}),
        ({"relaxed_length_cm": 450.0}, {"relaxed_length_cm": 450.0}),
    ],
)
def test_an_own_size_replaces_the_catalogues_and_nothing_else(own, changed) -> None:
    found = stocked(**{SHORT: {"rolls": 2, **own}})[SHORT]
    assert found == shipped_catalogue()[SHORT].model_copy(update=changed)


def test_a_measured_thickness_is_sure() -> None:
    """6 mm as wrapped is 0.6 cm, low and high."""
    found = stocked(**{WOOL: {"rolls": 2, "thickness_mm": 6.0}})[WOOL]
    assert (found.thickness.low_cm, found.thickness.high_cm) == pytest.approx((0.6, 0.6))
    assert found.measured is None


def test_a_curve_of_the_clinic_replaces_the_class() -> None:
    curve = {"usual_stretch": 0.6, "usual_tension_n_per_cm": 1.5, "locking_stretch": 0.95}
    found = stocked(**{SHORT: {"rolls": 2, "curve": curve}})[SHORT]
    made = found.curve
    assert (made.usual_stretch, made.usual_tension_n_per_cm, made.locking_stretch) == (
        0.6, 1.5, 0.95,
    )  # fmt: skip
    assert found.thickness == shipped_catalogue()[SHORT].thickness


def test_what_the_catalogue_does_not_have_is_refused_by_name() -> None:
    with pytest.raises(UnknownMaterialError, match="velvet is not in the catalogue") as refused:
        stocked(velvet={"rolls": 1})
    assert refused.value.key == "velvet"
    assert WOOL in refused.value.known
