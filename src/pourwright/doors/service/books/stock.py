"""Lots in the drawer at the doors."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pourwright.books import store
from pourwright.books.lots import Lot, lots
from pourwright.books.masses import UNKNOWN
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams


def list_stock(told: str, empty_too: bool = False) -> BookAnswer:
    """Return all lots that hold metal."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = lots(connection, empty_too=empty_too)
        return BookAnswer({"lots": [lot_json(one) for one in found]}, stock_text(found))

    return with_books(told, work)


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
    text = f"{low:.1f}" if low == high else f"{low:.1f}\u2013{high:.1f}"
    return text if one.certain else f"{text} ?"
