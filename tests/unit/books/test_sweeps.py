"""A refiner's settlement: metal leaves loss and spill, shares add up to the milligram and to the hundredth."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from tests.books_help import sterling, stock

from pourwright.books.ledger import balances_off, held_mg, reverse, sums_mg
from pourwright.books.lots import lots
from pourwright.books.pours import LOSS, SPILL, book_pour
from pourwright.books.purses import purses
from pourwright.books.sweeps import Return, cast_between, send_sweep, settle, sweeps, whole_shares
from pourwright.books.totals import owner_mg
from pourwright.core.errors import LedgerError

FIRST, LAST = date(2026, 11, 1), date(2026, 11, 30)
NIGHT = datetime(2026, 11, 28, 20, tzinfo=UTC)


@pytest.fixture
def swept(books):
    """Two pours of A and B with losses and a spill, and the sweepings of the month sent away."""
    fine, copper = stock(books)
    with books.writing() as connection:
        for number in (1, 2):
            poured = sterling(fine, copper, f"2026-11-28-F{number}", button_mg=62_000, spill_mg=800)
            book_pour(connection, poured, "T", made_at=NIGHT)
        send_sweep(connection, "refiner", 900_000, FIRST, LAST, "T")
    return books


def settled(books, came):
    with books.writing() as connection:
        done = settle(connection, "S-0001", came, "T")
    with books.reading() as connection:
        assert set(sums_mg(connection).values()) == {0}
        assert balances_off(connection) == ()
        assert sum(purses(connection).values()) == 0
    return done


def test_money_is_credited_by_cast_mass_to_the_hundredth(swept):
    done = settled(swept, Return({"Ag": 2_000}, Decimal("100.01")))
    assert done.cast_mg == {"A": 42_800, "B": 69_200}
    assert done.money == {"A": Decimal("38.22"), "B": Decimal("61.79")}
    with swept.reading() as connection:
        assert purses(connection) == {"till": 10_001, "owner:A": -3_822, "owner:B": -6_179}
        lost = held_mg(connection, LOSS)["Ag"] + held_mg(connection, SPILL).get("Ag", 0)
        assert held_mg(connection, "outside:refiner") == {"Ag": 2_000}
    assert lost == pytest.approx(4_000 * 0.925 - 2_000, abs=4)


def test_metal_that_comes_back_becomes_a_lot_of_each_owner(swept):
    with swept.reading() as connection:
        before = owner_mg(connection)
    done = settled(swept, Return({"Ag": 2_001}, Decimal("-5.00"), in_kind=True))
    assert sum(done.metal_mg.values()) == 2_001
    with swept.reading() as connection:
        after = owner_mg(connection)
        assert {one.owner: one.held_mg for one in lots(connection, sorted(done.lots.values()))} == done.metal_mg
        assert purses(connection) == {"till": -500, "owner:A": 191, "owner:B": 309}
        assert {one.metal for one in lots(connection, sorted(done.lots.values()))} == {"fine-silver-999"}
    for owner in "AB":
        assert after[owner]["Ag"] - before[owner]["Ag"] == done.metal_mg[owner]


def test_more_than_the_book_lost_comes_from_outside(swept):
    settled(swept, Return({"Ag": 9_000}, Decimal("1.00")))
    with swept.reading() as connection:
        assert held_mg(connection, LOSS).get("Ag", 0) == 0
        assert held_mg(connection, SPILL).get("Ag", 0) == 0


def test_a_sweep_is_settled_once_and_only_where_somebody_cast(swept):
    settled(swept, Return({"Ag": 1}, Decimal(0)))
    with swept.reading() as connection:
        assert sweeps(connection)[0].settled
    for work, expected in (
        (lambda c: settle(c, "S-0001", Return({"Ag": 1}), "T"), "books.sweep-settled"),
        (lambda c: settle(c, "S-9999", Return({"Ag": 1}), "T"), "books.sweep-unknown"),
        (lambda c: send_sweep(c, "refiner", 0, FIRST, LAST, "T"), "books.sweep-wrong"),
        (lambda c: send_sweep(c, "refiner", 1, LAST, FIRST, "T"), "books.sweep-wrong"),
        (lambda c: settle(c, send_sweep(c, "r", 1, FIRST, LAST, "T"), Return({}), "T"), "books.sweep-wrong"),
        (
            lambda c: settle(c, send_sweep(c, "r", 1, date(2020, 1, 1), FIRST, "T"), Return({"Ag": 1}), "T"),
            "books.sweep-nobody",
        ),
    ):
        with pytest.raises(LedgerError) as refusal, swept.writing() as connection:
            work(connection)
        assert refusal.value.findings[0].code == expected


def test_a_pour_that_was_taken_back_earns_no_share(swept):
    from pourwright.books.ledger import movements

    with swept.writing() as connection:
        mark = next(one.mark for one in movements(connection) if one.pour == "2026-11-28-F2")
        reverse(connection, mark, "T", "wrong flask")
        assert cast_between(connection, FIRST, LAST) == {"A": 21_400, "B": 34_600}


def test_whole_shares_add_up_with_ties_by_name():
    assert whole_shares(10, {"A": 1, "B": 1, "C": 1}) == {"A": 4, "B": 3, "C": 3}
    assert whole_shares(2, {"B": 1, "A": 1, "C": 1}) == {"A": 1, "B": 1, "C": 0}
