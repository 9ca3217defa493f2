"""Hostile requests to every address of the clinic: each is answered in a sentence, none fails.

    python -m benchmarks.hostile_forms [NAME ...] [--count 3000] [--first 0] [--seed 1]

NAME is the name of an address, as ``sign-visit``; without any, all are asked. Everything runs in
one process on a scratch database with a small clinic, signed in as somebody who may open the
address. What a view asks for is learnt by listening; good values come from the clinic's own pages.
Then each request is a good one with one to three things wrong with it (`hostile_values`).

Whatever is sent, the answer must not be a fault of the program, a refusal must say a sentence (as
JSON to a script), write nothing but the audit log, and no answer may lead to another host. A
database stands in that is as strict as the strictest one: no null characters, no text longer and
no number larger than its column. Every fault is printed once, with the call that repeats it, and
the exit code is 1.
"""

import argparse
import json
import os
import random
import re
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta
from html.parser import HTMLParser
from typing import Any
from unittest import mock
from urllib.parse import urlsplit

from benchmarks.hostile_values import Form, Request, hostile

_BACKEND = "django.contrib.auth.backends.ModelBackend"
# What a refusal may write: who tried, in the audit log, the counters of tries and the session.
_MAY_WRITE = ("records_auditentry", "entrance_", "django_session")
_WRITES = re.compile(r'\s*(?:INSERT INTO|UPDATE|DELETE FROM)\s+"?(\w+)', re.I)
_NULL_IN_JSON = re.compile(r"(?<!\\)(?:\\\\)*\\u0000")
_SENTENCE = re.compile(r"\w[^.:!?]{8,}[.:!?]")


class StrictError(Exception):
    """A stricter database would not have taken this."""


@dataclass
class Clinic:
    """The clinic under attack: addresses, sessions of each role, what each view asks for."""

    address: Callable[..., str]
    password: str
    sessions: dict[str, str] = field(default_factory=dict)
    forms: dict[str, Form] = field(default_factory=dict)
    before: Mapping[str, Any] = field(default_factory=dict)


class FormsOf(HTMLParser):
    """Every form of a page: where it goes, and good values of its fields."""

    def __init__(self, path: str, password: str) -> None:
        super().__init__()
        self.forms: dict[str, dict[str, list[str]]] = {}
        self._path, self._password = path, password
        self._to, self._select = path, ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Notes a form, or a field of the form that is open."""
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._to = urlsplit(said.get("action", "")).path or self._path
        elif tag == "option" and self._select:
            self._note(self._select, said.get("value", ""))
        elif said.get("name") and tag in ("input", "select", "textarea", "button"):
            self._select = said["name"] if tag == "select" else ""
            if tag != "select":
                self._note(said["name"], self._good(said))

    def _good(self, said: Mapping[str, str]) -> str:
        usual = {
            "number": "20", "date": date.today().isoformat(), "password": self._password,
            "file": "\0file", "checkbox": "on",
        }  # fmt: skip
        return said.get("value") or usual.get(said.get("type", ""), "Ten letters.")

    def _note(self, name: str, value: str) -> None:
        if name == "csrfmiddlewaretoken":
            return
        values = self.forms.setdefault(self._to, {}).setdefault(name, [])
        if value not in values:
            values.append(value)


@contextmanager
def listening() -> Iterator[tuple[set[str], set[str]]]:
    """Names of fields and of files that views ask a request for."""
    from django.http import QueryDict
    from django.utils.datastructures import MultiValueDict

    fields: set[str] = set()
    files: set[str] = set()

    class Heard(dict[str, Any]):
        def get(self, key: str, *default: Any) -> Any:
            fields.add(key)
            return super().get(key, *default)

    def heard(name: str) -> Any:
        usual = getattr(MultiValueDict, name)

        def asked(self: Any, key: Any, *rest: Any, **more: Any) -> Any:
            (fields if isinstance(self, QueryDict) else files).add(str(key))
            return usual(self, key, *rest, **more)

        return mock.patch.object(MultiValueDict, name, asked)

    plain = MultiValueDict.dict
    with ExitStack() as stack:
        for name in ("get", "getlist", "__getitem__"):
            stack.enter_context(heard(name))
        stack.enter_context(
            mock.patch.object(MultiValueDict, "dict", lambda self: Heard(plain(self)))
        )
        yield fields, files


@contextmanager
def strict() -> Iterator[set[str]]:
    """A database as strict as the strictest one; the tables that were written to."""
    from django.db import connection
    from django.db.backends.base.operations import BaseDatabaseOperations
    from django.db.models import CharField, IntegerField
    from django.db.models.signals import pre_save

    written: set[str] = set()
    ranges = BaseDatabaseOperations.integer_field_ranges

    def look(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if found := _WRITES.match(sql):
            written.add(found[1])
        for value in params or ():
            if isinstance(value, str) and ("\x00" in value or _NULL_IN_JSON.search(value)):
                raise StrictError(f"a null character in {sql[:80]}")
        return execute(sql, params, many, context)

    def fits(sender: Any, instance: Any, **_more: Any) -> None:
        for column in sender._meta.concrete_fields:
            value = getattr(instance, column.attname)
            where = f"{sender.__name__}.{column.name}"
            if isinstance(column, CharField) and column.max_length and isinstance(value, str):
                if len(value) > column.max_length:
                    raise StrictError(f"{where} is too long")
            if isinstance(column, IntegerField) and isinstance(value, int):
                low, high = ranges[column.get_internal_type()]
                if not low <= value <= high:
                    raise StrictError(f"{where} is out of range")

    pre_save.connect(fits)
    try:
        with connection.execute_wrapper(look):
            yield written
    finally:
        pre_save.disconnect(fits)


def as_served() -> Any:
    """The request is made as the server makes it; the test client has a class of its own."""
    from gaiter.web.frame.bodies import Utf8Request

    return mock.patch("django.test.client.WSGIRequest", Utf8Request)


def rows() -> dict[str, Any]:
    """Every row of every table that a refusal must leave alone."""
    from django.apps import apps

    return {
        model._meta.db_table: list(model.objects.order_by("pk").values_list())
        for model in apps.get_models()
        if not model._meta.db_table.startswith(_MAY_WRITE)
    }


@contextmanager
def undone() -> Iterator[None]:
    """Takes back whatever is written inside."""
    from django.db import transaction

    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def prepared(made: Any, address: Callable[..., str], password: str) -> Clinic:
    """The clinic with its sessions and all that its pages and views teach."""
    from django.conf import settings
    from django.test import Client

    clinic = Clinic(address, password)
    for role, account in made.accounts.items():
        client = Client()
        client.force_login(account, backend=_BACKEND)
        clinic.sessions[role] = client.cookies[settings.SESSION_COOKIE_NAME].value
    learn(clinic)
    clinic.before = rows()
    return clinic


def learn(clinic: Clinic) -> None:
    """Asks every view once, and reads the forms of every page."""
    from django.urls import Resolver404, resolve

    from gaiter.records.visit.boxes import boxes
    from tests.web.addresses import views

    fields: dict[str, dict[str, list[str]]] = {view.name: {} for view in views()}
    files: dict[str, set[str]] = {view.name: set() for view in views()}
    for view in views():
        for role in sorted(view.access.roles):
            for verb in view.access.verbs:
                request = Request(verb, clinic.address(view.name))
                with undone(), listening() as (asked, uploads):
                    response = answered(clinic, request, role)
                for name in asked - {"csrfmiddlewaretoken"}:
                    fields[view.name].setdefault(name, [])
                files[view.name] |= uploads
                if "html" not in response.get("Content-Type", ""):
                    continue
                parser = FormsOf(request.path, clinic.password)
                parser.feed(response.content.decode())
                for path, found in parser.forms.items():
                    try:
                        to = resolve(path).url_name
                    except Resolver404:
                        continue
                    for name, values in found.items():
                        if values == ["\0file"]:
                            files[to].add(name)
                            continue
                        known = fields[to].setdefault(name, [])
                        known += [value for value in values if value not in known]
    for name in fields:
        clinic.forms[name] = Form(fields[name], frozenset(files[name]))
    entries = [{"path": path, "text": "20", "base": 0} for path in list(boxes())[::7]]
    save = clinic.forms["save-visit"]
    clinic.forms["save-visit"] = Form(save.fields, save.files, {"entries": entries})
    later = (date.today() + timedelta(days=2)).isoformat()
    for days in clinic.forms.values():
        for name in ("next_visit", "off_by", "ends"):
            if name in days.fields:
                days.fields[name].append(later)  # type: ignore[attr-defined] # a list, as made above


def answered(clinic: Clinic, request: Request, role: str) -> Any:
    """The answer to one request of a role; the empty role is nobody."""
    from django.conf import settings
    from django.test import Client

    client = Client()
    if role:
        client.cookies[settings.SESSION_COOKIE_NAME] = clinic.sessions[role]
    for name, value in request.cookies.items():
        client.cookies.load({name: _header(value)} if name.isascii() else {})
    return client.generic(
        request.verb,
        request.path,
        request.body,
        _header(request.content_type),
        QUERY_STRING=request.query,
        headers={name: _header(value) for name, value in request.headers.items()},
    )


def _header(text: str) -> str:
    """As a server hands a header on: bytes as Latin-1, no line ends, no null."""
    raw = text.encode("utf-8", "surrogatepass").decode("latin-1")
    return re.sub("[\r\n\x00]", "", raw)


def wrong_with(clinic: Clinic, name: str, request: Request, response: Any) -> str:
    """What is wrong with an answer; empty where nothing is."""
    status, kind = response.status_code, response.get("Content-Type", "")
    if status >= 500 and not (name == "health" and status == 503):
        return f"answered {status}"
    if "Location" in response:
        to = response["Location"]
        if urlsplit(to).netloc not in ("", "testserver") or re.match(r"[/\\]{2}|\s", to):
            return "leads to another host"
    if status < 400 or request.verb == "HEAD":
        return ""
    text = response.content.decode()
    if "Traceback" in text or "site-packages" in text:
        return "shows the program's inside"
    asked_json = request.headers.get("Accept", "").startswith("application/json")
    if asked_json and (name == "save-visit" or status in (404, 405, 413, 429)):
        if "json" not in kind:
            return f"answered {status} to a script without JSON"
    if "json" in kind:
        said = json.loads(text)
        return "" if isinstance(said, dict) and any(said.values()) else "says nothing"
    body = re.sub(r"<(script|style|head).*?</\1>|<[^>]*>", " ", text, flags=re.S)
    return "" if _SENTENCE.search(body) else f"answered {status} without a sentence"


@dataclass
class Tally:
    """What came of the requests to one address."""

    statuses: Counter[int] = field(default_factory=Counter)
    slowest_s: float = 0.0
    faults: dict[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        counts = ", ".join(f"{n} × {status}" for status, n in sorted(self.statuses.items()))
        return f"{counts}; {len(self.faults)} faults, slowest {self.slowest_s:.2f} s"


def attack(clinic: Clinic, view: Any, numbers: range, seed: int) -> Tally:
    """So many hostile requests to one view."""
    tally = Tally()
    for number in numbers:
        draw = random.Random(f"{seed} {view.name} {number}")
        role = draw.choice(sorted(view.access.roles))
        verb = draw.choice([*view.access.verbs, view.access.verbs[-1]])
        request = hostile(verb, clinic.address(view.name), clinic.forms[view.name], draw)
        tried(clinic, view.name, request, role, tally, f"{role}, --seed {seed} --first {number}")
    return tally


def tried(
    clinic: Clinic, name: str, request: Request, role: str, tally: Tally, how: str = ""
) -> Any:
    """One request, whose answer is judged and whose writing is taken back."""
    response, fault = None, ""
    started = time.perf_counter()
    with undone(), strict() as written, as_served():
        try:
            response = answered(clinic, request, role)
            tally.statuses[response.status_code] += 1
            fault = wrong_with(clinic, name, request, response)
            touched = {table for table in written if not table.startswith(_MAY_WRITE)}
            if not fault and response.status_code >= 400 and touched:
                if rows() != clinic.before:
                    fault = f"answered {response.status_code} and wrote to {sorted(touched)}"
        except Exception as error:
            tally.statuses[500] += 1
            fault = f"{type(error).__name__}: {str(error)[:160]} at {_place(error)}"
    tally.slowest_s = max(tally.slowest_s, time.perf_counter() - started)
    if fault:
        tally.faults.setdefault(fault, f"{how} {request}".strip())
    return response


def _place(error: Exception) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    last = next((f for f in reversed(frames) if "src/gaiter/" in f.filename), frames[-1])
    return f"{last.filename.rpartition('/src/')[2]}:{last.lineno}"


def main() -> int:
    """Asks the addresses and prints what came of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*")
    parser.add_argument("--count", type=int, default=3000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {
            "GAITER_DATA": folder, "DJANGO_SETTINGS_MODULE": "gaiter.operations.settings",
        }  # fmt: skip
        return _run(asked)


def _run(asked: argparse.Namespace) -> int:
    import logging

    import django
    from django.conf import settings

    django.setup()
    logging.disable(logging.CRITICAL)
    settings.GAITER_KEY_RING = {
        "keys": {"1": bytes(range(32))}, "current": "1", "index": bytes(range(1, 33)),
    }  # fmt: skip
    # What is tried here is no password's strength.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    from django.test.utils import (
        setup_databases,
        setup_test_environment,
        teardown_databases,
    )

    from gaiter.core.spread import sums

    setup_test_environment()
    sums.load(threads=1)
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        return _attack_all(asked)
    finally:
        teardown_databases(databases, verbosity=0)


def _attack_all(asked: argparse.Namespace) -> int:
    from tests.clinic import PASSWORD, small_clinic
    from tests.web.addresses import addresses_of, views

    made = small_clinic()
    made.fill()
    clinic = prepared(made, addresses_of(made), PASSWORD)
    faults = 0
    for view in views():
        if asked.names and view.name not in asked.names:
            continue
        numbers = range(asked.first, asked.first + asked.count)
        tally = attack(clinic, view, numbers, asked.seed)
        print(f"{view.name:20} {tally}", flush=True)
        for fault, how in tally.faults.items():
            print(f"    {fault}\n        {view.name} {how}", flush=True)
        faults += len(tally.faults)
    print(f"{faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
