"""``pourwright stock``: lots in the drawer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pourwright.doors.cli.books.shape import by, command, group, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer

stock = group("stock")


@command("list", option("--all", "empty_too", key="stock-all", is_flag=True), under=stock)
def stock_list(books: str, empty_too: bool) -> BookAnswer:
    """List lots."""
    from pourwright.doors.service.books.stock import list_stock

    return list_stock(books, empty_too)


@command(
    "add",
    option("--metal", key="stock-metal", required=True),
    option("--mass", key="stock-mass", required=True, metavar="MASS"),
    option("--from", "source", key="stock-from", required=True, metavar="NAME"),
    by,
    option("--fineness", key="stock-fineness", default="", metavar="FINENESS"),
    option("--owner", key="stock-owner", default="", metavar="NAME"),
    option("--price", key="stock-price", default="0", metavar="AMOUNT"),
    option("--note", key="stock-note", default=""),
    option("--whole", key="stock-whole", is_flag=True),
    under=stock,
)
def stock_add(
    metal: str,
    mass: str,
    source: str,
    by: str,
    fineness: str,
    owner: str,
    price: str,
    note: str,
    whole: bool,
    books: str,
) -> BookAnswer:
    """Enter a lot."""
    from pourwright.doors.service.books.stock import add_stock

    return add_stock(books, metal, mass, source, by, fineness, owner, price, note, whole)
