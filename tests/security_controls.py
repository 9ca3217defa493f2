"""Switches off what docs/security.md says is met; the test that it names must go red.

``python tests/security_controls.py [V1.2.4 ...]`` runs each named test once as it is and once
with the control switched off, in a process of its own, and prints what survives. Requirements
that one control meets stand together; the first of them names it.
"""

import dataclasses
import re
import sys
from datetime import timedelta
from pathlib import Path

# Run by its path, as well as imported by its tests.
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.switching import (
    ROOT,
    Constant,
    Line,
    Middleware,
    Returns,
    Setting,
    Switch,
    Template,
    Text,
    survivors,
)

PAGE = ROOT / "docs" / "security.md"
ANSWER = re.compile(
    r"(?m)^\| (V\d+\.\d+\.\d+) \| ([12]) \| "
    r"(?:met, by test `(tests/[^`]+::test_\w+)`: (.+)\.|(not applicable|open), because (.+)\.) \|$"
)
# A reason begins small, as it follows "because", and holds no second sentence.
REASON = re.compile(r"[^.].*[^.]")


@dataclasses.dataclass(frozen=True)
class Answer:
    """One row: ``test`` where the requirement is met, otherwise why it is not."""

    code: str
    level: str
    test: str
    kind: str
    words: str


def answers() -> list[Answer]:
    """Every row, in the order of the page."""
    return [
        Answer(code, level, test, kind or "met", how or why)
        for code, level, test, how, kind, why in ANSWER.findall(PAGE.read_text())
    ]


@dataclasses.dataclass(frozen=True)
class Control:
    """What meets one requirement or several, by one test."""

    codes: tuple[str, ...]
    switch: Switch | None
    why_not: str = ""

    @property
    def code(self) -> str:
        return self.codes[0]

    @property
    def test(self) -> str:
        """The test that the page names for it."""
        return {one.code: one.test for one in answers()}[self.code]


def _by(codes: str, switch: Switch) -> Control:
    return Control(tuple(codes.split()), switch)


def _documented(codes: str, title: str, page: str = "docs/security.md") -> Control:
    """A section of the documentation is missing."""
    return _by(codes, Text(page, f"\n## {title}\n", "\n## Something else\n"))


def _planted(codes: str, line: str) -> Control:
    """A source of the program does what none does."""
    where = "src/gaiter/web/frame/page.py"
    return _by(codes, Text(where, "\nfrom typing import", f"\n{line}\nfrom typing import"))


_R, _W, _S = "gaiter.records", "gaiter.web", "src/gaiter/operations/settings.py"
_BOX = "return widget.render("
_BOXES_WITH = "return (lambda **k: (lambda s: type(s)(s.replace({})))(widget.render(**k)))("
_LOADS = "signing.loads(cookie, salt=_SALT, max_age=_LASTS_SECONDS)"
CONTROLS = [
    _by("V1.1.1", Line(
        f"{_W}.people.views:new_person", "**form.cleaned_data",
        "**{**form.cleaned_data,"
        " 'name': __import__('urllib.parse').parse.unquote(form.cleaned_data['name'])}",
    )),
    _by("V1.1.2 V1.2.1", Returns("django.utils.html:conditional_escape", "str(args[0])")),
    _by("V1.2.2 V3.7.2", Returns("django.utils.http:url_has_allowed_host_and_scheme", "True")),
    _by("V1.2.3", Text(
        "src/gaiter/web/frame/templates/frame/base.html", "<head>", "<head><script>a()</script>"
    )),
    _planted("V1.2.4", "cursor.execute(f'SELECT {name}')"),
    _planted("V1.2.5", "os.system(name)"),
    _by("V1.2.9", Line(f"{_R}.passwords:_without", "re.escape(word)", "word")),
    _planted("V1.3.2", "eval(name)"),
    _by("V1.3.3", Returns(f"{_R}.typed:require_writable", "None")),
    _by("V1.3.4 V5.2.2", Returns(f"{_R}.pictures:cleaned", "('image/jpeg', args[0])")),
    _planted("V1.3.6 V13.2.4 V13.2.5 V14.2.3", "import urllib.request"),
    _planted("V1.3.7", "engine.from_string(name)"),
    _by("V1.3.10", Returns("gaiter.core.words:_names", "frozenset()")),
    _by("V1.4.2", Returns(f"{_R}.visit.boxes:Box._require", "None")),
    _planted("V1.5.1", "import xml"),
    _planted("V1.5.2", "import pickle"),
    _documented("V2.1.1 V2.1.2", "What is taken in"),
    _documented("V2.1.3", "Limits"),
    _by("V2.2.1", Returns(f"{_R}.visit.boxes:Box._require", "None")),
    _by("V2.2.2 V15.3.5", Line(
        f"{_W}.visit.views:_sent",
        "except (ValueError, KeyError, TypeError, RecursionError, RawPostDataException):",
        "except ZeroDivisionError:",
    )),
    _by("V2.2.3", Line(
        f"{_R}.visit.decided:found_in", "_leave_out(mapping, list(problem.place), side)", "break"
    )),
    _by("V2.3.1", Line(
        f"{_R}.actions.plans:_require_bandageable",
        "if record.state != PlanRecord.State.APPROVED:", "if False:",
    )),
    _by("V2.3.2", Returns(f"{_R}.actions.plans:_order_for", "None")),
    _by("V2.3.3 V16.5.3", Line(f"{_R}.ledger:action", "with transaction.atomic():", "if True:")),
    _by("V2.3.4", Returns(f"{_R}.actions.plans:_require_bandageable", "None")),
    _by("V2.4.1", Constant(f"{_W}.frame.gate:ACCOUNT_AT_ONCE", 99.0)),
    _by("V3.2.1", Line(f"{_W}.today.leg:stored_file", "if paper else", "if False else")),
    _by("V3.2.2", Text(
        "src/gaiter/web/visit/static/gaiter/boxes.js", "note.textContent =", "note.innerHTML ="
    )),
    _by("V3.3.1", Text(_S, "SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = GAITER.https",
                       "SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False")),
    _by("V3.3.2", Setting("SESSION_COOKIE_SAMESITE", "None")),
    _by("V3.3.3", Text(_S, '"__Host-" if GAITER.https else ""', '""')),
    _by("V3.3.4", Setting("SESSION_COOKIE_HTTPONLY", False)),
    _by("V3.4.1", Text(_S, "SECURE_HSTS_INCLUDE_SUBDOMAINS = True",
                       "SECURE_HSTS_INCLUDE_SUBDOMAINS = False")),
    _by("V3.4.2", Setting("WHITENOISE_ALLOW_ALL_ORIGINS", True)),
    _by("V3.4.3 V3.4.6", Middleware("csp.middleware.CSPMiddleware")),
    _by("V3.4.4", Setting("SECURE_CONTENT_TYPE_NOSNIFF", False)),
    _by("V3.4.5", Setting("SECURE_REFERRER_POLICY", "unsafe-url")),
    _by("V3.5.1", Middleware("django.middleware.csrf.CsrfViewMiddleware")),
    _by("V3.5.3", Middleware(f"{_W}.frame.verbs.VerbMiddleware")),
    _by("V4.1.1", Setting("DEFAULT_CHARSET", "iso-8859-1")),
    _by("V4.1.3 V15.3.4", Returns(f"{_W}.frame.address:is_trusted", "True")),
    _documented("V5.1.1", "Files"),
    _by("V5.2.1", Setting("GAITER_LARGEST_FILE", 2**40)),
    _by("V5.4.1 V5.4.2", Line(f"{_W}.today.leg:stored_file", "{one.kind}-{one.pk}", "{one.title}")),
    _documented("V6.1.1 V6.1.2 V6.1.3", "Ways in"),
    _by("V6.2.1", Constant(f"{_R}.passwords:SHORTEST", 8)),
    _by("V6.2.2", Line(f"{_W}.accounts.own:own", "set_password(request.actor, account, new)", "0")),
    _by("V6.2.3", Line(f"{_W}.accounts.own:own", "and not right_password(", "and not (")),
    _by("V6.2.5", Line(
        f"{_R}.passwords:RefusedPasswords.validate", "if not SHORTEST",
        "if not any(c.isdigit() for c in password) or not SHORTEST",
    )),
    _by("V6.2.6", Line(
        "django.forms.boundfield:BoundField.as_widget", _BOX,
        _BOXES_WITH.format("'type=\"password\"', 'type=\"text\"'"),
    )),
    _by("V6.2.7", Line(
        "django.forms.boundfield:BoundField.as_widget", _BOX,
        _BOXES_WITH.format("'autocomplete=', 'title='"),
    )),
    _by("V6.2.8", Line(
        f"{_W}.accounts.views:_judged", "password=password", "password=password.strip().lower()"
    )),
    _by("V6.2.9", Constant(f"{_R}.passwords:LONGEST", 60)),
    _by("V6.2.11", Returns(f"{_R}.passwords:what_is_left", "args[0]")),
    _by("V6.3.1", Line(f"{_W}.accounts.views:_judged", "count_try(Kind.NAME, username)", "0")),
    _by("V6.3.2", Returns("gaiter.cli.serve_command:_refuse_a_demo_for_others", "None")),
    _by("V6.3.4", Returns(f"{_W}.frame.access:_second_factor", "None")),
    _by("V6.4.1", Constant(f"{_R}.actions.grants:LINK_LASTS", timedelta(days=30))),
    _by("V6.4.3", Line(
        f"{_R}.actions.grants:use_link", "use_code(act, account, code, recovery)", "0"
    )),
    _by("V6.4.4", Returns(f"{_R}.actions.grants:_needs_second", "False")),
    _by("V6.5.1", Line(f"{_R}.totp:step_of", "step > after and ", "")),
    _by("V6.5.2", Line(
        f"{_R}.actions.factors:_made", "make_password(_fingerprint(account, text))",
        "_fingerprint(account, text)",
    )),
    _by("V6.5.3 V11.5.1", Text(
        "src/gaiter/records/totp.py", "import secrets", "import random as secrets"
    )),
    _by("V6.5.4", Constant(f"{_R}.actions.factors:_LETTERS", "AB")),
    _documented("V7.1.1 V7.1.2", "Sessions"),
    _by("V7.2.1", Setting("SESSION_ENGINE", "django.contrib.sessions.backends.signed_cookies")),
    _by("V7.2.2 V7.2.4", Line(f"{_W}.accounts.views:enter", "request.session.cycle_key()", "0")),
    _by("V7.2.3", Constant(f"{_R}.entrance.session_key:RANDOM_LENGTH", 20)),
    _by("V7.3.1", Line(f"{_W}.frame.access:_locked", "idle > 60 * ", "idle > 6000 * ")),
    _by("V7.3.2", Setting("SESSION_COOKIE_AGE", 30 * 24 * 3600)),
    _by("V7.4.1", Line(f"{_W}.accounts.views:sign_out", "logout(request)", "0")),
    _by("V7.4.2", Line(
        f"{_R}.actions.accounts:change_account", "if role != account.role or shut:", "if False:"
    )),
    _by("V7.4.5", Line(
        f"{_R}.actions.accounts:change_account", "if role != account.role or shut:", "if False:"
    )),
    _by("V7.4.4", Template("frame/base.html", "action=\"{% url 'sign-out' %}\"")),
    _by("V7.4.3", Line(
        f"{_R}.actions.factors:drop_factor",
        "act.change(account, era=account.era + 1)\n    end_sessions(account.pk)", "pass",
    )),
    _by("V7.5.1", Returns(f"{_W}.accounts.step_up:given_code", "None")),
    _by("V7.5.2", Returns(f"{_W}.accounts.own:_password_again", "None")),
    _by("V7.6.2", Line(
        f"{_W}.frame.access:AccessMiddleware.process_view",
        "if not request.user.is_authenticated:", "if False:",
    )),
    _documented("V8.1.1 V8.1.2", "Who may do what"),
    _by("V8.2.1", Line(
        f"{_W}.frame.access:AccessMiddleware.process_view",
        "request.user.role not in access.roles", "False",
    )),
    _by("V8.2.2", Returns(f"{_W}.frame.access:_require_visible", "None")),
    _by("V8.2.3 V15.3.3", Line(
        f"{_W}.accounts.own:own", "unit=Unit(unit))",
        "unit=Unit(unit), role=request.POST.get('role', account.role))",
    )),
    _by("V8.3.1", Returns(f"{_R}.actions.clinical:require_clinical", "None")),
    _by("V9.1.1", Line(
        f"{_W}.accounts.browser:_held", _LOADS,
        "__import__('json').loads(signing.b64_decode(cookie.split(':')[0].encode()))",
    )),
    _by("V9.2.1", Line(f"{_W}.accounts.browser:_held", ", max_age=_LASTS_SECONDS", "")),
    _by("V9.2.2", Line(f"{_W}.accounts.browser:_held", "salt=_SALT", "salt='another'")),
    _documented("V11.1.1 V11.1.2", "Keys and their life"),
    _by("V11.2.1 V11.2.3 V11.3.1 V11.3.2 V11.4.1 V11.4.3", Text(
        "src/gaiter/records/sealing.py", "hashlib.sha256", "hashlib.md5"
    )),
    _by("V11.2.2", Line("gaiter.operations.rotate:reseal_rows", "row.save(", "dict(")),
    _by("V11.3.3", Line(f"{_R}.sealing:open_bytes", "raise SealError(f\"a value", "return str(\"")),
    _by("V11.4.2", Constant("gaiter.operations.settings:PASSWORD_HASHERS", ["MD5PasswordHasher"])),
    _by("V12.2.1", Line("gaiter.cli.serve_command:listening_address", "if missing:", "if False:")),
    _by("V12.3.1 V12.3.2", Line(
        "gaiter.operations.database_address:_options", 'mode != "verify-full" or ', ""
    )),
    _documented("V13.1.1", "Connections"),
    _by("V13.2.2", Text("deploy/gaiter.service", "User=gaiter", "User=root")),
    _by("V13.3.2", Line(
        "gaiter.files.whole_file:write_new", "os.link(", "os.chmod(name, 0o644), os.link("
    )),
    _by("V13.4.1", Text("deploy/Containerfile", "COPY dist/", "COPY . /src\nCOPY dist/")),
    _by("V13.4.2 V16.5.1", Text(_S, "DEBUG = False", "DEBUG = True")),
    Control(("V13.4.3",), None, "no part of the program lists folders: nothing is there to switch"),
    _by("V13.4.4", Middleware(f"{_W}.frame.verbs.VerbMiddleware")),
    Control(("V13.4.5",), None, "the test compares every address with a list that it holds itself"),
    _documented("V14.1.1 V14.1.2", "Data and how it is kept"),
    _by("V14.2.1", Line(f"{_R}.actions.grants:issue_link", "}#{code}", "}?link={code}")),
    _by("V14.2.2 V14.3.2", Line(
        f"{_W}.frame.access:AccessMiddleware.__call__",
        'response.setdefault("Cache-Control", "no-store")', "0",
    )),
    _by("V14.2.4", Returns(f"{_R}.sealing:SealedText.sealed", "args[1]")),
    _documented("V15.1.1", "Mending faults of others"),
    _by("V15.1.2", Returns("scripts.parts_list:parts_of", "[]")),
    _documented("V15.1.3", "What costs"),
    _by("V15.2.1", Line(
        "scripts.release_check:packages_are_kept_up", "found != known_faults.FOUND", "True"
    )),
    _by("V15.2.2", Line(
        f"{_W}.frame.workload:place", "fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)", "0"
    )),
    _by("V15.3.1", Template("frame/problem.html")),
    _by("V15.3.6", Text(
        "src/gaiter/web/visit/static/gaiter/unsaved.js", "pending.delete(path)",
        "pending[path] = undefined",
    )),
    _by("V15.3.7", Line(
        f"{_W}.accounts.views:sign_in", "SignInForm(request.POST or None)",
        "SignInForm({**request.GET.dict(), **request.POST.dict()} or None)",
    )),
    _documented("V16.1.1", "Logs"),
    _by("V16.2.1 V16.2.2 V16.2.4", Line(
        f"{_W}.frame.logs:JsonFormatter.format", "record.created, UTC)", "record.created)"
    )),
    _by("V16.2.3", Setting("LOGGING", {"loggers": {"gaiter": {"handlers": []}}})),
    _by("V16.2.5", Line(
        f"{_W}.frame.logs:_route", 'match.route if match else "unknown"', "request.get_full_path()"
    )),
    _by("V16.3.1", Line(f"{_W}.accounts.views:_judged", "note_failed_sign_in(", "print(")),
    _by("V16.3.2", Line(
        f"{_W}.frame.logs:RequestLogMiddleware.__call__", 'getattr(account, "pk", None)', "None"
    )),
    _by("V16.3.3", Returns(f"{_W}.frame.errors:noted", "args[0]")),
    _by("V16.3.4", Line(
        f"{_W}.frame.logs:JsonFormatter.format", "record.exc_info[0].__name__", "'fault'"
    )),
    _by("V16.4.1", Line(
        f"{_W}.frame.logs:JsonFormatter.format", "json.dumps(line)",
        "' '.join(f'{name}={value}' for name, value in line.items())",
    )),
    Control(("V16.4.2",), None, "triggers of the database, made by migrations and anew after them"),
]  # fmt: skip
SWITCHES = {control.code: control.switch for control in CONTROLS if control.switch is not None}
# What is not switched off by this script, and why.
NOT_SWITCHED = {control.code: control.why_not for control in CONTROLS if control.why_not}


if __name__ == "__main__":
    sys.exit(survivors("tests.security_controls", CONTROLS, NOT_SWITCHED, sys.argv[1:]))
