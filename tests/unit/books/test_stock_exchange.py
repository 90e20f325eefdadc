"""Stops, assays, money, sweeps and supplies go out to plain files and back as the same bytes, and the books go on."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import sqlalchemy as sa
from tests.books_help import sterling, stock

from pourwright.books.assays import Result, assays, enter_result, send
from pourwright.books.exchange import export_books, import_books
from pourwright.books.ledger import balances_off, sums_mg
from pourwright.books.lots import NewLot, lots
from pourwright.books.pours import book_pour
from pourwright.books.purses import purses
from pourwright.books.stock_tables import KEPT_TABLES, supply
from pourwright.books.stops import clear, odd_melt, standing
from pourwright.books.store import open_books
from pourwright.books.supplies import Supply, enter_supply, move_supply, supplies_off
from pourwright.books.sweeps import Return, send_sweep, settle
from pourwright.books.trade import buy


def fill(books):
    fine, copper = stock(books)
    night = datetime(2026, 11, 28, 19, tzinfo=UTC)
    with books.writing() as connection:
        enter_supply(connection, Supply("flux", "Flux", "g", 0, 600, 1_000, 5_000))
        move_supply(connection, "flux", "bought", 5_000, "T")
        done = book_pour(connection, sterling(fine, copper, crucible="CR-1"), "T", made_at=night)
        buy(connection, NewLot("copper", {"Cu": 1.0}), 1_000, "mill", Decimal("1.00"), "T", True, date(2026, 1, 1))
        number = send(connection, f"lot:{done.button_lot}", "office", "T", 500)
        result = Result("Ag", 0.925, 0.927, date(2026, 12, 1), {}, "potentiometry", "", "r.pdf", "0" * 64)
        enter_result(connection, number, result, "T")
        sweep = send_sweep(connection, "refiner", 90_000, date(2026, 11, 1), date(2026, 11, 30), "T")
        settle(connection, sweep, Return({"Ag": 500}, Decimal("10.01"), in_kind=True), "T")
        odd_melt(connection, "2026-11-28-F1", "black slag", "T")
        clear(connection, "crucible:CR-1", "new glaze", "T")


def test_the_drawer_with_all_that_belongs_to_it_goes_out_and_back(books, tmp_path):
    fill(books)
    with books.reading() as connection:
        for table in (*KEPT_TABLES, supply):
            assert connection.execute(sa.select(sa.func.count()).select_from(table)).scalar(), table.name
        first = export_books(connection, tmp_path / "one")
    other = open_books(tmp_path / "other.sqlite")
    with other.writing() as connection:
        import_books(connection, tmp_path / "one")
    with other.reading() as connection:
        second = export_books(connection, tmp_path / "two")
    assert [one.read_bytes() for one in first] == [one.read_bytes() for one in second]
    with books.reading() as before, other.reading() as after:
        assert lots(before, empty_too=True) == lots(after, empty_too=True)
        assert assays(before) == assays(after)
        assert standing(before) == standing(after)
        assert purses(before) == purses(after)
        assert (supplies_off(after), balances_off(after), set(sums_mg(after).values())) == ((), (), {0})
    with other.writing() as connection:
        assert send(connection, "lot:L-0001", "office", "T") == "A-0002"
        assert odd_melt(connection, "2026-11-28-F1", "again", "T")[0] == ("crucible:CR-1",)
    other.close()
