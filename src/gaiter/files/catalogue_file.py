"""Reads the shipped catalogue of materials."""

import hashlib
import tomllib
from importlib import resources

from gaiter.core.fabric import Catalogue, catalogue_from_mapping


def shipped_catalogue() -> Catalogue:
    """The generic materials that come with the program."""
    raw = resources.files("gaiter.data").joinpath("catalogue.toml").read_bytes()
    return catalogue_from_mapping(
        tomllib.loads(raw.decode()), sha256=hashlib.sha256(raw).hexdigest()
    )
