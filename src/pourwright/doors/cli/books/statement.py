"""``pourwright statement``: what an owner's metal did over days."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from pourwright.doors.cli.books.shape import DAY, argument, command, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command(
    "statement",
    argument("owner"),
    option("--from", "first", key="statement-from", type=DAY, default="2000-01-01", metavar="DAY"),
    option("--to", "last", key="statement-to", type=DAY, default="2100-01-01", metavar="DAY"),
)
def statement(owner: str, first: datetime, last: datetime, books: str) -> BookAnswer:
    """Print a statement."""
    from pourwright.doors.service.books import statements as service

    return service.statement(books, owner, first.date(), last.date())
