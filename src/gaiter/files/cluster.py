"""Workers of a cluster as an executor; needs the optional extra ``cluster``."""

import logging
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Any

from gaiter.core.errors import InputError

_PATIENCE_S = 10
# How often a part is tried again when the error was the worker's.
_RETRIES = 3


class ClusterError(InputError):
    """A cluster that cannot be used."""

    def __init__(self, address: str, text: str) -> None:
        self.address = address
        super().__init__(f"cluster {address}: {text}")


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """The workers of a running scheduler.

    Parameters
    ----------
    address : str
        Where the scheduler listens, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    ClusterError
        If the package is not installed, or scheduler or workers do not answer within 10 s.
    """
    client = _connected(address)
    try:
        # A part lost with its worker is given to another one by the scheduler itself.
        yield client.get_executor(pure=False, retries=_RETRIES)
    finally:
        client.close()


def _connected(address: str) -> Any:
    try:
        from distributed import Client  # noqa: PLC0415 - only who uses a cluster has it
    except ImportError as error:
        text = "needs the extra 'cluster', which is not installed: pip install 'gaiter[cluster]'"
        raise ClusterError(address, text) from error
    # The scheduler's loss comes back with the parts, in words; the log would add a traceback.
    for handler in logging.getLogger("distributed").handlers:
        handler.setLevel(logging.CRITICAL)
    try:
        client: Any = Client(  # type: ignore[no-untyped-call] # has no annotations
            address, timeout=_PATIENCE_S, set_as_default=False
        )
    except (OSError, ValueError) as error:
        text = f"no scheduler answered within {_PATIENCE_S} s: check the address"
        raise ClusterError(address, text) from error
    try:
        client.wait_for_workers(1, timeout=_PATIENCE_S)
    except TimeoutError as error:
        client.close()
        text = f"the scheduler has had no worker for {_PATIENCE_S} s: start one"
        raise ClusterError(address, text) from error
    return client
