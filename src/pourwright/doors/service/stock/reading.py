"""The drawer read from books."""

from __future__ import annotations

from pourwright.books import store
from pourwright.books.drawer import Drawer, drawer_of
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding
from pourwright.doors.service.books.opening import findings_of


def read_drawer(books_place: str) -> tuple[Drawer | None, tuple[Finding, ...]]:
    """Return the drawer of books, or what keeps them from being read."""
    try:
        books = store.open_books(books_place)
    except LedgerError as stop:
        return None, findings_of(stop)
    try:
        with books.reading() as connection:
            return drawer_of(connection), ()
    finally:
        books.close()
