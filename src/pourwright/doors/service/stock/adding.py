"""Metal coming in: brought, or bought with what was paid for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from pourwright.books import store
from pourwright.books.lots import lots, take_in
from pourwright.books.masses import g_from_mg, mg_from_g
from pourwright.books.prices import Price, prices, set_price
from pourwright.books.trade import buy, hand_out
from pourwright.core.findings import stops
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.stock import lot_json
from pourwright.doors.service.books.typed import columns, typed
from pourwright.doors.service.stock.intake import Brought, amount_as_typed, lot_as_typed


def add_stock(told: str, brought: Brought, mass: str, source: str, made_by: str) -> BookAnswer:
    """Enter a lot of metal bought or brought.

    Parameters
    ----------
    told : str
        Books, see :func:`where_books_are`.
    brought : Brought
        What it is, as typed.
    mass, source, made_by : str
        As typed, from whom, and by whom.
    """
    mass_g, found = typed(mass, "g", "--mass")
    new, more = lot_as_typed(brought)
    if new is None or stops((*found, *more)):
        return BookAnswer({}, "", (*found, *more))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            identity = take_in(connection, new, mg_from_g(round(mass_g, 3)), source, made_by, brought.note)
            (lot,) = lots(connection, [identity])
        held = show(float(g_from_mg(lot.held_mg)), "g", 3)
        return BookAnswer(
            {"lot": lot_json(lot)}, say("doors.stock-added", lot=identity, mass=held, metal=lot.metal), more
        )

    return with_books(told, work, must_exist=False)


def buy_stock(
    told: str, brought: Brought, mass: str, dealer: str, cost: str, on_credit: bool, day: date, made_by: str
) -> BookAnswer:
    """Enter metal bought, what was paid for it, and from it the price of the metal from that day on.

    Parameters
    ----------
    told : str
        Books.
    brought : Brought
        What it is, as typed; its price follows from cost and mass.
    mass, cost : str
        As typed.
    dealer, made_by : str
        From whom and by whom.
    on_credit : bool
        Whether the dealer is still to be paid; else it was paid from the till.
    day : date
        From when on the price holds.
    """
    mass_g, found = typed(mass, "g", "--mass")
    total, wrong = amount_as_typed(cost, "--cost")
    new, more = lot_as_typed(replace(brought, price="0"))
    found += wrong + more
    if new is None or stops(found):
        return BookAnswer({}, "", found)
    gross_mg = mg_from_g(round(mass_g, 3))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            done = buy(connection, new, gross_mg, dealer, total, made_by, on_credit, day, brought.note)
            (lot,) = lots(connection, [done.lot])
        document = {"lot": lot_json(lot), "cost": format(total, "f"), "per_g": format(done.per_g, "f"),
                    "mark": done.mark, "money_mark": done.money_mark}  # fmt: skip
        held = show(float(g_from_mg(lot.held_mg)), "g", 3)
        text = say("doors.stock-bought", lot=lot.id, mass=held, metal=lot.metal, cost=total, per_g=done.per_g)
        return BookAnswer(document, text, found)

    return with_books(told, work, must_exist=False)


def enter_price(told: str, metal: str, per_g: str, day: date, source: str) -> BookAnswer:
    """Enter what a gram of a metal costs from a day on."""
    amount, found = amount_as_typed(per_g, "AMOUNT", fine=True)
    if found:
        return BookAnswer({}, "", found)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            set_price(connection, Price(metal, day, amount, source))
        return BookAnswer(
            {"metal": metal, "per_g": format(amount, "f"), "from": day.isoformat()},
            say("doors.price-entered", metal=metal, per_g=amount, day=day),
        )

    return with_books(told, work, must_exist=False)


def list_prices(told: str) -> BookAnswer:
    """Return all dated prices."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = prices(connection)
        rows: list[dict[str, Any]] = [
            {"metal": one.metal, "from": one.valid_from.isoformat(), "per_g": format(one.per_g, "f"),
             "source": one.source}
            for one in found
        ]  # fmt: skip
        table = (
            columns([(one["metal"], one["from"], one["per_g"], one["source"]) for one in rows], right=(2,))
            if rows
            else ""
        )
        return BookAnswer({"prices": rows}, table or say("doors.prices-none"))

    return with_books(told, work)


def hand_out_stock(told: str, lot_id: str, mass: str, to: str, why: str, made_by: str) -> BookAnswer:
    """Hand metal of a lot out of the drawer for good."""
    mass_g, found = typed(mass, "g", "--mass")
    if found:
        return BookAnswer({}, "", found)
    gross_mg = mg_from_g(round(mass_g, 3))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            mark = hand_out(connection, lot_id, gross_mg, to, made_by, why)
        text = say("doors.stock-handed-out", lot=lot_id, mass=show(gross_mg / 1000, "g", 3), to=to)
        return BookAnswer({"lot": lot_id, "mark": mark, "mass_g": gross_mg / 1000, "to": to}, text)

    return with_books(told, work)
