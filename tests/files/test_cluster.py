"""A cluster that cannot be used is refused in one sentence; its client is always closed."""

import sys
from types import ModuleType
from typing import ClassVar

import pytest

from gaiter.files.cluster import ClusterError, cluster_executor

ADDRESS = "tcp://10.0.0.5:8786"


class FakeClient:
    """A scheduler with so many workers."""

    workers = 1
    made: ClassVar[list["FakeClient"]] = []

    def __init__(self, address, **options) -> None:
        self.address, self.options, self.closed = address, options, False
        self.asked = None
        FakeClient.made.append(self)

    def wait_for_workers(self, count, timeout) -> None:
        if self.workers < count:
            raise TimeoutError

    def get_executor(self, **options):
        self.asked = options
        return "executor"

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def scheduler(monkeypatch):
    """The package with a scheduler that answers as it is told."""
    package = ModuleType("distributed")
    package.Client = FakeClient
    monkeypatch.setitem(sys.modules, "distributed", package)
    monkeypatch.setattr(FakeClient, "made", [])
    return package


def test_workers_are_asked_for_and_the_client_closed(scheduler) -> None:
    with cluster_executor(ADDRESS) as executor:
        (client,) = FakeClient.made
        assert executor == "executor"
        assert not client.closed
    assert client.closed
    assert client.address == ADDRESS
    # A part lost with its worker is tried elsewhere; two like parts are never taken for one.
    assert client.asked == {"pure": False, "retries": 3}
    assert client.options["set_as_default"] is False


def test_a_study_that_stops_closes_the_client(scheduler) -> None:
    with pytest.raises(KeyError), cluster_executor(ADDRESS):
        raise KeyError
    assert FakeClient.made[0].closed


def test_no_workers_within_the_patience_is_said_and_the_client_closed(
    scheduler, monkeypatch
) -> None:
    monkeypatch.setattr(FakeClient, "workers", 0)
    with (
        pytest.raises(ClusterError, match="no worker for 10 s: start one") as error,
        cluster_executor(ADDRESS),
    ):
        pass
    assert error.value.address == ADDRESS
    assert FakeClient.made[0].closed


@pytest.mark.parametrize("raised", [OSError("refused"), ValueError("no scheme")])
def test_a_scheduler_that_does_not_answer_is_said(scheduler, raised) -> None:
    def refusing(*_address, **_options):
        raise raised

    scheduler.Client = refusing
    with (
        pytest.raises(ClusterError, match="cluster tcp://10.0.0.5:8786: no scheduler answered"),
        cluster_executor(ADDRESS),
    ):
        pass


def test_without_the_package_the_extra_is_named(monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ClusterError, match="needs the extra 'cluster'"), cluster_executor("x"):
        pass
