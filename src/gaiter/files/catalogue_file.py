"""Reads the shipped catalogue: materials, and the bandage systems made of them."""

import hashlib
import tomllib
from functools import cache
from importlib import resources

from gaiter.core.fabric import catalogue_from_mapping
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.files.systems_file import with_shipped_systems


@cache
def shipped_catalogue() -> BandageCatalogue:
    """The generic materials and bandage systems that come with the program."""
    raw = resources.files("gaiter.data").joinpath("catalogue.toml").read_bytes()
    materials = catalogue_from_mapping(
        tomllib.loads(raw.decode()), sha256=hashlib.sha256(raw).hexdigest()
    )
    return with_shipped_systems(materials)
