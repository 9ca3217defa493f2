"""A clinic's list put on the shipped one: what is added, taken out, refused and said of it."""

from typing import Any

import pytest

from gaiter.core.fabric import Catalogue
from gaiter.core.plan.system_catalogue import (
    BandageCatalogue,
    SystemsError,
    changed_by,
    with_systems,
)
from gaiter.core.plan.system_list import SystemList
from gaiter.files.catalogue_file import shipped_catalogue

OWN: dict[str, Any] = {
    "title": "Own", "source": "invented", "traits": ["inelastic"], "change_days": 3,
    "layers": [{"material": "orthopaedic_wool"}, {"material": "short_stretch"}],
}  # fmt: skip
FALSE = OWN | {"traits": ["elastic"]}


def listed(*without: str, **systems: dict[str, Any]) -> SystemList:
    said = {"schema": "gaiter.systems/1", "name": "Heron Ford", "version": "2"}
    return SystemList.model_validate({**said, "without": list(without), "systems": systems})


def materials() -> Catalogue:
    shipped = shipped_catalogue()
    return Catalogue(materials=shipped.materials, sha256="m" * 64)


def small(**systems: dict[str, Any]) -> BandageCatalogue:
    return with_systems(materials(), listed(**systems), "s" * 64)


def test_materials_and_systems_keep_their_fingerprints() -> None:
    made = small(one=OWN)
    assert (made.sha256, made.systems_sha256, made.systems_changes) == ("m" * 64, "s" * 64, ())
    assert made.titles == {"one": "Own"}
    assert [one.name for one in made.systems_for(22.0)] == ["one"]
    with pytest.raises(SystemsError, match=r"systems\.one\.traits: .*elastic") as refused:
        small(one=FALSE)
    assert {field for field, _text in refused.value.faults} == {"systems.one.traits"}


def test_a_clinics_systems_come_after_the_shipped_ones_that_it_leaves_in() -> None:
    shipped = small(one=OWN, two=OWN | {"title": "Two"})
    made = changed_by(shipped, listed("one", own=OWN | {"title": "Mine"}), "c" * 64)
    assert made.titles == {"two": "Two", "own": "Mine"}
    assert made.materials == shipped.materials
    assert (made.sha256, made.systems_sha256) == ("m" * 64, "c" * 64)
    out, added = made.systems_changes
    assert "Own" in out
    assert "Mine" in added
    assert all("Heron Ford, version 2" in words for words in made.systems_changes)


def test_everything_that_is_wrong_with_a_clinics_list_is_said_at_once() -> None:
    shipped = small(one=OWN)
    with pytest.raises(SystemsError) as refused:
        changed_by(shipped, listed("three", one=OWN, own=FALSE | {"title": "Mine"}), "c" * 64)
    assert [field for field, _text in refused.value.faults] == [
        "without", "systems.one", "systems.own.traits", "systems.own.traits",
    ]  # fmt: skip


def test_the_last_system_may_be_taken_out_only_for_another() -> None:
    shipped = small(one=OWN)
    with pytest.raises(SystemsError) as refused:
        changed_by(shipped, listed("one"), "c" * 64)
    assert [field for field, _text in refused.value.faults] == ["without"]
    assert changed_by(shipped, listed("one", own=OWN), "c" * 64).titles == {"own": "Own"}


def test_a_clinics_list_that_changes_nothing_is_kept_by_its_fingerprint() -> None:
    made = changed_by(small(one=OWN), listed(), "c" * 64)
    assert (made.titles, made.systems_changes, made.systems_sha256) == (
        {"one": "Own"}, (), "c" * 64,
    )  # fmt: skip
