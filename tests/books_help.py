"""Books filled for tests; our own invention."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date
from decimal import Decimal
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from pourwright.books import store
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


# Books as the first migration left them, with a lot, a pour and what came out of it.
_FIRST_FORM = """
insert into owner values ('studio', 'studio'), ('A', 'A');
insert into account values (1, 'lot', 'lot:L-0001', 'studio'), (2, 'outside', 'outside:dealer', 'studio'),
  (3, 'piece', 'piece:P1', 'A'), (4, 'lot', 'lot:L-0002', 'studio'), (5, 'loss', 'loss:melt', 'studio');
insert into lot values
  ('L-0001', 1, 'fine-silver-999', 'Ag', 999000, 1000000, 'dealer', 1, 0, 0, '1.10', ''),
  ('L-0002', 4, 'button', 'Ag', 900000, 930000, 'D-F1', 0, 1, 1, '1.00', '');
insert into lot_element values ('L-0001', 'Ag', 999000), ('L-0001', 'Cu', 1000), ('L-0002', 'Ag', 925000),
  ('L-0002', 'Cu', 75000);
insert into movement values (1, 'M1', '2026-03-14 18:00:00', 'T', 'taken in', '', null, null),
  (2, 'M2', '2026-03-14 19:00:00', 'T', 'poured', '', null, '2026-03-14-F1');
insert into entry values (1, 1, 'Ag', 99900), (1, 1, 'Cu', 100), (1, 2, 'Ag', -99900), (1, 2, 'Cu', -100),
  (2, 1, 'Ag', -49950), (2, 1, 'Cu', -50), (2, 3, 'Ag', 29970), (2, 3, 'Cu', 30), (2, 4, 'Ag', 19480),
  (2, 4, 'Cu', 20), (2, 5, 'Ag', 500);
insert into pour values ('2026-03-14-F1', '2026-03-14', 'FL-01', 'sterling-925', 'poured', 50000, 500, '');
"""


def first_form(path: Path) -> None:
    """Make SQLite books in the form of the first migration, with data in them."""
    engine = sa.create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(Path(store.__file__).with_name("migrations")))
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
    engine.dispose()
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.executescript(_FIRST_FORM)
