"""``pourwright book``: pours, balances and movements."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pourwright.doors.cli.books.groups import book
from pourwright.doors.cli.books.shape import argument, by, command, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer


@command(
    "pour",
    argument("pour"),
    option("--alloy", key="alloy", default="sterling-925", show_default=True),
    option("--use", "uses", key="pour-use", multiple=True, required=True, metavar="LOT:MASS"),
    option("--casting", "castings", key="pour-casting", multiple=True, metavar="PIECE:OWNER:MASS"),
    option("--button", key="pour-button", default="", metavar="MASS"),
    option("--scrap", key="pour-scrap", default="", metavar="MASS"),
    option("--spill", key="pour-spill", default="", metavar="MASS"),
    option("--scale", key="scale", default="0.01 g", show_default=True, metavar="MASS"),
    option("--explained", key="pour-explained", default=""),
    option("--aborted", key="pour-aborted", is_flag=True),
    option("--crucible", key="pour-crucible", default="", metavar="CRUCIBLE"),
    option("--supply", "used_up", key="pour-supply", multiple=True, metavar="SUPPLY:AMOUNT"),
    option("--mark", key="mark", default="", metavar="MARK"),
    by,
    under=book,
)
def book_pour(
    pour: str,
    alloy: str,
    uses: tuple[str, ...],
    castings: tuple[str, ...],
    button: str,
    scrap: str,
    spill: str,
    scale: str,
    explained: str,
    aborted: bool,
    crucible: str,
    used_up: tuple[str, ...],
    mark: str,
    by: str,
    books: str,
) -> BookAnswer:
    """Book a pour."""
    from pourwright.doors.service.books.pours import book_a_pour

    weights = {"button": button, "scrap": scrap, "spill": spill}
    return book_a_pour(
        books, pour, alloy, uses, castings, by, weights, scale, explained, aborted, mark, crucible, used_up
    )


@command("balance", option("--quick", key="balance-quick", is_flag=True), under=book)
def book_balance(quick: bool, books: str) -> BookAnswer:
    """Check that nothing was made or lost."""
    from pourwright.doors.service.books.balance import balance_books

    return balance_books(books, quick)


@command(
    "movements",
    option("--account", key="account", default="", metavar="ACCOUNT"),
    option("--since", key="since-number", default=0, type=int, metavar="NUMBER"),
    under=book,
)
def book_movements(account: str, since: int, books: str) -> BookAnswer:
    """List movements."""
    from pourwright.doors.service.books.balance import list_movements

    return list_movements(books, account, since)


@command("reverse", argument("mark"), option("--why", key="reason", required=True), by, under=book)
def book_reverse(mark: str, why: str, by: str, books: str) -> BookAnswer:
    """Take a movement back."""
    from pourwright.doors.service.books.balance import take_back

    return take_back(books, mark, by, why)


@command("find", argument("words"), under=book)
def book_find(words: str, books: str) -> BookAnswer:
    """Find pieces."""
    from pourwright.doors.service.books.finding import find

    return find(books, words)


@command("waiting", under=book)
def book_waiting(books: str) -> BookAnswer:
    """List loads whose pour is not booked."""
    from pourwright.doors.service.books.finding import waiting

    return waiting(books)
