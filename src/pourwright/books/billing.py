"""What a pour costs each owner: metal by cast mass, a share of the overhead, less the metal that the owner gave."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import STUDIO, know_owner, refused
from pourwright.books.money import pour_bill, to_cents
from pourwright.books.prices import price_on
from pourwright.books.purses import METAL, OVERHEAD, cents_of, owner_purse, post_money, reverse_money
from pourwright.books.stock_tables import money
from pourwright.books.tables import OWN_KINDS, account, entry, movement, pour
from pourwright.core.text import say

_CHARGES = ("metal", "overhead", "metal given")


@dataclass(frozen=True)
class OwnerBill:
    """One owner's part of a pour's bill; ``given`` is what was taken off for metal of the owner's own."""

    owner: str
    metal: Decimal
    overhead: Decimal
    given: Decimal

    @property
    def total(self) -> Decimal:
        """What is to pay."""
        return self.metal + self.overhead - self.given


@dataclass(frozen=True)
class PourBill:
    """The bill of a pour: its price per gram with the day that the price is of, the parts, and the marks entered."""

    pour: str
    price_per_g: Decimal
    price_from: date | None
    owners: tuple[OwnerBill, ...]
    marks: tuple[str, ...]


def bill_pour(
    connection: Connection,
    pour_id: str,
    overhead: Decimal,
    seats: Mapping[str, int],
    made_by: str,
    price_per_g: Decimal | None = None,
    made_at: datetime | None = None,
) -> PourBill:
    """Charge a pour to its owners.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    pour_id : str
        A pour in the book. Pieces of the studio's own carry their share of loss and overhead, which nobody pays.
    overhead : Decimal
        Kiln, gas, investment together.
    seats : mapping of str to int
        Shares of the overhead; whoever was booked for the pour and did not come is named too, and pays no metal. Empty
        for one share to every owner of a piece.
    made_by : str
        Who charges.
    price_per_g : Decimal, optional
        Price of the alloy; the one of the day of the pour unless given.
    made_at : datetime, optional
        When; now unless given.

    Raises
    ------
    LedgerError
        No such pour, it is charged already, there is no price of that day, or nobody is there to pay.
    """
    row = connection.execute(sa.select(pour).where(pour.c.id == pour_id)).first()
    if row is None:
        raise refused("books.pour-unknown", pour_id, pour=pour_id)
    mark = _movement_mark(connection, pour_id)
    if _standing(connection, mark):
        raise refused("books.billed-already", pour_id, pour=pour_id)
    price, price_from = _price(connection, row.alloy, row.day, price_per_g)
    cast_mg, given_mg = _masses(connection, mark)
    seats = seats or dict.fromkeys(cast_mg, 1)
    if not cast_mg and not seats:
        raise refused("books.bill-nobody", pour_id, pour=pour_id)
    for owner in seats:
        know_owner(connection, owner)
    bill = pour_bill(cast_mg, max(row.loss_mg, 0), price, overhead, seats)
    nothing = (Decimal("0.00"), Decimal("0.00"))
    parts = tuple(
        OwnerBill(owner, *bill.get(owner, nothing), to_cents(Decimal(given_mg.get(owner, 0)) / 1000 * price))
        for owner in sorted({*bill, *given_mg} - {STUDIO})
    )
    by_mass = say("books.bill-reason", pour=pour_id, price=f"{price:f}")
    marks = _enter(connection, parts, made_by, (by_mass, pour_id, by_mass), mark, made_at)
    return PourBill(pour_id, price, price_from, parts, marks)


def _price(connection: Connection, alloy: str, day: date, told: Decimal | None) -> tuple[Decimal, date | None]:
    if told is not None:
        return told, None
    dated = price_on(connection, alloy, day)
    if dated is None:
        raise refused("books.bill-no-price", alloy, metal=alloy, day=day)
    return dated.per_g, dated.valid_from


def _movement_mark(connection: Connection, pour_id: str) -> str:
    """Return the mark of the movement that booked a pour and was not taken back."""
    taken_back = sa.select(movement.c.reverses_id).where(movement.c.reverses_id.is_not(None))
    mark = connection.execute(
        sa.select(movement.c.mark).where(
            movement.c.pour_id == pour_id, movement.c.reverses_id.is_(None), movement.c.id.not_in(taken_back)
        )
    ).scalar()
    if mark is None:
        raise refused("books.bill-taken-back", pour_id, pour=pour_id)
    return str(mark)


def _masses(connection: Connection, movement_mark: str) -> tuple[dict[str, int], dict[str, int]]:
    """Return what was cast for each owner, and what each gave less what each got back in lots [mg]."""
    rows = connection.execute(
        sa.select(account.c.owner_id, account.c.kind, sa.func.sum(entry.c.mass_mg).label("mass_mg"))
        .join(entry, entry.c.account_id == account.c.id)
        .join(movement, movement.c.id == entry.c.movement_id)
        .where(movement.c.mark == movement_mark, account.c.kind.in_(OWN_KINDS))
        .group_by(account.c.owner_id, account.c.kind)
    ).all()
    cast_mg = {row.owner_id: int(row.mass_mg) for row in rows if row.kind == "piece"}
    given_mg = {row.owner_id: -int(row.mass_mg) for row in rows if row.kind == "lot"}
    return cast_mg, given_mg


def _enter(
    connection: Connection,
    parts: tuple[OwnerBill, ...],
    made_by: str,
    reasons: tuple[str, str, str],
    movement_mark: str,
    made_at: datetime | None,
) -> tuple[str, ...]:
    amounts_of = (
        {one.owner: one.metal for one in parts},
        {one.owner: one.overhead for one in parts},
        {one.owner: -one.given for one in parts},
    )
    marks = []
    for kind, purse, reason, amounts in zip(_CHARGES, (METAL, OVERHEAD, METAL), reasons, amounts_of, strict=True):
        cents = {owner_purse(owner): cents_of(amount) for owner, amount in amounts.items() if amount}
        if cents:
            cents[purse] = -sum(cents.values())
            marks.append(
                post_money(connection, kind, cents, made_by, reason, made_at=made_at, movement_mark=movement_mark)
            )
    return tuple(marks)


def _standing(connection: Connection, movement_mark: str) -> tuple[str, ...]:
    """Return the marks of what a pour was charged, without what was taken back."""
    taken_back = sa.select(money.c.reverses_id).where(money.c.reverses_id.is_not(None))
    rows = connection.execute(
        sa.select(money.c.mark)
        .where(money.c.movement_mark == movement_mark, money.c.kind.in_(_CHARGES), money.c.id.not_in(taken_back))
        .order_by(money.c.id)
    )
    return tuple(rows.scalars())


def charged(connection: Connection, movement_mark: str) -> bool:
    """Return whether a movement's pour is charged to its owners."""
    return bool(_standing(connection, movement_mark))


def take_bill_back(connection: Connection, pour_id: str, made_by: str, reason: str) -> tuple[str, ...]:
    """Take all that a pour was charged back, and return the marks of what took it back.

    Raises
    ------
    LedgerError
        Nothing was charged for it, or no reason is given.
    """
    booked = connection.execute(sa.select(movement.c.mark).where(movement.c.pour_id == pour_id)).scalars()
    marks = [mark for one in booked.all() for mark in _standing(connection, one)]
    if not marks:
        raise refused("books.not-billed", pour_id, pour=pour_id)
    return tuple(reverse_money(connection, mark, made_by, reason) for mark in marks)
