"""Every check of a listed system on both sides of its limit, with materials made for it."""

from typing import Any

import pytest

from gaiter.core.plan.system_checks import faults_of
from gaiter.core.plan.system_list import ListedSystem
from gaiter.files.catalogue_file import shipped_catalogue

WOOL, PASTE, COVER = "orthopaedic_wool", "zinc_paste", "cohesive_elastic"
LONG, SHORT, CREPE = "long_stretch_elastic", "short_stretch", "light_support"


def materials(**classes: float | None) -> dict[str, Any]:
    """The shipped ones, some with another pressure class [mmHg]."""
    return {
        key: one.model_copy(update={"class_mmhg": classes[key]}) if key in classes else one
        for key, one in shipped_catalogue().materials.items()
    }


def faults(layers: list, traits: list[str], known: dict | None = None, **more: Any) -> list[str]:
    """Field and first words of what is wrong with one system, without its name."""
    laid = [one if isinstance(one, dict) else {"material": one} for one in layers]
    said = {"title": "Own", "source": "invented", "traits": traits, "change_days": 3, **more}
    system = ListedSystem.model_validate({**said, "layers": laid})
    found = faults_of({"own": system}, known or materials())
    assert all(text for _field, text in found)
    return [field.removeprefix("systems.own.") for field, _text in found]


def holding(material: str) -> dict[str, Any]:
    return {"material": material, "only_holds": True}


# Layers and traits that are what they claim to be.
SOUND = [
    ([WOOL, LONG], ["elastic"]),
    ([WOOL, SHORT], ["inelastic"]),
    ([WOOL, SHORT, LONG], ["elastic", "inelastic"]),
    ([WOOL, COVER], ["elastic", "cohesive"]),
    # Three layers may be called many, and need not be.
    ([WOOL, "coarse_gauze", LONG], ["elastic"]),
    ([WOOL, "coarse_gauze", LONG], ["elastic", "many layers"]),
    ([WOOL, "coarse_gauze", LONG, COVER], ["elastic", "cohesive", "many layers"]),
    # A support bandage, or one elastic cover over paste, is not called elastic.
    ([WOOL, CREPE], ["support"]),
    ([WOOL, CREPE], ["support", "light"]),
    ([WOOL, CREPE], ["support", "elastic"]),
    ([PASTE, WOOL, COVER], ["zinc paste", "inelastic", "cohesive"]),
    ([PASTE, WOOL, COVER], ["zinc paste", "inelastic", "cohesive", "elastic"]),
    # What only holds the wool makes nothing elastic, and support of nothing.
    ([WOOL, holding(CREPE), SHORT], ["inelastic"]),
    ([WOOL, "light_elastic"], ["elastic", "light"]),
    ([WOOL, {"material": SHORT, "largest_stretch": 0.35}], ["inelastic", "reduced"]),
    ([WOOL, {"material": SHORT, "largest_stretch": 0.8}], ["inelastic"]),
]


@pytest.mark.parametrize(("layers", "traits"), SOUND)
def test_a_system_that_is_what_it_claims_has_no_fault(layers, traits) -> None:
    assert faults(layers, traits) == []


# Layers and traits, and the fields at fault: what is changed about a sound one.
WRONG = [
    ([WOOL, LONG], ["inelastic"], ["traits"] * 2),
    ([WOOL, SHORT, LONG], ["inelastic"], ["traits"]),
    ([WOOL, SHORT, LONG], ["elastic"], ["traits"]),
    ([WOOL, COVER], ["elastic"], ["traits"]),
    ([WOOL, LONG], ["elastic", "cohesive"], ["traits"]),
    ([WOOL, LONG], ["elastic", "zinc paste"], ["traits"]),
    ([WOOL, LONG], ["elastic", "light"], ["traits"]),
    ([WOOL, LONG], ["elastic", "support"], ["traits"]),
    ([WOOL, LONG], ["elastic", "reduced"], ["traits"]),
    ([WOOL, "coarse_gauze", LONG, COVER], ["elastic", "cohesive"], ["traits"]),
    ([WOOL, CREPE], ["elastic"], ["traits"]),
    # Two elastic layers over paste are called elastic.
    ([PASTE, WOOL, LONG, COVER], ["zinc paste", "inelastic", "cohesive", "many layers"],
     ["traits"]),
    ([WOOL, holding(CREPE), SHORT], ["inelastic", "elastic"], ["traits"]),
    ([WOOL, holding(LONG), SHORT], ["inelastic"], ["layers.1.only_holds"]),
    ([WOOL], ["light"], ["layers"]),
    ([WOOL, holding(CREPE)], ["light"], ["layers"]),
    ([WOOL, SHORT, holding(CREPE)], ["inelastic"], ["layers"]),
    ([WOOL, SHORT, SHORT], ["inelastic"], ["layers"]),
    ([WOOL, "tubular_elastic", SHORT], ["inelastic"], ["layers.1.material"]),
    ([WOOL, "kite", SHORT], ["inelastic"], ["layers.1.material"]),
    ([WOOL, {"material": SHORT, "largest_stretch": 0.34}], ["inelastic"],
     ["layers.1.largest_stretch"]),
    ([WOOL, {"material": SHORT, "largest_stretch": 0.81}], ["inelastic"],
     ["layers.1.largest_stretch"]),
    ([{"material": WOOL, "largest_stretch": 0.5}, SHORT], ["inelastic"],
     ["layers.0.largest_stretch"]),
    ([WOOL, holding(CREPE) | {"largest_stretch": 0.2}, SHORT], ["inelastic"],
     ["layers.1.largest_stretch"]),
    # Every layer is looked at, and the traits only where each is known.
    (["kite", LONG, "tubular_elastic"], ["light"], ["layers.0.material", "layers.2.material"]),
]  # fmt: skip


@pytest.mark.parametrize(("layers", "traits", "fields"), WRONG)
def test_a_system_that_is_not_what_it_claims_is_found_out(layers, traits, fields) -> None:
    assert faults(layers, traits) == fields


@pytest.mark.parametrize(
    ("class_mmhg", "traits", "fields"),
    [
        # BS 7505: light up to 20 mmHg; crepe keeps up to 10 mmHg: both ends included.
        (20.0, ["elastic", "light"], []),
        (21.0, ["elastic", "light"], ["traits"]),
        (10.0, ["elastic"], ["traits"]),
        (10.0, ["elastic", "support"], []),
        (10.5, ["elastic"], []),
        (10.5, ["elastic", "support"], ["traits"]),
    ],
)
def test_light_and_support_end_at_20_and_10_mmhg(class_mmhg, traits, fields) -> None:
    known = materials(light_elastic=class_mmhg)
    assert faults([WOOL, "light_elastic"], traits, known) == fields


@pytest.mark.parametrize(("class_mmhg", "fields"), [(10.0, []), (10.5, ["layers.1.only_holds"])])
def test_only_a_support_bandage_holds_the_wool(class_mmhg, fields) -> None:
    known = materials(light_support=class_mmhg)
    assert faults([WOOL, holding(CREPE), SHORT], ["inelastic"], known) == fields


def test_paste_of_no_named_class_is_no_support_and_gives_no_more_than_any_limit() -> None:
    known = materials(zinc_paste=None)
    traits = ["zinc paste", "inelastic", "cohesive"]
    assert faults([PASTE, WOOL, COVER], traits, known) == []
    assert faults([PASTE, WOOL, CREPE], [*traits[:2], "light", "support"], known) == []


def test_many_layers_are_counted_on_the_ankle_that_has_most() -> None:
    """Three on an ankle of 25 cm, four above it."""
    more = {"material": "coarse_gauze", "ankle_above_cm": 25.0}
    assert faults([WOOL, more, LONG, COVER], ["elastic", "cohesive"]) == ["traits"]


@pytest.mark.parametrize(
    ("layers", "said"),
    [
        ([WOOL, SHORT, SHORT], False),
        ([WOOL], False),
        ([WOOL, {"material": SHORT, "ankle_to_cm": 25.0}], True),
        ([WOOL, SHORT, {"material": SHORT, "ankle_above_cm": 25.0}], True),
        ([WOOL, SHORT, holding(CREPE)], False),
        ([WOOL, holding(CREPE), {"material": SHORT, "ankle_to_cm": 25.0}, LONG,
          {"material": COVER, "only_holds": False, "ankle_to_cm": 25.0}], None),
    ],
)  # fmt: skip
def test_where_builds_differ_it_is_said_that_some_ankles_are_at_fault(layers, said) -> None:
    laid = [one if isinstance(one, dict) else {"material": one} for one in layers]
    own = {"title": "Own", "source": "invented", "change_days": 3, "layers": laid,
           "traits": ["inelastic", "elastic", "cohesive", "many layers"]}  # fmt: skip
    found = dict(faults_of({"own": ListedSystem.model_validate(own)}, materials()))
    if said is None:
        assert found == {}
    else:
        assert ("on some ankle girths" in found["systems.own.layers"]) is said


def test_two_of_one_title_are_told_apart_whatever_their_letters() -> None:
    own = {"title": "Own", "source": "invented", "traits": ["inelastic"], "change_days": 3,
           "layers": [{"material": WOOL}, {"material": SHORT}]}  # fmt: skip
    listed = {
        name: ListedSystem.model_validate({**own, "title": title})
        for name, title in (("one", "Own"), ("other", "OWN"), ("third", "Third"))
    }
    assert [field for field, _text in faults_of(listed, materials())] == ["systems.other.title"]
    assert faults_of({"one-two": listed["one"]}, materials())[0][0] == "systems.one-two"
