"""Damaged and hostile documents for every reader: each answers in a sentence, none fails.

    python -m benchmarks.hostile_files [READER ...] [--count 10000] [--seed 1]

Each input is a good document with one to three things done to it: a byte turned, text cut, doubled
or put elsewhere, a value exchanged for a hostile one (`HOSTILE`), a table nested a thousand deep.
Whatever a reader does must be to read it or to raise an ``InputError`` of one clear sentence;
everything else is printed with the input that did it, and the exit code is 1. Printed too: how
many were read, how many refused, and the slowest.
"""

import argparse
import random
import re
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import gaiter
from gaiter.core.applied.readings import Readings
from gaiter.core.errors import InputError
from gaiter.core.plan import plan
from gaiter.files.applied_file import applied_json, read_bandages
from gaiter.files.bench_file import read_bench
from gaiter.files.case_file import read_case, read_safety_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cohort_file import read_cohort
from gaiter.files.document_file import read_document
from gaiter.files.plan_file import plan_json, read_plan
from gaiter.files.policy_file import read_policy, shipped_policy
from gaiter.files.prices_file import read_prices
from gaiter.files.sensor_log_file import LogColumns, read_sensor_log
from gaiter.files.systems_file import read_systems

ROOT = Path(__file__).parents[1]
EXAMPLES, DOCS, DATA = ROOT / "examples", ROOT / "docs", ROOT / "src/gaiter/data"

HOSTILE = (
    "nan", "-nan", "inf", "-inf", "1e999", "-1e999", "1e-400", "-0.0", "9" * 5000,
    "0." + "1" * 5000,
    "1_000", "0x1F", "0b1", "true", "null", '""', '"x"', '"26"', "[]", "{}", "[[[]]]", "1979-05-27",
    "2026-02-30", "9999-12-31", "07:32:00", '"\\ud800"', '"\\u0000"', '"' + "x" * 70_000 + '"',
    "'''a'''", "½", "26,5", "16 kPa", "12 in", "1" + "0" * 400 + ".5", "2147483648",
    "9223372036854775808", "-9223372036854775809", "[" * 1500 + "]" * 1500, '"' + "́" * 900 + '"',
    "\x1b[31m", "=1+1", "${HOME}", "../../etc/passwd", "%s%n", "\u202e", "\ufeff",
)  # fmt: skip
_LONGEST_REFUSAL = 20_000
_VALUE = re.compile(r"-?\d+(?:\.\d+)?|\"[^\"\n]*\"|true|false")


@dataclass(frozen=True)
class Reader:
    """One way into the program: what reads, the good document, and the ending of its file."""

    read: Callable[[Path], object]
    good: str
    ending: str


def readers() -> Mapping[str, Reader]:
    """Every reader of a file, by its name."""
    case = (EXAMPLES / "inner-ankle-ulcer.toml").read_text("utf-8")
    catalogue = shipped_catalogue()
    made = plan(read_case(EXAMPLES / "inner-ankle-ulcer.toml"), shipped_policy(), catalogue)
    columns = LogColumns.stated("time (s)", "s", "mmHg", {"gaiter": "gaiter (mmHg)"})

    def text(path: str) -> str:
        return (EXAMPLES / path).read_text("utf-8")

    applied = gaiter.applied(made, EXAMPLES / "readings/inner-ankle-ulcer.toml").document
    systems = re.search(
        r"```toml\n(schema = .*?)```", (DOCS / "systems.md").read_text("utf-8"), re.S
    )
    assert systems is not None

    return {
        "case": Reader(read_case, case, "toml"),
        "safety case": Reader(read_safety_case, case, "toml"),
        "plan": Reader(read_plan, plan_json(made), "json"),
        "bandages": Reader(lambda path: read_bandages([path]), applied_json(applied), "json"),
        "readings": Reader(
            lambda path: read_document(path, Readings),
            text("readings/inner-ankle-ulcer.toml"),
            "toml",
        ),
        "bench": Reader(read_bench, text("bench/long-stretch.toml"), "toml"),
        "cohort": Reader(read_cohort, text("cohort/six-legs.csv"), "csv"),
        "prices": Reader(
            lambda path: read_prices(path, catalogue.materials), text("cohort/prices.toml"), "toml"
        ),
        "log": Reader(
            lambda path: read_sensor_log(path, columns),
            text("sensor/gaiter-and-calf.csv")[:6000],
            "csv",
        ),
        "policy": Reader(read_policy, (DATA / "policy.toml").read_text("utf-8"), "toml"),
        "systems": Reader(lambda path: read_systems(path, catalogue), systems[1], "toml"),
    }


def damaged(good: str, draw: random.Random) -> bytes:
    """The document with one to three things done to it."""
    text = good
    for _again in range(draw.randint(1, 3)):
        text = draw.choice(_TEXT_DAMAGES)(text, draw)
    raw = text.encode("utf-8", "surrogatepass")
    return draw.choice(_BYTE_DAMAGES)(raw, draw) if draw.random() < 0.2 else raw


def _value(text: str, draw: random.Random) -> str:
    found = list(_VALUE.finditer(text))
    if not found:
        return text
    one = draw.choice(found)
    return text[: one.start()] + draw.choice(HOSTILE) + text[one.end() :]


def _line_gone(text: str, draw: random.Random) -> str:
    lines = text.split("\n")
    del lines[draw.randrange(len(lines))]
    return "\n".join(lines)


def _line_doubled(text: str, draw: random.Random) -> str:
    lines = text.split("\n")
    at = draw.randrange(len(lines))
    lines.insert(draw.randrange(len(lines)), lines[at])
    return "\n".join(lines)


def _cut(text: str, draw: random.Random) -> str:
    return text[: draw.randrange(len(text) + 1)]


def _put_in(text: str, draw: random.Random) -> str:
    at = draw.randrange(len(text) + 1)
    return text[:at] + draw.choice(HOSTILE) + text[at:]


def _name_changed(text: str, draw: random.Random) -> str:
    found = list(re.finditer(r"[a-z_]{3,}", text))
    if not found:
        return text
    one = draw.choice(found)
    return (
        text[: one.start()]
        + draw.choice(("__class__", "x" * 300, "é", "schema"))
        + text[one.end() :]
    )


_TEXT_DAMAGES = (_value, _value, _value, _line_gone, _line_doubled, _cut, _put_in, _name_changed)
_BYTE_DAMAGES: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    lambda raw, draw: bytes(b ^ (draw.random() < 0.001) * 255 for b in raw),
    lambda raw, draw: raw[: draw.randrange(len(raw) + 1)] + b"\x00\xff\xfe" + raw[-40:],
    lambda raw, draw: b"\xff\xfe" + raw.decode("utf-8", "replace").encode("utf-16-le"),
    lambda raw, draw: raw[draw.randrange(len(raw) + 1) :],
    lambda _raw, draw: draw.randbytes(draw.randrange(400)),
)


@dataclass
class Tally:
    """What came of one reader's inputs."""

    read: int = 0
    refused: int = 0
    slowest_s: float = 0.0


def tried(name: str, reader: Reader, count: int, seed: int) -> tuple[Tally, list[str]]:
    """What came of so many inputs, and every fault."""
    # A name makes a seed of its own, so that one reader alone sees the same inputs.
    draw = random.Random(f"{seed} {name}")
    tally, faults = Tally(), []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"given.{reader.ending}"
        for _one in range(count):
            raw = damaged(reader.good, draw)
            path.write_bytes(raw)
            started = time.perf_counter()
            try:
                reader.read(path)
                tally.read += 1
            except InputError as error:
                tally.refused += 1
                if fault := unclear(str(error)):
                    faults.append(f"{name}: {fault}: {str(error)[:300]!r}")
            except Exception:
                last = traceback.format_exc().strip().splitlines()
                faults.append(f"{name}: {last[-1][:200]} at {last[-3].strip()[:120]}")
            tally.slowest_s = max(tally.slowest_s, time.perf_counter() - started)
    return tally, faults


def unclear(sentence: str) -> str:
    """Why a refusal is no sentence for a person; empty where it is one."""
    if not sentence.strip():
        return "says nothing"
    if len(sentence) > _LONGEST_REFUSAL:
        return "is endless"
    if any(ord(sign) < 32 and sign != "\n" for sign in sentence):
        return "repeats control characters"
    if "Traceback" in sentence or "pydantic" in sentence:
        return "speaks of the program"
    return ""


def main() -> int:
    """Runs the readers and prints what came of them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("readers", nargs="*")
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    all_faults = 0
    for name, reader in readers().items():
        if asked.readers and name not in asked.readers:
            continue
        tally, faults = tried(name, reader, asked.count, asked.seed)
        print(
            f"{name:12} {tally.read:6} read {tally.refused:6} refused {len(faults):5} faults, "
            f"slowest {tally.slowest_s:.2f} s", flush=True,
        )  # fmt: skip
        for words in sorted(set(faults))[:20]:
            print("   ", words)
        all_faults += len(faults)
    return 1 if all_faults else 0


if __name__ == "__main__":
    sys.exit(main())
