"""What the server itself writes to standard error: the same JSON lines as its pages."""

import logging
import sys
import threading
from types import TracebackType

from gunicorn.config import Config
from gunicorn.glogging import Logger

from gaiter.web.frame.logs import JsonFormatter


class JsonLogger(Logger):  # type: ignore[misc] # the server's package has no types
    """The server's logger; its own words quote requests, so only level and kind are kept."""

    def setup(self, cfg: Config) -> None:
        """Every line is JSON, that of a fault outside of any request too."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(JsonFormatter())
        logging.captureWarnings(True)
        sys.excepthook = _uncaught
        threading.excepthook = _uncaught_in_thread


def _uncaught(kind: type[BaseException], error: BaseException, place: TracebackType | None) -> None:
    logging.getLogger("gaiter.server").critical("fault", exc_info=(kind, error, place))


def _uncaught_in_thread(fault: threading.ExceptHookArgs) -> None:
    if fault.exc_value is not None:
        _uncaught(fault.exc_type, fault.exc_value, fault.exc_traceback)
