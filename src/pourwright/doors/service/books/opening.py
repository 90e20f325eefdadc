"""Finding and opening the books, and what a command on them comes to."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pourwright.books import store
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.doors.service import variables
from pourwright.doors.service.variables import BOOKS_VARIABLE, STUDIO_VARIABLE

BOOKS_FILE = variables.BOOKS_FILE


@dataclass(frozen=True)
class BookAnswer:
    """What a command on the books came to: plain JSON values, text for a person, and findings."""

    document: Mapping[str, Any]
    text: str
    findings: tuple[Finding, ...] = ()


def where_books_are(told: str, must_exist: bool = True) -> str:
    """Return the file or address of the books: as told, else by the environment, else in the studio's folder.

    Raises
    ------
    LedgerError
        There is no studio here, or no books in it yet and the command only reads.
    """
    if told or os.environ.get(BOOKS_VARIABLE):
        found = told or os.environ[BOOKS_VARIABLE]
    else:
        folder = Path(os.environ.get(STUDIO_VARIABLE) or ".")
        if not (folder / "studio.toml").exists():
            raise refused("doors.books-where", str(folder))
        found = str(folder / BOOKS_FILE)
    if must_exist and "://" not in found and not Path(found).exists():
        raise refused("doors.books-none", found, file=found)
    return found


def with_books(told: str, work: Callable[[store.Books], BookAnswer], must_exist: bool = True) -> BookAnswer:
    """Open the books, do the work, close them; what the books refuse becomes findings, and nothing is booked."""
    try:
        books = store.open_books(where_books_are(told, must_exist))
    except LedgerError as stop:
        return BookAnswer({}, "", findings_of(stop))
    try:
        return work(books)
    except LedgerError as stop:
        return BookAnswer({}, "", findings_of(stop))
    finally:
        books.close()


def studio_of(books: store.Books) -> Path:
    """Return the folder in which files are kept: beside SQLite books, else the studio's.

    Raises
    ------
    LedgerError
        The books are on a server, and no studio's folder is named or at hand.
    """
    if books.path is not None:
        return books.path.parent
    folder = Path(os.environ.get(STUDIO_VARIABLE) or ".")
    if not (folder / "studio.toml").exists():
        raise refused("doors.record-no-studio", str(folder))
    return folder


def refused(code: str, where: str, **params: object) -> LedgerError:
    """Return the error that says what the books cannot do."""
    finding = Finding(code, Level.STOP, where, params)
    return LedgerError(finding.what, (finding,))


def findings_of(stop: LedgerError) -> tuple[Finding, ...]:
    """Return what a refusal says."""
    return tuple(one for one in stop.findings if isinstance(one, Finding))
