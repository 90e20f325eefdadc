"""Keeping the books safe: backups, plain files and back."""

from __future__ import annotations

from pathlib import Path

from pourwright.books import store
from pourwright.books.exchange import export_books, import_books, missing_files
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, findings_of, studio_of, where_books_are, with_books


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
    """Write the books as plain files, and every kept file beside them."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            written = export_books(connection, folder, _studio_if_any(books))
        left_out = missing_files(folder)
        says = (Finding("doors.export-files", Level.LOOK, str(folder), {"count": len(left_out)}),) if left_out else ()
        return BookAnswer(
            {"written": [str(one) for one in written], "kept_files_missing": list(left_out)},
            say("doors.exported", folder=folder, count=len(written)),
            says,
        )

    return with_books(told, work)


def import_from(told: str, folder: Path) -> BookAnswer:
    """Read plain files into new books, and put kept files in their place."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            count = import_books(connection, folder, _studio_if_any(books))
        return BookAnswer({"movements": count}, say("doors.imported", count=count))

    return with_books(told, work, must_exist=False)


def _studio_if_any(books: store.Books) -> Path | None:
    """Return where kept files lie; None for books on a server without a studio's folder at hand."""
    try:
        return studio_of(books)
    except LedgerError:
        return None
