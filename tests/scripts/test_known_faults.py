"""Published faults are asked for by name and version, and told by package."""

import json
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest

from scripts.known_faults import main


@pytest.fixture
def service():
    """A service that knows one faulty package; the address, and what it was asked."""
    asked = []

    class Answers(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            asked.extend(body["queries"])
            results = [
                {"vulns": [{"id": "TEST-2026-1"}]} if query["package"]["name"] == "django" else {}
                for query in body["queries"]
            ]
            self.send_response(200)
            self.end_headers()
            self.wfile.write(json.dumps({"results": results}).encode())

        def log_message(self, *_given) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Answers)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/", asked
    server.shutdown()
    thread.join()
    server.server_close()


def lock(tmp_path, *names: str):
    path = tmp_path / "lock.txt"
    path.write_text("".join(f"{name}==1.0 \\\n    --hash=sha256:{'a' * 64}\n" for name in names))
    return str(path)


def test_a_package_with_a_fault_is_named(service, tmp_path, capsys) -> None:
    address, asked = service
    assert main([lock(tmp_path, "django", "numpy"), "--service", address]) == 1
    assert capsys.readouterr().out.splitlines() == [
        "django 1.0: TEST-2026-1", "2 packages, 1 with published faults.",
    ]  # fmt: skip
    assert asked[1] == {"package": {"ecosystem": "PyPI", "name": "numpy"}, "version": "1.0"}


def test_without_a_fault_and_without_an_answer(service, tmp_path, capsys) -> None:
    address, _asked = service
    assert main([lock(tmp_path, "numpy"), "--service", address]) == 0
    assert main([lock(tmp_path, "numpy"), "--service", "http://127.0.0.1:9/"]) == 2
    assert "try again with a network" in capsys.readouterr().out
