"""Load on a running clinic: signed-in clients that read and save, on this machine.

    python -m benchmarks.clinic_load --clients 50 --seconds 60

Makes a clinic in a scratch folder (or on GAITER_DATABASE), serves it as `gaiter serve` does, and
lets each client read today's list, a leg and its visit, save a box and fetch the part that follows
it, pausing one to three seconds before each, as a person reads. The first ten seconds are run but
not counted: a server just started draws every leg for the first time. Errors count from the start.
Every client has an account of its own, as people have. `load_beside` measures the same while other
work runs.
Prints counts, errors and the 50th, 95th and 99th percentile for every kind of page, then how long
the audit entry of opening a record takes in the same database.
"""

import argparse
import http.client
import json
import os
import random
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode

PASSWORD = "heron ford demo"
GAITER = (sys.executable, "-c", "from gaiter.cli import main; main()")
SETTLE_S = 10
_MAKE = """
import django
django.setup()
from gaiter.operations.demo.make import make_demo
from gaiter.operations.demo.people import SPECS
make_demo(lambda words: None, SPECS[:12])
from gaiter.operations.demo.people import PASSWORD
from gaiter.records.actions.accounts import add_account
from gaiter.records.ledger import Actor
for number in range({clients}):
    add_account(
        Actor(None, "load"), username=f"client-{{number}}", name=f"Client {{number}}",
        initials="c", role="bandager", password=PASSWORD, demo=True,
    )
"""
MOST_CLIENTS = 64

_AUDIT = """
import time
import django
django.setup()
from gaiter.records.ledger import Actor, note_opening
from gaiter.records.models import Account, Person
actor, person = Actor(Account.objects.first(), "here"), Person.objects.first()
times = []
for _ in range(200):
    started = time.perf_counter()
    note_opening(actor, "open record", person)
    times.append(1000 * (time.perf_counter() - started))
times.sort()
print(f"audit entry of an opening: median {times[100]:.1f} ms, 95 % {times[190]:.1f} ms")
"""


class Client:
    """One signed-in browser, over one kept connection."""

    def __init__(self, port: int, username: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        self.cookies: dict[str, str] = {}
        page = self.get("/sign-in/")[1]
        token = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', page)
        form = {"username": username, "password": PASSWORD, "csrfmiddlewaretoken": token.group(1)}
        status, _ = self.ask("POST", "/sign-in/", urlencode(form))
        if status != 302:
            raise RuntimeError(f"signing in answered {status}")

    def ask(self, verb: str, path: str, body: str = "", **headers: str) -> tuple[int, str]:
        """Status and text of an answer."""
        headers["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        if body:
            headers.setdefault("Content-Type", "application/x-www-form-urlencoded")
        try:
            self.connection.request(verb, path, body or None, headers)
            answer = self.connection.getresponse()
        except (http.client.RemoteDisconnected, ConnectionResetError):
            # A server may close an idle connection at any time; a browser opens another.
            self.connection.close()
            self.connection.request(verb, path, body or None, headers)
            answer = self.connection.getresponse()
        text = answer.read().decode(errors="replace")
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.partition(";")[0]
        return answer.status, text

    def get(self, path: str) -> tuple[int, str]:
        """A page."""
        return self.ask("GET", path)


def day(
    client: Client, span: tuple[float, float], times: dict[str, list[float]], errors: list[str]
) -> None:
    """Reads and saves until the time is over, counting from when it is to be counted."""
    count_from, until = span

    def timed(kind: str, *request: str, **headers: str) -> str:
        time.sleep(random.uniform(1, 3))
        started = time.perf_counter()
        status, text = client.ask(*request, **headers)
        if time.time() > count_from:
            times[kind].append(1000 * (time.perf_counter() - started))
        if status != 200:
            errors.append(f"{kind}: {status}")
        return text

    legs = re.findall(r'href="(/legs/\d+/)"', timed("today", "GET", "/?show=all"))
    while time.time() < until:
        timed("today", "GET", "/")
        leg = timed("leg", "GET", random.choice(legs))
        visits = re.findall(r'href="(/visits/\d+/)"', leg)
        if visits:
            visit = visits[0]
            page = timed("visit", "GET", visit)
            base = re.search(r'data-path="look.hours_worn" data-base="(\d+)"', page)
            body = {
                "entries": [
                    {
                        "path": "look.hours_worn",
                        "text": str(random.randint(1, 600)),
                        "base": int(base.group(1)),
                    }
                ]
            }
            token = client.cookies["gaiter-form"]
            timed(
                "save", "POST", visit + "save/", json.dumps(body),
                **{"Content-Type": "application/json", "Accept": "application/json",
                   "X-CSRFToken": token},
            )  # fmt: skip
            timed("live", "GET", visit + "live/")


def percentile(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def main() -> None:
    clients, seconds = asked(argparse.ArgumentParser())
    with served() as (port, environment):
        measure(port, clients, seconds)
        subprocess.run([sys.executable, "-c", _AUDIT], env=environment, check=True)
        subprocess.run([*GAITER, "audit", "verify"], env=environment, check=True)


def asked(parser: argparse.ArgumentParser) -> tuple[int, int]:
    """How many clients, and for how many seconds."""
    parser.add_argument("--clients", type=int, default=50)
    parser.add_argument("--seconds", type=int, default=60)
    options, _more = parser.parse_known_args()
    if not 1 <= options.clients <= MOST_CLIENTS:
        parser.error(f"--clients is 1 to {MOST_CLIENTS}; received {options.clients}")
    return options.clients, options.seconds


@contextmanager
def served() -> Iterator[tuple[int, dict[str, str]]]:
    """Port and environment of a scratch clinic, served as long as it is used."""
    with served_by() as (port, environment, _server):
        yield port, environment


@contextmanager
def served_by() -> Iterator[tuple[int, dict[str, str], int]]:
    """The same, and the number of the server's first process."""
    with tempfile.TemporaryDirectory() as folder:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        environment = {
            **os.environ,
            "GAITER_DATA": folder,
            "DJANGO_SETTINGS_MODULE": "gaiter.operations.settings",
        }
        subprocess.run([*GAITER, "migrate"], env=environment, check=True, capture_output=True)
        subprocess.run(
            [sys.executable, "-c", _MAKE.format(clients=MOST_CLIENTS)], env=environment, check=True
        )
        with Path(folder, "log").open("w") as log:
            server = subprocess.Popen(
                [*GAITER, "serve", "--port", str(port)], env=environment, stdout=log, stderr=log
            )
            try:
                _wait(port)
                yield port, environment, server.pid
            finally:
                server.terminate()
                server.wait()


def _wait(port: int) -> None:
    for _ in range(600):
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.2)


def measure(port: int, count: int, seconds: int) -> None:
    times: dict[str, list[float]] = defaultdict(list)
    errors: list[str] = []
    clients = [Client(port, f"client-{n}") for n in range(count)]
    count_from = time.time() + SETTLE_S
    span = (count_from, count_from + seconds)
    threads = [
        threading.Thread(target=day, args=(client, span, times, errors)) for client in clients
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    total = sum(map(len, times.values()))
    print(f"{count} clients, {seconds} s: {total} requests, {total / seconds:.0f} a second, "
          f"{len(errors)} errors {sorted(set(errors))[:5]}")  # fmt: skip
    for kind, values in times.items():
        half, most, nearly_all = (percentile(values, share) for share in (0.5, 0.95, 0.99))
        print(f"  {kind:6} {len(values):6} requests, median {half:.0f} ms, 95 % {most:.0f} ms, "
              f"99 % {nearly_all:.0f} ms")  # fmt: skip


if __name__ == "__main__":
    main()
