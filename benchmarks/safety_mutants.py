"""Turns every comparison and number of the safety rules round and runs the tests against it.

    python benchmarks/safety_mutants.py [MODULE ...]

Each mutant is one change in ``core/safety``: a comparison made strict or loose or turned, a
boolean joined otherwise, a ``not`` taken away, a number moved, or a threshold of the shipped
policy moved by its smallest step. A mutant that no test notices is printed; the exit code is 1
unless every survivor is listed as equivalent, with the reason.
"""

import ast
import copy
import importlib
import os
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from shutil import copytree

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src/gaiter"
TESTS = (
    "tests/core/safety/test_decision.py",
    "tests/core/safety",
    "tests/core/test_policy.py",
)
WORKERS = 2

# Mutants that no test can tell apart, by "module:line text:change", and why.
EQUIVALENT: dict[str, str] = {}

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
            yield f"{node.lineno}: {line}: {words}", ast.unparse(ast.fix_missing_locations(twin))


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
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        if node.func.id in ("min", "max"):
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


_own: Path


def start(folder: str) -> None:
    """A worker's own copy of the sources, with what the tests import already loaded."""
    global _own
    _own = Path(tempfile.mkdtemp(dir=folder))
    for name in ("src", "tests"):
        copytree(ROOT / name, _own / name)
    (_own / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    for module in ("pytest", "django.conf", "hypothesis.strategies", "pydantic", "numpy", "scipy"):
        importlib.import_module(module)


def caught(work: tuple[str, str, str]) -> tuple[str, bool]:
    """Whether any test goes red with one file as given."""
    path, words, text = work
    target = _own / path
    was = target.read_text()
    target.write_text(text)
    child = os.fork()
    if not child:
        # A fresh process that imports the changed sources, warm in everything else.
        os.chdir(_own)
        sys.path.insert(0, str(_own / "src"))
        sys.dont_write_bytecode = True
        out = os.open(os.devnull, os.O_WRONLY)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os._exit(int(pytest.main(["-q", "-x", "-p", "no:cacheprovider", *TESTS]) != 0))
    _, status = os.waitpid(child, 0)
    target.write_text(was)
    return words, os.waitstatus_to_exitcode(status) != 0


def main(names: list[str]) -> int:
    """Prints what survived and how many there were."""
    modules = sorted((PACKAGE / "core/safety").rglob("*.py"))
    wanted = [m for m in modules if not names or any(name in str(m) for name in names)]
    work = [
        (str(module.relative_to(ROOT)), f"{module.relative_to(PACKAGE)}:{words}", text)
        for module in wanted
        for words, text in mutants(module.read_text())
    ]
    if not names or "policy" in names:
        work += [
            ("src/gaiter/data/policy.toml", f"policy:{words}", text) for words, text in thresholds()
        ]
    survived = 0
    with (
        tempfile.TemporaryDirectory() as folder,
        ProcessPoolExecutor(WORKERS, initializer=start, initargs=(folder,)) as pool,
    ):
        for words, red in pool.map(caught, work):
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
