"""A process of the server: refused lines wait without a thread, and no address has all threads."""

import inspect
import os
import socket
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from gunicorn.workers.gthread import ThreadWorker

from gaiter.operations.worker import PatientWorker
from gaiter.web.frame.gate import SENTENCE

THREADS = 4
# A gate that knows every cookie's account, before pages that read what is sent.
_PAGES = """
from django import setup
setup()
from gaiter.web.frame import gate
def pages(head, start):
    head[gate.ACCOUNT] = int(head.get("HTTP_COOKIE", "").partition("=")[2] or 0) or None
    head["wsgi.input"].read()
    start("200 OK", [("Content-Length", "5")])
    return [b"a page"[:5]]
application = gate.Gate(pages)
"""


class Served:
    """One process with few threads, asked by hand."""

    def __init__(self, port: int) -> None:
        self.port = port

    def line(self, source: str = "127.0.0.1") -> socket.socket:
        """A connection from one of the many addresses that this machine has for itself."""
        return socket.create_connection(("127.0.0.1", self.port), 10, (source, 0))

    def ask(self, account: int = 0, source: str = "127.0.0.1") -> tuple[str, float]:
        """An answer to the end of the line, and the seconds that it took."""
        began = time.monotonic()
        with self.line(source) as line:
            line.sendall(request(account))
            return everything(line), time.monotonic() - began


def request(account: int = 0, more: str = "") -> bytes:
    return (
        f"GET / HTTP/1.1\r\nHost: localhost\r\nCookie: gaiter={account or ''}\r\n{more}"
        "Connection: close\r\n\r\n"
    ).encode()


def everything(line: socket.socket) -> str:
    pieces = []
    while piece := line.recv(4096):
        pieces.append(piece)
    return b"".join(pieces).decode()


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("served")
    (folder / "pages_to_serve.py").write_text(_PAGES)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "pages_to_serve:application", "--chdir", folder,
         "--bind", f"127.0.0.1:{port}", "--workers", "1", "--threads", str(THREADS),
         "--worker-class", "gaiter.operations.worker.PatientWorker", "--log-level", "warning"],
        env={**os.environ, "GAITER_DATA": str(folder / "data"),
             "DJANGO_SETTINGS_MODULE": "gaiter.operations.settings"},
    )  # fmt: skip
    made = Served(port)
    try:
        for _again in range(300):
            try:
                made.ask(account=9)
                break
            except OSError:
                time.sleep(0.1)
        yield made
    finally:
        server.terminate()
        assert server.wait(timeout=40) == 0


def flooded(served: Served, account: int) -> None:
    """The account has asked more than is allowed at once."""
    for _one in range(81):
        served.ask(account)


def test_refused_lines_wait_a_second_without_a_thread(served) -> None:
    flooded(served, 1)
    lines = [served.line() for _one in range(5 * THREADS)]
    began = time.monotonic()
    for line in lines:
        line.sendall(request(1))
    answer, _took = served.ask(account=2)
    # All of the lines wait; three a second are allowed again, and are answered at once.
    assert answer.startswith("HTTP/1.1 200")
    assert time.monotonic() - began < 0.9
    with ThreadPoolExecutor(len(lines)) as pool:
        answers = list(pool.map(everything, lines))
    assert time.monotonic() - began >= 1.0
    refused = [one for one in answers if one.startswith("HTTP/1.1 429")]
    assert len(refused) >= len(lines) - 6  # two seconds of three
    for one in refused:
        assert "Retry-After: 1\r\n" in one
        assert one.endswith(SENTENCE.decode())
    for line in lines:
        line.close()


def test_slow_lines_of_one_address_leave_threads_to_others(served) -> None:
    """Three of four threads, and the others wait; without turns all four were held."""
    lines = [served.line("127.0.0.2") for _one in range(8 * THREADS)]
    for line in lines:
        line.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 10\r\n\r\n1")
    time.sleep(0.5)
    answer, took = served.ask(source="127.0.0.3")
    assert answer.startswith("HTTP/1.1 200")
    assert took < 5
    for line in lines:  # each has its turn once those before it are done
        line.sendall(b"234567890")
    for line in lines:
        assert line.recv(12) == b"HTTP/1.1 200"
        line.close()


def test_whoever_never_closes_keeps_nobody_waiting(served) -> None:
    """The server's own way of closing waits two seconds for the other side, on its one loop."""
    lines = [served.line("127.0.0.4") for _one in range(5)]
    for line in lines:
        line.sendall(request())
    for line in lines:
        assert everything(line).startswith("HTTP/1.1 200")
    answer, took = served.ask(source="127.0.0.5")
    assert answer.startswith("HTTP/1.1 200")
    assert took < 1.5
    for line in lines:
        line.close()


@pytest.mark.parametrize(
    "name", ["enqueue_req", "finish_request", "handle_request", "wait_for_and_dispatch_events"]
)
def test_the_server_still_calls_what_is_changed_here(name) -> None:
    """Another version of the server may; then the turns would be lost without a word."""
    theirs = inspect.signature(getattr(ThreadWorker, name)).parameters
    ours = inspect.signature(getattr(PatientWorker, name)).parameters
    assert len(theirs) == len(ours)
    assert f"self.{name}(" in inspect.getsource(ThreadWorker) or name == "finish_request"
