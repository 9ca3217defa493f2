"""What a process keeps of benches and pictures is made once and forgets nothing it should say."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from gaiter.web.plan.desk import MadeOnce


def test_four_threads_that_ask_at_once_make_one_value() -> None:
    kept: MadeOnce[object] = MadeOnce(2)
    made, all_asked = [], threading.Barrier(4, timeout=20)
    may_go_on = threading.Event()

    def make() -> object:
        made.append(1)
        assert may_go_on.wait(20)
        return object()

    def ask() -> object:
        all_asked.wait()
        return kept.get("case", make)

    with ThreadPoolExecutor(4) as pool:
        asked = [pool.submit(ask) for _ in range(4)]
        threading.Timer(0.2, may_go_on.set).start()
        values = {id(one.result(20)) for one in asked}
    assert len(values) == 1
    assert len(made) == 1


def test_what_could_not_be_made_is_tried_again() -> None:
    kept: MadeOnce[int] = MadeOnce(2)

    def fails() -> int:
        raise ValueError("no leg")

    with pytest.raises(ValueError, match="no leg"):
        kept.get("case", fails)
    assert kept.get("case", lambda: 7) == 7


def test_only_the_values_used_last_are_kept() -> None:
    kept: MadeOnce[int] = MadeOnce(2)
    for key, value in (("a", 1), ("b", 2), ("a", 0), ("c", 3)):
        kept.get(key, lambda value=value: value)
    assert kept.get("a", lambda: 9) == 1
    assert kept.get("b", lambda: 9) == 9
