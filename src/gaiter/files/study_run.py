"""Runs a study on any executor, part by part; what is finished is kept whatever happens."""

import math
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import (
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    as_completed,
)
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy
import scipy

from gaiter import __version__
from gaiter.core.cohort.legs import ASSUMPTIONS, CohortLeg
from gaiter.core.cohort.study import (
    LegRow,
    Stock,
    StudyTerms,
    SystemSummary,
    candidates,
    few_materials,
    study_leg,
    summary,
)
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.policy import Policy
from gaiter.core.spread import sums
from gaiter.files.last_place import take_last_place
from gaiter.files.prices_file import Prices
from gaiter.files.study_folder import StudyFolder, open_study

# A leg takes about a second: a part is then half a minute, the most that a stop can lose. A
# small cohort has smaller parts, so that every worker gets some.
LEGS_IN_A_PART = 32
_PARTS_OF_A_SMALL_COHORT = 64
_ONE_THREAD = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "NUMBA_NUM_THREADS",
)


class StudyStoppedError(RuntimeError):
    """A study ended before all its parts were done; the finished ones are in its folder."""

    def __init__(self, done: int, parts: int, cause: BaseException) -> None:
        self.done, self.parts = done, parts
        super().__init__(
            f"the study stopped ({_in_words(cause)}); {done} of {parts} parts are kept: run the "
            f"same command again to go on from there"
        )


def _in_words(cause: BaseException) -> str:
    if isinstance(cause, BrokenExecutor):
        return "a worker ended, perhaps for want of memory"
    if isinstance(cause, CancelledError):
        return "the cluster gave its work back, perhaps its scheduler ended"
    return f"{type(cause).__name__}: {cause}" if str(cause) else type(cause).__name__


@dataclass(frozen=True)
class Study:
    """Everything that decides the numbers of a study.

    Attributes
    ----------
    legs : tuple[CohortLeg, ...]
        The legs to plan.
    cohort_sha256 : str
        Fingerprint of the file they come from.
    terms, policy, catalogue
        As for one leg.
    prices : Prices or None
        Those in ``terms``; the folder keeps them, so that the study goes on without their file.
    """

    legs: tuple[CohortLeg, ...]
    cohort_sha256: str
    terms: StudyTerms
    policy: Policy
    catalogue: BandageCatalogue
    prices: Prices | None = None

    def __post_init__(self) -> None:
        """Refuse systems that the catalogue does not have, before any worker starts."""
        candidates(self.catalogue, self.terms.systems)

    @property
    def parts(self) -> list[tuple[CohortLeg, ...]]:
        """The legs in parts; they depend on the cohort alone, never on who does the work."""
        size = self._legs_in_a_part
        return [self.legs[at : at + size] for at in range(0, len(self.legs), size)]

    @property
    def _legs_in_a_part(self) -> int:
        return min(LEGS_IN_A_PART, math.ceil(len(self.legs) / _PARTS_OF_A_SMALL_COHORT)) or 1

    @property
    def fingerprint(self) -> Mapping[str, Any]:
        """What a folder must agree in for its parts to be parts of this study."""
        terms = asdict(self.terms)
        del terms["prices"]  # stands as its own fingerprint
        return {
            "schema": "gaiter.study/1",
            "cohort_sha256": self.cohort_sha256,
            "legs": len(self.legs),
            **terms,
            "policy_sha256": self.policy.sha256,
            "catalogue_sha256": self.catalogue.sha256,
            "systems_sha256": self.catalogue.systems_sha256,
            "prices_sha256": self.prices.sha256 if self.prices else None,
            "prices": (
                {"currency": self.prices.currency, "roll": self.prices.of_roll}
                if self.prices
                else None
            ),
            "legs_in_a_part": self._legs_in_a_part,
            "versions": {
                "gaiter": __version__,
                "numpy": numpy.__version__,
                "scipy": scipy.__version__,
            },
            "assumptions": list(ASSUMPTIONS),
        }


@dataclass(frozen=True)
class StudyResult:
    """All rows of a study and what they say together."""

    rows: tuple[LegRow, ...]
    summaries: tuple[SystemSummary, ...]
    stocks: tuple[Stock, ...]


def run_study(
    study: Study,
    folder: Path,
    executor: Executor,
    progress: Callable[[int], None] = lambda legs: None,
) -> StudyResult:
    """Plans what is missing in the folder and writes the results.

    Parameters
    ----------
    study : Study
        Cohort, terms, policy and catalogue.
    folder : Path
        Where parts and results go; finished parts of the same study are not done again.
    executor : concurrent.futures.Executor
        Who plans: threads, processes, a cluster. The results are the same.
    progress : callable
        Called with the number of legs of every part that is there.

    Returns
    -------
    StudyResult
        Rows sorted by leg and system.

    Raises
    ------
    FileError
        If the folder holds another study or cannot be written.
    StudyStoppedError
        If a worker failed; every part that could be finished is kept.
    """
    kept = open_study(folder, study.fingerprint)
    parts = study.parts
    rows_of_part = [len(part) * len(study.terms.systems) for part in parts]
    finished = kept.finished(rows_of_part)
    for number in sorted(finished):
        progress(len(parts[number]))
    waiting = {
        executor.submit(study_part, part, study.terms, study.policy, study.catalogue): number
        for number, part in enumerate(parts)
        if number not in finished
    }
    try:
        fault = _keep_all(kept, waiting, lambda number: progress(len(parts[number])))
    finally:
        # Only after a stop: nothing that has not begun shall still begin. A process pool takes
        # its parts back itself; cancelling here as well would race with workers that just ended.
        if not isinstance(executor, ProcessPoolExecutor):
            for future in waiting:
                future.cancel()
    if fault is not None:
        raise StudyStoppedError(len(kept.finished(rows_of_part)), len(parts), fault)
    return _results(study, kept)


def _keep_all(
    kept: StudyFolder, waiting: Mapping[Future[list[LegRow]], int], done: Callable[[int], None]
) -> BaseException | None:
    """Keeps every part that comes back; the first fault of a worker, None when there was none."""
    fault: BaseException | None = None
    for future in as_completed(waiting):
        try:
            rows = future.result()
        except Exception as error:  # whatever it was, the other parts count
            fault = fault or error
            continue
        kept.keep_part(waiting[future], rows)
        done(waiting[future])
    return fault


def _results(study: Study, kept: StudyFolder) -> StudyResult:
    rows = [row for number in range(len(study.parts)) for row in kept.part(number)]
    rows.sort(key=lambda row: (row.leg, row.system))
    summaries = summary(rows, study.policy["chance_above_maximum"], study.catalogue.titles)
    stocks = few_materials(rows)
    kept.keep_results(rows, summaries, stocks)
    return StudyResult(tuple(rows), summaries, stocks)


def study_part(
    legs: Sequence[CohortLeg], terms: StudyTerms, policy: Policy, catalogue: BandageCatalogue
) -> list[LegRow]:
    """Rows of a few legs; what a worker is asked for."""
    sums.load(threads=1)
    return [row for leg in legs for row in study_leg(leg, terms, policy, catalogue)]


@contextmanager
def process_pool(workers: int | None = None) -> Iterator[Executor]:
    """Worker processes on this machine, each with one thread, behind whatever else runs there.

    Parameters
    ----------
    workers : int or None
        How many; None: one for each processor.
    """
    # Started afresh, not copied: a copy of a process with threads can hang. They read the number
    # of threads when they start.
    spawn = multiprocessing.get_context("spawn")
    with _environment(dict.fromkeys(_ONE_THREAD, "1")):
        count = workers or os.cpu_count() or 1
        pool = ProcessPoolExecutor(count, spawn, initializer=take_last_place)
        try:
            with _deaf_to_ctrl_c():
                for _worker in range(count):  # each starts one, as none is idle yet
                    pool.submit(_begun)
            yield pool
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            for worker in multiprocessing.active_children():
                worker.terminate()
            raise
        pool.shutdown()


def _begun() -> None:
    """Nothing; what is asked of a worker so that it starts."""


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Processes started meanwhile ignore Ctrl-C: whoever started them ends them."""
    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread may say what a signal does
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _environment(wanted: Mapping[str, str]) -> Iterator[None]:
    """Sets environment variables that are not set, for processes started meanwhile."""
    missing = {name: value for name, value in wanted.items() if name not in os.environ}
    os.environ.update(missing)
    try:
        yield
    finally:
        for name in missing:
            os.environ.pop(name, None)
