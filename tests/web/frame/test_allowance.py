"""So many requests a second, more for a while, and a memory that does not grow."""

import pytest

from gaiter.web.frame.allowance import Allowance


class Clock:
    """Put forward by hand."""

    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_some_at_once_and_then_so_many_a_second(clock) -> None:
    allowance = Allowance(2, 5, clock=clock)
    assert [allowance.take("one") for _ in range(6)] == [True] * 5 + [False]
    clock.now += 0.5  # one of two a second has come back
    assert [allowance.take("one") for _ in range(2)] == [True, False]
    clock.now += 1.5  # three
    assert [allowance.take("one") for _ in range(4)] == [True] * 3 + [False]


def test_never_more_come_back_than_are_there_at_once(clock) -> None:
    allowance = Allowance(2, 5, clock=clock)
    assert allowance.take("one")
    clock.now += 3600
    assert [allowance.take("one") for _ in range(6)] == [True] * 5 + [False]


def test_what_is_refused_takes_nothing_away(clock) -> None:
    allowance = Allowance(1, 1, clock=clock)
    assert allowance.take("one")
    for _ in range(9):
        clock.now += 0.1  # nine tenths of one have come back at the end
        assert not allowance.take("one")
    clock.now += 0.1001  # rounding of ten tenths
    assert allowance.take("one")


def test_whoever_asks_little_is_not_stopped_by_whoever_asks_much(clock) -> None:
    allowance = Allowance(1, 3, clock=clock)
    while allowance.take("much"):
        pass
    assert allowance.take("little")


def test_what_costs_little_takes_little(clock) -> None:
    allowance = Allowance(1, 1, clock=clock)
    # Of eighths, which are exact: eight are one.
    assert [allowance.take("one", 0.125) for _ in range(9)] == [True] * 8 + [False]


def test_invented_names_do_not_fill_the_memory_and_push_out_the_oldest(clock) -> None:
    allowance = Allowance(1, 1, remembered=3, clock=clock)
    for name in ("used", "b", "c"):
        assert allowance.take(name)
    assert not allowance.take("used")  # and is the last one that asked
    for number in range(2):
        assert allowance.take(f"invented {number}")
    assert len(allowance) == 3
    assert not allowance.take("used")
    assert allowance.take("b")  # forgotten, so it begins anew
