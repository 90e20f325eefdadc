"""The drawer for charges and plans: lots of the books once there are any, until then those of ``studio.toml``.

Where there are no books nothing of a database is imported, so that a plan without books starts as quickly as before.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.core.findings import Finding, Level
from pourwright.doors.service.variables import BOOKS_FILE, BOOKS_VARIABLE
from pourwright.studio.profile import Studio

if TYPE_CHECKING:
    from pourwright.books.drawer import Drawer


def books_of(folder: Path, told: str = "") -> str:
    """Return a studio's books: as told, by the environment, or in its folder; empty if there are none."""
    found = told or os.environ.get(BOOKS_VARIABLE) or str(folder / BOOKS_FILE)
    return found if "://" in found or Path(found).exists() else ""


def with_books_stock(studio: Studio, folder: Path, told: str = "") -> tuple[Studio, tuple[Finding, ...]]:
    """Return a studio with the lots of its books, if any lot was ever entered there; else as its file has it.

    Parameters
    ----------
    studio : Studio
        As read from its folder.
    folder : Path
        The studio's folder.
    told : str
        Books named by the user, or empty.

    Returns
    -------
    studio : Studio
        Its crucibles know which of them are shut away.
    findings : tuple of Finding
        Where the lots come from; or why the books cannot be read, which stops.
    """
    place = books_of(folder, told)
    if not place:
        return studio, ()
    from pourwright.books.drawer import with_drawer, with_shelf
    from pourwright.doors.service.stock.reading import read_drawer

    drawer, problems = read_drawer(place)
    if drawer is None:
        return studio, problems
    if not drawer.opened.any_lot:
        return with_shelf(studio, drawer), (Finding("doors.stock-in-file", Level.NOTE, place),)
    return with_drawer(studio, drawer), (_where_from(studio, drawer, place),)


def _where_from(studio: Studio, drawer: Drawer, place: str) -> Finding:
    in_file = ", ".join(one.id for one in studio.lots)
    if in_file and not drawer.opened.by:
        return Finding("doors.stock-not-taken-over", Level.LOOK, "studio.toml", {"lots": in_file})
    return Finding("doors.stock-in-books", Level.NOTE, place, {"count": len(drawer.lots)})
