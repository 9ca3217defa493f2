import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.folder_clinic import empty, kept_clinic, real
from tests.strategies import case_mapping

__all__ = ["case_file", "empty", "kept_clinic", "real"]


@pytest.fixture
def case_file(tmp_path: Path) -> Callable[..., str]:
    """Writes the usual case with changes, and gives its path."""

    def write(name: str = "case.json", **changes: object) -> str:
        path = tmp_path / name
        path.write_text(json.dumps(case_mapping(**changes)))
        return str(path)

    return write
