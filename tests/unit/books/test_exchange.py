"""Out to plain files and back again gives the same bytes, and the same books."""

from __future__ import annotations

import csv
import hashlib
import json
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from tests.books_help import DAY, sterling, stock

from pourwright.books.exchange import _FIRST_TABLES, export_books, import_books
from pourwright.books.ledger import balances_off, know_owner, sums_mg
from pourwright.books.lots import lots
from pourwright.books.pours import book_pour
from pourwright.books.statements import pours_of, statement_of
from pourwright.books.store import open_books
from pourwright.books.tables import owner
from pourwright.books.totals import owner_mg, totals_off
from pourwright.core.errors import LedgerError


@pytest.fixture
def full(books):
    fine, copper = stock(books)
    for number in (1, 2):
        with books.writing() as connection:
            book_pour(connection, sterling(fine, copper, name=f"2026-11-28-F{number}"), "Teacher")
    return books


def written(books, folder):
    with books.reading() as connection:
        return export_books(connection, folder)


def test_export_import_export_is_the_same_bytes(full, tmp_path):
    first = written(full, tmp_path / "one")
    other = open_books(tmp_path / "other.sqlite")
    with other.writing() as connection:
        assert import_books(connection, tmp_path / "one") == 4
    second = written(other, tmp_path / "two")
    assert [one.read_bytes() for one in first] == [one.read_bytes() for one in second]
    with full.reading() as before, other.reading() as after:
        assert owner_mg(before) == owner_mg(after)
        assert balances_off(after) == totals_off(after) == ()
        assert set(sums_mg(after).values()) == {0}
    fine = "L-0001"
    with other.writing() as connection:  # and the books go on
        done = book_pour(connection, sterling(fine, "L-0002", name="2026-11-28-F3"), "Teacher")
    assert done.button_lot == "L-0005"
    other.close()


def as_the_first_version_wrote(folder):
    """Turn an export into one of format 1: without the later tables and columns."""
    contents = json.loads((folder / "contents.json").read_text())
    files = {f"{table.name}.csv": contents["files"][f"{table.name}.csv"] for table in _FIRST_TABLES}
    for name, lacking in (("lot.csv", 3), ("pour.csv", 1)):
        with (folder / name).open(newline="") as handle:
            rows = [row[:-lacking] for row in csv.reader(handle)]
        with (folder / name).open("w", newline="") as handle:
            csv.writer(handle, lineterminator="\n").writerows(rows)
        files[name] = {"sha256": hashlib.sha256((folder / name).read_bytes()).hexdigest()}
    (folder / "contents.json").write_text(json.dumps({"format": 1, "files": files}))


def test_an_export_of_the_first_version_is_read(full, tmp_path):
    written(full, tmp_path / "out")
    as_the_first_version_wrote(tmp_path / "out")
    other = open_books(tmp_path / "other.sqlite")
    with other.writing() as connection:
        assert import_books(connection, tmp_path / "out") == 4
        assert all(one.certain and not one.solder for one in lots(connection))
    with full.reading() as before, other.reading() as after:
        assert owner_mg(before) == owner_mg(after)
    other.close()


def test_a_spreadsheet_can_read_it_without_the_program(full, tmp_path):
    written(full, tmp_path / "out")
    with (tmp_path / "out" / "entry.csv").open(newline="") as handle:
        rows = list(csv.DictReader(handle))
    assert sum(int(row["mass_mg"]) for row in rows if row["element"] == "Ag") == 0


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda folder: (folder / "entry.csv").unlink(), "books.import-missing"),
        (lambda folder: (folder / "lot.csv").write_text("id\n"), "books.import-changed"),
        (lambda folder: (folder / "contents.json").unlink(), "books.import-no-contents"),
        (lambda folder: (folder / "contents.json").write_text("[]"), "books.import-no-contents"),
    ],
)
def test_files_that_are_not_as_they_were_are_refused_and_nothing_is_read(full, tmp_path, spoil, code):
    written(full, tmp_path / "out")
    spoil(tmp_path / "out")
    other = open_books(tmp_path / "other.sqlite")
    with pytest.raises(LedgerError) as refusal, other.writing() as connection:
        import_books(connection, tmp_path / "out")
    assert refusal.value.findings[0].code == code
    with other.reading() as connection:
        assert sums_mg(connection) == {}
    other.close()


def test_books_that_hold_something_are_not_written_into(full, tmp_path):
    written(full, tmp_path / "out")
    with pytest.raises(LedgerError, match="not empty"), full.writing() as connection:
        import_books(connection, tmp_path / "out")
    with pytest.raises(LedgerError, match="not empty"):
        written(full, tmp_path / "out")


def test_a_statement_begins_with_what_there_was_and_ends_with_what_there_is(full):
    long_ago, far = datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
    with full.reading() as connection:
        every = statement_of(connection, "A", long_ago, far)
        later = statement_of(connection, "A", far, far)
        studio = statement_of(connection, "studio", long_ago, far)
        pours = pours_of(connection, DAY, DAY)
    assert sum(every.after_mg.values()) == 2 * 21_400
    assert every.before_mg == {}
    assert later.before_mg == every.after_mg == later.after_mg
    assert {one.pour for one in every.lines} == {"2026-11-28-F1", "2026-11-28-F2"}
    assert sum(studio.after_mg.values()) == 1_200_000 - 2 * (120_000 - 62_800)
    assert [one.loss_mg for one in pours] == [1_200, 1_200]


def test_names_that_look_like_formulas_stay_text_and_come_back_as_they_were(full, tmp_path):
    names = ["=HYPERLINK(1)", "+1", "-1", "@x", "'quoted", "\ttab", "plain"]
    with full.writing() as connection:
        for name in names:
            know_owner(connection, name)
    first = written(full, tmp_path / "one")
    with (tmp_path / "one" / "owner.csv").open(newline="") as handle:
        cells = [row["id"] for row in csv.DictReader(handle)]
    assert not [one for one in cells if one.startswith(("=", "+", "-", "@", "\t"))]
    other = open_books(tmp_path / "other.sqlite")
    with other.writing() as connection:
        import_books(connection, tmp_path / "one")
    with other.reading() as connection:
        assert set(names) <= set(connection.execute(sa.select(owner.c.id)).scalars())
    second = written(other, tmp_path / "two")
    assert [one.read_bytes() for one in first] == [one.read_bytes() for one in second]
    other.close()
