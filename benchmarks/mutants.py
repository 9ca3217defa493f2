"""Changes one thing in the core at a time and runs the tests that must notice.

    python benchmarks/mutants.py [ROOM or MODULE ...] [--sample N] [--seed S] [--workers W] [--own]

A room is a folder of ``core`` (``plan``), a module is part of a path (``plan/pads``); without
any, all of ``ROOMS``, and the thresholds of the shipped policy. Each mutant is one change: a
comparison made strict, loose or turned; a boolean joined otherwise; a ``not`` or a minus taken
away; + and - or * and / exchanged; a number moved (whole ones by one, others by a tenth); ``min``
and ``max`` exchanged; a value that is not returned; a threshold of the policy moved by its
smallest step. Its tests are the file of the module's name (``test_pads.py``, or ``test_pads_*.py``
beside it) and then the room's folder; with ``--own`` only those files, which is quicker and a
lower bound.

``--sample N`` takes N mutants of each room (the same ones for the same seed). Survivors are
printed, then the score: caught of all. Those listed as equivalent, with the reason, are no fault
but count as survivors. The exit code is 1 where the score of a room is under 90 %, or where one
of the safety rules survives that is not listed.
"""

import argparse
import ast
import copy
import os
import random
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from shutil import copytree

# Loaded once here, so that every run of the tests has them already; nothing of the package is.
import django.test
import hypothesis
import mpmath
import numpy as np
import pydantic
import pytest
import pytest_django.plugin
import scipy.integrate
import scipy.interpolate
import scipy.linalg
import scipy.ndimage
import scipy.optimize
import scipy.signal
import scipy.sparse.csgraph
import scipy.spatial
import scipy.special
import scipy.stats

_LOADED = (django, hypothesis, mpmath, np, pydantic, pytest_django, scipy)

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src/gaiter"
ROOMS = ("safety", "plan", "pressure", "applied", "bandage")
# What else must notice, beside the file of the module's name and the room's folder.
ALSO = {"safety": ("tests/core/test_policy.py",)}
FIRST = {"safety": ("tests/core/safety/test_decision.py",)}
LEAST_SCORE = 0.9
# A change that makes a loop endless is noticed by the time it takes [s].
LONGEST_S = 900
# Floats smaller than this only guard against rounding; moved by a tenth they do the same.
_GUARD = 1e-6
# Plug-ins are loaded before the tests start, which one warning is about.
_OPTIONS = ("-q", "-x", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")

_NEVER_EQUAL = (
    "1 kPa is 7.50062 mmHg: no pressure that can be written down falls exactly on the limit"
)
_AS_FALSE = "what asks takes nothing as it takes what is empty"
_BOTH_ENDS = "a site has both ends of its range or neither"
_NEAR_A_DISC = (
    "core/pressure/discs.py: rings, angles = np.nonzero(squared < (radius_cm + 6 * rim) ** 2)"
)
_FAR_OUT = "a cell that far out reads less than a billionth; the line only saves time"
_SIDE = "a direction is scaled to length 1"
_WINDING = "it is -1: to divide by it is to multiply by it"
_SEARCH = "how the least is sought, not where it lies"
# Mutants that no test can tell apart, by "module: line: change", and why.
EQUIVALENT: dict[str, str] = {
    "core/safety/arterial.py: return low <= value * MMHG_PER_KILOPASCAL / self.arm_mmhg <= high: "
    "LtE to Lt": _NEVER_EQUAL,
    "core/safety/arterial.py: return oxygen is not None and low <= oxygen * MMHG_PER_KILOPASCAL "
    "<= high: LtE to Lt": _NEVER_EQUAL,
    "core/plan/assemble.py: if low is not None and high is not None:: to Or": _BOTH_ENDS,
    "core/plan/assemble.py: off = np.linalg.norm(surface.points_cm[patch.cells] - wound, axis=-1): "
    "minus taken away": "the cells of a patch are rows of points: axis 1 is the last",
    "core/bandage/strips.py: low = _edge(surface, path, width_cm, side=-1): 1 one more": _SIDE,
    "core/bandage/strips.py: high = _edge(surface, path, width_cm, side=1): 1 one more": _SIDE,
    "core/bandage/strips.py: _SUBSTEPS = 2: 2 one more": (
        "three steps in a lane follow the geodesic that two follow"
    ),
    "core/bandage/path.py: _TRIALS, _SETTLED_CM, _LARGEST_STEP_CM = 30, 0.01, 1.0: 30 one more": (
        _SEARCH
    ),
    "core/bandage/path.py: _TRIALS, _SETTLED_CM, _LARGEST_STEP_CM = 30, 0.01, 1.0: 0.01 to 0.011": (
        _SEARCH
    ),
    "core/bandage/path.py: _TRIALS, _SETTLED_CM, _LARGEST_STEP_CM = 30, 0.01, 1.0: 1 to 1.1": (
        _SEARCH
    ),
    "core/bandage/path.py: _FIRST_DAMPING, _DAMPING_FACTOR = 1e-3, 5.0: 0.001 to 0.0011": _SEARCH,
    "core/bandage/path.py: _FIRST_DAMPING, _DAMPING_FACTOR = 1e-3, 5.0: 5 to 5.5": _SEARCH,
    "core/bandage/path.py: nudge = 1e-3: 0.001 to 0.0011": (
        "a difference quotient over a tenth more than 0.001 cm is the same slope"
    ),
    "core/bandage/path.py: along_s = second + (s_ss * slope + 2 * w * s_st) * slope + s_tt: "
    "Mult to Div": _WINDING,
    "core/bandage/path.py: along_t = (t_ss * slope + 2 * w * t_st) * slope + t_tt: Mult to Div": (
        _WINDING
    ),
    "core/bandage/path.py: speed = np.sqrt((e * slope + 2 * w * f) * slope + g): Mult to Div": (
        _WINDING
    ),
    "core/bandage/path.py: speed: Array = np.sqrt((e * slope + 2 * WINDING * f) * slope + g): "
    "Mult to Div": _WINDING,
    "core/bandage/path.py: if tried_cost > cost:: Gt to GtE": (
        "two sums of squares are not the same to the last digit unless nothing moved"
    ),
    "core/bandage/path.py: if np.abs(move).max() < _SETTLED_CM:: Lt to LtE": (
        "no move is 0.1 mm to the last digit"
    ),
    "core/bandage/rolls.py: clear &= np.linalg.norm(points - keep_off_cm, axis=-1) > "
    "_CLEAR_OF_WOUND_CM: Gt to GtE": "no sample lies 5 cm off to the last digit",
    "core/bandage/rolls.py: clear &= np.linalg.norm(points - keep_off_cm, axis=-1) > "
    "_CLEAR_OF_WOUND_CM: minus taken away": "points of a path are rows: axis 1 is the last",
    "core/bandage/rolls.py: degrees = np.rad2deg(path.angle[window] + np.pi) % 360 - 180: "
    "Add to Sub": "half a turn on and half a turn back are the same place",
    "core/bandage/wool.py: on_leg &= bare.s_cm <= places[Landmark.CALF]: LtE to Lt": (
        "a cone ends in the calf as it is: on that ring nothing is missing"
    ),
    "core/bandage/wool.py: built = bare.s_cm[extra > 0.05]: Gt to GtE": (
        "smoothed wool is not half a millimetre thick to the last digit"
    ),
    "core/bandage/pattern.py: while low < last:: Lt to LtE": (
        "arc lengths come from a spline and do not meet to the last digit"
    ),
    "core/plan/design.py: _SHARE_SAMPLES = 512: 512 one more": (
        "one pair more moves no share that is shown to the nearest 5 %"
    ),
    "core/plan/design.py: pairs = draws(2 * layout.inputs, _SHARE_SAMPLES, "
    "self.sampling.seed).uniform: 2 one more": "inputs beyond a layout's are drawn and not used",
    'core/plan/changes.py: return Said(_LARGER if by_cm > 0 else _SMALLER, {"place": place, "by": '
    "abs(by_cm)}): Gt to GtE": "a cause is only named where a girth has changed",
    "core/plan/changes.py: landmark: round(now.girth_cm[landmark] - girth, 3): 3 one more": (
        "girths are typed to a millimetre"
    ),
    "core/plan/changes.py: stretch=round(layer.stretch_percent / 100, 6) or None,: 6 one more": (
        "no stretch is chosen to a millionth"
    ),
    "core/plan/search.py: _AT_ONCE = 64: 64 one more": (
        "how many choices are multiplied at once decides the memory, not the result"
    ),
    "core/plan/search.py: allowed = aim.allowed_chance_above + slack: Add to Sub": (
        "finalists are taken with the slack on either side; the order of the two is no matter"
    ),
    "core/plan/search.py: else grid[grid <= layer.recipe.largest_stretch + 1e-9]: LtE to Lt": (
        "no stretch of the grid lies exactly a billionth above another"
    ),
    "core/plan/hands.py: _TIGHT if at.tension_percent > 0 else _LOOSE,: Gt to GtE": (
        "a bias of less than one per cent is not named"
    ),
    "core/plan/planner.py: Fit.CANNOT_BE_REACHED: 2,: 2 one more": "only the order counts",
    "core/plan/planner.py: return NOTHING: nothing returned": _AS_FALSE,
    "core/plan/alternatives.py: maximum = p.decision.maximum_mmhg or 0.0: 0 to 0.1": (
        "no kind gives as little; where nothing may be worn nothing is asked"
    ),
    **dict.fromkeys(
        (
            "core/plan/alternatives.py: if kind is ADJUSTABLE_WRAP and "
            "(p.leg.findings.pitting_grade or 0) >= 3:: 0 one more",
            "core/plan/alternatives.py: if kind is STOCKINGS and "
            "(p.leg.findings.pitting_grade or 0) >= 3:: 0 one more",
            "core/plan/suitability.py: if (p.leg.findings.pitting_grade or 0) >= 3 and "
            "Trait.INELASTIC in traits:: 0 one more",
            'core/plan/suitability.py: wet = patient.exudate == "heavy" or '
            "(patient.leg.findings.pitting_grade or 0) >= 3: 0 one more",
        ),
        "a swelling that was not graded is as little much as one of grade 1",
    ),
    "core/pressure/discs.py: enough = read > _LEAST_SHARE * read.max(): Gt to GtE": (
        "no cell reads exactly a thousandth of the middle's"
    ),
    f"{_NEAR_A_DISC}: Lt to LtE": _FAR_OUT,
    f"{_NEAR_A_DISC}: Mult to Div": _FAR_OUT,
    f"{_NEAR_A_DISC}: 2 one more": _FAR_OUT,
    f"{_NEAR_A_DISC}: 6 one more": _FAR_OUT,
    "core/pressure/surface_map.py: turn, cell = np.nonzero((low - reach < s) & "
    "(s < high + reach)): Lt to LtE": "a turn that only touches a cell covers nothing of it",
    "core/applied/judge.py: if low is not None and high is not None:: to Or": _BOTH_ENDS,
    "core/applied/judge.py: if site.target_low_mmhg is not None and site.target_high_mmhg is not "
    "None:: to Or": _BOTH_ENDS,
    "core/applied/judge.py: return False: nothing returned": _AS_FALSE,
    "core/applied/judge.py: return []: nothing returned": _AS_FALSE,
    "core/applied/sampled.py: trust = OVERLAP_SD_CM**2 / (OVERLAP_SD_CM**2 + "
    "OVERLAP_READING_SD_CM**2): 2 one more": "of 1 cm every power is 1",
    "core/applied/conjugate.py: _ROUNDS = 60: 60 one more": "the rounds have settled long before",
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
_ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}

Change = Callable[[ast.AST], object]


@dataclass(frozen=True)
class Mutant:
    """One changed file.

    Attributes
    ----------
    room, path : str
        Room of the core, and the file from the repository's root.
    words : str
        Module, line and what was changed.
    text : str
        The whole file with the change.
    own, others : tuple[str, ...]
        Test files of the module's name, or its room's folder where it has none; then what else
        must notice.
    """

    room: str
    path: str
    words: str
    text: str
    own: tuple[str, ...]
    others: tuple[str, ...]


def mutants(source: str) -> Iterator[tuple[str, str]]:
    """What was changed, and the changed source, for every mutant of a module."""
    tree = ast.parse(source)
    lines = source.splitlines()
    skipped = _hints(tree)
    for number, node in enumerate(ast.walk(tree)):
        if id(node) in skipped:
            continue
        for words, change in _changes(node):
            twin = copy.deepcopy(tree)
            change(list(ast.walk(twin))[number])
            line = lines[node.lineno - 1].strip()
            yield f"{line}: {words}", ast.unparse(ast.fix_missing_locations(twin))


def _hints(tree: ast.AST) -> set[int]:
    """Everything inside the types of parameters and returned values, which no run looks at."""
    hints: list[ast.AST] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.returns:
            hints.append(node.returns)
        elif isinstance(node, ast.arg) and node.annotation:
            hints.append(node.annotation)
    return {id(inner) for hint in hints for inner in ast.walk(hint)}


def _changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    """What can be changed about one node, in words and as a deed."""
    yield from _of_logic(node)
    yield from _of_arithmetic(node)
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield from _of_number(node.value)
    if isinstance(node, ast.Return) and not _returns_nothing(node):
        yield "nothing returned", lambda n: setattr(n, "value", None)


def _of_logic(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.Compare):
        for index, op in enumerate(node.ops):
            for other in _COMPARISONS.get(type(op), ()):
                yield (
                    f"{type(op).__name__} to {other.__name__}",
                    lambda n, i=index, o=other: n.ops.__setitem__(i, o()),
                )
    elif isinstance(node, ast.BoolOp):
        joined = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"to {joined.__name__}", lambda n: setattr(n, "op", joined())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not taken away", lambda n: setattr(n, "operand", ast.UnaryOp(ast.Not(), n.operand))


def _of_arithmetic(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield "minus taken away", lambda n: setattr(n, "op", ast.UAdd())
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in _ARITHMETIC:
        other = _ARITHMETIC[type(node.op)]
        if not _joins_text(node):
            words = f"{type(node.op).__name__} to {other.__name__}"
            yield words, lambda n: setattr(n, "op", other())
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        name = {"min": "max", "max": "min"}.get(node.func.id)
        if name:
            yield f"to {name}", lambda n: setattr(n.func, "id", name)


def _of_number(value: float) -> Iterator[tuple[str, Change]]:
    if isinstance(value, int):
        yield f"{value} one more", lambda n: setattr(n, "value", value + 1)
    elif not 0 < abs(value) < _GUARD:
        moved = 1.1 * value or 0.1
        yield f"{value:g} to {moved:.4g}", lambda n: setattr(n, "value", moved)


def _joins_text(node: ast.BinOp | ast.AugAssign) -> bool:
    """Whether a + joins words, where a - would only be a mistake of type."""
    sides = (node.left, node.right) if isinstance(node, ast.BinOp) else (node.value,)
    return any(
        isinstance(side, ast.JoinedStr)
        or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in sides
    )


def _returns_nothing(node: ast.Return) -> bool:
    """Whether nothing, or None, is returned already."""
    value = node.value
    return value is None or (isinstance(value, ast.Constant) and value.value is None)


def of_module(module: Path) -> list[Mutant]:
    """Every mutant of a module of the core."""
    inside = module.relative_to(PACKAGE / "core")
    room = inside.parts[0]
    folder = ROOT / "tests/core" / inside.parent
    names = (f"test_{inside.stem}.py", f"test_{inside.stem}_*.py")
    files = [path for name in names for path in sorted(folder.glob(name))]
    own = tuple(str(path.relative_to(ROOT)) for path in files)
    others = (*FIRST.get(room, ()), f"tests/core/{room}", *ALSO.get(room, ()))
    path = str(module.relative_to(ROOT))
    return [
        Mutant(room, path, f"core/{inside}: {words}", text, own or others, others)
        for words, text in mutants(module.read_text())
    ]


def thresholds() -> list[Mutant]:
    """The shipped policy with one threshold of the safety rules moved, either way."""
    path = PACKAGE / "data/policy.toml"
    lines = path.read_text().splitlines()
    used = "\n".join(p.read_text() for p in sorted((PACKAGE / "core/safety").rglob("*.py")))
    found = []
    tests = (*FIRST["safety"], "tests/core/safety", *ALSO["safety"])
    for number, line in enumerate(lines):
        name, _, rest = line.partition(" = { value = ")
        if not rest or f'"{name}"' not in used:
            continue
        text, _, tail = rest.partition(",")
        step = 0.01 if "." in text else 1
        for sign in (1, -1):
            moved = f"{float(text) + sign * step:g}"
            changed = [*lines[:number], f"{name} = {{ value = {moved},{tail}", *lines[number + 1 :]]
            words = f"policy: {name}: {text} to {moved}"
            source = str(path.relative_to(ROOT))
            found.append(Mutant("safety", source, words, "\n".join(changed), tests, ()))
    return found


def chosen(names: Sequence[str]) -> list[Mutant]:
    """Mutants of the rooms and modules asked for, or of every one."""
    work: list[Mutant] = []
    for room in ROOMS:
        for module in sorted((PACKAGE / "core" / room).rglob("*.py")):
            path = module.relative_to(PACKAGE / "core").as_posix()
            if not names or room in names or any("/" in n and n in path for n in names):
                work += of_module(module)
    if not names or {"policy", "safety"} & {*names}:
        work += thresholds()
    return work


def sampled(work: Sequence[Mutant], number: int, seed: int) -> list[Mutant]:
    """So many mutants of each room, the same for the same seed."""
    found: list[Mutant] = []
    for room in dict.fromkeys(mutant.room for mutant in work):
        own = [mutant for mutant in work if mutant.room == room]
        picked = random.Random(seed).sample(range(len(own)), min(number, len(own)))
        found += [own[index] for index in sorted(picked)]
    return found


def sandbox(folder: Path) -> Path:
    """A copy of the sources and tests to change."""
    for name in ("src", "tests"):
        copytree(ROOT / name, folder / name)
    (folder / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    return folder


def run_tests(own: Path, tests: Sequence[str], *, keep_compiled: bool = False) -> int:
    """Process that runs tests in a sandbox until the first fails; its exit code is pytest's."""
    process = os.fork()
    if process:
        return process
    code = 3
    try:
        os.setsid()
        os.chdir(own)
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        sys.dont_write_bytecode = not keep_compiled
        sys.path[:0] = [str(own / "src"), str(own)]
        os.environ["PYTHONPATH"] = str(own / "src")
        signal.alarm(LONGEST_S)
        code = pytest.main([*_OPTIONS, *tests])
    finally:
        os._exit(int(code))


def survivors(
    work: Sequence[Mutant], workers: int, *, own_only: bool
) -> Iterator[tuple[Mutant, bool]]:
    """Every mutant and whether no test noticed it, in the order in which they are known."""

    def tests_of(mutant: Mutant) -> tuple[str, ...]:
        both = mutant.own if own_only else (*mutant.own, *mutant.others)
        return tuple(dict.fromkeys(both))

    with tempfile.TemporaryDirectory() as folder:
        free = [sandbox(Path(folder) / str(number)) for number in range(workers)]
        # Unchanged they must be green; this also leaves everything compiled.
        for own in free:
            green = dict.fromkeys(test for mutant in work for test in tests_of(mutant))
            _, code = os.waitpid(run_tests(own, tuple(green), keep_compiled=True), 0)
            if code:
                raise SystemExit(f"the tests fail without any change: {', '.join(green)}")
        running: dict[int, tuple[Path, Mutant, str]] = {}
        left = list(reversed(work))
        while left or running:
            while left and free:
                own, mutant = free.pop(), left.pop()
                was = (own / mutant.path).read_text()
                (own / mutant.path).write_text(mutant.text)
                running[run_tests(own, tests_of(mutant))] = (own, mutant, was)
            process, code = os.waitpid(-1, 0)
            own, mutant, was = running.pop(process)
            (own / mutant.path).write_text(was)
            free.append(own)
            yield mutant, code == 0


def main() -> int:
    """Prints what survived, and the score of every room."""
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("names", nargs="*", metavar="ROOM or MODULE")
    asked.add_argument("--sample", type=int, metavar="N", help="so many mutants of each room")
    asked.add_argument("--seed", type=int, default=1, metavar="S")
    asked.add_argument("--workers", type=int, default=2, metavar="W")
    asked.add_argument("--own", action="store_true", help="only test files of the module's name")
    options = asked.parse_args()
    work = chosen(options.names)
    if not work:
        asked.error(f"nothing in core is called {', '.join(options.names)}")
    if options.sample:
        work = sampled(work, options.sample, options.seed)
    every = Counter(mutant.room for mutant in work)
    alive: Counter[str] = Counter()
    unsafe = 0
    for mutant, survived in survivors(work, options.workers, own_only=options.own):
        if not survived:
            continue
        alive[mutant.room] += 1
        reason = EQUIVALENT.get(mutant.words)
        unsafe += mutant.room == "safety" and reason is None
        print(f"equivalent: {mutant.words} ({reason})" if reason else f"SURVIVED: {mutant.words}")
        sys.stdout.flush()
    low = False
    for room, number in every.items():
        score = 1 - alive[room] / number
        low |= score < LEAST_SCORE
        print(f"{room}: {number} mutants, {number - alive[room]} caught, {score:.1%}")
    return 1 if low or unsafe else 0


if __name__ == "__main__":
    sys.exit(main())
