"""Where the log goes and what a line looks like; the one place that sets up logging.

Times are UTC. An error that nobody foresaw is logged with its kind and where it arose, without its
words: those may hold a key, an address or a customer's name. Errors of this project are sentences
made to be shown, and are logged as such.
"""

from __future__ import annotations

import atexit
import json
import logging
import os
import sys
import time
import traceback
from types import TracebackType

_FORM = "%(asctime)s %(levelname)s %(name)s: %(message)s"
_TIME = "%Y-%m-%dT%H:%M:%SZ"
# Libraries that say what we say ourselves, or too much.
_QUIET = ("apscheduler", "urllib3", "alembic", "matplotlib", "fontTools")


def set_up_logging(*, as_json: bool = False) -> None:
    """Log to standard error from now on, a line or a JSON object for each event."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines(_FORM, _TIME) if as_json else Plain(_FORM, _TIME))
    logging.basicConfig(handlers=[handler], level=logging.INFO, force=True)
    for name in _QUIET:
        logging.getLogger(name).setLevel(logging.ERROR)
    atexit.register(let_go_of_the_rest)


def let_go_of_the_rest() -> None:
    """Drop what standard error would not take, or the exit code would be that of a lost line."""
    try:
        sys.stderr.flush()
    except OSError:
        sys.stderr = open(os.devnull, "w")  # noqa: PTH123, SIM115 - open until the process ends


_ExcInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class Plain(logging.Formatter):
    """One line for each event, and where an unforeseen error arose."""

    def formatTime(self, record: logging.LogRecord, datefmt: str | None = None) -> str:  # noqa: N802 - the library's name
        """Return when it happened, UTC."""
        return time.strftime(datefmt or _TIME, time.gmtime(record.created))

    def formatException(self, ei: _ExcInfo) -> str:  # noqa: N802 - the library's name
        """Return kinds and places of an error and of those behind it."""
        lines, error = [], ei[1]
        while error is not None:
            lines += [
                f"  {frame.filename}:{frame.lineno} in {frame.name}"
                for frame in traceback.extract_tb(error.__traceback__)
            ]
            lines.append(f"{type(error).__module__}.{type(error).__qualname__}")
            error = error.__cause__ or error.__context__
        return "\n".join(lines)


class JsonLines(Plain):
    """One JSON object for each event."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the object on one line."""
        shown = {
            "at": self.formatTime(record, self.datefmt),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
        }
        if record.exc_info:
            shown["error"] = self.formatException(record.exc_info)
        return json.dumps(shown, ensure_ascii=False)
