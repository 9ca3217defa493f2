"""A server that is asked odd things writes JSON lines to standard error, and nothing of them."""

import json
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

pytestmark = pytest.mark.long

MARK = "Ada-Invented"
LINK = "/account/link/secret-of-a-link/"
ODD = (
    b"GET / HTTP/9.9\r\n\r\n",
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + MARK.encode() + b"\r\n\r\n",
    b"G\x00T /" + MARK.encode() + b" HTTP/1.1\r\n\r\n",
    b"GET /" + MARK.encode() + b" HTTP/1.1\r\nHost: " + MARK.encode() + b".example\r\n\r\n",
    b"GET /people/?find=" + MARK.encode() + b" HTTP/1.1\r\nHost: localhost\r\n\r\n",
    b"GET " + LINK.encode() + b" HTTP/1.1\r\nHost: localhost\r\n\r\n",
    b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999999\r\n\r\nx",
    b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: nan\r\n\r\nx",
    b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\nZZ\r\nx",
    b"GET / HTTP/1.1\r\nHost: localhost\r\n" + b"A: " + b"x" * 20_000 + b"\r\n\r\n",
    b"GET /" + b"y" * 20_000 + b" HTTP/1.1\r\nHost: localhost\r\n\r\n",
    b"GET /%00%ff%fe HTTP/1.1\r\nHost: localhost\r\nCookie: a=" + MARK.encode() + b"\r\n\r\n",
)  # fmt: skip


@pytest.fixture
def served(tmp_path):
    """Address of a server, and what it wrote to standard error once it was stopped."""
    environment = {**os.environ, "GAITER_DATA": str(tmp_path / "data")}
    environment.pop("GAITER_DATABASE", None)
    program = [sys.executable, "-c", "from gaiter.cli import main; main()"]
    subprocess.run([*program, "migrate"], env=environment, check=True, capture_output=True)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    errors = tmp_path / "stderr"
    with errors.open("wb") as file:
        process = subprocess.Popen(
            [*program, "serve", "--port", str(port), "--workers", "1"],
            env=environment, stdout=subprocess.DEVNULL, stderr=file,
        )  # fmt: skip
    for _ in range(300):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/health/", timeout=5).close()
            break
        except OSError:
            time.sleep(0.1)

    def stopped() -> str:
        process.terminate()
        process.wait()
        return errors.read_text()

    yield port, stopped
    process.kill()


def answer(port: int, sent: bytes) -> bytes:
    """The first line of what comes back."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(sent)
        connection.shutdown(socket.SHUT_WR)
        try:
            return connection.recv(4096).split(b"\r\n")[0]
        except ConnectionResetError:
            return b""


def test_odd_requests_leave_json_lines_that_quote_nothing(served) -> None:
    port, stopped = served
    told = [answer(port, sent) for sent in ODD]
    assert not [line for line in told if b" 5" in line]
    lines = stopped().splitlines()
    assert len(lines) > 3
    kinds = {json.loads(line)["logger"] for line in lines}
    assert "gaiter.requests" in kinds
    assert not [line for line in lines if MARK in line or "secret-of-a-link" in line]
    faults = {json.loads(line)["logger"] for line in lines if json.loads(line)["level"] == "error"}
    assert faults == {"django.security.DisallowedHost"}
