"""What a studio uses up besides metal: what is there, what each pour takes, and when to order more.

Amounts are whole thousandths of the supply's unit, so that sums are exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import new_mark, refused
from pourwright.books.stock_tables import supply, supply_move
from pourwright.books.tables import movement

UNITS = ("g", "ml", "count")


@dataclass(frozen=True)
class Supply:
    """Something used up: thousandths of ``unit`` that are there, that a pour takes, and the marks for ordering."""

    id: str
    title: str
    unit: str
    held: int
    per_pour: int
    reorder_at: int
    reorder_to: int

    @property
    def to_order(self) -> int:
        """Thousandths to order now: up to the upper mark once the lower one is reached, else nothing."""
        if self.held > self.reorder_at or not (self.reorder_at or self.held < 0):
            return 0
        return max(self.reorder_to, self.reorder_at) - self.held


def enter_supply(connection: Connection, one: Supply) -> None:
    """Enter a supply, or give one that is known new marks and a new amount for each pour; what is there stays.

    Raises
    ------
    LedgerError
        Its unit is not known or was another, or an amount is below nothing.
    """
    known = connection.execute(sa.select(supply).where(supply.c.id == one.id)).first()
    if one.unit not in UNITS or (known and known.unit != one.unit):
        raise refused("books.supply-unit", one.id, supply=one.id, unit=one.unit)
    if min(one.per_pour, one.reorder_at, one.reorder_to) < 0:
        raise refused("books.supply-below", one.id, supply=one.id)
    values = {
        "title": one.title, "unit": one.unit, "per_pour": one.per_pour, "reorder_at": one.reorder_at,
        "reorder_to": one.reorder_to,
    }  # fmt: skip
    if known:
        connection.execute(supply.update().where(supply.c.id == one.id).values(**values))
    else:
        connection.execute(supply.insert().values(id=one.id, held=0, **values))


def move_supply(
    connection: Connection,
    supply_id: str,
    kind: str,
    amount: int,
    made_by: str,
    reason: str = "",
    pour_id: str = "",
    mark: str = "",
    made_at: datetime | None = None,
) -> str:
    """Book so many thousandths in, or out if below nothing, and return the mark.

    A count may go below nothing: the book is then wrong, which :func:`supplies` shows; a pour is not refused for it.

    Raises
    ------
    LedgerError
        There is no such supply.
    """
    mark = mark or new_mark(made_at)
    if connection.execute(sa.select(supply_move.c.id).where(supply_move.c.mark == mark)).first():
        return mark
    done = connection.execute(supply.update().where(supply.c.id == supply_id).values(held=supply.c.held + amount))
    if done.rowcount == 0:
        raise refused("books.supply-unknown", supply_id, supply=supply_id)
    connection.execute(
        supply_move.insert().values(
            mark=mark,
            supply_id=supply_id,
            made_at=made_at or datetime.now(UTC),
            made_by=made_by,
            kind=kind,
            amount=amount,
            reason=reason,
            pour_id=pour_id,
        )
    )
    return mark


def count_supply(connection: Connection, supply_id: str, counted: int, made_by: str, reason: str) -> int:
    """Set the book to what was counted, with the reason, and return by how many thousandths it was off.

    Raises
    ------
    LedgerError
        There is no such supply, no reason is given, or the count is below nothing.
    """
    held = connection.execute(sa.select(supply.c.held).where(supply.c.id == supply_id)).scalar()
    if held is None:
        raise refused("books.supply-unknown", supply_id, supply=supply_id)
    if not reason.strip():
        raise refused("books.stop-unsigned", supply_id, subject=supply_id)
    if counted < 0:
        raise refused("books.supply-below", supply_id, supply=supply_id)
    off = counted - int(held)
    if off:
        move_supply(connection, supply_id, "counted", off, made_by, reason)
    return off


def use_for_pour(
    connection: Connection,
    pour_id: str,
    made_by: str,
    more: Mapping[str, int] | None = None,
    made_at: datetime | None = None,
) -> None:
    """Take off what a pour uses: each supply by its usual amount, or by the one given.

    Raises
    ------
    LedgerError
        A supply that is named is not known.
    """
    usual = connection.execute(sa.select(supply.c.id, supply.c.per_pour).where(supply.c.per_pour > 0))
    amounts = {row.id: int(row.per_pour) for row in usual} | dict(more or {})
    for name, amount in sorted(amounts.items()):
        if amount:
            move_supply(connection, name, "poured", -amount, made_by, "", pour_id, made_at=made_at)


def give_back(connection: Connection, movement_mark: str, made_by: str, reason: str) -> None:
    """Put back what the pour of a movement used, if the movement is a pour's and it was not put back already.

    For a pour that is taken back because it was booked wrongly and is booked anew.
    """
    row = connection.execute(
        sa.select(movement.c.pour_id, movement.c.kind).where(movement.c.mark == movement_mark)
    ).first()
    if row is None or row.kind not in ("poured", "aborted"):
        return
    used = connection.execute(
        sa.select(supply_move.c.supply_id, sa.func.sum(supply_move.c.amount).label("amount"))
        .where(supply_move.c.pour_id == row.pour_id)
        .group_by(supply_move.c.supply_id)
        .order_by(supply_move.c.supply_id)
    ).all()
    for one in used:
        if one.amount:
            move_supply(connection, one.supply_id, "given back", -int(one.amount), made_by, reason, row.pour_id)


def supplies(connection: Connection) -> tuple[Supply, ...]:
    """Return all supplies by id."""
    rows = connection.execute(sa.select(supply).order_by(supply.c.id))
    return tuple(
        Supply(row.id, row.title, row.unit, row.held, row.per_pour, row.reorder_at, row.reorder_to) for row in rows
    )


def supplies_off(connection: Connection) -> tuple[str, ...]:
    """Return the supplies whose kept count is not the sum of their moves; none in books that are whole."""
    summed = (
        sa.select(supply_move.c.supply_id, sa.func.sum(supply_move.c.amount).label("amount"))
        .group_by(supply_move.c.supply_id)
        .subquery()
    )
    off = connection.execute(
        sa.select(supply.c.id)
        .outerjoin(summed, summed.c.supply_id == supply.c.id)
        .where(supply.c.held != sa.func.coalesce(summed.c.amount, 0))
        .order_by(supply.c.id)
    )
    return tuple(off.scalars())


def reorder_list(found: Sequence[Supply]) -> tuple[Supply, ...]:
    """Return what is to be ordered now."""
    return tuple(one for one in found if one.to_order > 0)
