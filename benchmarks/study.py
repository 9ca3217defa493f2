"""Legs a second of a study; run ``python benchmarks/study.py COHORT [--legs 200]``.

Every way of working plans the same legs with six systems and 1024 samples; starting the workers
is not counted, because a long study does it once. The purpose is maintenance, the one that
leaves none of the six systems out.
"""

import argparse
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, wait
from contextlib import contextmanager
from pathlib import Path

from distributed import LocalCluster

from gaiter.core.case import Purpose
from gaiter.core.cohort.study import StudyTerms
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cluster import cluster_executor
from gaiter.files.cohort_file import read_cohort
from gaiter.files.policy_file import shipped_policy
from gaiter.files.study_run import Study, process_pool, run_study, study_part

SYSTEMS = (
    "four_layer", "reduced_elastic", "wool_gauze_cohesive", "wool_gauze_long_stretch",
    "wool_short_stretch", "zinc_paste_covered",
)  # fmt: skip
WHOLE_COHORT = 6068
# As docs/study.md says: a cluster's workers return memory at once otherwise, and fetching it
# again for every array takes a third of the time.
CLUSTER_ENVIRONMENT = {
    "NUMBA_NUM_THREADS": "1",
    "MALLOC_MMAP_THRESHOLD_": "33554432",
    "MALLOC_TRIM_THRESHOLD_": "268435456",
}


@contextmanager
def local_cluster() -> Iterator[Executor]:
    for name, value in CLUSTER_ENVIRONMENT.items():
        os.environ.setdefault(name, value)
    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
            host="127.0.0.1",
        ) as cluster,
        cluster_executor(cluster.scheduler_address) as executor,
    ):  # fmt: skip
        yield executor


def legs_a_second(study: Study, executor: Executor, workers: int) -> float:
    # Each worker plans a leg first, so that what is loaded once is loaded.
    warm = [
        executor.submit(study_part, study.legs[at : at + 1], study.terms, study.policy,
                        study.catalogue)
        for at in range(2 * workers)
    ]  # fmt: skip
    wait(warm)
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        run_study(study, Path(folder), executor)
        return len(study.legs) / (time.perf_counter() - start)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cohort", type=Path)
    parser.add_argument("--legs", type=int, default=200)
    given = parser.parse_args()
    read = read_cohort(given.cohort)
    # Evenly over the file, whatever its order.
    legs = read.legs[:: max(1, len(read.legs) // given.legs)][: given.legs]
    study = Study(
        legs,
        read.sha256,
        StudyTerms(SYSTEMS, purpose=Purpose.MAINTENANCE, samples=1024),
        shipped_policy(),
        shipped_catalogue(),
    )
    print(f"{len(legs)} legs, {len(SYSTEMS)} systems, {study.terms.samples} samples, "
          f"{os.cpu_count()} processors, load before {os.getloadavg()[0]:.1f}")  # fmt: skip
    ways: tuple[tuple[str, int, Callable], ...] = (
        ("process pool, 1 worker", 1, lambda: process_pool(1)),
        ("process pool, 2 workers", 2, lambda: process_pool(2)),
        ("cluster on this machine, 2 workers", 2, local_cluster),
    )
    alone = None
    for name, workers, started in ways:
        with started() as executor:
            speed = legs_a_second(study, executor, workers)
        alone = alone or speed
        print(f"{name:<36}{speed:6.2f} legs/s   {speed / alone:4.2f} times one worker   "
              f"{WHOLE_COHORT} legs in {WHOLE_COHORT / speed / 60:.0f} min (projected)",
              flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
