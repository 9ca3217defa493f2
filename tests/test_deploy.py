"""Units and Containerfile: what must stand in them, as they cannot all be run here."""

import re
import shutil
import subprocess
from configparser import RawConfigParser
from pathlib import Path

import pytest

from gaiter.operations.environment import read_environment

DEPLOY = Path(__file__).parents[1] / "deploy"
UNITS = sorted(path.name for path in DEPLOY.iterdir() if path.suffix in {".service", ".timer"})


class Unit(RawConfigParser):
    """A unit file; a key that stands several times keeps all its values."""

    def __init__(self, name: str) -> None:
        super().__init__(strict=False, delimiters=("=",), comment_prefixes=("#",))
        self.optionxform = str  # type: ignore[assignment]
        self.read_string((DEPLOY / name).read_text())
        lines = (DEPLOY / name).read_text().split("\n")
        settings = [line.removeprefix("Environment=") for line in lines if "Environment=" in line]
        self.environment = dict(one.split("=", 1) for one in settings)


def instructions() -> list[tuple[str, str]]:
    """Instructions of the Containerfile, each on one line, comments left out."""
    text = (DEPLOY / "Containerfile").read_text()
    text = re.sub(r"^#.*\n", "", text, flags=re.M).replace("\\\n", " ")
    lines = [" ".join(line.split()) for line in text.split("\n") if line.strip()]
    return [(line.split(" ", 1)[0], line.split(" ", 1)[1]) for line in lines]


@pytest.mark.parametrize(
    "name", ["gaiter.service", "gaiter-backup.service", "gaiter-audit-head.service"]
)
def test_a_service_is_no_root_user_and_writes_only_where_its_data_lie(name: str) -> None:
    service = Unit(name)["Service"]
    assert service["User"] == "gaiter"
    assert service["ProtectSystem"] == "strict"
    assert service["NoNewPrivileges"] == "yes"
    assert service["UMask"] == "0077"
    assert service["StateDirectory"].split()[0] == "gaiter"
    assert Unit(name).environment["GAITER_DATA"] == "/var/lib/gaiter"


def test_the_server_may_be_reached_by_its_settings_alone() -> None:
    made = read_environment(Unit("gaiter.service").environment)
    assert made.https
    assert "gaiter.clinic.example" in made.hosts
    assert " serve" in Unit("gaiter.service")["Service"]["ExecStart"]
    assert "--bind" not in Unit("gaiter.service")["Service"]["ExecStart"]


def test_every_night_a_backup_is_made_in_a_file_of_its_own() -> None:
    timer = Unit("gaiter-backup.timer")
    assert timer["Timer"]["OnCalendar"].startswith("*-*-* ")
    assert timer["Timer"]["Persistent"] == "yes"
    assert timer["Install"]["WantedBy"] == "timers.target"
    service = Unit("gaiter-backup.service")["Service"]
    assert service["Type"] == "oneshot"
    file = re.search(
        r'gaiter backup "(/var/lib/gaiter-backup/\S+ \+%%F\).gaiter)"', service["ExecStart"]
    )
    assert file, service["ExecStart"]
    assert "gaiter-backup" in service["StateDirectory"].split()


def test_every_hour_the_end_of_the_audit_log_is_noted() -> None:
    timer = Unit("gaiter-audit-head.timer")
    assert timer["Timer"]["OnCalendar"] == "*-*-* *:00:00"
    assert timer["Install"]["WantedBy"] == "timers.target"
    service = Unit("gaiter-audit-head.service")["Service"]
    folder = service["StateDirectory"].split()[1]
    assert service["ExecStart"].endswith(f"gaiter audit head --append /var/lib/{folder}/anchors")


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="no systemd on this machine")
def test_systemd_understands_the_units(tmp_path: Path) -> None:
    for name in UNITS:
        text = (DEPLOY / name).read_text().replace("/opt/gaiter/.venv/bin/gaiter", "/bin/true")
        (tmp_path / name).write_text(text)
    run = subprocess.run(
        ["systemd-analyze", "verify", *(str(tmp_path / name) for name in UNITS)],
        env={"SYSTEMD_UNIT_PATH": f"{tmp_path}:", "PATH": "/usr/bin:/bin"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (0, "")


def test_the_image_installs_the_lock_with_hashes_and_nothing_else() -> None:
    installs = [rest for kind, rest in instructions() if kind == "RUN" and "pip install" in rest]
    assert len(installs) == 2
    locked, wheel = installs
    assert "--require-hashes" in locked
    assert "-r /build/clinic.txt" in locked
    assert ("COPY", "requirements/clinic.txt /build/clinic.txt") in instructions()
    assert "--no-index --no-deps" in wheel
    fetching = [r for k, r in instructions() if re.search(r"\b(curl|wget|apt|git|http)\b", r)]
    assert all(rest in fetching and "127.0.0.1:8000/health/" in rest for rest in fetching)


def test_every_base_is_pinned_to_a_version_and_every_stage_is_used() -> None:
    bases = [rest.split() for kind, rest in instructions() if kind == "FROM"]
    assert all(re.fullmatch(r"python:3\.\d+-slim", base[0]) for base in bases)
    named = {base[2] for base in bases if len(base) == 3}
    copied = {m[1] for _kind, rest in instructions() if (m := re.match(r"--from=(\w+)", rest))}
    assert named == copied


def test_the_server_in_the_image_is_no_root_user_and_keeps_its_data() -> None:
    kinds = [kind for kind, _rest in instructions()]
    last = dict(instructions())
    assert int(last["USER"]) >= 1000
    assert f"--uid {last['USER']} " in next(r for k, r in instructions() if "useradd" in r)
    assert kinds.index("USER") < kinds.index("ENTRYPOINT")
    assert not {"RUN", "COPY", "ADD"} & set(kinds[kinds.index("USER") :])
    assert last["VOLUME"] == "/var/lib/gaiter"
    assert "GAITER_DATA=/var/lib/gaiter" in last["ENV"]
    assert "ADD" not in kinds


def test_the_image_starts_the_server_for_a_proxy_outside() -> None:
    last = dict(instructions())
    assert (last["ENTRYPOINT"], last["CMD"]) == ('["gaiter"]', '["serve", "--bind", "0.0.0.0"]')
    assert "/health/" in last["HEALTHCHECK"]
    # Without these settings it refuses to start, and the page that explains says so.
    assert "GAITER_HOSTS" not in last["ENV"]
    page = (DEPLOY.parent / "docs/operate.md").read_text()
    assert "-e GAITER_HOSTS=gaiter.clinic.example -e GAITER_HTTPS=yes" in page


def test_the_image_holds_the_program_and_no_sources() -> None:
    copied = {rest for kind, rest in instructions() if kind in ("COPY", "ADD")}
    assert copied == {
        "requirements/clinic.txt /build/clinic.txt",
        "dist/gaiter-*.whl /build/",
        "--from=build /opt/gaiter /opt/gaiter",
    }


@pytest.mark.parametrize("name", UNITS)
def test_every_unit_is_in_the_page_for_whoever_runs_a_clinic(name: str) -> None:
    assert f"`{name}`" in (DEPLOY.parent / "docs/operate.md").read_text()
