"""Money: double entry in whole hundredths, never edited, only reversed with a reason.

A purse is positive when the studio has, or is owed, what stands in it, as with metal in the drawer:

* ``till``: money in hand;
* ``owner:NAME``: what that person owes, negative for a deposit that is still there;
* ``dealer:NAME``, ``refiner:NAME``: what they owe, negative for what they are owed;
* ``metal``, ``overhead``: where charges come from, negative by what was charged.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import new_mark, refused
from pourwright.books.money import to_cents
from pourwright.books.stock_tables import money, money_entry

TILL, METAL, OVERHEAD = "till", "metal", "overhead"
_HUNDRED = 100


@dataclass(frozen=True)
class MoneyLine:
    """One entry in a purse: when, what for, and how many hundredths."""

    made_at: datetime
    kind: str
    reason: str
    cents: int
    mark: str


def owner_purse(owner: str) -> str:
    """Return the name of an owner's purse."""
    return f"owner:{owner}"


def cents_of(amount: Decimal) -> int:
    """Return an amount in whole hundredths; one that is finer is rounded, halves up."""
    return int(to_cents(amount) * _HUNDRED)


def amount_of(cents: int) -> Decimal:
    """Return hundredths as an amount."""
    return (Decimal(cents) / _HUNDRED).quantize(Decimal("0.01"))


def post_money(
    connection: Connection,
    kind: str,
    cents: Mapping[str, int],
    made_by: str,
    reason: str = "",
    mark: str = "",
    made_at: datetime | None = None,
    movement_mark: str = "",
    reverses_number: int | None = None,
) -> str:
    """Enter money, and return the mark of the entry.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    kind : str
        What it is: ``paid in``, ``paid out``, ``metal``, ``overhead``, ``settled`` ...
    cents : mapping of str to int
        Change of each purse in hundredths; together nothing.
    made_by, reason : str
        Who, and what for.
    mark : str
        Its own name; one that is entered already is not entered again.
    made_at : datetime, optional
        When; now unless given.
    movement_mark : str
        The movement of metal that it belongs to.
    reverses_number : int, optional
        The entry that it takes back.

    Raises
    ------
    LedgerError
        The changes do not add up to nothing.
    """
    if sum(cents.values()):
        raise refused("books.money-not-balanced", kind, kind=kind, amount=amount_of(sum(cents.values())))
    mark = mark or new_mark(made_at)
    if connection.execute(sa.select(money.c.id).where(money.c.mark == mark)).first():
        return mark
    values = {
        "mark": mark,
        "made_at": made_at or datetime.now(UTC),
        "made_by": made_by,
        "kind": kind,
        "reason": reason,
        "reverses_id": reverses_number,
        "movement_mark": movement_mark,
    }
    number = connection.execute(money.insert().values(**values).returning(money.c.id)).scalar_one()
    rows = [{"money_id": number, "purse": purse, "cents": one} for purse, one in sorted(cents.items()) if one]
    if rows:
        connection.execute(money_entry.insert(), rows)
    return mark


def reverse_money(connection: Connection, mark: str, made_by: str, reason: str, new_mark_text: str = "") -> str:
    """Take an entry of money back by its mirror image.

    Raises
    ------
    LedgerError
        No such entry, no reason, it is a reversal itself, or it is taken back already.
    """
    if not reason.strip():
        raise refused("books.no-reason", mark, mark=mark)
    row = connection.execute(sa.select(money).where(money.c.mark == mark)).first()
    if row is None:
        raise refused("books.movement-unknown", mark, mark=mark)
    if row.reverses_id:
        raise refused("books.reverses-reversal", mark, mark=mark)
    taken = connection.execute(sa.select(money.c.mark).where(money.c.reverses_id == row.id)).scalar()
    if taken:
        raise refused("books.reversed-already", mark, mark=mark, by=taken)
    entered = connection.execute(sa.select(money_entry).where(money_entry.c.money_id == row.id)).all()
    back = {one.purse: -one.cents for one in entered}
    return post_money(
        connection,
        "reversed",
        back,
        made_by,
        reason,
        new_mark_text,
        movement_mark=row.movement_mark,
        reverses_number=row.id,
    )


def is_money(connection: Connection, mark: str) -> bool:
    """Return whether a mark is that of an entry of money."""
    return connection.execute(sa.select(money.c.id).where(money.c.mark == mark)).first() is not None


def purse_cents(connection: Connection, purse: str, before: datetime | None = None) -> int:
    """Return what stands in a purse, now or before a moment, in hundredths."""
    wanted = sa.select(sa.func.coalesce(sa.func.sum(money_entry.c.cents), 0)).where(money_entry.c.purse == purse)
    if before is not None:
        wanted = wanted.join(money, money.c.id == money_entry.c.money_id).where(money.c.made_at < before)
    return int(connection.execute(wanted).scalar_one())


def purse_lines(connection: Connection, purse: str, since: datetime, until: datetime) -> tuple[MoneyLine, ...]:
    """Return the entries in a purse from a moment up to, not including, another."""
    rows = connection.execute(
        sa.select(money.c.made_at, money.c.kind, money.c.reason, money_entry.c.cents, money.c.mark)
        .join(money_entry, money_entry.c.money_id == money.c.id)
        .where(money_entry.c.purse == purse, money.c.made_at >= since, money.c.made_at < until)
        .order_by(money.c.made_at, money.c.id)
    )
    return tuple(MoneyLine(*row) for row in rows)


def purses(connection: Connection) -> dict[str, int]:
    """Return what stands in each purse that is not empty; together nothing."""
    rows = connection.execute(
        sa.select(money_entry.c.purse, sa.func.sum(money_entry.c.cents).label("cents")).group_by(money_entry.c.purse)
    )
    return {row.purse: int(row.cents) for row in rows if row.cents}
