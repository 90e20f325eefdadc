"""``pourwright stock``: the opening balance, what is shut away, and signatures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.doors.cli.books.shape import PATH, argument, by, command, option
from pourwright.doors.cli.books.stock import stock

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer

_why = option("--why", key="reason", required=True)


@command("open", option("--studio", key="studio", type=PATH, default=None), by, under=stock)
def stock_open(studio: Path | None, by: str, books: str) -> BookAnswer:
    """Take the drawer of the studio file over."""
    from pourwright.doors.service.stock.opening import open_from_studio

    return open_from_studio(books, studio, by)


@command("shut", argument("lot"), _why, by, under=stock)
def stock_shut(lot: str, why: str, by: str, books: str) -> BookAnswer:
    """Shut a lot or a crucible away."""
    from pourwright.doors.service.stock.stops import shut_away

    return shut_away(books, lot, why, by)


@command("release", argument("lot"), _why, by, under=stock)
def stock_release(lot: str, why: str, by: str, books: str) -> BookAnswer:
    """Let a lot or a crucible out again."""
    from pourwright.doors.service.stock.stops import let_out

    return let_out(books, lot, why, by)


@command("odd-melt", argument("pour"), _why, by, under=stock)
def stock_odd_melt(pour: str, why: str, by: str, books: str) -> BookAnswer:
    """Shut away what an odd melt touched."""
    from pourwright.doors.service.stock.stops import report_odd_melt

    return report_odd_melt(books, pour, why, by)


@command("stops", under=stock)
def stock_stops(books: str) -> BookAnswer:
    """List what is shut away."""
    from pourwright.doors.service.stock.stops import list_stops

    return list_stops(books)


@command("sign", argument("lot"), _why, by, under=stock)
def stock_sign(lot: str, why: str, by: str, books: str) -> BookAnswer:
    """Sign a lot over to everybody's charges."""
    from pourwright.doors.service.stock.stops import sign_over

    return sign_over(books, lot, why, by)
