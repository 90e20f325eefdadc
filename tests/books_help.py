"""Books filled for tests; our own invention."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pourwright.books.lots import NewLot, take_in
from pourwright.books.pours import Casting, Poured

FINE = NewLot("fine-silver-999", {"Ag": 0.999, "Cu": 0.001}, "Ag", 0.999, 1.0, price_per_g=Decimal("1.10"))
COPPER = NewLot("copper", {"Cu": 1.0}, "", price_per_g=Decimal("0.02"))
DAY = date(2026, 11, 28)


def stock(books, fine_mg=1_000_000, copper_mg=200_000):
    """Take fine silver and copper in, and return their ids."""
    with books.writing() as connection:
        fine = take_in(connection, FINE, fine_mg, "dealer", "Teacher")
        copper = take_in(connection, COPPER, copper_mg, "dealer", "Teacher")
    return fine, copper


def sterling(fine, copper, name="2026-11-28-F1", **more):
    """Return a pour of 120 g that closes with 1.20 g lost."""
    settings = {
        "used_mg": {fine: 111_110, copper: 8_890},
        "castings": (Casting(f"{name}-A", "A", 21_400), Casting(f"{name}-B", "B", 34_600)),
        "button_mg": 62_800,
        "scales_mg": 20,
        "expected_loss_mg": 1_200,
        **more,
    }
    return Poured(name, DAY, "sterling-925", "Ag", **settings)
