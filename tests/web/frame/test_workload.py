"""So much computing at once, in all and for one account, and a sentence for what is beyond."""

import threading
from contextlib import ExitStack, contextmanager

import pytest
from django.urls import reverse

from gaiter.web.frame import workload
from gaiter.web.frame.workload import BusyError, turn


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """A folder of its own, so that no other process holds a place."""
    settings.GAITER = _In(settings.GAITER, tmp_path)


class _In:
    def __init__(self, environment, folder) -> None:
        self._environment, self.folder = environment, folder

    def __getattr__(self, name):
        return getattr(self._environment, name)


@pytest.fixture
def impatient(monkeypatch):
    monkeypatch.setattr(workload, "DEADLINE_S", 0.0)
    monkeypatch.setattr(workload, "TURNS", 2)


def test_two_turns_at_once_and_a_sentence_for_the_third(impatient) -> None:
    with turn(), turn(), pytest.raises(BusyError, match="nothing was changed"), turn():
        pass
    with turn():
        pass


def test_a_turn_is_waited_for(monkeypatch) -> None:
    monkeypatch.setattr(workload, "TURNS", 1)
    done, first = [], threading.Event()

    def other() -> None:
        first.wait()
        with turn():
            done.append("other")

    waiting = threading.Thread(target=other)
    waiting.start()
    with turn():
        first.set()
        waiting.join(0.1)
        done.append("mine")
    waiting.join()
    assert done == ["mine", "other"]


def test_a_fault_gives_its_turn_back(impatient) -> None:
    for _again in range(5):
        with pytest.raises(ZeroDivisionError), turn():
            raise ZeroDivisionError


def test_one_account_has_three_answers_under_way_and_others_their_own(clinic, signed_in) -> None:
    asked = reverse("design", args=[clinic.visit.pk])
    name = f"account-{clinic.accounts['bandager'].pk}"
    with ExitStack() as under_way:
        for _one in range(3):
            assert under_way.enter_context(workload.place(name, 3))
        answer = signed_in("bandager").get(asked)
        assert (answer.status_code, answer["Retry-After"]) == (429, "1")
        assert b"3 answers are being computed for you already" in answer.content
        assert signed_in("prescriber").get(asked).status_code == 200
    assert signed_in("bandager").get(asked).status_code == 200


def test_where_no_place_can_be_written_pages_are_still_computed(monkeypatch) -> None:
    def full(*_given, **_named):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.open", full)
    with turn():
        pass


def test_one_account_computes_one_at_a_time_and_others_beside_it(impatient, rf, clinic) -> None:
    """With both turns to itself it would keep everybody else waiting."""
    asked = []

    @workload.computes
    def view(request):
        with turn():
            asked.append(request.user.pk)
            return request.then() if request.then else "done"

    def by(role, then=None):
        request = rf.get("/")
        request.user, request.then = clinic.accounts[role], then
        return request

    with pytest.raises(BusyError, match="nothing was changed"):
        view(by("bandager", then=lambda: view(by("bandager"))))
    assert view(by("bandager", then=lambda: view(by("prescriber")))) == "done"
    assert asked == [clinic.accounts[role].pk for role in ("bandager", "bandager", "prescriber")]


@pytest.fixture
def clock(monkeypatch, tmp_path):
    """Seconds that pass only when somebody computes or waits; they begin as a new file says."""
    (tmp_path / "new").touch()
    now = [(tmp_path / "new").stat().st_mtime]
    for name in ("monotonic", "time"):
        monkeypatch.setattr(workload.time, name, lambda: now[0])
    monkeypatch.setattr(workload.time, "sleep", lambda _s: now.__setitem__(0, now[0] + 0.02))
    return now


def test_who_computes_without_rest_has_a_quarter_of_the_time(clock) -> None:
    began, of_flood, of_other = clock[0], 0, 0
    while clock[0] < began + 200:
        with _for("flood"), turn():
            clock[0] += 1.0
            of_flood += 1
        waited_from = clock[0]
        with _for("other"), turn():
            of_other += 1
        assert clock[0] == waited_from  # who has not computed waits for nothing
    assert 0.25 <= of_flood / 200 <= 0.30
    assert of_other == of_flood


def test_five_seconds_more_than_its_share_are_computed_without_a_wait(clock) -> None:
    began = clock[0]
    for _one in range(7):
        with _for("one"), turn():
            clock[0] += 1.0
    assert clock[0] - began == pytest.approx(7)
    with _for("one"), turn():
        pass
    # Seven are whole again 28 s after the first's end, and five are 20 s: the next begins at 9 s.
    assert clock[0] - began == pytest.approx(9, abs=0.1)


def test_a_clock_that_goes_back_holds_nobody_up(clock) -> None:
    for _one in range(6):
        with _for("one"), turn():
            clock[0] += 1.0
    clock[0] -= 86_400
    asked = clock[0]
    with _for("one"), turn():
        pass
    assert clock[0] == asked


@contextmanager
def _for(account: str):
    before = workload._whose.set(account)
    yield
    workload._whose.reset(before)
