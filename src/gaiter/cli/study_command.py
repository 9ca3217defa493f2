"""``gaiter study``: a cohort of legs in; which few materials to stock out."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.output import (
    FAILED,
    INTERRUPTED,
    AsJson,
    console,
    errors,
    note_written,
    plain_errors,
    print_mapping,
    require_one_standard_input,
)
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from gaiter.core.cohort.study import Stock, StudyTerms, SystemSummary
    from gaiter.core.plan.system_catalogue import BandageCatalogue
    from gaiter.files.cohort_file import Cohort
    from gaiter.files.prices_file import Prices
    from gaiter.files.study_folder import NotPlanned
    from gaiter.files.study_run import StudyResult


@dataclass(frozen=True)
class _Wishes:
    """Options that decide the numbers, as typed."""

    systems: str | None
    purpose: str
    training: str
    samples: int
    seed: int | None


def study(  # noqa: PLR0913, PLR0917 - one parameter for each option
    cohort: Annotated[Path, typer.Argument(metavar="COHORT", help="Legs, one a line (CSV).")],
    out: Annotated[
        Path,
        typer.Option("--out", "-o", help="Folder of the study; the same command resumes it."),
    ],
    systems: Annotated[
        str | None, typer.Option(help="Candidate systems, separated by commas; else all.")
    ] = None,
    purpose: Annotated[str, typer.Option(help="What the bandage is for.")] = "venous ulcer",
    training: Annotated[str, typer.Option(help="Training of the hands.")] = "trained",
    policy: Annotated[
        Path | None, typer.Option(help="The clinic's own policy, laid over the shipped one.")
    ] = None,
    samples: Annotated[int, typer.Option(help="Size of the spread, a power of two.")] = 1024,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed of the spread.")] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes; else one for each processor.")
    ] = None,
    cluster: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Scheduler of a cluster to work on.")
    ] = None,
    limit: Annotated[int | None, typer.Option(min=1, help="Only the first legs.")] = None,
    prices: Annotated[
        Path | None,
        typer.Option(help="Price of a roll by material; a study that is resumed has kept it."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Plan every leg of a cohort with every candidate system, to see which materials to stock.

    Exit code 0: done; 1: legs could not be planned, or a worker failed (what is finished is kept);
    2: bad input; 130: ended by Ctrl-C (what is finished is kept).
    """
    with plain_errors():
        if cluster is not None and workers is not None:
            raise InputError("--workers and --cluster were both given: give one of them")
        # Imported here: the numerical libraries take longer to load than most commands to run.
        from gaiter.files.catalogue_file import shipped_catalogue
        from gaiter.files.cohort_file import read_cohort
        from gaiter.files.policy_file import read_policy, shipped_policy
        from gaiter.files.prices_file import read_prices
        from gaiter.files.study_folder import not_planned, prices_begun_with
        from gaiter.files.study_run import Study, StudyStoppedError, run_study

        require_one_standard_input([cohort, policy, prices])
        catalogue = shipped_catalogue()
        paid = read_prices(prices, catalogue.materials) if prices else prices_begun_with(out)
        terms = _terms(_Wishes(systems, purpose, training, samples, seed), catalogue, paid)
        read = read_cohort(cohort)
        wanted = Study(
            read.legs[:limit],
            read.sha256,
            terms,
            read_policy(policy) if policy else shipped_policy(),
            catalogue,
            paid,
        )
        if not as_json:
            _say_before(read)
            if paid and not prices:
                words = f"Prices: those the study was begun with, in {paid.currency}."
                console.print(words, markup=False)
        try:
            with _executor(workers, cluster) as executor, _bar(len(wanted.legs)) as progress:
                result = run_study(wanted, out, executor, progress)
        except KeyboardInterrupt:
            errors.print(f"Stopped. What is finished is kept in {out}: run the same command "
                         f"again to go on.", markup=False)  # fmt: skip
            raise typer.Exit(INTERRUPTED) from None
        except StudyStoppedError as stop:
            errors.print(str(stop), markup=False)
            raise typer.Exit(FAILED) from None
        note_written(out)
        lost = not_planned(result.rows)
        if as_json:
            print_mapping(_as_mapping(result, out, lost))
        else:
            _say_after(result, paid)
            words = f"Legs: {out / 'legs.parquet'}; summary: {out / 'summary.csv'}"
            console.print(words, markup=False)
        _say_lost(lost, out)
    if lost:
        raise typer.Exit(FAILED)


def _terms(wishes: _Wishes, catalogue: "BandageCatalogue", paid: "Prices | None") -> "StudyTerms":
    from gaiter.core.case import Purpose, Training
    from gaiter.core.cohort.study import StudyTerms, candidates
    from gaiter.core.plan import DEFAULT_SEED

    names = None
    if wishes.systems is not None:
        names = [name.strip() for name in wishes.systems.split(",") if name.strip()]
    for option, given, known in (
        ("--purpose", wishes.purpose, [one.value for one in Purpose]),
        ("--training", wishes.training, [one.value for one in Training]),
    ):
        if given not in known:
            raise InputError(
                f"{option} must be one of {', '.join(known)}; received {given}: correct it"
            )
    return StudyTerms(
        # In one order, so that the order typed does not make another study.
        systems=tuple(sorted(candidates(catalogue, names))),
        purpose=Purpose(wishes.purpose),
        training=Training(wishes.training),
        seed=DEFAULT_SEED if wishes.seed is None else wishes.seed,
        samples=wishes.samples,
        prices=paid.of_roll if paid else None,
    )


def _executor(workers: int | None, cluster: str | None) -> "AbstractContextManager[Executor]":
    from gaiter.files.study_run import process_pool

    if cluster is None:
        return process_pool(workers)
    from gaiter.files.cluster import cluster_executor

    return cluster_executor(cluster)


@contextmanager
def _bar(legs: int) -> Iterator[Callable[[int], None]]:
    """A progress bar over the legs, on the error stream so that the tables can be piped."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
    from rich.progress import TimeRemainingColumn as Remaining

    columns = TextColumn("Legs"), BarColumn(), MofNCompleteColumn(), Remaining()
    with Progress(*columns, console=errors) as bar:
        task = bar.add_task("Legs", total=legs)
        yield lambda done: bar.advance(task, done)


def _say_before(read: "Cohort") -> None:
    from gaiter.core.cohort.legs import ASSUMPTIONS

    for text in ASSUMPTIONS:
        console.print(text, markup=False)
    if read.unused:
        console.print(f"Columns not used: {', '.join(read.unused)}.", markup=False)


def _say_after(result: "StudyResult", paid: "Prices | None") -> None:
    rows = result.rows
    derived = sorted({name for row in rows for name in row.estimated})
    if derived:
        console.print(f"Estimated on some or all legs: {', '.join(derived)}.", markup=False)
    used = {material for row in rows for material in row.materials}
    if paid and (unpriced := sorted(used - set(paid.of_roll))):
        console.print(f"No price given for: {', '.join(unpriced)}.", markup=False)
    console.print(_systems_table(result.summaries, paid))
    legs = len({row.leg for row in rows})
    console.print(_stock_table(result.stocks, legs))


def _say_lost(lost: "Sequence[NotPlanned]", out: Path) -> None:
    """The legs that could not be planned, on the error stream."""
    for one in lost[:_MOST_LOST]:
        errors.print(f"Leg {one.leg} was not planned: {one.reason}", markup=False)
    if len(lost) > _MOST_LOST:
        more = len(lost) - _MOST_LOST
        errors.print(f"... and {more} more: {out / 'not_planned.csv'}", markup=False)


_MOST_LOST = 20


def _as_mapping(
    result: "StudyResult", out: Path, lost: "Sequence[NotPlanned]"
) -> dict[str, object]:
    from dataclasses import asdict

    return {
        "folder": str(out),
        "legs": len({row.leg for row in result.rows}),
        "systems": [asdict(one) for one in result.summaries],
        "few_materials": [asdict(one) for one in result.stocks],
        "not_planned": [asdict(one) for one in lost],
    }


def _systems_table(summaries: "tuple[SystemSummary, ...]", paid: "Prices | None") -> object:
    from rich.table import Table

    table = Table(title="Systems; rolls and price are of one change")
    table.add_column("System", overflow="fold", min_width=14)
    legs = summaries[0].legs if summaries else 0
    for heading in (
        f"Fits\n(of {legs} legs)",
        f"Planned\n(of {legs} legs)",
        "In range\n(mean of\nplanned)",
        "Above max.\n(of planned)",
        "Rolls\n(mean of\nplanned)",
    ):
        table.add_column(heading, justify="right")
    if paid:
        table.add_column(f"{paid.currency}\n(mean of\nplanned)", justify="right")
    for one in summaries:
        share = one.share_above_maximum
        cells = [
            one.title,
            _part(one.fit, one.legs),
            _part(one.planned, one.legs),
            _shown(one.mean_chance_in_range, ".0%"),
            "–" if share is None else _part(round(share * one.planned), one.planned),
            _shown(one.mean_rolls, ".1f"),
        ]
        table.add_row(*cells, *([_shown(one.mean_cost, ".2f")] if paid else []))
    return table


def _stock_table(stocks: "tuple[Stock, ...]", legs: int) -> object:
    from rich.table import Table

    table = Table(title="Few materials: each line keeps those above")
    table.add_column("Materials", justify="right")
    table.add_column("Added")
    table.add_column(f"Fits\n(of {legs} legs)", justify="right")
    table.add_column(f"In range\n(mean of {legs})", justify="right")
    for stock in stocks:
        added = ", ".join(material.replace("_", " ") for material in stock.added)
        chance = f"{stock.mean_best_chance:.0%}"
        table.add_row(str(len(stock.materials)), added, _part(stock.fit, legs), chance)
    return table


def _part(part: int, whole: int) -> str:
    """A count and its share of the column's denominator."""
    return f"{part} ({part / whole:.0%})" if whole else "0"


def _shown(value: float | None, form: str) -> str:
    return "–" if value is None else format(value, form)
