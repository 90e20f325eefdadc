"""Dated prices of metal: what a gram costs from a day on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import refused
from pourwright.books.tables import price


@dataclass(frozen=True)
class Price:
    """What a gram of a metal costs from a day on, and where that was read."""

    metal: str
    valid_from: date
    per_g: Decimal
    source: str


def set_price(connection: Connection, one: Price, keep: bool = False) -> None:
    """Enter a price; one that is there is never written over.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    one : Price
        What a gram costs from a day on.
    keep : bool
        Whether to leave another price of that metal and day as it is, without a word.

    Raises
    ------
    LedgerError
        There is another price of that metal from that day on already, or it is below nothing.
    """
    if not one.per_g.is_finite() or one.per_g < 0:
        raise refused("books.price-below", one.metal, metal=one.metal, price=one.per_g)
    key = (price.c.metal == one.metal) & (price.c.valid_from == one.valid_from)
    known = connection.execute(sa.select(price.c.per_g).where(key)).scalar()
    if known is not None and known != one.per_g and not keep:
        raise refused("books.price-known", one.metal, metal=one.metal, day=one.valid_from, price=known)
    if known is None:
        values = {"metal": one.metal, "valid_from": one.valid_from, "per_g": one.per_g, "source": one.source}
        connection.execute(price.insert().values(**values))


def price_on(connection: Connection, metal: str, day: date | None = None) -> Price | None:
    """Return the price of a metal on a day (today unless given): the last that was valid by then, or None."""
    upto = day or datetime.now(UTC).date()
    row = connection.execute(
        sa.select(price)
        .where(price.c.metal == metal, price.c.valid_from <= upto)
        .order_by(price.c.valid_from.desc())
        .limit(1)
    ).first()
    return Price(row.metal, row.valid_from, row.per_g, row.source) if row else None


def prices(connection: Connection) -> tuple[Price, ...]:
    """Return all prices, by metal and day."""
    rows = connection.execute(sa.select(price).order_by(price.c.metal, price.c.valid_from))
    return tuple(Price(row.metal, row.valid_from, row.per_g, row.source) for row in rows)
