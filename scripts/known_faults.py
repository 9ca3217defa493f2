"""Which packages of the locks have published faults, asked of a public database of them.

    ./check faults        or        python -m scripts.known_faults [--service ADDRESS] [LOCK ...]

Needs a network; nothing else of Gaiter does. Only names and versions of packages are sent. Prints
each package with the numbers of its faults; exit code 1 where there is one, 2 without an answer.
"""

import argparse
import json
import sys
import urllib.error
import urllib.request
from pathlib import Path

from scripts.parts_list import Part, parts_of

ROOT = Path(__file__).resolve().parent.parent
LOCKS = ("base", "clinic", "dev")
# Exit codes beside 0.
FOUND, NO_ANSWER = 1, 2
SERVICE = "https://api.osv.dev/v1/querybatch"


def faults_of(parts: list[Part], service: str) -> dict[str, list[str]]:
    """Numbers of the published faults by package and version, where there are any.

    Raises
    ------
    OSError
        Without a network, or where the service does not answer.
    """
    queries = [
        {"package": {"ecosystem": "PyPI", "name": part.name}, "version": part.version}
        for part in parts
    ]
    request = urllib.request.Request(
        service,
        data=json.dumps({"queries": queries}).encode(),
        headers={"Content-Type": "application/json"},
    )
    with urllib.request.urlopen(request, timeout=60) as answer:
        results = json.load(answer)["results"]
    return {
        f"{part.name} {part.version}": [fault["id"] for fault in result["vulns"]]
        for part, result in zip(parts, results, strict=True)
        if result.get("vulns")
    }


def main(given: list[str] | None = None) -> int:
    """Asks and prints."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("locks", nargs="*", type=Path)
    parser.add_argument("--service", default=SERVICE)
    asked = parser.parse_args(given)
    locks = asked.locks or [ROOT / f"requirements/{name}.txt" for name in LOCKS]
    parts = {(p.name, p.version): p for lock in locks for p in parts_of(lock.read_text("utf-8"))}
    try:
        found = faults_of(list(parts.values()), asked.service)
    except (OSError, ValueError, KeyError) as error:
        print(f"The service gave no answer ({type(error).__name__}): try again with a network.")
        return NO_ANSWER
    for name, numbers in found.items():
        print(f"{name}: {', '.join(numbers)}")
    print(f"{len(parts)} packages, {len(found)} with published faults.")
    return FOUND if found else 0


if __name__ == "__main__":
    sys.exit(main())
