"""Keeping the books safe: backups, plain files and back."""

from __future__ import annotations

from pathlib import Path

from pourwright.books import store
from pourwright.books.exchange import export_books, import_books
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, findings_of, where_books_are, with_books


def back_up_books(told: str) -> BookAnswer:
    """Copy the books while they are in use."""

    def work(books: store.Books) -> BookAnswer:
        copy = store.back_up(books)
        if copy is None:
            return BookAnswer({"backup": None}, "", (Finding("doors.backup-server", Level.STOP, told),))
        return BookAnswer({"backup": str(copy)}, say("doors.backed-up", file=copy))

    return with_books(told, work)


def restore_books(told: str, backup: Path) -> BookAnswer:
    """Put a backup in the place of the books."""
    try:
        place = where_books_are(told, must_exist=False)
        if "://" in place:
            return BookAnswer({}, "", (Finding("doors.backup-server", Level.STOP, "--books"),))
        aside = store.restore(Path(place), backup)
    except LedgerError as stop:
        return BookAnswer({}, "", findings_of(stop))
    return BookAnswer({"books": place, "set_aside": str(aside)}, say("doors.restored", file=place, aside=aside))


def export_to(told: str, folder: Path) -> BookAnswer:
    """Write the books as plain files."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            written = export_books(connection, folder)
        return BookAnswer(
            {"written": [str(one) for one in written]}, say("doors.exported", folder=folder, count=len(written))
        )

    return with_books(told, work)


def import_from(told: str, folder: Path) -> BookAnswer:
    """Read plain files into new books."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            count = import_books(connection, folder)
        return BookAnswer({"movements": count}, say("doors.imported", count=count))

    return with_books(told, work, must_exist=False)
