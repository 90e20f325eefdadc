"""``pourwright book``: backups, plain files and back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.doors.cli.books.groups import book
from pourwright.doors.cli.books.shape import PATH, argument, command

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command("backup", under=book)
def book_backup(books: str) -> BookAnswer:
    """Copy the books."""
    from pourwright.doors.service.books.keeping import back_up_books

    return back_up_books(books)


@command("restore", argument("backup", type=PATH), under=book)
def book_restore(backup: Path, books: str) -> BookAnswer:
    """Put a backup in place."""
    from pourwright.doors.service.books.keeping import restore_books

    return restore_books(books, backup)


@command("export", argument("folder", type=PATH), under=book)
def book_export(folder: Path, books: str) -> BookAnswer:
    """Write plain files."""
    from pourwright.doors.service.books.keeping import export_to

    return export_to(books, folder)


@command("import", argument("folder", type=PATH), under=book)
def book_import(folder: Path, books: str) -> BookAnswer:
    """Read plain files."""
    from pourwright.doors.service.books.keeping import import_from

    return import_from(books, folder)
