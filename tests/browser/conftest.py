"""A real server on a real database, and the system's Chromium."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import pytest
from playwright.sync_api import sync_playwright

from gaiter.web.demo.people import PASSWORD

_DEMO = """
import django, os
django.setup()
from gaiter.web.demo.make import make_demo
from gaiter.web.demo.people import SPECS
wanted = {"Ada Fenwick", "Greta Holm", "Viggo Hart", "Nora Wick"}
make_demo(lambda words: None, tuple(s for s in SPECS if s.name in wanted))
"""


class Server:
    """One clinic: database, folder and the process that serves it."""

    def __init__(self, folder: Path, **extra: str) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.environment = {
            **os.environ, "GAITER_DATA": str(folder / "data"),
            "DJANGO_SETTINGS_MODULE": "gaiter.web.settings", **extra,
        }  # fmt: skip
        if os.environ.get("GAITER_DATABASE"):
            self.environment["GAITER_DATABASE"] = _own_database(folder.name)
        self.run("migrate")
        subprocess.run([sys.executable, "-c", _DEMO], env=self.environment, check=True)
        self.start()

    def run(self, *arguments: str) -> str:
        """A command of the program on this clinic."""
        command = [sys.executable, "-c", "from gaiter.cli import main; main()", *arguments]
        return subprocess.run(
            command, env=self.environment, check=True, capture_output=True, text=True
        ).stdout

    def start(self) -> None:
        command = [sys.executable, "-c", "from gaiter.cli import main; main()", "serve"]
        self.process = subprocess.Popen(
            [*command, "--port", str(self.port)], env=self.environment,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        for _ in range(150):
            try:
                with urllib.request.urlopen(f"{self.address}/health/", timeout=2) as answer:
                    assert answer.status == 200
                return
            except OSError:
                time.sleep(0.2)
        raise RuntimeError("the server did not start")

    def kill(self) -> None:
        """As if the power went: every process of the server at once."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def _own_database(name: str) -> str:
    import psycopg

    parts = urlsplit(os.environ["GAITER_DATABASE"])
    made = "browser_" + "".join(c for c in name if c.isalnum()).lower()
    with psycopg.connect(os.environ["GAITER_DATABASE"], autocommit=True) as connection:
        connection.execute(f'DROP DATABASE IF EXISTS "{made}"')
        connection.execute(f'CREATE DATABASE "{made}"')
    return urlunsplit(parts._replace(path=f"/{made}"))


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    made = Server(tmp_path_factory.mktemp("clinic"))
    yield made
    made.kill()


@pytest.fixture
def fragile_server(tmp_path_factory):
    """A server of one test's own, which it may kill."""
    made = Server(tmp_path_factory.mktemp("fragile"))
    yield made
    made.kill()


@pytest.fixture(scope="session")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium",
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield browser
        browser.close()


@pytest.fixture
def sign_in(chromium):
    """A page of somebody who has signed in to a server, on a tablet."""
    contexts = []

    def signed_in(where: Server, username: str, width: int = 820):
        context = chromium.new_context(
            viewport={"width": width, "height": 1180}, reduced_motion="reduce"
        )
        contexts.append(context)
        page = context.new_page()
        page.goto(f"{where.address}/sign-in/")
        page.get_by_label("User name").fill(username)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(lambda url: "/sign-in/" not in url)
        return page

    yield signed_in
    for context in contexts:
        context.close()
