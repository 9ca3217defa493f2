"""A process of the server: what the gate refuses waits without a thread, and no address has all.

A refusal that is answered at once is asked again at once, so a cheap one only makes a flood
faster. Here its line is put aside for as long as the answer asks to wait, and costs nothing
meanwhile: a flood over so many lines is so many requests a second.
"""

import socket
import time
from collections import Counter, defaultdict, deque
from concurrent.futures import Future
from contextlib import suppress
from typing import Any

from gunicorn.workers.gthread import TConn, ThreadWorker

from gaiter.web.frame.address import is_trusted
from gaiter.web.frame.gate import HEADERS, RETRY_AFTER_S, SENTENCE, STATUS, Gate, Start

# Our choice: of the threads of a process, this share for one address at the same time (12 of 16);
# its other requests wait their turn. A proxy that is trusted stands for many and is not counted.
SHARE_OF_ONE = 0.75
# Our choice: lines put aside at most, of the thousand that a process takes; what is refused beyond
# is closed without an answer.
ASIDE = 256
# So long a closed line is drained of what was still sent, else the answer may be lost on its way.
_DRAIN_S = 1.0
_DRAINED = 64
_LOOK_S = 0.1
_ANSWER = (
    f"HTTP/1.1 {STATUS}\r\n"
    + "".join(f"{name}: {said}\r\n" for name, said in HEADERS)
    + "Connection: close\r\n\r\n"
).encode() + SENTENCE


class RefusedError(Exception):
    """The gate refused a request."""


class PatientWorker(ThreadWorker):  # type: ignore[misc] # the server's package has no types
    """The server's process of threads, with lines put aside and turns by address.

    Everything that is kept here is touched by its main thread alone.
    """

    wsgi: Any

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self._threads_of_one = max(1, int(self.cfg.threads * SHARE_OF_ONE))
        self._busy: Counter[str] = Counter()
        self._waiting: defaultdict[str, deque[TConn]] = defaultdict(deque)
        # With the moment at which each is to be answered, or closed.
        self._aside: deque[tuple[float, TConn]] = deque()
        self._closing: deque[tuple[float, TConn]] = deque()

    def load_wsgi(self) -> None:
        """The application; its gate is asked here, so that a refusal can be put aside."""
        super().load_wsgi()
        gate: Any = self.wsgi
        if isinstance(gate, Gate):

            def asked(head: dict[str, Any], start: Start) -> Any:
                if gate.refuses(head):
                    raise RefusedError
                return gate.passed(head, start)

            self.wsgi = asked

    def handle_request(self, request: Any, line: TConn) -> bool:
        """Answers a request, in a thread; one that the gate refused is answered later."""
        try:
            return bool(super().handle_request(request, line))
        except RefusedError:
            line.refused = True
            return False

    def enqueue_req(self, line: TConn) -> None:
        """Hands a line to a thread, or lets it wait until its address has one."""
        whose = _address_of(line)
        if not is_trusted(whose) and self._busy[whose] >= self._threads_of_one:
            self._waiting[whose].append(line)
            return
        self._busy[whose] += 1
        super().enqueue_req(line)

    def finish_request(self, line: TConn, result: "Future[Any]") -> None:
        """Gives the thread to the next of the address, and closes without waiting."""
        self._next_of(_address_of(line))
        failed = result.cancelled() or result.exception() is not None
        if getattr(line, "refused", False) and self.alive:
            if len(self._aside) < ASIDE:
                self._aside.append((time.monotonic() + RETRY_AFTER_S, line))
            else:
                self._close(line)
        elif not failed and not result.result():
            # The server's own way of closing waits for the other side, and everybody with it.
            self._end(line)
        else:
            super().finish_request(line, result)

    def wait_for_and_dispatch_events(self, timeout: float) -> None:
        """Waits for the network, but no longer than what was put aside may wait."""
        soon = _LOOK_S if self._aside or self._closing else timeout
        super().wait_for_and_dispatch_events(min(timeout, soon))
        self._look()

    def _look(self) -> None:
        now = time.monotonic()
        while self._aside and (self._aside[0][0] <= now or not self.alive):
            line = self._aside.popleft()[1]
            with suppress(OSError):
                line.sock.setblocking(False)
                line.sock.send(_ANSWER)
            self._end(line)
        while self._closing and (self._closing[0][0] <= now or not self.alive):
            self._close(self._closing.popleft()[1])

    def _next_of(self, whose: str) -> None:
        self._busy[whose] -= 1
        if waiting := self._waiting.get(whose):
            self._busy[whose] += 1
            super().enqueue_req(waiting.popleft())
        if not waiting:
            self._waiting.pop(whose, None)
        if not self._busy[whose]:
            del self._busy[whose]

    def _end(self, line: TConn) -> None:
        """Says that nothing more is sent, and takes in for a while what still comes."""
        try:
            line.sock.setblocking(False)
            line.sock.shutdown(socket.SHUT_WR)
        except OSError:
            self._close(line)
            return
        self._closing.append((time.monotonic() + _DRAIN_S, line))

    def _close(self, line: TConn) -> None:
        with suppress(OSError):
            line.sock.setblocking(False)
            for _piece in range(_DRAINED):
                if not line.sock.recv(2**16):
                    break
        self.nr_conns -= 1
        line.close()


def _address_of(line: TConn) -> str:
    """Of a socket of this machine there is none: all of its lines are one."""
    return str(line.client[0]) if isinstance(line.client, tuple) else ""
