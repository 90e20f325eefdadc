"""The sums that people ask of a book after the pour: balance in the room, shares, silver, their own records."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from tests.books_help import COPPER, sterling

from pourwright.books.billing import bill_pour
from pourwright.books.exchange import export_books, import_books
from pourwright.books.ledger import held_mg, sums_mg
from pourwright.books.lots import NewLot, take_in
from pourwright.books.pours import LOSS, book_pour
from pourwright.books.purses import TILL, owner_purse, post_money, purses
from pourwright.books.statements import owners, statement_of
from pourwright.books.store import open_books
from pourwright.books.totals import owner_mg
from pourwright.doors.service.books.pours import book_a_pour

POUR = "2026-11-28-F1"
_ALWAYS = (datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC))
PURE = NewLot("fine-silver-9999", {"Ag": 1.0}, "Ag", 0.9999, 1.0)


@pytest.fixture
def drawer(books):
    """Return books with 300 g of silver that is all silver, and 50 g of copper."""
    with books.writing() as connection:
        take_in(connection, PURE, 300_000, "dealer", "Teacher")
        take_in(connection, COPPER, 50_000, "dealer", "Teacher")
    return books


def charged(**more):
    """Return the pour of 111.00 g of silver and 9.00 g of copper."""
    return sterling("L-0001", "L-0002", used_mg={"L-0001": 111_000, "L-0002": 9_000}, **more)


def test_the_balance_closes_in_the_room(drawer):
    uses, castings = ["L-0001:111 g", "L-0002:9 g"], ["P1:A:21.40 g", "P2:B:34.60 g"]
    told = str(drawer.path)
    answer = book_a_pour(told, POUR, "sterling-925", uses, castings, "Teacher", {"button": "62.80 g"})
    assert answer.findings == ()
    assert answer.document["loss_g"] == 1.20
    assert round(100 * answer.document["loss_frac"], 1) == 1.0
    assert round(100 * answer.document["yield_frac"], 1) == 46.7
    lost = book_a_pour(told, "2026-11-28-F2", "sterling-925", uses, [], "Teacher", {"button": "116.40 g"})
    (found,) = lost.findings
    words = " ".join((found.what, found.why, found.do_next)).replace("\u00a0", " ")
    assert "Look for 2.40 g" in words
    assert all(place in words for place in ("crucible", "tub", "floor"))


def test_shares_add_up_to_the_hundredth(drawer):
    with drawer.writing() as connection:
        book_pour(connection, charged(), "Teacher")
        done = bill_pour(connection, POUR, Decimal("9.75"), {}, "Teacher", Decimal("1.10"))
    parts = {one.owner: (one.metal, one.overhead, one.total) for one in done.owners}
    assert parts == {
        "A": (Decimal("24.04"), Decimal("4.88"), Decimal("28.92")),
        "B": (Decimal("38.88"), Decimal("4.87"), Decimal("43.75")),
    }
    assert sum(one.total for one in done.owners) == Decimal("72.67")


def test_who_did_not_come_pays_the_flask_and_not_the_metal(drawer):
    with drawer.writing() as connection:
        book_pour(connection, charged(), "Teacher")
        done = bill_pour(connection, POUR, Decimal("9.75"), {"A": 1, "B": 1, "C": 1}, "Teacher", Decimal("1.10"))
    absent = next(one for one in done.owners if one.owner == "C")
    assert (absent.metal, absent.overhead) == (Decimal("0.00"), Decimal("3.25"))


def test_silver_in_is_silver_in_pieces_button_and_loss_to_the_hundredth_of_a_gram(drawer):
    with drawer.writing() as connection:
        done = book_pour(connection, charged(), "Teacher")
        pieces = [held_mg(connection, f"piece:{POUR}-{name}")["Ag"] for name in "AB"]
        button, loss = held_mg(connection, f"lot:{done.button_lot}")["Ag"], held_mg(connection, LOSS)["Ag"]
        off = sums_mg(connection)
    assert done.melt_mg["Ag"] == 111_000
    assert (sum(pieces), button, loss) == (51_800, 58_090, 1_110)
    assert off["Ag"] == 0


# Reads an export with nothing but what every Python brings, on a path without the program.
_ELSEWHERE = """
import csv, json, sys
from collections import defaultdict
from pathlib import Path
folder = Path(sys.argv[1])
def rows(name):
    with (folder / f"{name}.csv").open(newline="", encoding="utf-8") as handle:
        return list(csv.DictReader(handle))
accounts = {one["id"]: one for one in rows("account")}
held = defaultdict(lambda: defaultdict(int))
for one in rows("entry"):
    account = accounts[one["account_id"]]
    if account["kind"] in ("lot", "piece"):
        held[account["owner_id"]][one["element"]] += int(one["mass_mg"])
money = defaultdict(int)
for one in rows("money_entry"):
    money[one["purse"]] += int(one["cents"])
assert "pourwright" not in sys.modules
print(json.dumps([held, money]))
"""


def test_records_are_readable_without_the_program_and_come_back_with_all_totals(drawer, tmp_path):
    with drawer.writing() as connection:
        book_pour(connection, replace(charged(), explained="a good day"), "Teacher")
        bill_pour(connection, POUR, Decimal("9.75"), {}, "Teacher", Decimal("1.10"))
        post_money(connection, "paid in", {TILL: 2000, owner_purse("A"): -2000}, "Teacher", "deposit")
    with drawer.reading() as connection:
        export_books(connection, tmp_path / "out")
        metal, money = owner_mg(connection), purses(connection)
        told = [statement_of(connection, one, *_ALWAYS) for one in owners(connection)]
    command = [sys.executable, "-I", "-S", "-c", _ELSEWHERE, str(tmp_path / "out")]
    read = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    assert read == [metal, money]
    back = open_books(tmp_path / "back.sqlite")
    with back.writing() as connection:
        import_books(connection, tmp_path / "out")
    with back.reading() as connection:
        assert owner_mg(connection) == metal
        assert purses(connection) == money
        assert [statement_of(connection, one, *_ALWAYS) for one in owners(connection)] == told
    back.close()
