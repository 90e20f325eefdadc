"""The opening balance: the drawer of ``studio.toml`` taken over once, and never again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import STUDIO, refused
from pourwright.books.lots import NewLot, take_in
from pourwright.books.masses import mg_from_g
from pourwright.books.supplies import Supply, enter_supply, move_supply, supplies
from pourwright.books.tables import account, entry, lot, movement
from pourwright.core.text import say
from pourwright.matter.alloys import stock_metal
from pourwright.prepare.charge.lots import SCRAP
from pourwright.studio.profile import StockLot, Studio

OPENING = "opening"


@dataclass(frozen=True)
class Opened:
    """When the drawer was taken over and by whom; and whether any lot was ever entered."""

    by: str
    on: str
    any_lot: bool


def opened(connection: Connection) -> Opened:
    """Return whether and when the drawer of ``studio.toml`` was taken over; both texts are empty if it was not."""
    # By way of the account, whose movements are few: a search for the mark would read every movement of a year.
    first = connection.execute(
        sa.select(movement.c.made_by, movement.c.made_at)
        .join(entry, entry.c.movement_id == movement.c.id)
        .join(account, account.c.id == entry.c.account_id)
        .where(account.c.name == f"outside:{OPENING}", movement.c.mark.like(f"{OPENING}:%"))
        .order_by(movement.c.id)
        .limit(1)
    ).first()
    any_lot = connection.execute(sa.select(lot.c.id).limit(1)).first() is not None
    return Opened(first.made_by, f"{first.made_at:%Y-%m-%d}", any_lot) if first else Opened("", "", any_lot)


def open_stock(connection: Connection, drawer: Sequence[StockLot], made_by: str) -> tuple[str, ...]:
    """Take the lots of a profile into the books under their own ids, and return these.

    Parameters
    ----------
    connection : Connection
        Inside a transaction; all lots are taken over, or none.
    drawer : sequence of StockLot
        Lots of ``studio.toml``; empty ones are left out.
    made_by : str
        Who says that the drawer is as the file has it.

    Raises
    ------
    LedgerError
        It was taken over before, a lot of one of these ids is in the books already, or the drawer is empty.
    """
    before = opened(connection)
    if before.by:
        raise refused("books.opened-already", OPENING, by=before.by, day=before.on)
    full = [one for one in drawer if mg_from_g(round(one.mass_g.value, 3)) > 0]
    if not full:
        raise refused("books.opening-empty", OPENING)
    return tuple(
        take_in(
            connection,
            _new_lot(one),
            mg_from_g(round(one.mass_g.value, 3)),
            OPENING,
            made_by,
            say("books.opening-reason"),
            f"{OPENING}:{one.id}",
            one.id,
        )
        for one in full
    )


def _new_lot(one: StockLot) -> NewLot:
    fineness = one.fineness_permille
    shares, noble = _contents(one)
    return NewLot(
        metal=one.material,
        share_frac=shares,
        noble=noble,
        noble_low_frac=fineness.low / 1000,
        noble_high_frac=fineness.high / 1000,
        owner=one.owner or STUDIO,
        provenance=say("books.opening-reason"),
        is_new=one.material != SCRAP,
        melts_count=1 if one.material == SCRAP else 0,
        solder=one.solder,
        certain=one.certain,
        released_by=one.released_by,
    )


def _contents(one: StockLot) -> tuple[dict[str, float], str]:
    """Return shares at the fineness of the file; what is beside the noble metal of scrap counts as copper."""
    best = one.fineness_permille.value / 1000
    if one.material == SCRAP:
        return {name: share for name, share in ((one.element, best), ("Cu", 1.0 - best)) if share > 0}, one.element
    metal = stock_metal(one.material)
    if not metal.element:
        return dict(metal.composition_frac), ""
    rest = {name: share for name, share in metal.composition_frac.items() if name != metal.element}
    whole = sum(rest.values())
    others = {name: (1.0 - best) * share / whole for name, share in rest.items()} if whole else {}
    shares = {metal.element: best, **others}
    return {name: share for name, share in shares.items() if share > 0}, metal.element


def open_shelf(connection: Connection, studio: Studio, made_by: str) -> tuple[str, ...]:
    """Take consumables and powders of a profile over as supplies, with what a melt takes, and return their ids.

    Supplies that the books know already are left as they are.
    """
    known = {one.id for one in supplies(connection)}
    shelf = [(one.id, one.title, one.per_melt_g.value, one.stock_g.value) for one in studio.consumables]
    shelf += [(one.id, one.id, 0.0, one.stock_g.value) for one in studio.powders]
    fresh = [one for one in shelf if one[0] not in known]
    for name, title, per_pour_g, stock_g in fresh:
        enter_supply(connection, Supply(name, title, "g", 0, round(1000 * per_pour_g), 0, 0))
        amount = round(1000 * stock_g)
        move_supply(connection, name, OPENING, amount, made_by, say("books.opening-reason"), "", f"{OPENING}:{name}")
    return tuple(one[0] for one in fresh)
