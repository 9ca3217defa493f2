"""Builds the packages, installs the wheel with the base lock alone, and works with it elsewhere.

``./check release``. Prints what it found; ends with 1 at the first thing that does not hold. Locks
that are too old, or name a package with a published fault, hold up a release before all else.
"""

import os
import shlex
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path, PurePosixPath

from scripts import known_faults

ROOT = Path(__file__).resolve().parent.parent
# What a base installation may take on disk once every command has run, Python and pip left out.
# Bytecode counts where something was imported; of everything else it would be 40 MB more.
LARGEST_MB = 310
LEFT_OUT = ("django", "numba", "pyarrow")
# Days within which docs/security.md brings every package up to date (Mending faults of others).
OLDEST_LOCKS_DAYS = 90

_WORK = """
import gaiter

folder = gaiter.copy_examples("examples")
planned = gaiter.plan(folder / "inner-ankle-ulcer.toml")
leg = planned.legs["right"]
assert leg.status == "planned" and leg.table()["site"][3] == "gaiter"
assert gaiter.applied(planned, folder / "readings/inner-ankle-ulcer.toml").advice
assert leg.pressure_map().pressure_mmhg.max() > 20 and leg._repr_svg_().startswith("<svg")
(folder / "leg.stl").write_bytes(leg.mesh(closed=True).stl())
try:
    gaiter.study(folder / "cohort/six-legs.csv", "study")
except gaiter.InputError as error:
    assert "gaiter[study]" in str(error), error
else:
    raise AssertionError("a study ran without its extra")
print(gaiter.__version__)
"""
# Every command of a base installation, with its exit code, in the folder where _WORK ran.
_COMMANDS = (
    ("plan examples/inner-ankle-ulcer.toml --out plan", 0),
    ("safety examples/suspected-clot.toml", 3),
    ("sheet plan/plan.json", 0),
    ("mesh examples/inner-ankle-ulcer.toml --out leg.obj --strips", 0),
    ("applied plan/plan.json examples/readings/inner-ankle-ulcer.toml --out applied", 0),
    ("technique applied/applied.json --training trained --today 2026-11-25", 0),
    ("bench examples/bench/long-stretch.toml", 0),
    (
        "log examples/sensor/gaiter-and-calf.csv --time 'time (s)' --time-unit s --unit mmHg "
        "--site 'gaiter=gaiter (mmHg)'",
        0,
    ),
    ("reckon --tension-n 10.6 --girth-cm 25 --thicknesses 2", 0),
    ("schema case", 0),
    ("study examples/cohort/six-legs.csv --out study", 2),
    ("demo", 2),
    ("audit verify", 2),
)


def main() -> None:
    """Runs the check."""
    packages_are_kept_up(ROOT, datetime.now(UTC))
    with tempfile.TemporaryDirectory() as beside:
        # From the last commit, as a release is, and without leaving anything beside the source.
        fresh, packages = Path(beside, "source"), Path(beside, "packages")
        _run(["git", "clone", "--quiet", ROOT, fresh])
        _run([sys.executable, "-m", "build", "--no-isolation", "--outdir", packages, fresh])
        (source,), (wheel,) = packages.glob("*.tar.gz"), packages.glob("*.whl")
        missing = left_out_of(source, wheel, _tracked(fresh))
        _require(not missing, f"left out of the packages: {', '.join(missing)}")
        print(f"{source.name} {_kb(source)} kB, {wheel.name} {_kb(wheel)} kB: whole")

        clean = Path(beside, "clean")
        _run([sys.executable, "-m", "venv", clean])
        empty = _mb(clean)
        python = _installed(wheel, clean)
        _works(python, wheel, Path(beside, "elsewhere"))
        size = _mb(clean) - empty
        _require(size <= LARGEST_MB, f"takes {size:.0f} MB, more than {LARGEST_MB}")
        print(f"A base installation takes {size:.0f} MB (at most {LARGEST_MB})")


def packages_are_kept_up(root: Path, now: datetime) -> None:
    """Refuses locks that nobody renewed in time, and packages with published faults.

    Parameters
    ----------
    root : Path
        Where git keeps the locks.
    now : datetime
        With its zone.
    """
    made = _run(["git", "log", "-1", "--format=%cI", "--", "requirements"], cwd=root).strip()
    _require(bool(made), "git knows no locks")
    days = (now - datetime.fromisoformat(made)).days
    _require(
        days <= OLDEST_LOCKS_DAYS,
        f"the locks are {days} days old, more than {OLDEST_LOCKS_DAYS}: make them anew",
    )
    found = known_faults.main([])
    _require(found != known_faults.FOUND, "a locked package has a published fault: mend it first")
    if found == known_faults.NO_ANSWER:
        print("NOT COMPARED with published faults: run ./check faults where there is a network")
    else:
        print(f"Locks of {days} days, no published faults: they hold")


def left_out_of(source: Path, wheel: Path, tracked: list[str]) -> list[str]:
    """What git keeps and the packages do not carry: all of it in one, the program in the other.

    Parameters
    ----------
    source, wheel : Path
        The packages.
    tracked : list of str
        Names of the files that git keeps.
    """
    with tarfile.open(source) as archive:
        in_source = {str(PurePosixPath(*PurePosixPath(n).parts[1:])) for n in archive.getnames()}
    in_wheel = set(zipfile.ZipFile(wheel).namelist())
    # The program by its path below src, the examples by the link that leads to them.
    program = {name: name.removeprefix("src/") for name in tracked if name.startswith("src/")}
    program |= {name: f"gaiter/data/{name}" for name in tracked if name.startswith("examples/")}
    return [name for name in tracked if name not in in_source] + [
        name for name, inside in program.items() if inside not in in_wheel
    ]


def _tracked(folder: Path) -> list[str]:
    names = _run(["git", "ls-files"], cwd=folder).splitlines()
    # A link to a folder is no file; what it leads to is there under its own name.
    return [name for name in names if (folder / name).is_file()]


def _installed(wheel: Path, folder: Path) -> Path:
    """The Python of a clean environment with the wheel and the base lock, nothing else."""
    python = folder / "bin/python"
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-compile"]
    _run([*pip, "--require-hashes", "-r", ROOT / "requirements/base.txt"])
    _run([*pip, "--no-deps", wheel])
    _run([python, "-m", "pip", "check"])
    for name in LEFT_OUT:
        there = _run([python, "-c", f"import importlib.util as u; print(u.find_spec({name!r}))"])
        _require(there.strip() == "None", f"a base installation has {name}")
    return python


def _works(python: Path, wheel: Path, folder: Path) -> None:
    folder.mkdir()
    version = _run([python, "-c", _WORK], cwd=folder).strip()
    _require(wheel.name.startswith(f"gaiter-{version}-"), f"says {version}, built as {wheel.name}")
    for words, code in _COMMANDS:
        _run([python.parent / "gaiter", *shlex.split(words)], cwd=folder, code=code)
    said = _run([python.parent / "gaiter", "--version"], cwd=folder).strip()
    _require(said == f"gaiter {version}", f"the command says {said}")
    print(f"Version {version} plans, reads, draws and refuses away from its source: it holds")


def _run(words: list[object], *, cwd: Path | None = None, code: int = 0) -> str:
    # Nothing of the surroundings may help, such as a path to the source.
    surroundings = {name: v for name, v in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run(
        [str(word) for word in words], cwd=cwd, env=surroundings, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    shown = " ".join(str(word) for word in words[:6])
    faulty = "Traceback" in done.stderr or done.returncode != code
    _require(not faulty, f"{shown} gave {done.returncode}, not {code}:\n{done.stdout}{done.stderr}")
    return done.stdout


def _require(holds: bool, text: str) -> None:
    if not holds:
        raise SystemExit(f"The release does not hold: {text}")


def _kb(path: Path) -> int:
    return path.stat().st_size // 1000


def _mb(folder: Path) -> float:
    files = (path for path in folder.rglob("*") if path.is_file() and not path.is_symlink())
    return sum(path.stat().st_size for path in files) / 1e6


if __name__ == "__main__":
    if find_spec("build") is None:
        raise SystemExit("The package build is missing: run ./check release, which installs it")
    main()
