"""The software bill of materials of an installation, as CycloneDX 1.6 JSON.

    python scripts/parts_list.py [requirements/clinic.txt]

Every package of a lock with its version, its locked SHA-256 sums and, where it is installed here,
its licence as the package states it. The same lock gives the same list but for the licences.
Specification: CycloneDX 1.6 (ECMA-424).
"""

import json
import re
import sys
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
_PACKAGE = re.compile(r"^([A-Za-z0-9._-]+)==([^ ;\\]+)", re.MULTILINE)
_SUM = re.compile(r"--hash=sha256:([0-9a-f]{64})")


@dataclass(frozen=True)
class Part:
    """One package of a lock."""

    name: str
    version: str
    sha256: tuple[str, ...]


def parts_of(lock: str) -> list[Part]:
    """The packages that the text of a lock lists."""
    heads = list(_PACKAGE.finditer(lock))
    ends = [head.start() for head in heads[1:]] + [len(lock)]
    return [
        Part(head[1], head[2], tuple(_SUM.findall(lock[head.start() : end])))
        for head, end in zip(heads, ends, strict=True)
    ]


def parts_list(parts: list[Part]) -> dict[str, Any]:
    """The list as a CycloneDX document."""
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {
            "component": {"type": "application", "name": "gaiter", "bom-ref": "gaiter"},
        },
        "components": [_component(part) for part in parts],
    }


def _component(part: Part) -> dict[str, Any]:
    address = f"pkg:pypi/{part.name}@{part.version}"
    made: dict[str, Any] = {
        "type": "library",
        "bom-ref": address,
        "name": part.name,
        "version": part.version,
        "purl": address,
        # One sum for each wheel and source archive that the lock allows.
        "properties": [{"name": "sha256", "value": value} for value in part.sha256],
    }
    if licence := _licence(part.name):
        made["licenses"] = [{"license": {"name": licence}}]
    return made


def _licence(name: str) -> str:
    try:
        told = metadata(name)
    except PackageNotFoundError:
        return ""
    stated = told.get("License-Expression") or told.get("License") or ""
    return str(stated).strip().splitlines()[0][:120] if str(stated).strip() else ""


def main() -> None:
    """Prints the list."""
    lock = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "requirements/clinic.txt"
    print(json.dumps(parts_list(parts_of(lock.read_text("utf-8"))), indent=1))


if __name__ == "__main__":
    main()
