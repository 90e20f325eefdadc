"""An old notebook in a spreadsheet: a dry run first, all or nothing, once however often; each bad cell is named."""

from __future__ import annotations

import csv
from datetime import date

import pytest
import sqlalchemy as sa
from openpyxl import Workbook

from pourwright.books.ledger import balances_off, held_mg, movements, sums_mg
from pourwright.books.store import open_books
from pourwright.books.tables import movement
from pourwright.books.totals import totals_off
from pourwright.core.findings import stops
from pourwright.doors.service.notebook.bringing import NotebookRequest, bring_notebook
from pourwright.doors.service.notebook.columns import Reading, heads_of
from pourwright.doors.service.notebook.sheets import Cell, Sheet, read_sheets

LOTS = [
    ["Date", "Metal", "Weight (dwt)", "From", "Box", "Notes"],
    [date(2019, 3, 1), "fine-silver-999", 200, "dealer", "FS1", "first bar"],
    [date(2019, 3, 2), "copper", "20 g", "dealer", "CU1", "=copper"],
]
POURS = [
    ["Flask", "Date", "Box", "Used g", "Casting", "Owner", "Cast g", "Button g", "Note"],
    ["2019-03-09-F1", "9.3.2019", "FS1", 111.11, "2019-P1", "Mira", 21.40, 62.80, None],
    ["2019-03-09-F1", "9.3.2019", "CU1", 8.89, "2019-P2", "Jon", 34.60, None, None],
]
OUT = [["Day", "Lot", "Out g", "To", "Why"], ["2019-04-01", "FS1", 10, "Mira", "for wire"]]


def book(path, **sheets):
    made = Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value == "=copper":
                    cell.data_type = "s"
    made.save(path)
    return path


@pytest.fixture
def notebook(tmp_path):
    return book(tmp_path / "old.xlsx", lots=LOTS, pours=POURS, out=OUT)


@pytest.fixture
def told(tmp_path):
    return str(tmp_path / "books.sqlite")


def bring(told, path, keep=True, **more):
    return bring_notebook(told, NotebookRequest(path, "Teacher", keep, **more))


def state(told):
    books = open_books(told)
    with books.reading() as connection:
        assert balances_off(connection) == totals_off(connection) == ()
        assert not any(sums_mg(connection).values())
        count = connection.execute(sa.select(sa.func.count()).select_from(movement)).scalar_one()
        held = {name: sum(held_mg(connection, name).values()) for name in ("lot:FS1", "lot:CU1", "piece:2019-P1")}
        moments = [one.made_at.isoformat() for one in movements(connection)]
    books.close()
    return count, held, moments


def test_a_dry_run_shows_what_would_be_booked_and_books_nothing(told, notebook):
    answer = bring(told, notebook, keep=False)
    assert answer.findings == ()
    assert [(one["kind"], one["name"]) for one in answer.document["new"]] == [
        ("lots", "FS1"), ("lots", "CU1"), ("pours", "2019-03-09-F1"), ("handed out", "FS1"),
    ]  # fmt: skip
    assert answer.document["kept"] is False
    assert "--keep" in answer.text
    assert state(told)[0] == 0


def test_a_notebook_is_booked_once_however_often_it_is_read(told, notebook):
    first = bring(told, notebook, zone="Europe/Vienna")
    assert first.document["kept"]
    count, held, moments = state(told)
    # 200 pennyweights are 311.035 g; 111.11 g went into the pour, 10 g to Mira.
    assert held == {"lot:FS1": 311_035 - 111_110 - 10_000, "lot:CU1": 20_000 - 8_890, "piece:2019-P1": 21_400}
    assert count == 4
    assert moments[0] == "2019-03-01T11:00:00+00:00", "noon of the studio's clock"
    again = bring(told, notebook)
    assert again.document["known_count"] == 4
    assert again.document["new"] == []
    assert state(told)[0] == 4


def test_rows_added_since_are_booked_and_the_others_left(told, notebook, tmp_path):
    bring(told, notebook)
    more = book(tmp_path / "more.xlsx", lots=[*LOTS, [*LOTS[1][:4], "FS2", "second bar"]], pours=POURS, out=OUT)
    answer = bring(told, more)
    assert [one["name"] for one in answer.document["new"]] == ["FS2"]
    assert answer.document["known_count"] == 4


def test_a_row_the_books_refuse_keeps_everything_out(told, tmp_path):
    path = book(tmp_path / "lost.xlsx", lots=LOTS, pours=[POURS[0], [*POURS[1][:7], 50, None], POURS[2]])
    answer = bring(told, path)
    (refusal,) = answer.findings
    assert refusal.code == "books.pour-lost"
    assert refusal.where == "lost.xlsx, sheet pours, row 2"
    assert answer.document["kept"] is False
    assert state(told)[0] == 0


def test_a_plain_file_reads_like_a_spreadsheet(told, tmp_path):
    path = tmp_path / "lots.csv"
    with path.open("w", newline="", encoding="utf-8-sig") as handle:
        writer = csv.writer(handle, delimiter=";")
        writer.writerow(["day", "metal", "mass g", "from", "lot"])
        writer.writerow(["2019-03-01", "fine-silver-999", "12,5", "'=dealer", "FS1"])
    assert [one.code for one in bring(told, path).findings] == ["doors.notebook-number"]
    assert bring(told, path, decimal_comma=True).findings == ()
    assert state(told)[1]["lot:FS1"] == 12_500


SPOILT = {
    "doors.notebook-unit": (["2019-03-01", "copper", 5, "dealer"], ["day", "metal", "mass", "from"]),
    "doors.notebook-day": (["03/04/2019", "copper", 5, "dealer"], None),
    "doors.notebook-empty": (["2019-03-01", "copper", None, "dealer"], None),
    "doors.notebook-formula": (["2019-03-01", "copper", "=1+4", "dealer"], None),
    "doors.notebook-error": (["2019-03-01", "copper", "#REF!", "dealer"], None),
    "doors.notebook-below": (["2019-03-01", "copper", -5, "dealer"], None),
    "doors.notebook-number": (["2019-03-01", "copper", "1,234", "dealer"], None),
    "doors.charge-alloy": (["2019-03-01", "coper", 5, "dealer"], None),
    "doors.notebook-missing": (["2019-03-01", "copper", 5], ["day", "metal", "mass g"]),
    "doors.notebook-heads": (["2019-03-01", "copper", 5], ["a", "b", "c"]),
}


@pytest.mark.parametrize(("code", "rows"), SPOILT.items())
def test_each_fault_says_file_sheet_row_and_column(told, tmp_path, code, rows):
    row, heads = rows
    path = book(tmp_path / "odd.xlsx", old=[heads or ["day", "metal", "mass g", "from"], row])
    answer = bring(told, path)
    (found,) = answer.findings
    assert found.code == code
    assert found.where.startswith("odd.xlsx, sheet old, row ")
    assert found.what
    assert found.do_next
    assert stops(answer.findings)


def test_many_faults_are_counted_not_poured_out(told, tmp_path):
    rows = [["2019-03-01", "copper", "x", "dealer"] for _ in range(60)]
    path = book(tmp_path / "odd.xlsx", old=[["day", "metal", "mass g", "from"], *rows])
    found = bring(told, path).findings
    assert len(found) == 21
    assert found[-1].params == {"count": 40, "all": 60}


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("a.xlsx", b"PK\x03\x04 not a book", "doors.notebook-unread"),
        ("a.xlsx", b"", "doors.notebook-unread"),
        ("a.csv", "M\u00fcller".encode("latin-1"), "doors.notebook-letters"),
        ("a.csv", b"", "doors.notebook-nothing"),
        ("a.csv", b"day,metal,mass g,from\n", "doors.notebook-nothing"),
        ("a.ods", b"x", "doors.notebook-form"),
    ],
)
def test_a_file_that_is_no_notebook_is_said(told, tmp_path, name, content, code):
    path = tmp_path / name
    path.write_bytes(content)
    assert [one.code for one in bring(told, path).findings] == [code]


def test_a_file_that_is_not_there_is_said(told, tmp_path):
    assert [one.code for one in bring(told, tmp_path / "none.csv").findings] == ["doors.notebook-unread"]


def test_columns_are_known_by_their_names_in_any_order_and_writing():
    row = tuple(Cell(one) for one in ("FROM", "Mass [oz t]", "  When ", "Material", "weight_(ozt)"))
    heads, problem = heads_of("a.csv", Sheet("", ((1, row),)))
    assert problem is None
    assert heads.places == {"from": 0, "day": 2, "metal": 3, "mass": 4}
    assert heads.units == {"mass": "ozt"}
    reading = Reading(
        "a.csv", Sheet("", ()), heads, 2, [Cell(""), Cell(None), Cell(date(2019, 1, 2)), Cell(""), Cell(1)], False
    )
    assert reading.mass_mg("mass") == 31_103
    assert reading.day() == date(2019, 1, 2)


def test_sheets_without_rows_are_passed_over(tmp_path):
    sheets, found = read_sheets(book(tmp_path / "two.xlsx", empty=[], lots=LOTS))
    assert found == ()
    assert [len(one.rows) for one in sheets] == [0, 3]
