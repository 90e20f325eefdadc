"""``pourwright book notebook``: an old notebook, kept in a spreadsheet, brought into the books."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.doors.cli.books.groups import book
from pourwright.doors.cli.books.shape import PATH, argument, by, command, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command(
    "notebook",
    argument("file", type=PATH),
    option("--keep", key="notebook-keep", is_flag=True),
    option("--alloy", key="notebook-alloy", default="sterling-925", show_default=True),
    option("--scale", key="scale", default="0.01 g", show_default=True, metavar="MASS"),
    option("--zone", key="notebook-zone", default="UTC", show_default=True, metavar="ZONE"),
    option("--decimal-comma", key="notebook-comma", is_flag=True),
    by,
    under=book,
)
def book_notebook(
    file: Path, keep: bool, alloy: str, scale: str, zone: str, decimal_comma: bool, by: str, books: str
) -> BookAnswer:
    """Bring an old notebook in."""
    from pourwright.doors.service.notebook.bringing import NotebookRequest, bring_notebook

    return bring_notebook(books, NotebookRequest(file, by, keep, alloy, scale, zone, decimal_comma))
