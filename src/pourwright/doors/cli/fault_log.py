"""Faults of the program go to one log file with a short reference; the user never sees a traceback."""

from __future__ import annotations

import logging
import os
import secrets
from logging.handlers import RotatingFileHandler
from pathlib import Path

_MOST_BYTES = 1_000_000
LOG_VARIABLE = "POURWRIGHT_LOG"


def log_path() -> Path:
    """Return where the log stands: ``POURWRIGHT_LOG``, else the user's state folder."""
    if os.environ.get(LOG_VARIABLE):
        return Path(os.environ[LOG_VARIABLE])
    state = os.environ.get("XDG_STATE_HOME") or str(Path.home() / ".local" / "state")
    return Path(state) / "pourwright" / "pourwright.log"


def note_fault(fault: BaseException) -> tuple[str, Path]:
    """Write a fault with its traceback to the log; return its short reference and the log's path."""
    reference, path = secrets.token_hex(3), log_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(path, maxBytes=_MOST_BYTES, backupCount=1, encoding="utf-8")
    except OSError:  # a log that cannot be written must not hide the answer
        return reference, path
    logger = logging.getLogger("pourwright.faults")
    logger.addHandler(handler)
    logger.propagate = False
    logger.error("fault %s", reference, exc_info=fault)
    logger.removeHandler(handler)
    handler.close()
    return reference, path
