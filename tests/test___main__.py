"""The command as a process: what may wait stands behind what may not."""

import os
import subprocess
import sys

import pytest

from gaiter.files.last_place import LAST


@pytest.mark.parametrize(("command", "place"), [("study", LAST), ("backup", LAST), ("plan", 0)])
def test_what_may_wait_stands_behind_a_clinic_on_the_same_machine(command, place) -> None:
    here = os.nice(0)
    told = subprocess.run(
        [sys.executable, "-c", _PLACE, command, "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert int(told.stdout.split()[-1]) == max(here, place)


_PLACE = """
import contextlib, os
from gaiter.__main__ import run
with contextlib.suppress(SystemExit):
    run()
print(os.nice(0))
"""
