"""Load on a running clinic while other work runs on the same processors.

    python -m benchmarks.load_beside backup study flood --clients 50 --seconds 60

As `clinic_load`, while a backup or a study is made over and over, or one account floods the clinic
with all it can (`one_account`).
"""

import argparse
import multiprocessing
import subprocess
import tempfile
import threading
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from benchmarks.clinic_load import GAITER, asked, measure, served
from benchmarks.one_account import flood

_COHORT = Path(__file__).parents[1] / "examples" / "cohort" / "six-legs.csv"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("beside", nargs="+", choices=("backup", "study", "flood"))
    clients, seconds = asked(parser)
    kinds = parser.parse_args().beside
    with served() as (port, environment), beside(kinds, port, environment):
        measure(port, clients, seconds)


@contextmanager
def beside(kinds: Sequence[str], port: int, environment: dict[str, str]) -> Iterator[None]:
    """Other work on the same machine, as long as it is asked for; says how often it was done."""
    with tempfile.TemporaryDirectory() as folder, ExitStack() as others:
        over = threading.Event()
        commands = {
            "backup": lambda number: ["backup", f"{folder}/{number}.gaiter"],
            "study": lambda number: ["study", str(_COHORT), "--out", f"{folder}/study-{number}"],
        }
        for kind in kinds:
            if kind == "flood":
                others.enter_context(_flood(port))
            else:
                others.enter_context(_again(kind, commands[kind], environment, over))
        others.callback(over.set)
        yield


@contextmanager
def _again(
    kind: str,
    command: Callable[[int], list[str]],
    environment: dict[str, str],
    over: threading.Event,
) -> Iterator[None]:
    """A command, over and over."""
    done: list[int] = []

    def work() -> None:
        while not over.is_set():
            asked = [*GAITER, *command(len(done))]
            done.append(
                subprocess.run(asked, env=environment, capture_output=True, check=False).returncode
            )

    worker = threading.Thread(target=work)
    worker.start()
    yield
    worker.join()
    print(f"beside: {len(done)} times {kind}, {sum(map(bool, done))} of them failed")


@contextmanager
def _flood(port: int) -> Iterator[None]:
    over, answers = multiprocessing.Event(), multiprocessing.Queue()
    one = multiprocessing.Process(target=flood, args=(port, "full", 0, over, answers))
    one.start()
    yield
    over.set()
    answered: Counter[str] = Counter()
    for what, count in answers.get(timeout=120).items():
        answered[what.rpartition(" ")[2]] += count
    one.join()
    print(f"beside: a flood, answered {dict(answered)}")


if __name__ == "__main__":
    main()
