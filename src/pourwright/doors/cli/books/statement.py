"""``pourwright statement``: what owners' metal and money did over days."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourwright.doors.cli.books.shape import DAY, PATH, argument, command, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command(
    "statement",
    argument("owner", required=False, default=""),
    option("--from", "first", key="statement-from", type=DAY, default=None, metavar="DAY"),
    option("--to", "last", key="statement-to", type=DAY, default=None, metavar="DAY"),
    option("--day", key="statement-day", type=DAY, default=None, metavar="DAY"),
    option("--zone", key="statement-zone", default="", metavar="ZONE"),
    option("--out", "files", key="statement-out", type=PATH, multiple=True, metavar="FILE"),
    option("--paper", key="paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True),
)
def statement(
    owner: str,
    first: datetime | None,
    last: datetime | None,
    day: datetime | None,
    zone: str,
    files: tuple[Path, ...],
    paper: str,
    books: str,
) -> BookAnswer:
    """Print a statement."""
    from pourwright.doors.service.books import statements as service

    begin, end = ((day or one) for one in (first, last))
    asked = service.StatementRequest(
        owner, begin.date() if begin else None, end.date() if end else None, zone, files, paper
    )
    return service.statement(books, asked)
