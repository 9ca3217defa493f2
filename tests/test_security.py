"""Every requirement of levels 1 and 2 has its answer, and what is documented is what is done."""

import ast
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings

from gaiter.operations import worker
from gaiter.records import passwords, pictures, totp
from gaiter.records.actions import grants
from gaiter.records.entrance.tries import WINDOW, Kind
from gaiter.records.models import Role
from gaiter.records.sealing import SealedBytes, SealedText
from gaiter.web.frame import allowance, gate, logs, workload
from tests.security_controls import ANSWER, CONTROLS, NOT_SWITCHED, PAGE, REASON, SWITCHES, answers
from tests.switching import ROOT, Text

PROGRAM = ROOT / "src" / "gaiter"
LIST = ROOT / "tests" / "reference" / "asvs-5.0.0.tsv"


def section(title: str) -> str:
    """A section of the page, on one line."""
    found = re.search(rf"(?ms)^## {re.escape(title)}\n(.*?)(?=^## |\Z)", PAGE.read_text())
    assert found, f"docs/security.md has no section {title}"
    return " ".join(found[1].split())


def required() -> list[tuple[str, str]]:
    """Number and level of what levels 1 and 2 ask, in the order of the standard."""
    lines = [line.split("\t") for line in LIST.read_text().splitlines() if line.startswith("V")]
    return [(line[0], line[1]) for line in lines if line[1] != "3"]


def test_every_requirement_is_answered_once_and_in_order_and_none_is_invented() -> None:
    assert len(required()) == 253
    assert [(one.code, one.level) for one in answers()] == required()


def test_every_row_is_read() -> None:
    rows = re.findall(r"(?m)^\| V\d.*$", PAGE.read_text())
    assert [row for row in rows if not ANSWER.fullmatch(row)] == []


def test_a_chapter_begins_with_one_sentence_and_holds_its_own_rows() -> None:
    chapters = re.split(r"(?m)^### (V\d+) ", PAGE.read_text())[1:]
    assert chapters[::2] == [f"V{number}" for number in range(1, 18)]
    for name, text in zip(chapters[::2], chapters[1::2], strict=True):
        head = text.split("\n")[2]
        assert re.fullmatch(r"[A-Z][^.]+\.", head), (name, head)
        assert {row.split(".")[0] for row in re.findall(r"(?m)^\| (V[\d.]+)", text)} == {name}


def names_in(path: str) -> set[str]:
    tree = ast.parse((ROOT / path).read_text())
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("one", [one for one in answers() if one.test], ids=lambda one: one.code)
def test_a_named_test_exists(one) -> None:
    path, _colons, name = one.test.partition("::")
    assert (ROOT / path).is_file(), one.test
    assert name in names_in(path), one.test


def test_every_reason_is_a_sentence() -> None:
    for one in answers():
        assert len(one.words.split()) >= 1, one
        if not one.test:
            assert len(one.words.split()) >= 3, one
            assert REASON.fullmatch(one.words), one


def test_what_is_met_is_switched_off_or_says_why_not() -> None:
    met = {one.code: one.test for one in answers() if one.test}
    listed = [code for control in CONTROLS for code in control.codes]
    assert sorted(listed) == sorted(met)
    for control in CONTROLS:
        assert {met[code] for code in control.codes} == {control.test}, control
    assert set(SWITCHES) | set(NOT_SWITCHED) == {control.code for control in CONTROLS}
    assert not set(SWITCHES) & set(NOT_SWITCHED)


@pytest.mark.parametrize("code", SWITCHES)
def test_a_switch_finds_what_it_switches_off(code) -> None:
    assert SWITCHES[code].found()


# What the program never does with anything it was given; a name as it is called or imported.
CALLS = {
    "eval", "exec", "compile", "__import__", "os.system", "os.popen", "mark_safe", "RawSQL",
    "Template", "from_string", "raw", "extra", "shell",
}  # fmt: skip
MODULES = {
    "pickle", "marshal", "shelve", "yaml", "xml", "lxml", "subprocess", "urllib.request",
    "http.client", "requests", "httpx", "smtplib", "ftplib", "telnetlib", "jinja2",
}  # fmt: skip


def dotted(node: ast.expr) -> str:
    return ast.unparse(node) if isinstance(node, ast.Name | ast.Attribute) else ""


def what_runs(text: str) -> set[str]:
    """Calls and modules by which a program runs, fetches or unpacks what it was given."""
    found = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call):
            name = dotted(node.func)
            last = name.rpartition(".")[2]
            if name in CALLS or (last in CALLS - {"compile", "extra"} and name != last):
                found.add(name)
            if last == "execute" and not isinstance(node.args[0], ast.Constant | ast.Name):
                found.add(f"{name} of a statement that is put together")
        elif isinstance(node, ast.Import):
            found |= {one.name for one in node.names if one.name in MODULES}
        elif isinstance(node, ast.ImportFrom) and node.module in MODULES:
            found.add(node.module)
    return found


def program() -> list[Path]:
    return sorted(PROGRAM.rglob("*.py"))


# Statements with names of tables and columns in them, which are the program's own.
OWN_NAMES = {
    "operations/backup.py",
    "operations/rows.py",
    "records/append_only.py",
    "records/keys.py",
    "records/migrations",
}


def test_the_program_runs_nothing_that_it_was_given() -> None:
    found = {str(path.relative_to(PROGRAM)): what_runs(path.read_text()) for path in program()}
    for path, names in found.items():
        if any(path.startswith(own) for own in OWN_NAMES):
            names -= {"cursor.execute of a statement that is put together"}
        assert names == set(), path


@pytest.mark.parametrize(
    "line",
    ["eval(x)", "import pickle", "from urllib.request import urlopen", "os.system(x)",
     "Person.objects.raw(x)", "cursor.execute(f'SELECT {x}')", "engine.from_string(x)"],
)  # fmt: skip
def test_what_runs_is_noticed(line) -> None:
    assert what_runs(line)


def test_chance_comes_from_the_system() -> None:
    """The clinic draws secrets; numbers of the study and of the spread are no secrets."""
    for path in program():
        if {"records", "web", "operations"} & set(path.relative_to(PROGRAM).parts[:1]):
            text = path.read_text()
            drawn = re.findall(r"\bimport random\b|\bnp\.random\b|\bfrom random\b", text)
            assert drawn == [], path
    assert "secrets.token_bytes(_SEED_BYTES)" in Path(totp.__file__).read_text()
    assert totp._SEED_BYTES * 8 >= 160


def test_only_the_listed_algorithms_are_used() -> None:
    used: dict[str, set[str]] = {}
    for path in program():
        for name in re.findall(r"hashlib\.(\w+)|hazmat[\w.]* import (\w+)", path.read_text()):
            used.setdefault("".join(name), set()).add(path.name)
    assert set(used) == {"sha256", "sha1", "blake2b", "AESGCM"}
    assert used["sha1"] == {"totp.py"}
    told = section("Keys and their life")
    for name in ("AES-256-GCM", "SHA-256", "HMAC-SHA-1 codes of RFC 6238", "Argon2id", "BLAKE2b"):
        assert name in told


def test_no_script_stands_in_a_page() -> None:
    for path in sorted(PROGRAM.glob("web/*/templates/**/*.html")):
        for tag, content in re.findall(r"(?s)<script([^>]*)>(.*?)</script>", path.read_text()):
            assert "src=" in tag, path
            assert not content.strip(), path
        assert not re.search(r"(?i)\son[a-z]+=|javascript:", path.read_text()), path


def numbers_in(text: str) -> set[int]:
    return {int(number) for number in re.findall(r"\d+", text)}


def test_rules_of_input_are_documented() -> None:
    told = section("What is taken in")
    for kind in ("Numbers", "Days", "Choices", "Words", "Bodies", "Files"):
        assert f"**{kind}**" in told
    assert f"{settings.DATA_UPLOAD_MAX_NUMBER_FIELDS} fields" in told
    assert f"{settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 2**20} MB" in told
    assert "What belongs together is judged together" in told


def test_limits_are_documented(policy) -> None:
    told = section("Limits")
    assert f"at most {policy['order_longest_days']:g} days" in told
    assert grants.LINK_LASTS.days == 3
    assert "for three days" in told
    for what in ("one open episode", "hard stop", "counts once", "at least one manager"):
        assert what in told


def test_files_that_are_taken_are_documented() -> None:
    told = section("Files")
    assert {
        settings.GAITER_LARGEST_FILE // 2**20,
        pictures._LARGEST_DECODED_PX // 10**6,
        pictures._LARGEST_JPEG_PX // 10**6,
        pictures._LARGEST_SIDE_PX,
    } <= numbers_in(told)
    for kind in ("JPEG, PNG, WebP", "PDF", "text"):
        assert kind in told
    assert "nothing is unpacked" in told


def test_ways_in_are_documented() -> None:
    told = section("Ways in")
    for kind, words in (
        (Kind.ADDRESS, "an address"), (Kind.NAME, "a name from"), (Kind.BROWSER, "a name on"),
        (Kind.SESSION, "a session"), (Kind.FACTOR, "an account's second factor"),
        (Kind.OUTSIDE, "an account that opens a person of another team"),
    ):  # fmt: skip
        assert f"{kind.value} {words}" in told
    assert WINDOW.total_seconds() == 15 * 60
    assert "a quarter of an hour" in told
    assert "nobody locks out anybody else" in told
    assert "refused_passwords.txt" in told
    assert f"{passwords.SHORTEST} to {passwords.LONGEST} characters" in told
    for way in ("name and a password", "second factor", "one-time link", "command line"):
        assert way in told


def test_sessions_are_documented() -> None:
    told = section("Sessions")
    assert f"{settings.GAITER.idle_minutes} minutes without a touch" in told
    assert f"ends {settings.SESSION_COOKIE_AGE // 3600} hours" in told
    assert "NIST SP 800-63B" in told
    assert "as many browsers as it likes" in told


def test_who_may_do_what_is_documented() -> None:
    operate = (ROOT / "docs" / "operate.md").read_text()
    table = re.search(r"(?m)^## Roles\n\n\|(.+)\|$", operate)
    assert table, "docs/operate.md has no table of roles"
    assert {cell.strip() for cell in table[1].split("|")} - {""} == set(Role.values)
    told = section("Who may do what")
    for field in ("a visit's boxes", "a plan never once it is approved", "an override", "role"):
        assert field in told


def test_keys_are_documented() -> None:
    told = section("Keys and their life")
    for key in ("sealing keys", "index key", "secret", "seeds", "certificates"):
        assert f"| {key}" in told
    for step in ("NIST SP 800-57", "gaiter keys reseal", "destroyed", "by nobody else"):
        assert step in told
    assert f"{totp._SEED_BYTES * 8} bits" in told


def test_connections_are_documented() -> None:
    told = section("Connections")
    for end in ("proxy", "PostgreSQL", "a scheduler of computing", "./check faults"):
        assert end in told
    assert "Nothing else is called" in told


def sealed_fields(model) -> set[str]:
    sealed = (SealedText, SealedBytes)
    return {field.name for field in model._meta.concrete_fields if isinstance(field, sealed)}


def test_classes_of_data_are_documented() -> None:
    told = section("Data and how it is kept")
    rows = [row.split("|") for row in re.findall(r"\| [^|]+ \| `[^|]+ \| [^|]+ \|", told)]
    classes = {name: row for row in rows for name in re.findall(r"`(\w+)`", row[2])}
    models = [m for app in ("records", "entrance") for m in apps.get_app_config(app).get_models()]
    assert set(classes) == {model.__name__ for model in models}
    for model in models:
        assert sealed_fields(model) <= set(re.findall(r"`(\w+)`", classes[model.__name__][3]))
    for rule in ("Encryption", "Integrity", "Retention", "Logs", "Who", "Privacy"):
        assert f"**{rule}**" in told


def test_times_to_mend_are_documented() -> None:
    told = section("Mending faults of others")
    assert {3, 14, 90} <= numbers_in(told)
    assert "published faults by `./check faults`" in told
    assert "faults)" in (ROOT / "check").read_text()


def test_what_costs_is_documented() -> None:
    told = section("What costs")
    assert workload.PLACES_OF_ONE == 3
    assert "Each account has three answers under way" in told
    assert f"{workload.DEADLINE_S:.0f} seconds for a turn" in told
    serve = (PROGRAM / "cli" / "serve_command.py").read_text()
    assert '"--timeout", "120"' in serve
    assert "after 120 seconds" in told
    rows = (
        ("one account", gate.ACCOUNT_AT_ONCE, gate.ACCOUNT_A_SECOND),
        ("one address", gate.ADDRESS_AT_ONCE, gate.ADDRESS_A_SECOND),
        ("one session", gate.NEW_AT_ONCE, gate.NEW_A_SECOND),
        ('"Loosened or off"', gate.OFF_AT_ONCE, gate.OFF_A_SECOND),
    )
    for whose, at_once, a_second in rows:
        assert re.search(rf"\| {whose}[^|]* \| {at_once:g} \| {a_second:g} \|", told), whose
    assert gate.STATIC_COST == 0.1
    assert "counts a tenth" in told
    assert f"remembers {allowance.REMEMBERED} each" in told
    assert worker.SHARE_OF_ONE == 0.75
    assert "at most three quarters of the threads" in told
    assert f"{4 * gate.ACCOUNT_A_SECOND:g}" == "12"
    assert "twelve pages a second with four processes" in told


def test_logs_are_documented() -> None:
    told = section("Logs")
    fields = {"at", "level", "logger", "event", "error", "place", *logs._KEPT}
    assert fields <= set(re.findall(r"`(\w+)`", told))
    for log in ("of requests and faults", "audit", "of the proxy", "of PostgreSQL"):
        assert f"| {log} |" in told


def test_a_text_that_was_changed_is_what_is_read() -> None:
    """The switch for texts finds its place, and says so when it does not."""
    assert Text("docs/security.md", "# Security").found()
    assert not Text("docs/security.md", "no such words at all").found()
