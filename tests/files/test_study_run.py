import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import CancelledError, Executor, Future
from dataclasses import replace
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from gaiter.core.cohort.study import StudyTerms
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cluster import ClusterError, cluster_executor
from gaiter.files.cohort_file import read_cohort
from gaiter.files.policy_file import shipped_policy
from gaiter.files.prices_file import Prices
from gaiter.files.study_run import Study, StudyStoppedError, process_pool, run_study, study_part
from gaiter.files.wording import FileError

pytestmark = pytest.mark.long

COHORT = Path(__file__).parents[2] / "examples/cohort/six-legs.csv"
SYSTEMS = ("wool_short_stretch", "zinc_paste_covered")


_PLANNED: dict[tuple[object, ...], object] = {}


class Here(Executor):
    """Does the work at once, what it did before from memory.

    ``spoil`` may put something else in the place of one part.
    """

    def __init__(self, spoil: Callable[[int, Future], bool] = lambda number, future: False) -> None:
        self.spoil, self.parts = spoil, 0

    def submit(self, work, /, *arguments, **named):
        future: Future = Future()
        self.parts += 1
        if not self.spoil(self.parts, future):
            legs, terms, *_ = arguments
            key = work, legs, terms
            if key not in _PLANNED:
                _PLANNED[key] = work(*arguments, **named)
            future.set_result(_PLANNED[key])
        return future


def study(samples: int = 64, **changes: object) -> Study:
    read = read_cohort(COHORT)
    terms = StudyTerms(SYSTEMS, samples=samples)
    made = Study(read.legs, read.sha256, terms, shipped_policy(), shipped_catalogue())
    return replace(made, **changes)


@pytest.fixture(scope="module")
def whole(tmp_path_factory) -> Path:
    """The study done in one go, in this process."""
    folder = tmp_path_factory.mktemp("whole")
    run_study(study(), folder, Here())
    return folder


def same_results(folder: Path, whole: Path) -> bool:
    names = ("legs.parquet", "summary.csv", "few_materials.csv")
    return all((folder / name).read_bytes() == (whole / name).read_bytes() for name in names)


def parts(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "parts").iterdir())


def test_all_rows_are_written_sorted_by_leg_and_system(whole: Path) -> None:
    records = pq.read_table(whole / "legs.parquet").to_pylist()
    keys = [(record["leg"], record["system"]) for record in records]
    assert keys == sorted((leg.name, system) for leg in study().legs for system in SYSTEMS)
    assert (whole / "summary.csv").read_text().count("\n") == 1 + len(SYSTEMS)
    assert parts(whole) == [f"{number:05}.parquet" for number in range(6)]


def test_processes_give_the_same_bytes(whole: Path, tmp_path: Path) -> None:
    with process_pool(2) as processes:
        run_study(study(), tmp_path, processes)
    assert same_results(tmp_path, whole)


def test_a_leg_comes_out_the_same_in_any_part(whole: Path) -> None:
    made = study()
    rest = made.terms, made.policy, made.catalogue
    together = study_part(made.legs[:2], *rest)
    assert together == [*study_part(made.legs[:1], *rest), *study_part(made.legs[1:2], *rest)]


def test_parts_depend_on_the_cohort_alone() -> None:
    made = study()
    assert [len(part) for part in made.parts] == [1] * 6
    many = replace(made, legs=made.legs[:1] * 6068)
    assert {len(part) for part in many.parts[:-1]} == {32}
    assert sum(len(part) for part in many.parts) == 6068


def test_what_is_finished_is_not_done_again(whole: Path, tmp_path: Path) -> None:
    run_study(study(), tmp_path, Here())
    (tmp_path / "parts/00002.parquet").unlink()
    (tmp_path / "parts/00004.parquet").write_bytes(b"torn")
    again, seen = Here(), []
    run_study(study(), tmp_path, again, seen.append)
    assert again.parts == 2
    assert sum(seen) == 6
    assert same_results(tmp_path, whole)


def test_a_fault_in_one_part_keeps_all_others_and_the_study_goes_on(
    whole: Path, tmp_path: Path
) -> None:
    def spoil(number: int, future: Future) -> bool:
        if number == 3:
            future.set_exception(MemoryError("no memory left"))
        return number == 3

    with pytest.raises(
        StudyStoppedError, match=r"\(MemoryError: no memory left\); 5 of 6 parts are kept: run the"
    ) as stop:
        run_study(study(), tmp_path, Here(spoil))
    assert (stop.value.done, stop.value.parts) == (5, 6)
    assert not (tmp_path / "legs.parquet").exists()
    again = Here()
    run_study(study(), tmp_path, again)
    assert again.parts == 1
    assert same_results(tmp_path, whole)


def test_a_lost_scheduler_is_said_in_words() -> None:
    stop = StudyStoppedError(1, 6, CancelledError())
    assert "the cluster gave its work back, perhaps its scheduler ended); 1 of 6" in str(stop)


def test_ctrl_c_leaves_what_is_finished(whole: Path, tmp_path: Path) -> None:
    begun = []

    def spoil(number: int, future: Future) -> bool:
        if number == 4:
            future.set_exception(KeyboardInterrupt())
        if number > 4:
            begun.append(future)
        return number >= 4

    with pytest.raises(KeyboardInterrupt):
        run_study(study(), tmp_path, Here(spoil))
    assert all(future.cancelled() for future in begun)
    assert set(parts(tmp_path)) <= {f"{number:05}.parquet" for number in range(3)}
    run_study(study(), tmp_path, Here())
    assert same_results(tmp_path, whole)


def test_a_crashed_worker_loses_only_unfinished_parts(whole: Path, tmp_path: Path) -> None:
    class Crashing(Executor):
        def submit(self, work, /, *arguments, **named):
            self.asked = getattr(self, "asked", 0) + 1
            crash = self.asked == 3
            return pool.submit(os._exit, 1) if crash else pool.submit(work, *arguments, **named)

    with (
        process_pool(1) as pool,
        pytest.raises(StudyStoppedError, match="a worker ended.* of 6 parts are kept") as stop,
    ):
        run_study(study(), tmp_path, Crashing())
    # One worker takes the parts in order, so the first two were done before the crash.
    assert stop.value.done == 2
    assert parts(tmp_path) == ["00000.parquet", "00001.parquet"]
    again = Here()
    run_study(study(), tmp_path, again)
    assert again.parts == 4
    assert same_results(tmp_path, whole)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"terms": StudyTerms(SYSTEMS, samples=128)}, r"\(samples 64, now 128\)"),
        ({"terms": StudyTerms(SYSTEMS, samples=64, seed=4)}, r"\(seed 20261, now 4\)"),
        ({"cohort_sha256": "f" * 64}, r"\(another cohort file\)"),
        ({"prices": Prices.of("EUR", {"crepe": 1.0})}, r"\(other prices\)"),
        ({"policy": shipped_policy().model_copy(update={"sha256": "f" * 64})}, "another policy"),
        ({"legs": study().legs[:5]}, "number of legs 6, now 5"),
    ],
)
def test_a_folder_with_another_study_is_refused(whole: Path, changes: dict, words: str) -> None:
    asked = Here()
    with pytest.raises(FileError, match=words):
        run_study(study(**changes), whole, asked)
    assert asked.parts == 0


def test_workers_have_one_thread_and_this_process_keeps_its_own(monkeypatch) -> None:
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "3")
    with process_pool(1) as pool:
        assert pool.submit(os.getenv, "OMP_NUM_THREADS").result() == "1"
        assert pool.submit(os.getenv, "OPENBLAS_NUM_THREADS").result() == "3"
    assert "OMP_NUM_THREADS" not in os.environ


def test_workers_that_are_only_starting_do_not_mind_ctrl_c() -> None:
    """They printed a traceback each when they were interrupted before their first part."""
    with process_pool(2) as pool:
        starting = multiprocessing.active_children()
        assert len(starting) == 2
        for worker in starting:
            os.kill(worker.pid or 0, signal.SIGINT)
        assert pool.submit(abs, -1).result(timeout=60) == 1


INTERRUPTED = """
import sys
from pathlib import Path
from gaiter.cli import main
if __name__ == "__main__":
    sys.argv = ["gaiter", "study", {cohort!r}, "--out", {out!r}, "--workers", "1",
                "--systems", {systems!r}, "--samples", "64"]
    main()
"""


def test_ctrl_c_at_the_command_keeps_finished_parts_and_says_so(
    whole: Path, tmp_path: Path
) -> None:
    out, script = tmp_path / "out", tmp_path / "run.py"
    script.write_text(
        INTERRUPTED.format(cohort=str(COHORT), out=str(out), systems=",".join(SYSTEMS))
    )
    process = subprocess.Popen(
        [sys.executable, script], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True,
        start_new_session=True,
    )  # fmt: skip
    deadline = time.monotonic() + 30
    while not (out / "parts/00000.parquet").exists() and time.monotonic() < deadline:
        time.sleep(0.01)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=30)
    assert process.returncode == 130, said
    assert "What is finished is kept" in " ".join(said.split())
    assert "Traceback" not in said
    assert all(name.endswith(".parquet") for name in parts(out))
    run_study(study(), out, Here())
    assert same_results(out, whole)


class Killer(threading.Thread):
    """Ends one worker process as soon as the first part is there."""

    def __init__(self, process: int, folder: Path) -> None:
        super().__init__()
        self.process, self.folder = process, folder
        self.done_before = 0

    def run(self) -> None:
        deadline = time.monotonic() + 30
        while not parts(self.folder) and time.monotonic() < deadline:
            time.sleep(0.01)
        os.kill(self.process, signal.SIGKILL)
        self.done_before = len(parts(self.folder))


def quiet_cluster(workers: int):
    from distributed import LocalCluster

    return LocalCluster(
        n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None,
        host="127.0.0.1", silence_logs=50,
    )  # fmt: skip


def test_a_cluster_that_loses_a_worker_gives_the_same_rows(tmp_path: Path) -> None:
    from distributed import Client

    wanted = study(samples=256)
    (tmp_path / "cluster/parts").mkdir(parents=True)
    with quiet_cluster(2) as cluster, Client(cluster) as watcher:
        before = set(watcher.scheduler_info()["workers"])
        killer = Killer(min(watcher.run(os.getpid).values()), tmp_path / "cluster")
        killer.start()
        with cluster_executor(cluster.scheduler_address) as executor:
            on_cluster = run_study(wanted, tmp_path / "cluster", executor)
        killer.join()
        assert 0 < killer.done_before < len(wanted.legs)
        watcher.wait_for_workers(2, timeout=10)
        assert set(watcher.scheduler_info()["workers"]) != before
    with process_pool(2) as pool:
        in_pool = run_study(wanted, tmp_path / "pool", pool)
    assert on_cluster.rows == in_pool.rows
    assert same_results(tmp_path / "cluster", tmp_path / "pool")


def test_a_cluster_without_workers_is_refused(monkeypatch) -> None:
    monkeypatch.setattr("gaiter.files.cluster._PATIENCE_S", 0.3)
    with (
        quiet_cluster(0) as cluster,
        pytest.raises(ClusterError, match="the scheduler has had no worker for 0.3 s: start one"),
        cluster_executor(cluster.scheduler_address),
    ):
        pass


def test_a_scheduler_that_does_not_answer_is_refused_by_its_address(monkeypatch) -> None:
    monkeypatch.setattr("gaiter.files.cluster._PATIENCE_S", 0.3)
    for address in ("tcp://127.0.0.1:1", "nonsense://there"):
        with (
            pytest.raises(ClusterError, match=f"cluster {address}: no scheduler answered") as stop,
            cluster_executor(address),
        ):
            pass
        assert stop.value.address == address


def test_without_the_package_the_extra_is_named(monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(ClusterError, match=r"not installed: pip install 'gaiter\[cluster\]'"),
        cluster_executor("tcp://127.0.0.1:8786"),
    ):
        pass


def test_workers_stand_behind_what_else_the_machine_does() -> None:
    """A clinic that is served by the same machine answers first; 19 is the last place."""
    with process_pool(1) as pool:
        assert pool.submit(os.nice, 0).result() == 19
