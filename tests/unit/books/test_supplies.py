"""Powder, flux and the rest: used by pours, counted, ordered in time."""

from __future__ import annotations

import pytest
from tests.books_help import sterling, stock

from pourwright.books.pours import book_pour
from pourwright.books.supplies import (
    Supply,
    count_supply,
    enter_supply,
    give_back,
    move_supply,
    reorder_list,
    supplies,
    supplies_off,
)
from pourwright.core.errors import LedgerError

POWDER = Supply("powder", "Investment powder", "g", 0, 560_000, 2_000_000, 8_000_000)
FLUX = Supply("flux", "Flux", "g", 0, 600, 0, 0)
CRUCIBLES = Supply("crucibles", "Crucibles", "count", 0, 0, 2_000, 5_000)


@pytest.fixture
def shelf(books):
    with books.writing() as connection:
        for one, amount in ((POWDER, 3_000_000), (FLUX, 1_000), (CRUCIBLES, 2_000)):
            enter_supply(connection, one)
            move_supply(connection, one.id, "bought", amount, "T")
    return books


def held(books):
    with books.reading() as connection:
        assert supplies_off(connection) == ()
        return {one.id: one.held for one in supplies(connection)}


def test_a_pour_takes_its_usual_amounts_or_what_was_weighed(shelf):
    fine, copper = stock(shelf)
    with shelf.writing() as connection:
        book_pour(connection, sterling(fine, copper), "T")
    assert held(shelf) == {"powder": 2_440_000, "flux": 400, "crucibles": 2_000}
    with shelf.writing() as connection:
        book_pour(connection, sterling(fine, copper, "F2", supplies={"powder": 786_100, "crucibles": 1_000}), "T")
    assert held(shelf) == {"powder": 1_653_900, "flux": -200, "crucibles": 1_000}


def test_the_list_says_what_to_order_and_how_much(shelf):
    with shelf.reading() as connection:
        first = reorder_list(supplies(connection))
    assert [(one.id, one.to_order) for one in first] == [("crucibles", 3_000)]
    with shelf.writing() as connection:
        move_supply(connection, "powder", "spilt", -1_000_000, "T")
        move_supply(connection, "flux", "used", -1_500, "T")
        found = {one.id: one.to_order for one in reorder_list(supplies(connection))}
    # Less than nothing is a book that is wrong: it stands on the list though nobody set a mark.
    assert found == {"powder": 6_000_000, "crucibles": 3_000, "flux": 500}


def test_a_count_sets_the_book_right_with_its_reason(shelf):
    with shelf.writing() as connection:
        assert count_supply(connection, "powder", 2_900_000, "T", "counted at the year's end") == -100_000
    assert held(shelf)["powder"] == 2_900_000
    with pytest.raises(LedgerError), shelf.writing() as connection:
        count_supply(connection, "powder", 1, "T", " ")


def test_new_marks_leave_what_is_there(shelf):
    with shelf.writing() as connection:
        enter_supply(connection, Supply("powder", "Powder, coarse", "g", 0, 500_000, 1, 2))
        kept = next(one for one in supplies(connection) if one.id == "powder")
    assert (kept.title, kept.held, kept.per_pour) == ("Powder, coarse", 3_000_000, 500_000)


@pytest.mark.parametrize(
    ("work", "expected"),
    [
        (lambda c: enter_supply(c, Supply("gas", "Gas", "bar", 0, 0, 0, 0)), "books.supply-unit"),
        (lambda c: enter_supply(c, Supply("powder", "Powder", "ml", 0, 0, 0, 0)), "books.supply-unit"),
        (lambda c: enter_supply(c, Supply("wax", "Wax", "g", 0, -1, 0, 0)), "books.supply-below"),
        (lambda c: move_supply(c, "wax", "bought", 1, "T"), "books.supply-unknown"),
        (lambda c: count_supply(c, "wax", 1, "T", "why"), "books.supply-unknown"),
        (lambda c: count_supply(c, "powder", -1, "T", "why"), "books.supply-below"),
    ],
)
def test_what_cannot_be_is_refused(shelf, work, expected):
    with pytest.raises(LedgerError) as refusal, shelf.writing() as connection:
        work(connection)
    assert refusal.value.findings[0].code == expected


def test_the_same_mark_moves_once(shelf):
    with shelf.writing() as connection:
        for _ in range(2):
            move_supply(connection, "powder", "bought", 5_000, "T", mark="01SAME")
    assert held(shelf)["powder"] == 3_005_000


def test_a_pour_that_is_taken_back_puts_its_supplies_back_once(shelf):
    fine, copper = stock(shelf)
    before = held(shelf)
    with shelf.writing() as connection:
        mark = book_pour(connection, sterling(fine, copper), "T").mark
    assert held(shelf) != before
    for _ in range(2):
        with shelf.writing() as connection:
            give_back(connection, mark, "T", "wrong flask")
        assert held(shelf) == before
    with shelf.writing() as connection:
        give_back(connection, "no such mark", "T", "why")
    assert held(shelf) == before
