"""Lots in the drawer at the doors."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from pourwright.books import store
from pourwright.books.ledger import STUDIO
from pourwright.books.lots import Lot, NewLot, lots, take_in
from pourwright.books.masses import UNKNOWN, g_from_mg, mg_from_g
from pourwright.core.errors import DataError
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams, typed
from pourwright.matter.alloys import stock_metal


def list_stock(told: str, empty_too: bool = False) -> BookAnswer:
    """Return all lots that hold metal."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = lots(connection, empty_too=empty_too)
        return BookAnswer({"lots": [lot_json(one) for one in found]}, stock_text(found))

    return with_books(told, work)


def add_stock(
    told: str,
    metal: str,
    mass: str,
    source: str,
    made_by: str,
    fineness: str = "",
    owner: str = "",
    price: str = "0",
    note: str = "",
    whole: bool = False,
) -> BookAnswer:
    """Enter a lot of metal bought or brought.

    Parameters
    ----------
    told : str
        Books, see :func:`where_books_are`.
    metal : str
        A metal or alloy of the tables, or ``scrap``.
    mass, fineness, price : str
        As typed; scrap without a fineness is booked as not assayed.
    source, made_by, owner, note : str
        From whom, by whom, whose (the studio's if empty), and what should be remembered.
    whole : bool
        Whether it is one lump to be used as it is.
    """
    mass_g, found = typed(mass, "g", "--mass")
    new, more = _new_lot(metal, fineness, owner, price, note, whole)
    if new is None or stops((*found, *more)):
        return BookAnswer({}, "", (*found, *more))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            identity = take_in(connection, new, mg_from_g(round(mass_g, 3)), source, made_by, note)
            (lot,) = lots(connection, [identity])
        text = say("doors.stock-added", lot=identity, mass=show(float(g_from_mg(lot.held_mg)), "g", 3), metal=metal)
        return BookAnswer({"lot": lot_json(lot)}, text, more)

    return with_books(told, work, must_exist=False)


def _new_lot(
    metal: str, fineness: str, owner: str, price: str, note: str, whole: bool
) -> tuple[NewLot | None, tuple[Finding, ...]]:
    ends, found = _fineness_ends(fineness)
    try:
        per_g = Decimal(price)
        if not per_g.is_finite() or per_g < 0:
            raise InvalidOperation
    except InvalidOperation:
        return None, (*found, Finding("doors.stock-price", Level.STOP, "--price", {"text": price}))
    kept = {"owner": owner or STUDIO, "provenance": note, "price_per_g": per_g, "whole": whole}
    if metal == "scrap":
        if not ends:
            return NewLot("scrap", {}, is_new=False, **kept), (  # type: ignore[arg-type]
                *found,
                Finding("doors.stock-not-assayed", Level.NOTE, "--fineness"),
            )
        best = sum(ends) / 2
        shares = {"Ag": best, "Cu": 1.0 - best}
        return NewLot("scrap", shares, "Ag", ends[0], ends[-1], is_new=False, **kept), found  # type: ignore[arg-type]
    try:
        known = stock_metal(metal)
    except DataError as unknown:
        return None, (*found, Finding("doors.charge-alloy", Level.STOP, "--metal", {"reason": str(unknown)}))
    if not known.element:
        return NewLot(metal, known.composition_frac, **kept), found  # type: ignore[arg-type]
    held = known.fineness_permille
    low, high = (ends[0], ends[-1]) if ends else (held.low / 1000, held.high / 1000)
    best = (low + high) / 2 if ends else held.best / 1000
    rest = sum(share for name, share in known.composition_frac.items() if name != known.element)
    shares = {known.element: best} | {
        name: (1.0 - best) * share / rest for name, share in known.composition_frac.items() if name != known.element
    }
    return NewLot(metal, shares, known.element, low, high, **kept), found  # type: ignore[arg-type]


def _fineness_ends(text: str) -> tuple[list[float], tuple[Finding, ...]]:
    if not text:
        return [], ()
    ends: list[float] = []
    found: list[Finding] = []
    for one in text.split(".."):
        value, wrong = typed(
            one if one.strip()[-1:].isalpha() or "%" in one else f"{one} permille", "permille", "--fineness"
        )
        ends.append(value / 1000)
        found += wrong
    if not found and (len(ends) > 2 or ends != sorted(ends) or not 0 < ends[-1] <= 1):
        found.append(Finding("doors.stock-fineness", Level.STOP, "--fineness", {"text": text}))
    return ends, tuple(found)


def lot_json(one: Lot) -> dict[str, Any]:
    """Return a lot as plain JSON values."""
    return {
        "lot": one.id,
        "metal": one.metal,
        "owner": one.owner,
        "held_g": grams(one.held_mg),
        "share_frac": {name: share / 1e6 for name, share in one.share_ppm.items()},
        "fineness_low_permille": one.noble_low_ppm / 1000,
        "fineness_high_permille": one.noble_high_ppm / 1000,
        "melts_count": one.melts_count,
        "price_per_g": format(one.price_per_g, "f"),
        "certain": one.certain,
        "whole": one.whole,
        "solder": one.solder,
        "released_by": one.released_by,
        "quarantine": one.quarantine,
        "provenance": one.provenance,
    }


def stock_text(found: Sequence[Lot]) -> str:
    """Return lots as columns."""
    if not found:
        return say("doors.stock-none")
    rows = [tuple(say(f"doors.stock-head.{name}") for name in ("lot", "metal", "held", "fineness", "owner", "note"))]
    rows += [
        (
            one.id,
            one.metal,
            show(grams(one.held_mg), "g", 2),
            _fineness_text(one),
            one.owner,
            one.quarantine or one.provenance,
        )
        for one in found
    ]
    return columns(rows, right=(2, 3))


def _fineness_text(one: Lot) -> str:
    if UNKNOWN in one.share_ppm:
        return say("doors.stock-unknown")
    if not one.noble:
        return ""
    low, high = one.noble_low_ppm / 1000, one.noble_high_ppm / 1000
    return f"{low:.1f}" if low == high else f"{low:.1f}\u2013{high:.1f}"
