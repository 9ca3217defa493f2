"""The bill of materials names what is locked, and nothing else."""

import tomllib
from pathlib import Path

from scripts.parts_list import parts_list, parts_of

ROOT = Path(__file__).parents[2]
LOCK = """django==6.0 \\
    --hash=sha256:{a} \\
    --hash=sha256:{b}
tzdata==2026.2 ; sys_platform == 'win32' \\
    --hash=sha256:{b}
""".format(a="a" * 64, b="b" * 64)


def test_each_package_has_its_version_and_its_own_sums() -> None:
    django, tzdata = parts_of(LOCK)
    assert (django.name, django.version, django.sha256) == ("django", "6.0", ("a" * 64, "b" * 64))
    assert (tzdata.version, tzdata.sha256) == ("2026.2", ("b" * 64,))


def test_the_list_has_what_the_specification_requires() -> None:
    made = parts_list(parts_of(LOCK))
    assert (made["bomFormat"], made["specVersion"], made["version"]) == ("CycloneDX", "1.6", 1)
    first = made["components"][0]
    assert {"type", "name", "version", "purl"} <= set(first)
    assert first["purl"] == "pkg:pypi/django@6.0"
    assert len({one["bom-ref"] for one in made["components"]}) == 2


def test_every_line_with_a_version_in_a_lock_is_listed() -> None:
    lock = (ROOT / "requirements/clinic.txt").read_text("utf-8")
    parts = parts_of(lock)
    assert len(parts) == sum("==" in line and line[0] != " " for line in lock.splitlines())
    assert all(part.sha256 for part in parts)


def test_the_build_is_made_with_what_is_locked() -> None:
    build = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["build-system"]
    locked = {p.name: p.version for p in parts_of((ROOT / "requirements/base.txt").read_text())}
    for requirement in build["requires"]:
        name, version = requirement.split("==")
        assert locked[name] == version
