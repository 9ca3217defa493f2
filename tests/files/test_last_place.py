"""The last place on the machine."""

import subprocess
import sys


def test_whoever_takes_the_last_place_stands_behind_all_and_so_do_its_processes() -> None:
    """19 is the farthest that a process may stand behind (POSIX, setpriority)."""
    asked = (
        "import os, subprocess, sys\n"
        "from gaiter.files.last_place import take_last_place\n"
        "take_last_place()\n"
        "later = [sys.executable, '-c', 'import os; print(os.nice(0))']\n"
        "print(os.nice(0), subprocess.run(later, capture_output=True, text=True).stdout.strip())"
    )
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["19", "19"]
