"""Buying metal: a lot comes in, what it cost is booked against it, and its price is dated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from sqlalchemy.engine import Connection

from pourwright.books.ledger import Leg, know_account, movements, post, refused
from pourwright.books.lots import NewLot, elements_of, lots, take_in
from pourwright.books.prices import Price, set_price
from pourwright.books.purses import METAL, TILL, cents_of, post_money
from pourwright.core.units import show

_FINEST = Decimal("0.0001")


@dataclass(frozen=True)
class Bought:
    """A purchase: the lot, what a gram cost, and the marks of metal and money."""

    lot: str
    per_g: Decimal
    mark: str
    money_mark: str


def buy(
    connection: Connection,
    new: NewLot,
    gross_mg: int,
    dealer: str,
    cost: Decimal,
    made_by: str,
    on_credit: bool,
    day: date,
    reason: str = "",
) -> Bought:
    """Buy metal.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    new : NewLot
        What it is.
    gross_mg : int
        What it weighs.
    dealer, made_by, reason : str
        From whom, by whom, what for.
    cost : Decimal
        Paid in all, in whole hundredths.
    on_credit : bool
        Whether it is still owed to the dealer; else it was paid from the till.
    day : date
        From when on its price per gram holds as the price of that metal, unless one is entered for that day already.

    Raises
    ------
    LedgerError
        As :func:`pourwright.books.lots.take_in`.
    """
    if gross_mg <= 0:
        raise refused("books.lot-weightless", new.metal, metal=new.metal)
    per_g = (cost * 1000 / gross_mg).quantize(_FINEST, ROUND_HALF_UP)
    identity = take_in(connection, replace(new, price_per_g=per_g), gross_mg, dealer, made_by, reason)
    mark = movements(connection, f"lot:{identity}")[-1].mark
    cents = cents_of(cost)
    payer = f"dealer:{dealer}" if on_credit else TILL
    money_mark = post_money(connection, "bought", {METAL: cents, payer: -cents}, made_by, identity, movement_mark=mark)
    set_price(connection, Price(new.metal, day, per_g, dealer), keep=True)
    return Bought(identity, per_g, mark, money_mark)


def hand_out(connection: Connection, lot_id: str, gross_mg: int, to: str, made_by: str, reason: str) -> str:
    """Hand metal of a lot out of the drawer for good, to its owner, a dealer or a refiner, and return the mark.

    Raises
    ------
    LedgerError
        There is no such lot, it holds less, or no reason is given.
    """
    if not reason.strip():
        raise refused("books.stop-unsigned", lot_id, subject=lot_id)
    found = lots(connection, [lot_id])
    if not found:
        raise refused("books.lot-unknown", lot_id, lot=lot_id)
    if not 0 < gross_mg <= found[0].held_mg:
        there, wanted = show(found[0].held_mg / 1000, "g", 2), show(gross_mg / 1000, "g", 2)
        raise refused("books.lot-too-little", lot_id, lot=lot_id, there=there, wanted=wanted)
    outside = f"outside:{to}"
    know_account(connection, "outside", outside)
    part = elements_of(connection, found[0], gross_mg)
    less = {name: -mass for name, mass in part.items()}
    return post(connection, "handed out", [Leg(f"lot:{lot_id}", less), Leg(outside, part)], made_by, reason)
