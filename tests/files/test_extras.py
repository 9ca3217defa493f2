"""What is said where an extra is missing."""

import tomllib
from pathlib import Path

import pytest

from gaiter.core.errors import InputError
from gaiter.files.extras import EXTRA_OF_MODULE, MissingExtraError, needed_extra

PROJECT = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())["project"]


@pytest.mark.parametrize(("module", "extra"), EXTRA_OF_MODULE.items())
def test_a_missing_package_names_its_extra(module: str, extra: str) -> None:
    said = rf"needs the extra '{extra}'.*{module}"
    with pytest.raises(MissingExtraError, match=said) as raised, needed_extra():
        raise ModuleNotFoundError(name=f"{module}.part")
    assert isinstance(raised.value, InputError)
    assert extra in PROJECT["optional-dependencies"]


def test_any_other_missing_module_is_a_fault() -> None:
    with pytest.raises(ModuleNotFoundError), needed_extra():
        raise ModuleNotFoundError(name="numpy")
