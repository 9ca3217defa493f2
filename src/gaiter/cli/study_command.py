"""``gaiter study``: a cohort of legs in; which few materials to stock out."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.output import FAILED, INTERRUPTED, console, errors, plain_errors
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from gaiter.core.cohort.study import Stock, StudyTerms, SystemSummary
    from gaiter.core.plan.system_catalogue import BandageCatalogue
    from gaiter.files.cohort_file import Cohort
    from gaiter.files.prices_file import Prices
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
    out: Annotated[Path, typer.Option(help="Folder of the study; the same command resumes it.")],
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
    prices: Annotated[Path | None, typer.Option(help="Price of a roll by material.")] = None,
) -> None:
    """Plan every leg of a cohort with every candidate system, to see which materials to stock.

    Exit code 0: done; 1: a worker failed, what is finished is kept; 2: bad input.
    """
    with plain_errors():
        if cluster is not None and workers is not None:
            raise InputError("--workers and --cluster were both given: give one of them")
        # Imported here: the numerical libraries take longer to load than most commands to run.
        from gaiter.files.catalogue_file import shipped_catalogue
        from gaiter.files.cohort_file import read_cohort
        from gaiter.files.policy_file import read_policy, shipped_policy
        from gaiter.files.prices_file import read_prices
        from gaiter.files.study_run import Study, StudyStoppedError, run_study

        catalogue = shipped_catalogue()
        paid = read_prices(prices, catalogue.materials) if prices else None
        terms = _terms(_Wishes(systems, purpose, training, samples, seed), catalogue, paid)
        read = read_cohort(cohort)
        wanted = Study(
            read.legs[:limit],
            read.sha256,
            terms,
            read_policy(policy) if policy else shipped_policy(),
            catalogue,
            paid.sha256 if paid else None,
        )
        _say_before(read)
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
        _say_after(result, paid)
        console.print(f"Legs: {out / 'legs.parquet'}; summary: {out / 'summary.csv'}", markup=False)


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
    lost = dict.fromkeys((row.leg, row.reason) for row in rows if row.outcome == "not planned")
    for leg, reason in list(lost)[:_MOST_LOST]:
        console.print(f"Leg {leg} was not planned: {reason}", markup=False)
    if len(lost) > _MOST_LOST:
        console.print(f"… and {len(lost) - _MOST_LOST} more; see legs.parquet.", markup=False)
    used = {material for row in rows for material in row.materials}
    if paid and (unpriced := sorted(used - set(paid.of_roll))):
        console.print(f"No price given for: {', '.join(unpriced)}.", markup=False)
    console.print(_systems_table(result.summaries, paid))
    console.print(_stock_table(result.stocks))


_MOST_LOST = 10


def _systems_table(summaries: "tuple[SystemSummary, ...]", paid: "Prices | None") -> object:
    from rich.table import Table

    table = Table(title="Systems over all legs; rolls and price for one change")
    table.add_column("System")
    for heading in ("Fits", "In range", "Above max.", "Rolls"):
        table.add_column(heading, justify="right")
    if paid:
        table.add_column(paid.currency, justify="right")
    for one in summaries:
        cells = [
            one.title,
            f"{one.share_fit:.0%}",
            _shown(one.mean_chance_in_range, ".0%"),
            _shown(one.share_above_maximum, ".0%"),
            _shown(one.mean_rolls, ".1f"),
        ]
        table.add_row(*cells, *([_shown(one.mean_cost, ".2f")] if paid else []))
    return table


def _stock_table(stocks: "tuple[Stock, ...]") -> object:
    from rich.table import Table

    table = Table(title="Few materials: each line keeps those above")
    table.add_column("Materials", justify="right")
    table.add_column("Added")
    for heading in ("Legs that fit", "In range"):
        table.add_column(heading, justify="right")
    for stock in stocks:
        added = ", ".join(material.replace("_", " ") for material in stock.added)
        table.add_row(
            str(len(stock.materials)), added, f"{stock.share_fit:.1%}",
            f"{stock.mean_best_chance:.0%}",
        )  # fmt: skip
    return table


def _shown(value: float | None, form: str) -> str:
    return "–" if value is None else format(value, form)
