"""``gaiter plan``: measured legs in; decision, plan, drawing and sheet out."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gaiter.cli.output import (
    BAD_INPUT,
    FAILED,
    STANDARD,
    complain,
    console,
    decided,
    errors,
    gravest,
    note_written,
    plain_errors,
    print_json,
    print_mapping,
    require_one_standard_input,
)
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from gaiter.core.plan import Plan

Policy = Annotated[
    Path | None, typer.Option(help="The clinic's own policy, laid over the shipped one.")
]


def plan(
    cases: Annotated[
        list[Path],
        typer.Argument(metavar="CASE", help="Cases, TOML or JSON; - is standard input."),
    ],
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            "-o",
            help="Folder for plan.json, leg.svg and sheet.pdf; of several cases each gets a "
            "folder of its own in it. - prints plan.json and writes no file.",
        ),
    ],
    policy: Policy = None,
    systems: Annotated[
        Path | None, typer.Option(help="The clinic's own bandage systems, beside the shipped ones.")
    ] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed of the spread.")] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Replace what the folder holds of another case.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Plan every leg of one or more cases and write their sheets.

    Exit code 0: done; 2: bad input; 3: a leg is stopped for safety; 4: something has to be asked
    or measured first (the other legs are planned). One case that fails does not stop the others;
    the exit code is then the gravest: 1, then 2, 3, 4.
    """
    with plain_errors():
        require_one_standard_input([*cases, policy, systems])
        planner = _planner(policy, systems, seed)
        do = _single if len(cases) == 1 else _several
        code = do(cases, out, planner, force, as_json)
    raise typer.Exit(code)


Planner = Callable[[Path], "Plan"]


def _single(cases: Sequence[Path], out: Path, planner: Planner, force: bool, as_json: bool) -> int:
    """One case into the folder itself, or to standard output; its exit code."""
    made = planner(cases[0])
    if out != STANDARD:
        _write(made, out, force)
    if as_json or out == STANDARD:
        print_json(_text(made))
    else:
        _print(made, out)
    return _code(made)


def _several(cases: Sequence[Path], out: Path, planner: Planner, force: bool, as_json: bool) -> int:
    """Each case into a folder of its own; the gravest exit code."""
    results = _all(cases, _own_folders(cases, out), planner, force)
    if as_json:
        print_mapping({"cases": [result.as_mapping() for result in results]})
    else:
        for result in results:
            result.show()
    return gravest(result.code for result in results)


def _planner(policy: Path | None, systems: Path | None, seed: int | None) -> Planner:
    """How a case becomes a plan; files of the clinic that cannot be used are told first."""
    # Imported here: the numerical libraries take longer to load than most commands to run.
    from gaiter.core.plan import DEFAULT_SEED
    from gaiter.core.plan import plan as make_plan
    from gaiter.files.case_file import read_case
    from gaiter.files.catalogue_file import shipped_catalogue
    from gaiter.files.policy_file import read_policy, shipped_policy
    from gaiter.files.systems_file import read_systems

    rules = read_policy(policy) if policy else shipped_policy()
    catalogue = shipped_catalogue()
    if systems:
        catalogue = read_systems(systems, catalogue)
    used = DEFAULT_SEED if seed is None else seed
    return lambda path: make_plan(read_case(path), rules, catalogue, seed=used)


def _text(made: "Plan") -> str:
    from gaiter.files.plan_file import plan_json

    return plan_json(made)


def _code(made: "Plan") -> int:
    return decided(leg.decision.outcome for leg in made.legs.values())


def _write(made: "Plan", folder: Path, force: bool) -> None:
    """Writes the three files of a plan; never over another case's unless that is wanted."""
    from gaiter.files.plan_file import PLAN_FILES, require_own_folder, write_folder
    from gaiter.sheets import legs_svg, sheet_pdf

    if not force:
        require_own_folder(folder, made)
    contents = _text(made).encode(), legs_svg(made).encode(), sheet_pdf(made)
    write_folder(folder, dict(zip(PLAN_FILES, contents, strict=True)))
    note_written(*(folder / name for name in PLAN_FILES))


def _print(made: "Plan", folder: Path) -> None:
    from gaiter.cli.plan_words import heading, leg_words

    for change in made.versions.policy_changes:
        console.print(f"Local policy: {change}", markup=False)
    for change in made.versions.systems_changes:
        console.print(f"Local systems: {change}", markup=False)
    for leg in made.legs.values():
        console.print(heading(leg), markup=False, style="bold")
        for line in leg_words(leg):
            console.print(line, markup=False)
    console.print(f"Sheet: {folder / 'sheet.pdf'}", markup=False)


@dataclass(frozen=True)
class _Result:
    """What came of one case among several."""

    case: Path
    folder: Path
    code: int
    made: "Plan | None" = None
    problem: str = ""

    def as_mapping(self) -> dict[str, Any]:
        """For JSON."""
        plan = json.loads(_text(self.made)) if self.made else None
        return {
            "case": str(self.case),
            "folder": str(self.folder),
            "exit_code": self.code,
            "problem": self.problem or None,
            "plan": plan,
        }

    def show(self) -> None:
        """In words; a problem has been said on the error stream already."""
        if self.made is None:
            return
        console.print(f"{self.case}", markup=False, style="underline")
        _print(self.made, self.folder)


def _own_folders(cases: Sequence[Path], out: Path) -> list[Path]:
    """A folder for each case, named as its file.

    Raises
    ------
    InputError
        If two would share one, or no folder is given.
    """
    if out == STANDARD:
        raise InputError("--out - prints one plan; received several cases: give a folder")
    names = ["standard-input" if case == STANDARD else case.stem for case in cases]
    for name in names:
        if names.count(name) > 1:
            both = " and ".join(str(c) for c, n in zip(cases, names, strict=True) if n == name)
            raise InputError(
                f"{both} would both be written to {out / name}: plan them one by one, or give "
                f"one of the files another name"
            )
    return [out / name for name in names]


def _all(
    cases: Sequence[Path], folders: Sequence[Path], planner: Planner, force: bool
) -> list[_Result]:
    """Every case in turn, with a bar on the error stream."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    results = []
    columns = (
        TextColumn("Cases"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[at]}", markup=False),
    )
    with Progress(*columns, console=errors, transient=True, disable=not errors.is_terminal) as bar:
        task = bar.add_task("Cases", total=len(cases), at="")
        for case, folder in zip(cases, folders, strict=True):
            bar.update(task, at=str(case))
            results.append(_one(case, folder, planner, force))
            bar.advance(task)
    return results


def _one(case: Path, folder: Path, planner: Planner, force: bool) -> _Result:
    try:
        made = planner(case)
        _write(made, folder, force)
    except InputError as error:
        complain(error)
        return _Result(case, folder, BAD_INPUT, problem=str(error))
    except Exception as error:  # a fault met with one case must not take the others with it
        words = f"{case}: could not be planned ({type(error).__name__}: {error})"
        errors.print(words, markup=False)
        return _Result(case, folder, FAILED, problem=words)
    return _Result(case, folder, _code(made), made)
