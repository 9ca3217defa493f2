"""Turns every comparison and number of the safety rules round and runs the tests against it.

    python benchmarks/safety_mutants.py [MODULE ...]

Each mutant is one change in ``core/safety``: a comparison made strict or loose or turned, a
boolean joined otherwise, a ``not`` taken away, a number moved, or a threshold of the shipped
policy moved by its smallest step. A mutant that no test notices is printed; the exit code is 1
unless every survivor is listed as equivalent, with the reason.
"""

import ast
import copy
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Queue
from shutil import copytree

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src/gaiter"
TESTS = (
    "tests/core/safety/test_decision.py",
    "tests/core/safety",
    "tests/core/test_policy.py",
)
WORKERS = 2

_NEVER_EQUAL = (
    "1 kPa is 7.50062 mmHg: no pressure that can be written down falls exactly on the limit"
)
# Mutants that no test can tell apart, by "module: line: change", and why.
EQUIVALENT: dict[str, str] = {
    "core/safety/arterial.py: return low <= value * MMHG_PER_KILOPASCAL / self.arm_mmhg <= high: "
    "LtE to Lt": _NEVER_EQUAL,
    "core/safety/arterial.py: return oxygen is not None and low <= oxygen * MMHG_PER_KILOPASCAL "
    "<= high: LtE to Lt": _NEVER_EQUAL,
}

_COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}


def mutants(source: str) -> Iterator[tuple[str, str]]:
    """What was changed, and the changed source, for every mutant of a module."""
    tree = ast.parse(source)
    places = list(ast.walk(tree))
    for number, node in enumerate(places):
        for words, change in _changes(node):
            twin = copy.deepcopy(tree)
            change(list(ast.walk(twin))[number])
            line = source.splitlines()[node.lineno - 1].strip()
            yield f"{line}: {words}", ast.unparse(ast.fix_missing_locations(twin))


def _changes(node: ast.AST):
    if isinstance(node, ast.Compare):
        for index, op in enumerate(node.ops):
            for other in _COMPARISONS.get(type(op), ()):
                yield (
                    f"{type(op).__name__} to {other.__name__}",
                    lambda n, i=index, o=other: n.ops.__setitem__(i, o()),
                )
    elif isinstance(node, ast.BoolOp):
        other = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"to {other.__name__}", lambda n, o=other: setattr(n, "op", o())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not taken away", lambda n: setattr(n, "op", ast.UAdd()) or _double_not(n)
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield "one more", lambda n: setattr(n, "value", n.value + 1)
    elif (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("min", "max")
    ):
        other = "max" if node.func.id == "min" else "min"
        yield f"to {other}", lambda n, o=other: setattr(n.func, "id", o)


def _double_not(node: ast.UnaryOp) -> None:
    node.op = ast.Not()
    node.operand = ast.UnaryOp(ast.Not(), node.operand)


def thresholds() -> Iterator[tuple[str, str]]:
    """The shipped policy with one threshold moved by its smallest step, either way."""
    path = PACKAGE / "data/policy.toml"
    lines = path.read_text().splitlines()
    used = "\n".join(p.read_text() for p in sorted((PACKAGE / "core/safety").rglob("*.py")))
    for number, line in enumerate(lines):
        name, _, rest = line.partition(" = { value = ")
        if not rest or f'"{name}"' not in used:
            continue
        text, _, tail = rest.partition(",")
        step = 0.01 if "." in text else 1
        for sign in (1, -1):
            moved = f"{float(text) + sign * step:g}"
            changed = [*lines[:number], f"{name} = {{ value = {moved},{tail}", *lines[number + 1 :]]
            yield f"{name}: {text} to {moved}", "\n".join(changed)


def sandbox(folder: Path) -> Path:
    """A copy of the sources and tests to change."""
    for name in ("src", "tests"):
        copytree(ROOT / name, folder / name)
    (folder / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    return folder


def caught(own: Path, path: str, text: str) -> bool:
    """Whether any test goes red with one file as given."""
    target = own / path
    was = target.read_text()
    target.write_text(text)
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *TESTS],
        cwd=own,
        env={**os.environ, "PYTHONPATH": str(own / "src"), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        check=False,
    )
    target.write_text(was)
    return run.returncode != 0


def main(names: list[str]) -> int:
    """Prints what survived and how many there were."""
    modules = sorted((PACKAGE / "core/safety").rglob("*.py"))
    wanted = [m for m in modules if not names or any(name in str(m) for name in names)]
    work = [
        (str(module.relative_to(ROOT)), f"{module.relative_to(PACKAGE)}: {words}", text)
        for module in wanted
        for words, text in mutants(module.read_text())
    ]
    if not names or "policy" in names:
        work += [
            ("src/gaiter/data/policy.toml", f"policy: {words}", text)
            for words, text in thresholds()
        ]
    survived = 0
    free: Queue[Path] = Queue()

    def judged(mutant: tuple[str, str, str]) -> tuple[str, bool]:
        path, words, text = mutant
        own = free.get()
        try:
            return words, caught(own, path, text)
        finally:
            free.put(own)

    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(WORKERS) as pool:
        for number in range(WORKERS):
            free.put(sandbox(Path(folder) / str(number)))
        for words, red in pool.map(judged, work):
            if red:
                continue
            if words in EQUIVALENT:
                print(f"equivalent: {words} ({EQUIVALENT[words]})", flush=True)
                continue
            survived += 1
            print(f"SURVIVED: {words}", flush=True)
    print(f"{len(work)} mutants, {survived} survived")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
