"""Certificates and statements that come with a booking: kept as files by their hash."""

from __future__ import annotations

import os
from pathlib import Path

from pourwright.books import store
from pourwright.core.findings import Finding, Level
from pourwright.doors.service.variables import STUDIO_VARIABLE


def folder_of(books: store.Books) -> Path:
    """Return the folder in which the books keep their files: beside a SQLite file, else the studio's."""
    return books.path.parent if books.path else Path(os.environ.get(STUDIO_VARIABLE) or ".")


def content_of(paper: Path | None, where: str) -> tuple[bytes, tuple[Finding, ...]]:
    """Return what a file holds, empty without a file, and why it cannot be read."""
    if paper is None:
        return b"", ()
    try:
        return paper.read_bytes(), ()
    except OSError as problem:
        reason = problem.strerror or str(problem)
        return b"", (Finding("doors.paper-unread", Level.STOP, where, {"file": paper, "reason": reason}),)
