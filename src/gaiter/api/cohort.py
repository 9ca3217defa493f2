"""A cohort of legs with every candidate system, in one call."""

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from gaiter.api.given import path_from, policy_from
from gaiter.core.case import Purpose, Training
from gaiter.core.cohort.study import STUDY_SAMPLES, StudyTerms, candidates
from gaiter.core.errors import InputError
from gaiter.core.plan import DEFAULT_SEED
from gaiter.core.policy import Policy
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cohort_file import read_cohort
from gaiter.files.extras import needed_extra
from gaiter.files.prices_file import read_prices

if TYPE_CHECKING:
    from gaiter.files.study_run import StudyResult

_Choice = TypeVar("_Choice", Purpose, Training)


def study(  # noqa: PLR0913 - what decides a study, each with a usual value
    cohort: str | os.PathLike[str],
    out: str | os.PathLike[str],
    *,
    systems: Iterable[str] | None = None,
    purpose: Purpose | str = Purpose.VENOUS_ULCER,
    training: Training | str = Training.TRAINED,
    policy: Policy | str | os.PathLike[str] | None = None,
    seed: int = DEFAULT_SEED,
    samples: int = STUDY_SAMPLES,
    limit: int | None = None,
    prices: str | os.PathLike[str] | None = None,
    executor: Executor | None = None,
    progress: Callable[[int], None] = lambda legs: None,
) -> "StudyResult":
    """Every leg of a cohort planned with every candidate system: which few materials to stock.

    Needs the extra ``study``. What is finished is kept in the folder; the same call goes on.

    Parameters
    ----------
    cohort : str or path
        Legs, one a line (CSV).
    out : str or path
        Folder of the study; gets ``legs.parquet``, ``summary.csv`` and ``few_materials.csv``.
    systems : iterable of str or None
        Candidate systems by name; None: all.
    purpose, training : str
        As in a case.
    policy : Policy, str, path or None
        The clinic's own policy file, laid over the shipped one; None: the shipped one.
    seed, samples : int
        Seed and size (a power of two, 64 to 65,536) of the spread.
    limit : int or None
        Only the first legs.
    prices : str, path or None
        File with the price of a roll by material.
    executor : concurrent.futures.Executor or None
        Who plans: :func:`gaiter.files.study_run.process_pool`, a cluster; None: this process,
        one leg after another. The results are the same.
    progress : callable
        Called with the number of legs of every finished part.

    Returns
    -------
    StudyResult
        ``rows`` (one for each leg and system, dataclasses: ``pandas.DataFrame(result.rows)``),
        ``summaries`` of the systems, and ``stocks``, few materials first.

    Raises
    ------
    InputError
        With every problem in words, or for a missing extra.
    gaiter.files.study_run.StudyStoppedError
        If a worker failed; what is finished is kept.
    """
    with needed_extra():
        from gaiter.files.study_run import Study, run_study  # noqa: PLC0415 - needs an extra

        read, catalogue = read_cohort(path_from(cohort, "cohort")), shipped_catalogue()
        paid = read_prices(path_from(prices, "prices"), catalogue.materials) if prices else None
        terms = StudyTerms(
            systems=tuple(sorted(candidates(catalogue, systems))),
            purpose=_chosen(Purpose, purpose),
            training=_chosen(Training, training),
            seed=seed,
            samples=samples,
            prices=paid.of_roll if paid else None,
        )
        wanted = Study(
            read.legs[:limit],
            read.sha256,
            terms,
            policy_from(policy),
            catalogue,
            paid,
        )
        with _working(executor) as worker:
            return run_study(wanted, Path(out), worker, progress)


@contextmanager
def _working(given: Executor | None) -> Iterator[Executor]:
    """The executor given, left open for its owner, or one thread of this process."""
    if given is not None:
        yield given
        return
    with ThreadPoolExecutor(1) as one:
        yield one


def _chosen(kind: type[_Choice], given: str) -> _Choice:
    try:
        return kind(given)
    except ValueError:
        raise InputError(
            f"{kind.__name__.lower()} must be one of {', '.join(kind)}; received {given}: "
            f"correct it"
        ) from None
