"""What one account can do to the others: their waiting while it floods the clinic, and before.

    python -m benchmarks.one_account --clients 8 --seconds 30
    python -m benchmarks.one_account --flood paced --rate 100
    python -m benchmarks.one_account --flood connected

Serves a scratch clinic as `gaiter serve` does. Some clients read today's list, a leg and its visit
and save a box, first alone and then while one other account sends everything at once, from a
process of its own: forms with 600 copies of a box, forms of 10 MB, 32 connections that ask the
plan page for ever different changes, and bodies that arrive a byte at a time. `paced` sends no more
than so many a second, as a flood from another machine would without its work on this one;
`connected` opens the connections and sends nothing. Prints the 95th percentile of each kind of page
before and during, their ratio, what the flood was answered, and the processors that the server,
the flood and the whole machine used meanwhile.
"""

import argparse
import http.client
import json
import multiprocessing
import os
import random
import re
import socket
import sys
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path
from queue import Queue
from urllib.parse import urlencode

from benchmarks.clinic_load import Client, day, percentile, served_by

FLOODER = "mercer"
PLANNERS, SLOW_BODIES = 32, 8
_LARGE = 10 * 2**20


class Flood:
    """One account's connections, until it is over; counts what each was answered.

    ``rate`` is how many requests a second it makes at most; 0 for as many as are answered.
    """

    def __init__(self, port: int, rate: float, over: threading.Event) -> None:
        self.port, self.rate, self.over = port, rate, over
        self.answers: Counter[str] = Counter()
        first = Client(port, FLOODER)
        self.cookies = first.cookies
        legs = [f"/legs/{n}/" for n in range(1, 13)]
        texts = "".join(first.get(leg)[1] for leg in legs)
        self.visits = sorted(set(re.findall(r"/visits/\d+/", texts)))

    def idle(self) -> None:
        """As many connections, over which nothing is sent."""
        lines = [
            socket.create_connection(("127.0.0.1", self.port), timeout=60)
            for _one in range(PLANNERS + SLOW_BODIES + 4)
        ]
        self.over.wait()
        for line in lines:
            line.close()

    def run(self) -> None:
        """Everything at once."""
        what: list[Callable[[], None]] = [
            *[self._plan] * PLANNERS, *[self._slow] * SLOW_BODIES,
            *[self._copies] * 2, *[self._large] * 2,
        ]  # fmt: skip
        threads = [threading.Thread(target=self._until_over, args=(one,)) for one in what]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    def _until_over(self, one: Callable[[], None]) -> None:
        while not self.over.is_set():
            if self.rate:
                time.sleep(random.uniform(0, 2) * (PLANNERS + 4) / self.rate)
            try:
                one()
            except (OSError, ValueError) as error:
                self.answers[f"{one.__name__[1:]} {type(error).__name__}"] += 1
                time.sleep(0.1)

    def _client(self) -> Client:
        made = Client.__new__(Client)
        made.connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        made.cookies = dict(self.cookies)
        return made

    def _plan(self) -> None:
        asked = {
            "stretch.short_stretch": random.randint(20, 90),
            "overlap.short_stretch": random.randint(30, 70),
            "pad.shin edge": random.randint(1, 20),
        }
        path = f"{random.choice(self.visits)}plan/?{urlencode(asked)}"
        status, _text = self._client().ask("GET", path, **{"X-Part": "design"})
        self.answers[f"plan {status}"] += 1

    def _copies(self) -> None:
        one = {"path": "look.hours_worn", "text": "3", "base": 0}
        body = json.dumps({"entries": [one] * 600})
        status, _text = self._post(f"{random.choice(self.visits)}save/", body, "application/json")
        self.answers[f"copies {status}"] += 1

    def _large(self) -> None:
        leg = random.randint(1, 12)
        status, _text = self._post(
            f"/legs/{leg}/note/", "words=" + "x" * _LARGE, "application/x-www-form-urlencoded"
        )
        self.answers[f"large {status}"] += 1

    def _post(self, path: str, body: str, kind: str) -> tuple[int, str]:
        return self._client().ask(
            "POST", path, body,
            **{"Content-Type": kind, "X-CSRFToken": self.cookies["gaiter-form"]},
        )  # fmt: skip

    def _slow(self) -> None:
        """A form whose length is said at once and whose bytes come one by one."""
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        head = (
            f"POST /legs/1/note/ HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nCookie: {cookies}\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 100000\r\n\r\n"
        )
        with socket.create_connection(("127.0.0.1", self.port), timeout=60) as line:
            line.sendall(head.encode())
            while not self.over.wait(0.5):
                line.sendall(b"x")
        self.answers["slow"] += 1


def measured(port: int, count: int, seconds: int, settle: int) -> dict[str, list[float]]:
    """Milliseconds of every kind of page of so many clients."""
    times: dict[str, list[float]] = defaultdict(list)
    errors: list[str] = []
    clients = [Client(port, ("rowan", "sedge")[n % 2]) for n in range(count)]
    span = (time.time() + settle, time.time() + settle + seconds)
    threads = [threading.Thread(target=day, args=(one, span, times, errors)) for one in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if errors:
        print(f"  {len(errors)} errors: {Counter(errors).most_common(5)}")
    return times


def flood(port: int, kind: str, rate: float, over: threading.Event, answers: Queue) -> None:
    """What the process of the flood does."""
    made = Flood(port, rate if kind == "paced" else 0, over)
    if kind == "connected":
        made.idle()
    else:
        made.run()
    answers.put(dict(made.answers))


class Processors:
    """How many processors were used since this was made."""

    def __init__(self, **first: int) -> None:
        self.first, self.began = first, time.monotonic()
        self.before = self._used()

    def said(self) -> str:
        """Of the processes that were named with all that they started, and of the machine."""
        span, now = time.monotonic() - self.began, self._used()
        return ", ".join(
            f"{name} {(now[name] - self.before[name]) / span:.2f}" for name in self.before
        )

    def _used(self) -> dict[str, float]:
        tick = os.sysconf("SC_CLK_TCK")
        of: dict[int, tuple[int, int]] = {}
        for entry in Path("/proc").glob("[0-9]*/stat"):
            try:
                said = entry.read_text().rpartition(")")[2].split()
            except OSError:
                continue
            of[int(entry.parent.name)] = int(said[1]), int(said[11]) + int(said[12])
        used = {
            name: sum(ticks for pid, (_of, ticks) in of.items() if _descends(pid, first, of)) / tick
            for name, first in self.first.items()
        }
        whole = [int(part) for part in Path("/proc/stat").read_text().split("\n")[0].split()[1:9]]
        return {**used, "the machine": (sum(whole) - whole[3] - whole[4]) / tick}


def _descends(pid: int, first: int, of: dict[int, tuple[int, int]]) -> bool:
    while pid in of and pid != first:
        pid = of[pid][0]
    return pid == first


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--seconds", type=int, default=30)
    parser.add_argument("--flood", choices=("full", "paced", "connected"), default="full")
    parser.add_argument("--rate", type=float, default=100, help="requests a second, if paced")
    options = parser.parse_args()
    with served_by() as (port, _environment, server):
        return _beside(port, server, options)


def _beside(port: int, server: int, options: argparse.Namespace) -> int:
    processors = Processors(server=server)
    quiet = measured(port, options.clients, options.seconds, settle=10)
    print(f"processors quiet: {processors.said()}")
    fork = multiprocessing.get_context("fork")
    over, answers = fork.Event(), fork.Queue()
    given = (port, options.flood, options.rate, over, answers)
    flooding = fork.Process(target=flood, args=given)
    flooding.start()
    processors = Processors(server=server, flood=flooding.pid or 0)
    try:
        busy = measured(port, options.clients, options.seconds, settle=5)
        print(f"processors in the flood: {processors.said()}")
    finally:
        over.set()
    said = answers.get(timeout=60)
    flooding.join()
    print(f"the flood was answered {said}")
    worst = 0.0
    for kind in quiet:
        before, during = percentile(quiet[kind], 0.95), percentile(busy[kind] or [0], 0.95)
        worst = max(worst, during / before)
        print(
            f"  {kind:6} 95 % {before:5.0f} ms quiet, {during:5.0f} ms in the flood: "
            f"{during / before:.1f} times ({len(quiet[kind])} and {len(busy[kind])} requests)"
        )
    return 0 if worst <= 2 else 1


if __name__ == "__main__":
    sys.exit(main())
