"""The drawer of ``studio.toml`` taken into the books, once."""

from __future__ import annotations

import os
from pathlib import Path

from pourwright.books import store
from pourwright.books.lots import lots
from pourwright.books.opening import open_shelf, open_stock
from pourwright.core.findings import stops
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.stock import lot_json, stock_text
from pourwright.doors.service.books.typed import grams
from pourwright.doors.service.variables import BOOKS_FILE, BOOKS_VARIABLE, STUDIO_VARIABLE
from pourwright.studio.reading import read_studio


def open_from_studio(told: str, studio_folder: Path | None, made_by: str) -> BookAnswer:
    """Take the lots of ``studio.toml`` over as the opening balance of the books.

    Parameters
    ----------
    told : str
        Books; empty for those in the studio's folder.
    studio_folder : Path or None
        Where the studio file is; else by the environment, else here.
    made_by : str
        Who says that the drawer is as the file has it.
    """
    folder = studio_folder or Path(os.environ.get(STUDIO_VARIABLE) or ".")
    studio, found = read_studio(folder)
    if studio is None or stops(found):
        return BookAnswer({}, "", found)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            ids = open_stock(connection, studio.lots, made_by)
            shelf = open_shelf(connection, studio, made_by)
            entered = lots(connection, ids)
        whole = show(grams(sum(one.held_mg for one in entered)), "g", 2)
        lines = [say("doors.stock-opened", count=len(ids), mass=whole)]
        lines += [say("doors.shelf-opened", supplies=", ".join(shelf))] if shelf else []
        text = "\n".join([*lines, "", stock_text(entered)])
        return BookAnswer({"lots": [lot_json(one) for one in entered], "supplies": list(shelf)}, text, found)

    place = told or os.environ.get(BOOKS_VARIABLE) or str(folder / BOOKS_FILE)
    return with_books(place, work, must_exist=False)
