"""Bills, payments and statements as typed: what cannot be read is said with its option, and nothing is entered."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from openpyxl import load_workbook
from tests.books_help import sterling, stock

from pourwright.books.ledger import movements
from pourwright.books.pours import Casting, book_pour
from pourwright.books.store import open_books
from pourwright.doors.service.books.balance import take_back
from pourwright.doors.service.books.money import bill, list_purses, pay, unbill
from pourwright.doors.service.books.statement_files import WRITERS
from pourwright.doors.service.books.statements import StatementRequest, statement

POUR = "2026-11-28-F1"


@pytest.fixture
def books(tmp_path):
    opened = open_books(tmp_path / "books.sqlite")
    yield opened
    opened.close()


@pytest.fixture
def told(books):
    fine, copper = stock(books)
    castings = (Casting("P1", "=1+1", 21_400), Casting("P2", "Jon", 34_600))
    with books.writing() as connection:
        book_pour(connection, sterling(fine, copper, castings=castings), "Teacher")
    return str(books.path)


def codes(answer):
    return [one.code for one in answer.findings]


def test_an_amount_or_a_seat_that_is_none_is_said(told):
    for text in ("9.755", "-1", "1,50", "NaN", "inf", "", "ten"):
        assert codes(bill(told, POUR, text, (), "1.10", "T")) == ["doors.money-amount"]
        assert codes(pay(told, "Jon", text, False, "T")) == ["doors.money-amount"]
    for text in (":2", "Jon:0", "Jon:x", "Jon:-1"):
        assert codes(bill(told, POUR, "1", [text], "1.10", "T")) == ["doors.bill-seat"]
    assert list_purses(told).document["purses"] == {}


def test_seats_are_shares_of_the_overhead(told):
    answer = bill(told, POUR, "9.00", ["Jon:2", "Zoe"], "1.10", "T")
    assert {one["owner"]: one["overhead"] for one in answer.document["owners"]} == {
        "=1+1": "0.00", "Jon": "6.00", "Zoe": "3.00",
    }  # fmt: skip
    assert answer.document["total"] == "71.92"


def test_a_bill_is_taken_back_and_a_payment_too(told):
    bill(told, POUR, "9.75", (), "1.10", "T")
    assert unbill(told, POUR, "T", "wrong price").findings == ()
    assert codes(unbill(told, POUR, "T", "again")) == ["books.not-billed"]
    paid = pay(told, "Jon", "5.00", False, "T")
    assert paid.document["owes"] == "-5.00"
    take_back(told, paid.document["mark"], "T", "was Zoe")
    assert list_purses(told).document == {"purses": {}, "sum": "0.00"}
    assert pay(told, "Jon", "5.00", True, "T").document["owes"] == "5.00"


def test_taking_a_charged_pour_back_says_that_it_is_charged(told, books):
    bill(told, POUR, "9.75", (), "1.10", "T")
    with books.reading() as connection:
        mark = next(one.mark for one in movements(connection) if one.pour == POUR)
    assert codes(take_back(told, mark, "T", "wrong flask")) == ["doors.still-charged"]


def test_a_statement_asked_for_wrongly_writes_nothing(told, tmp_path):
    odd = tmp_path / "a.doc"
    wrong = StatementRequest("Jon", date(2026, 12, 1), date(2026, 11, 1), files=(odd,))
    assert codes(statement(told, wrong)) == ["doors.statement-days", "doors.statement-form"]
    assert codes(statement(told, StatementRequest("Jon", zone="Mars/Olympus"))) == ["doors.statement-zone"]
    assert codes(statement(told, StatementRequest("Nobody"))) == ["books.owner-unknown"]
    (tmp_path / "file").write_text("")
    assert codes(statement(told, StatementRequest("Jon", files=(tmp_path / "file" / "a.csv",)))) == [
        "doors.statement-unwritten"
    ]
    assert statement(told, StatementRequest("", date(2000, 1, 1), date(2000, 1, 2))).document == {"statements": []}


def test_the_same_books_give_the_same_bytes(told, tmp_path):
    made = []
    for name in ("one", "two"):
        paths = tuple(tmp_path / f"{name}{ending}" for ending in sorted(WRITERS))
        answer = statement(told, StatementRequest("", files=paths))
        assert answer.document["written"] == [str(path) for path in paths]
        made.append([path.read_bytes() for path in paths])
    assert made[0] == made[1]


def test_a_name_like_a_formula_stays_a_name_in_a_spreadsheet(told, tmp_path):
    path = tmp_path / "all.xlsx"
    statement(told, StatementRequest("", files=(path,)))
    sheets = load_workbook(path)
    assert sheets.sheetnames == ["=1+1", "Jon", "studio"]
    cells = [cell for sheet in sheets for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} == {"s", "n", "d"}
    assert pytest.approx(sum(cell.value for cell in sheets["=1+1"]["F"][6:8])) == 21.4


def test_days_begin_by_the_clock_of_the_studio(told, books):
    folder = Path(told).parent
    (folder / "studio.toml").write_text('zone = "Asia/Tokyo"\n')
    answer = statement(told, StatementRequest("Jon", date(2026, 11, 28), date(2026, 11, 28)))
    assert answer.document["since"] == "2026-11-28T00:00:00+09:00"
    assert answer.document["taxes"] == "not computed"
