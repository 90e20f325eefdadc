"""``pourwright stock``: lots in the drawer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

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
    option("--holds", key="stock-holds", multiple=True, metavar="ELEMENT:SHARE"),
    option("--solder", key="stock-solder", is_flag=True),
    option("--whole", key="stock-whole", is_flag=True),
    under=stock,
)
def stock_add(mass: str, source: str, by: str, books: str, **brought: Any) -> BookAnswer:
    """Enter a lot."""
    from pourwright.doors.service.stock.adding import add_stock
    from pourwright.doors.service.stock.intake import Brought

    return add_stock(books, Brought(**brought), mass, source, by)
