"""The shipped catalogue is the file, whole, with the file's own fingerprint."""

import hashlib
import tomllib
from importlib import resources

from gaiter.files.catalogue_file import shipped_catalogue

RAW = resources.files("gaiter.data").joinpath("catalogue.toml").read_bytes()


def test_every_material_of_the_file_is_in_the_catalogue() -> None:
    told = tomllib.loads(RAW.decode())
    found = shipped_catalogue().materials
    assert list(found) == list(told)
    assert len(found) >= 5
    for key, material in found.items():
        assert material.key == key
        assert list(material.widths_cm) == told[key]["widths_cm"]


def test_the_fingerprint_is_that_of_the_bytes() -> None:
    assert shipped_catalogue().sha256 == hashlib.sha256(RAW).hexdigest()
