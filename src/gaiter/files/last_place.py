"""The last place on a machine, for what may wait while a clinic that it serves may not."""

import os

# Of a process; the farthest that the system knows.
LAST = 19


def take_last_place() -> None:
    """Lets everything else on the machine go first, from now on and in processes started later."""
    if hasattr(os, "nice"):  # not everywhere
        os.nice(LAST)
