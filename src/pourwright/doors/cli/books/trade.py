"""``pourwright stock``: buying and handing out metal, dated prices, supplies."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click

from pourwright.doors.cli.books.shape import DAY, argument, by, command, option
from pourwright.doors.cli.books.stock import stock

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer

_why = option("--why", key="reason", required=True)


def _today() -> str:
    return f"{datetime.now(UTC):%Y-%m-%d}"


@command(
    "buy",
    option("--metal", key="stock-metal", required=True),
    option("--mass", key="stock-mass", required=True, metavar="MASS"),
    option("--from", "dealer", key="stock-from", required=True, metavar="NAME"),
    option("--cost", key="stock-cost", required=True, metavar="AMOUNT"),
    option("--on-credit", key="stock-credit", is_flag=True),
    option("--day", key="price-day", type=DAY, default=_today, metavar="DAY"),
    option("--fineness", key="stock-fineness", default="", metavar="FINENESS"),
    option("--holds", key="stock-holds", multiple=True, metavar="ELEMENT:SHARE"),
    option("--note", key="stock-note", default=""),
    by,
    under=stock,
)
def stock_buy(
    mass: str, dealer: str, cost: str, on_credit: bool, day: datetime, by: str, books: str, **brought: Any
) -> BookAnswer:
    """Buy metal."""
    from pourwright.doors.service.stock.adding import buy_stock
    from pourwright.doors.service.stock.intake import Brought

    return buy_stock(books, Brought(**brought), mass, dealer, cost, on_credit, day.date(), by)


@command(
    "hand-out",
    argument("lot"),
    option("--mass", key="hand-out-mass", required=True, metavar="MASS"),
    option("--to", key="hand-out-to", required=True, metavar="NAME"),
    _why,
    by,
    under=stock,
)
def stock_hand_out(lot: str, mass: str, to: str, why: str, by: str, books: str) -> BookAnswer:
    """Hand metal out."""
    from pourwright.doors.service.stock.adding import hand_out_stock

    return hand_out_stock(books, lot, mass, to, why, by)


@command(
    "price",
    argument("metal"),
    argument("amount"),
    option("--from", "day", key="price-day", type=DAY, default=_today, metavar="DAY"),
    option("--source", key="price-source", default=""),
    under=stock,
)
def stock_price(metal: str, amount: str, day: datetime, source: str, books: str) -> BookAnswer:
    """Enter a price."""
    from pourwright.doors.service.stock.adding import enter_price

    return enter_price(books, metal, amount, day.date(), source)


@command("prices", under=stock)
def stock_prices(books: str) -> BookAnswer:
    """List prices."""
    from pourwright.doors.service.stock.adding import list_prices

    return list_prices(books)


@command(
    "supply",
    argument("name"),
    option("--title", key="supply-title", default=""),
    option("--unit", key="supply-unit", type=click.Choice(["g", "ml", "count"]), default="g", show_default=True),
    option("--per-pour", key="supply-per-pour", default="", metavar="AMOUNT"),
    option("--reorder-at", key="supply-reorder-at", default="", metavar="AMOUNT"),
    option("--reorder-to", key="supply-reorder-to", default="", metavar="AMOUNT"),
    under=stock,
)
def stock_supply(name: str, title: str, unit: str, books: str, **marks: str) -> BookAnswer:
    """Enter a supply."""
    from pourwright.doors.service.stock.supplying import Marks, name_supply

    return name_supply(books, name, title, unit, Marks(**marks))


@command("take", argument("name"), argument("amount"), option("--why", key="reason", default=""), by, under=stock)
def stock_take(name: str, amount: str, why: str, by: str, books: str) -> BookAnswer:
    """Take of a supply."""
    from pourwright.doors.service.stock.supplying import move

    return move(books, name, amount, True, why, by)


@command("refill", argument("name"), argument("amount"), option("--why", key="reason", default=""), by, under=stock)
def stock_refill(name: str, amount: str, why: str, by: str, books: str) -> BookAnswer:
    """Refill a supply."""
    from pourwright.doors.service.stock.supplying import move

    return move(books, name, amount, False, why, by)


@command("count", argument("name"), argument("amount"), _why, by, under=stock)
def stock_count(name: str, amount: str, why: str, by: str, books: str) -> BookAnswer:
    """Set a supply to what was counted."""
    from pourwright.doors.service.stock.supplying import count

    return count(books, name, amount, why, by)


@command("supplies", option("--short", "only_short", key="supplies-short", is_flag=True), under=stock)
def stock_supplies(only_short: bool, books: str) -> BookAnswer:
    """List supplies."""
    from pourwright.doors.service.stock.supplying import list_supplies

    return list_supplies(books, only_short)
