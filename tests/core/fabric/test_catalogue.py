import math

import pytest
from pydantic import ValidationError

from gaiter.core.fabric import Catalogue, Material, StretchCurve, class_pressure_mmhg
from gaiter.core.pressure.laplace import cylinder
from gaiter.core.units import PASCAL_PER_MMHG
from tests.conftest import reference

KEYS = {
    "orthopaedic_wool", "coarse_gauze", "long_stretch_elastic", "short_stretch",
    "cohesive_elastic", "cohesive_inelastic", "zinc_paste", "light_support", "tubular_elastic",
    "light_elastic",
}  # fmt: skip
CLASSES = reference("bs7505")


def test_every_generic_kind_is_there(catalogue: Catalogue) -> None:
    assert set(catalogue.materials) == KEYS


@pytest.mark.parametrize("key", CLASSES["kinds"])
def test_class_on_the_reference_ankle(catalogue: Catalogue, key: str) -> None:
    """The upper bound of the class is its 'order of' pressure; half a mmHg is rounding."""
    low, high = CLASSES["bounds_mmhg"][CLASSES["kinds"][key]]
    assert low - 0.5 <= class_pressure_mmhg(catalogue[key]) <= high + 0.5


def test_light_support_gives_little_at_rest(catalogue: Catalogue) -> None:
    low, high = CLASSES["type_2_at_calf_mmhg"]
    assert low <= class_pressure_mmhg(catalogue["light_support"]) <= high


def test_extension_classes(catalogue: Catalogue) -> None:
    """Short-stretch below 100 %, long-stretch above it (sbacvrj.com.br, read)."""
    for material in catalogue.materials.values():
        if material.kind == "inelastic":
            assert (material.locking_stretch or 0) < 1.0
    assert (catalogue["long_stretch_elastic"].locking_stretch or 0) > 1.0


def test_every_entry_says_that_it_is_generic_and_where_its_numbers_come_from(
    catalogue: Catalogue,
) -> None:
    for material in catalogue.materials.values():
        assert material.note.startswith("Generic")
        assert material.length_source
        assert material.class_mmhg is None or material.class_source
        assert material.locking_stretch is None or material.locking_source


def test_only_wool_has_a_thickness_and_it_says_that_it_is_assumed(catalogue: Catalogue) -> None:
    with_thickness = {key for key, m in catalogue.materials.items() if m.thickness is not None}
    assert with_thickness == {"orthopaedic_wool"}
    thickness = catalogue["orthopaedic_wool"].thickness
    assert thickness is not None
    assert thickness.source.startswith("assumed")
    # 5.65 mm a component from the published 19.2 % (Al Khaburi et al. 2011).
    assert (thickness.low_cm, thickness.high_cm) == (0.0, 0.565)


def test_a_bandage_that_presses_needs_its_stretches_in_order(catalogue: Catalogue) -> None:
    fields = catalogue["short_stretch"].model_dump()
    with pytest.raises(ValidationError, match="stretches must rise from least"):
        Material.model_validate({**fields, "usual_stretch": 0.95})
    with pytest.raises(ValidationError, match="needs locking_stretch"):
        Material.model_validate({**fields, "locking_stretch": None})


def test_wool_has_no_curve(catalogue: Catalogue) -> None:
    with pytest.raises(ValueError, match="no stretch curve: it presses nothing"):
        _ = catalogue["orthopaedic_wool"].curve


@pytest.mark.parametrize("name", ["I", "II", "III"])
def test_ral_classes_on_the_reference_ankle(name: str) -> None:
    """A single hosiery thickness whose tension the closed form gives falls back into its class."""
    bounds = reference("ral387")["classes"][name]
    for mmhg, kpa in zip(bounds["mmhg"], bounds["kpa"], strict=True):
        # Both columns are rounded, kPa to a tenth (0.75 mmHg).
        assert kpa * 1000 / PASCAL_PER_MMHG == pytest.approx(mmhg, abs=0.75)
        wound = cylinder(girth_cm=23.0, thicknesses=1.0, pressure_mmhg=mmhg)
        # N per cm of height is kPa times the radius in cm over 10.
        assert wound.tension_n_per_cm == pytest.approx(kpa * 23 / (2 * math.pi) / 10, rel=0.04)


def test_long_stretch_is_stronger_than_a_class_ii_stocking_and_below_iv(
    catalogue: Catalogue,
) -> None:
    classes = reference("ral387")["classes"]
    pressure = class_pressure_mmhg(catalogue["long_stretch_elastic"])
    assert classes["III"]["mmhg"][0] <= pressure <= classes["III"]["mmhg"][1]


def test_a_clinics_own_curve_counts_after_the_generic_one_was_used(catalogue: Catalogue) -> None:
    """A copy of a material must not keep the curve that the generic one worked out before."""
    generic = catalogue["long_stretch_elastic"]
    assert float(generic.curve.tension_n_per_cm(0.5)) < 2
    own = generic.model_copy(update={"measured": StretchCurve(0.5, 2.0, 2.0)})
    assert float(own.curve.tension_n_per_cm(0.5)) == pytest.approx(2.0)
