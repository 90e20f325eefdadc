"""Statements: what was brought forward, every movement, what is carried forward; to the milligram and the hundredth."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import product

import pytest
from tests.books_help import sterling, stock

from pourwright.books.billing import bill_pour, take_bill_back
from pourwright.books.ledger import Leg, movement_by, movements, post, reverse
from pourwright.books.lots import NewLot, take_in
from pourwright.books.pours import book_pour
from pourwright.books.prices import Price, set_price
from pourwright.books.purses import TILL, owner_purse, post_money, purse_cents, purses, reverse_money
from pourwright.books.statements import statement_of
from pourwright.books.tables import day_total, holding
from pourwright.books.totals import totals_off
from pourwright.core.errors import LedgerError

NOON = datetime(2026, 11, 28, 12, tzinfo=UTC)
LONG_AGO, FAR = datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)


@pytest.fixture
def poured(books):
    """Return books with one pour a day for five days, each at noon."""
    fine, copper = stock(books)
    for day in range(5):
        moment = NOON - timedelta(days=day)
        one = replace(sterling(fine, copper, name=f"{moment:%Y-%m-%d}-F1"), day=moment.date())
        with books.writing() as connection:
            book_pour(connection, one, "Teacher", made_at=moment)
    return books


def read(books, owner="A", since=LONG_AGO, until=FAR, most=None):
    with books.reading() as connection:
        return statement_of(connection, owner, since, until, most)


def test_totals_of_any_span_are_those_of_its_lines(poured):
    for hours, length_hours in product((-1, 0, 1, 12, 36, 59), (1, 24, 61)):
        since = NOON - timedelta(days=3) + timedelta(hours=hours)
        found = read(poured, "studio", since, since + timedelta(hours=length_hours))
        assert found.before_mg == read(poured, "studio", LONG_AGO, since).after_mg
        for total in found.totals:
            masses = [one.mass_mg for one in found.lines if (one.kind, one.element) == (total.kind, total.element)]
            assert total.in_mg == sum(mass for mass in masses if mass > 0)
            assert total.out_mg == -sum(mass for mass in masses if mass < 0)
        for element in {*found.before_mg, *found.after_mg}:
            moved = sum(one.mass_mg for one in found.lines if one.element == element)
            assert found.after_mg.get(element, 0) - found.before_mg.get(element, 0) == moved


def test_an_entry_dated_back_is_brought_forward(poured):
    since = NOON - timedelta(hours=1)
    before = read(poured, "studio", since).before_mg
    with poured.writing() as connection:
        legs = [Leg("lot:L-0001", {"Ag": 7}), Leg("outside:dealer", {"Ag": -7})]
        post(connection, "found", legs, "Teacher", made_at=NOON - timedelta(days=40))
    assert read(poured, "studio", since).before_mg["Ag"] == before["Ag"] + 7


def test_a_page_of_a_statement_says_that_there_is_more_and_keeps_the_totals(poured):
    whole, page = read(poured, "A"), read(poured, "A", most=2)
    assert (whole.more, page.more) == (False, True)
    assert page.lines == whole.lines[: len(page.lines)]
    assert len({one.mark for one in page.lines}) == 2
    assert page.totals == whole.totals
    assert page.after_mg == whole.after_mg


def test_an_owner_of_many_accounts_is_read_by_days_with_the_same_lines(poured, monkeypatch):
    by_accounts = read(poured, "studio")
    monkeypatch.setattr("pourwright.books.statements._MANY_ACCOUNTS", 1)
    assert read(poured, "studio") == by_accounts


def test_nobody_of_that_name_is_said(poured):
    with pytest.raises(LedgerError, match="Nobody named Zoe"):
        read(poured, "Zoe")


def test_a_pour_of_two_is_charged_to_the_hundredth_and_taken_back(poured):
    with poured.writing() as connection:
        done = bill_pour(connection, "2026-11-28-F1", Decimal("9.75"), {}, "Teacher", Decimal("1.10"))
    assert {one.owner: one.total for one in done.owners} == {"A": Decimal("28.92"), "B": Decimal("43.75")}
    with poured.writing() as connection:
        with pytest.raises(LedgerError, match="already"):
            bill_pour(connection, "2026-11-28-F1", Decimal(0), {}, "Teacher", Decimal(1))
        take_bill_back(connection, "2026-11-28-F1", "Teacher", "wrong price")
        assert purses(connection) == {}
        again = bill_pour(connection, "2026-11-28-F1", Decimal(0), {}, "Teacher", Decimal(1))
    assert sum(one.total for one in again.owners) == Decimal("57.20")


def test_the_price_is_the_one_of_the_day_of_the_pour(poured):
    with poured.writing() as connection:
        with pytest.raises(LedgerError, match="no price of sterling-925"):
            bill_pour(connection, "2026-11-28-F1", Decimal(0), {}, "Teacher")
        for day, per_g in ((1, "1.00"), (27, "1.10"), (29, "9.00")):
            set_price(connection, Price("sterling-925", date(2026, 11, day), Decimal(per_g), "our own invention"))
        done = bill_pour(connection, "2026-11-28-F1", Decimal(0), {}, "Teacher")
        early = bill_pour(connection, "2026-11-26-F1", Decimal(0), {}, "Teacher")
    assert (done.price_per_g, done.price_from) == (Decimal("1.10"), date(2026, 11, 27))
    assert early.price_per_g == Decimal("1.00")


def test_metal_of_an_owner_is_taken_off_the_bill(books):
    fine, copper = stock(books)
    hers = NewLot("scrap", {"Ag": 0.925, "Cu": 0.075}, "Ag", 0.925, 0.925, owner="A")
    with books.writing() as connection:
        scrap = take_in(connection, hers, 10_000, "A", "Teacher")
        used = {fine: 101_850, copper: 8_150, scrap: 10_000}
        more = {"castings": (sterling(fine, copper).castings[0],), "button_mg": 97_400, "used_mg": used}
        book_pour(connection, sterling(fine, copper, **more), "Teacher", owners=("A",))
        done = bill_pour(connection, "2026-11-28-F1", Decimal("4.00"), {"A": 1, "B": 1}, "Teacher", Decimal("1.10"))
    by_owner = {one.owner: one for one in done.owners}
    # 21.40 g and the loss of 1.20 g at 1.10, less 10.00 g of her own; who did not come pays the flask alone.
    assert by_owner["A"].metal == Decimal("24.86")
    assert by_owner["A"].given == Decimal("11.00")
    assert by_owner["A"].total == Decimal("15.86")
    assert by_owner["B"].total == Decimal("2.00")


def test_money_stands_in_a_statement_with_deposit_and_what_is_to_pay(poured):
    with poured.writing() as connection:
        post_money(connection, "paid in", {TILL: 5000, owner_purse("A"): -5000}, "T", "deposit", made_at=NOON)
        bill_pour(connection, "2026-11-28-F1", Decimal("9.75"), {}, "T", Decimal("1.10"), NOON + timedelta(days=1))
    found = read(poured, "A", NOON + timedelta(hours=1), FAR)
    assert found.money_before_cents == -5000
    assert [(one.kind, one.cents) for one in found.money_lines] == [("metal", 2404), ("overhead", 488)]
    assert found.money_after_cents == -5000 + 2892
    assert read(poured, "B").money_after_cents == 4375


def test_money_adds_up_is_entered_once_and_reversed_once(poured):
    with poured.writing() as connection:
        with pytest.raises(LedgerError, match="make or lose"):
            post_money(connection, "paid in", {TILL: 1}, "T")
        for _ in range(2):
            post_money(connection, "paid in", {TILL: 100, owner_purse("A"): -100}, "T", mark="01PAID")
        assert purse_cents(connection, TILL) == 100
        reverse_money(connection, "01PAID", "T", "wrong purse")
        assert purses(connection) == {}
        for mark, why in (("01PAID", "again"), ("01NONE", "odd"), ("01PAID", " ")):
            with pytest.raises(LedgerError):
                reverse_money(connection, mark, "T", why)


def test_a_pour_that_was_taken_back_cannot_be_charged(poured):
    with poured.writing() as connection:
        mark = next(one.mark for one in movements(connection) if one.pour == "2026-11-28-F1")
        reverse(connection, mark, "Teacher", "wrong flask")
        assert movement_by(connection, mark).pour == "2026-11-28-F1"
        with pytest.raises(LedgerError, match="taken back"):
            bill_pour(connection, "2026-11-28-F1", Decimal(0), {}, "Teacher", Decimal(1))


def test_a_total_that_is_not_the_sum_of_its_entries_is_named(poured):
    with poured.writing() as connection:
        assert totals_off(connection) == ()
        connection.execute(holding.update().where(holding.c.owner_id == "A").values(mass_mg=1))
        assert totals_off(connection) == ("holding",)
        connection.execute(day_total.delete().where(day_total.c.owner_id == "A"))
        assert totals_off(connection) == ("holding", "day_total")
