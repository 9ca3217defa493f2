"""How many requests somebody may make: so many a second, and more of them for a while.

Kept in memory by each process of the server for itself. What is kept is bounded: of more than so
many who ask, those who have not asked for longest are forgotten and begin anew.
"""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

# So many are remembered: more than a clinic has accounts or addresses, in about a megabyte.
REMEMBERED = 4096


@dataclass
class _Left:
    requests: float
    at: float


class Allowance:
    """Requests that are left to whoever asks, by name.

    Parameters
    ----------
    a_second : float
        How many come back a second.
    at_once : float
        How many are there at most, for somebody who has not asked for a while.
    remembered : int
        Of how many names the process knows what is left.
    clock : callable
        Seconds of a clock that never goes back.
    """

    def __init__(
        self,
        a_second: float,
        at_once: float,
        remembered: int = REMEMBERED,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._a_second, self._at_once = a_second, at_once
        self._remembered, self._clock = remembered, clock
        self._lock = threading.Lock()
        self._left: OrderedDict[str, _Left] = OrderedDict()

    def __len__(self) -> int:
        return len(self._left)

    def take(self, name: str, cost: float = 1.0) -> bool:
        """Whether a request of this cost is allowed; one that is not takes nothing away."""
        now = self._clock()
        with self._lock:
            left = self._left.setdefault(name, _Left(self._at_once, now))
            self._left.move_to_end(name)
            while len(self._left) > self._remembered:
                self._left.popitem(last=False)
            come_back = (now - left.at) * self._a_second
            left.requests, left.at = min(left.requests + come_back, self._at_once), now
            if left.requests < cost:
                return False
            left.requests -= cost
            return True
