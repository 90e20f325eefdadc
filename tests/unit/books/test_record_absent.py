"""Somebody does not come: the flask waits, the pours move up, no metal moves, and the place in the kiln is paid."""

from __future__ import annotations

from decimal import Decimal

import pytest
from tests.books_help import sterling, stock
from tests.records_help import LOAD, moved, taken_in

from pourwright.books.ledger import movements
from pourwright.books.money import pour_bill
from pourwright.books.pours import book_pour
from pourwright.books.records.absent import absences, mark_absent, pours_left
from pourwright.books.records.pieces import move, whereabouts
from pourwright.books.totals import owner_mg
from pourwright.core.errors import LedgerError

LOADS = ("2026-12-05-F1", "2026-12-05-F2", "2026-12-05-F3")


def absent(books, load, *owners, **more):
    with books.writing() as connection:
        return mark_absent(connection, load, owners, "Teacher", "did not come", **more)


def test_a_no_show_draws_no_metal_pays_the_flask_and_its_flask_goes_on_to_cycle_2(books, tmp_path):
    fine, _ = stock(books)
    (piece,) = taken_in(books, tmp_path, "P01", owner="Mira")
    moved(books, piece, "sprued", "invested", "in-kiln", load=LOADS[1])
    with books.reading() as connection:
        metal, booked = owner_mg(connection), len(movements(connection))
    done = absent(books, LOADS[1], "Mira")
    assert (done.pieces, done.owners, done.next_cycle_count) == ((piece,), ("Mira",), 2)
    with books.reading() as connection:
        assert owner_mg(connection) == metal
        assert metal["studio"]["Ag"] == 999_000
        assert len(movements(connection)) == booked
        assert absences(connection) == (LOADS[1],)
        assert pours_left(connection, LOADS) == ((1, LOADS[0]), (2, LOADS[2]))
        (now,) = whereabouts(connection)
    assert (now.state, now.load) == ("held", LOADS[1])
    # Three seats in the kiln at 9.75; who did not come has cast nothing.
    bill = pour_bill({"A": 21_400, "B": 34_600}, 1_200, Decimal("1.10"), Decimal("9.75"), {"A": 1, "B": 1, "Mira": 1})
    assert bill["Mira"] == (Decimal("0.00"), Decimal("3.25"))
    assert sum(metal + seat for metal, seat in bill.values()) == Decimal("62.92") + Decimal("9.75")
    assert fine == "L-0001"


def test_next_week_the_flask_goes_in_again_and_is_cast(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    moved(books, piece, "sprued", "invested", "in-kiln")
    absent(books, LOAD, "Mira")
    with books.writing() as connection:
        for state in ("in-kiln", "cast"):
            move(connection, piece, state, "T")
        assert whereabouts(connection)[0].state == "cast"


def test_the_same_mark_is_absent_once(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    moved(books, piece, "sprued", "invested", "in-kiln")
    first, again = (absent(books, LOAD, "Mira", mark="01PHONE") for _ in range(2))
    assert first == again
    with books.reading() as connection:
        assert absences(connection) == (LOAD,)


def test_a_flask_with_others_in_it_is_poured_whole_or_not_at_all(books, tmp_path):
    pieces = [*taken_in(books, tmp_path, "P01"), *taken_in(books, tmp_path, "P02", owner="Jon")]
    for one in pieces:
        moved(books, one, "sprued", "invested", "in-kiln")
    with pytest.raises(LedgerError, match="Pieces of Jon"):
        absent(books, LOAD, "Mira")
    assert absent(books, LOAD, "Mira", "Jon").owners == ("Jon", "Mira")


def test_what_is_not_invested_is_cast_or_is_poured_cannot_wait(books, tmp_path):
    with pytest.raises(LedgerError, match="No piece"):
        absent(books, LOAD, "Mira")
    (piece,) = taken_in(books, tmp_path, "P01")
    moved(books, piece, "sprued")
    with pytest.raises(LedgerError, match="cannot wait"):
        absent(books, LOAD, "Mira")
    moved(books, piece, "invested", "in-kiln", start_h=3)
    fine, copper = stock(books)
    with books.writing() as connection:
        book_pour(connection, sterling(fine, copper, name=LOAD), "T")
    with pytest.raises(LedgerError, match="poured and booked"):
        absent(books, LOAD, "Mira")
