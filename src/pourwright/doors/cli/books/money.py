"""``pourwright book``: what pours cost, and who paid."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pourwright.doors.cli.books.groups import book
from pourwright.doors.cli.books.shape import argument, by, command, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command(
    "bill",
    argument("pour"),
    option("--overhead", key="bill-overhead", default="0", metavar="AMOUNT"),
    option("--seat", "seats", key="bill-seat", multiple=True, metavar="NAME[:SHARES]"),
    option("--price", key="bill-price", default="", metavar="AMOUNT"),
    by,
    under=book,
)
def book_bill(pour: str, overhead: str, seats: tuple[str, ...], price: str, by: str, books: str) -> BookAnswer:
    """Charge a pour."""
    from pourwright.doors.service.books.money import bill

    return bill(books, pour, overhead, seats, price, by)


@command("unbill", argument("pour"), option("--why", key="reason", required=True), by, under=book)
def book_unbill(pour: str, why: str, by: str, books: str) -> BookAnswer:
    """Take a charge back."""
    from pourwright.doors.service.books.money import unbill

    return unbill(books, pour, by, why)


@command(
    "pay",
    argument("owner"),
    argument("amount"),
    option("--out", "paid_out", key="pay-out", is_flag=True),
    option("--note", key="pay-note", default=""),
    option("--mark", key="mark", default="", metavar="MARK"),
    by,
    under=book,
)
def book_pay(owner: str, amount: str, paid_out: bool, note: str, mark: str, by: str, books: str) -> BookAnswer:
    """Enter a payment."""
    from pourwright.doors.service.books.money import pay

    return pay(books, owner, amount, paid_out, by, note, mark)


@command("purses", under=book)
def book_purses(books: str) -> BookAnswer:
    """List what stands in each purse."""
    from pourwright.doors.service.books.money import list_purses

    return list_purses(books)
