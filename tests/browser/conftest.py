"""A real server on a real database, and the system's Chromium."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import pytest
from playwright.sync_api import expect, sync_playwright

from gaiter.operations.demo.people import PASSWORD
from tests.clinic import PASSWORD as SMALL_PASSWORD

# A busy machine takes longer than the five seconds that are usual; a page that is right at last
# passes, one that stays wrong fails.
expect.set_options(timeout=20_000)

_DEMO = """
import django, sys
django.setup()
from gaiter.operations.demo.make import make_demo
from gaiter.operations.demo.people import SPECS
make_demo(lambda words: None, tuple(s for s in SPECS if s.name in sys.argv[1:]))
"""
_DESK = """
import django, json, sys
django.setup()
from tests.browser import people
for line in sys.stdin:
    name, given, named = json.loads(line)
    print(json.dumps(getattr(people, name)(*given, **named)), flush=True)
"""


class Server:
    """One clinic: database, folder and the process that serves it.

    ``demo`` names the people of the demo that are in it.
    """

    password = PASSWORD

    def __init__(self, folder: Path, *demo: str, **extra: str) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.environment = {
            **os.environ, "GAITER_DATA": str(folder / "data"),
            "DJANGO_SETTINGS_MODULE": "gaiter.operations.settings", **extra,
        }  # fmt: skip
        if os.environ.get("GAITER_DATABASE"):
            self.environment["GAITER_DATABASE"] = _own_database(folder.name)
        self.run("migrate")
        self.furnish(demo)
        self.start()

    def furnish(self, demo: tuple[str, ...]) -> None:
        """Puts accounts and people into it."""
        subprocess.run([sys.executable, "-c", _DEMO, *demo], env=self.environment, check=True)

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


class Stories(Server):
    """A clinic with one account a role, whose legs are put in by the test that plays with them."""

    password = SMALL_PASSWORD

    def furnish(self, demo: tuple[str, ...]) -> None:
        self.desk = subprocess.Popen(
            [sys.executable, "-c", _DESK], env=self.environment, text=True,
            cwd=Path(__file__).parents[2], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )  # fmt: skip
        self.ask("accounts")

    def ask(self, name: str, *given: Any, **named: Any) -> Any:
        """What a function of ``people`` answers in this clinic."""
        self.desk.stdin.write(json.dumps([name, given, named]) + "\n")
        self.desk.stdin.flush()
        return json.loads(self.desk.stdout.readline())

    def kill(self) -> None:
        self.desk.stdin.close()
        self.desk.wait()
        self.desk.stdout.close()
        super().kill()


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
    made = Server(
        tmp_path_factory.mktemp("clinic"), "Ada Fenwick", "Greta Holm", "Viggo Hart", "Nora Wick"
    )
    yield made
    made.kill()


@pytest.fixture(scope="session")
def stories(tmp_path_factory):
    made = Stories(tmp_path_factory.mktemp("stories"))
    yield made
    made.kill()


@pytest.fixture
def fragile_server(tmp_path_factory):
    """A server of one test's own, which it may kill."""
    made = Server(tmp_path_factory.mktemp("fragile"), "Ada Fenwick", "Viggo Hart")
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
        page.get_by_label("Password").fill(where.password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(lambda url: "/sign-in/" not in url)
        return page

    yield signed_in
    for context in contexts:
        context.close()


@pytest.fixture
def play(stories, sign_in):
    """A page of whoever has a role in the stories' clinic."""
    return lambda role, width=820: sign_in(stories, role, width)


def refuses(page, where: Server, name: str, *addresses: str) -> None:
    """A role that opens no clinical page is told so in words, and reads no name."""
    for address in addresses:
        answer = page.goto(where.address + address)
        assert answer.status == 403, address
        expect(page.get_by_role("main")).to_contain_text("Your role does not open this page")
        assert name not in page.content(), address
