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
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache
from html.parser import HTMLParser
from typing import Any
from unittest import mock
from urllib.parse import urlsplit

from benchmarks.hostile_values import Form, Request, encoded, hostile

_BACKEND = "django.contrib.auth.backends.ModelBackend"
# What a refusal may write: who tried, in the audit log, the counters of tries and the session.
_MAY_WRITE = ("records_auditentry", "entrance_", "django_session")
_WRITES = re.compile(r'\s*(?:INSERT INTO|UPDATE|DELETE FROM)\s+"?(\w+)', re.I)
_NULL_IN_JSON = re.compile(r"(?<!\\)(?:\\\\)*\\u0000")
_FILE = "\0file"
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
            "file": _FILE, "checkbox": "on",
        }  # fmt: skip
        typed = "14" if said.get("inputmode") else "Ten letters."
        return said.get("value") or usual.get(said.get("type", ""), typed)

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
            if isinstance(column, CharField) and len(str(value)) > (
                column.max_length or sys.maxsize
            ):
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


def fill_the_shelf(made: Any) -> None:
    """Enough of every material, so that there is a plan to be asked for."""
    from gaiter.records.actions.plans import set_stock_item
    from gaiter.records.visit.case import local_catalogue

    for material in local_catalogue().materials:
        set_stock_item(
            made.actor("manager"), None, material=material, width_cm=10, rolls=99, low_at=1
        )


def prepared(
    made: Any, address: Callable[..., str], password: str, *, unasked: Collection[str] | None = None
) -> Clinic:
    """The clinic with its sessions and all that its pages and views teach.

    Those in ``unasked`` are not asked; then the others are asked only once, in one role.
    """
    from django.conf import settings
    from django.test import Client

    if unasked is None:
        fill_the_shelf(made)
    clinic = Clinic(address, password)
    for role, account in made.accounts.items():
        client = Client()
        client.force_login(account, backend=_BACKEND)
        clinic.sessions[role] = client.cookies[settings.SESSION_COOKIE_NAME].value
    learn(clinic, unasked)
    clinic.before = rows()
    return clinic


def learn(clinic: Clinic, unasked: Collection[str] | None) -> None:
    """Asks every view, and again with what was learnt; reads the forms of every page."""
    from gaiter.records.visit.boxes import boxes
    from tests.web.addresses import views

    known = {view.name: _Learnt() for view in views()}
    for _again in range(1 if unasked else 3):
        for view in views():
            if view.name in (unasked or ()):
                continue
            roles = sorted(view.access.roles)
            for role in roles[-1:] if unasked else roles:
                for verb in view.access.verbs:
                    _learn_from(clinic, known, view.name, verb, role)
    entries = [
        {"path": box.path, "text": [] if box.kind == "many" else "20", "base": 0}
        for box in list(boxes().values())[::7]
    ]
    for name, learnt in known.items():
        clinic.forms[name] = Form(learnt.fields, frozenset(learnt.files - known.keys()))
    clinic.forms["save-visit"] = Form(document={"entries": entries})
    for to, source in (("propose", "design"), ("practice-try", "practice-leg")):
        pairs = [(key, found[0]) for key, found in known[source].fields.items() if found]
        known[to].fields["asked"] = ["", encoded(pairs)]


@dataclass
class _Learnt:
    fields: dict[str, list[str]] = field(default_factory=dict)
    files: set[str] = field(default_factory=set)


def _learn_from(clinic: Clinic, known: dict[str, _Learnt], name: str, verb: str, role: str) -> None:
    from django.urls import Resolver404, resolve

    pairs = [(key, found[-1]) for key, found in known[name].fields.items() if found]
    body = encoded(pairs).encode() if verb == "POST" else b""
    request = Request(verb, clinic.address(name), "" if body else encoded(pairs), body)
    with undone(), listening() as (asked, uploads):
        response = answered(clinic, request, role)
    for key in asked - _NO_FIELDS:
        known[name].fields.setdefault(key, _hints(key, clinic))
    known[name].files |= uploads
    if "html" not in response.get("Content-Type", ""):
        return
    parser = FormsOf(request.path, clinic.password)
    parser.feed(response.content.decode())
    for path, found in parser.forms.items():
        try:
            to = known[resolve(path).url_name or ""]
        except (Resolver404, KeyError):
            continue
        for key, values in found.items():
            if values == [_FILE]:
                to.files.add(key)
            elif key not in _NO_FIELDS:
                good = to.fields.setdefault(key, [])
                # The newest of many tokens is as good as all of them.
                good[:] = values if key == "once" else [*dict.fromkeys([*good, *values])][:40]


_NO_FIELDS = {"csrfmiddlewaretoken", "urlencode"}


def _hints(name: str, clinic: Clinic) -> list[str]:
    """Good values of fields that no page shows as the clinic stands."""
    today, later = date.today(), date.today() + timedelta(days=2)
    hints = {
        "password": [clinic.password], "plan": ["1"], "off_by": [later.isoformat()],
        "on": [today.isoformat()], "vascular_on": [today.isoformat()],
        "next_visit": [later.isoformat()], "words": ["Ten letters."], "as_planned": ["yes", ""],
        "kind": ["loosened", "taken_off", "recovered", "not_recovered", "photo"],
        "code": ["breathless_lying", "heart_failure_class_3_both_legs"],
        "reason": ["specialist agreed"], "aim_low_mmhg": ["10"], "aim_high_mmhg": ["20"],
        "maximum_mmhg": ["25"], "referred_to": ["the heart clinic"], "side": ["left"],
        "confirmed": ["yes", ""], "hands": ["1", "2"], "path": ["leg.girth_cm.ankle"],
        "entry": ["1"], "outcome": ["healed", "she will come"], "as": ["text"],
        "find": ["T-1", "Ada Invented"], "show": ["all"], "next": ["/people/"],
    }  # fmt: skip
    return hints.get(name, [])


def answered(clinic: Clinic, request: Request, role: str) -> Any:
    """The answer to one request of a role; the empty role is nobody."""
    from django.conf import settings
    from django.test import Client

    client = Client()
    client.handler = _handler()
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


@cache
def _handler() -> Any:
    """The clinic's middleware, made once: that was a third of what a request cost."""
    from django.test.client import ClientHandler

    made = ClientHandler(enforce_csrf_checks=False)
    made.load_middleware()
    return made


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
    script = asked_json and (name == "save-visit" or status in (404, 405, 413, 429))
    if script and "json" not in kind:
        return f"answered {status} to a script without JSON"
    return _silent(status, kind, text)


def _silent(status: int, kind: str, text: str) -> str:
    """Why a refusal says nothing to whoever asked; empty where it does."""
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
            refused = response.status_code >= 400 and not fault
            if refused and touched and rows() != clinic.before:
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
    from django.template.base import Template
    from django.test.utils import (
        setup_databases,
        setup_test_environment,
        teardown_databases,
    )

    from gaiter.core.spread import sums

    as_it_is = Template._render
    setup_test_environment()
    # Nobody asks which templates were rendered with what, and keeping that costs a copy of each.
    Template._render = as_it_is
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
