"""Old notebook, charges, payments and statements from the command line, on both databases; then out and in again."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pypdfium2
import pytest
from openpyxl import Workbook, load_workbook
from tests.e2e.servers import postgresql

COMMAND = Path(sys.executable).with_name("pourwright")


@pytest.fixture(params=["sqlite", "postgresql"])
def run(request, tmp_path):
    if request.param == "sqlite":
        yield runner(str(tmp_path / "books.sqlite"))
        return
    with postgresql() as address:
        yield runner(address)


def runner(address):
    def run(*words, code=0):
        env = os.environ | {"POURWRIGHT_BOOKS": address}
        words = [str(COMMAND), *map(str, words), "--json"]
        done = subprocess.run(words, capture_output=True, text=True, env=env, check=False)
        assert done.returncode == code, done.stdout + done.stderr
        return json.loads(done.stdout)

    run.address = address
    return run


def notebook(path):
    made = Workbook()
    lots = made.active
    lots.append(["date", "metal", "mass g", "from", "lot"])
    lots.append(["2026-11-01", "fine-silver-999", 500, "dealer", "FS1"])
    lots.append(["2026-11-01", "copper", 50, "dealer", "CU1"])
    pours = made.create_sheet("pours")
    pours.append(["pour", "day", "lot", "used g", "piece", "owner", "cast g", "button g"])
    pours.append(["2026-11-28-F1", "2026-11-28", "FS1", 111.11, "P1", "Mira", 21.4, 62.8])
    pours.append(["2026-11-28-F1", "2026-11-28", "CU1", 8.89, "P2", "+Jon", 34.6, None])
    made.save(path)
    return path


def test_an_old_notebook_becomes_statements_to_the_hundredth(run, tmp_path):
    old = notebook(tmp_path / "old.xlsx")
    assert len(run("book", "notebook", old, "--by", "T")["new"]) == 3
    assert run("book", "notebook", old, "--by", "T", "--keep")["kept"]
    assert set(run("book", "balance")["sums_mg"].values()) == {0}
    bill = run("book", "bill", "2026-11-28-F1", "--overhead", "9.75", "--price", "1.10", "--by", "T")
    assert {one["owner"]: one["total"] for one in bill["owners"]} == {"Mira": "28.91", "+Jon": "43.76"}, (
        "the odd hundredth by name"
    )
    assert run("book", "pay", "Mira", "30.00", "--note", "deposit", "--by", "T")["owes"] == "-1.09"
    names = [tmp_path / f"all.{ending}" for ending in ("csv", "xlsx", "pdf")]
    words = [word for name in names for word in ("--out", name)]
    day = run("statement", "--from", "2026-11-28", "--to", "2027-12-31", "--zone", "Europe/Vienna", *words)
    assert [one["pour"] for one in day["pours"]] == ["2026-11-28-F1"]
    mira = next(one for one in day["statements"] if one["owner"] == "Mira")
    assert mira["after_g"] == {"Ag": 19.795, "Cu": 1.605}
    assert mira["lines"][0]["made_at"].startswith("2026-11-28T12:00")
    with names[0].open(newline="") as handle:
        rows = list(csv.DictReader(handle))
    carried = [one["mass_g"] for one in rows if one["owner"] == "Mira" and one["kind"] == "carried forward"]
    assert carried == ["19.795", "1.605", ""], "metal, then money"
    assert {one["owner"] for one in rows} == {"Mira", "'+Jon", "studio"}
    sheets = load_workbook(names[1])
    assert sorted(sheets.sheetnames) == ["+Jon", "Mira", "studio"]
    cells = [cell for row in sheets["+Jon"].iter_rows() for cell in row if cell.value is not None]
    assert not [cell.coordinate for cell in cells if cell.data_type == "f"]
    assert 43.76 in [cell.value for cell in cells]
    document = pypdfium2.PdfDocument(names[2])
    pages = [page.get_textpage().get_text_range() for page in document]
    assert len(pages) == 3
    assert any("In your favour" in one and "1.09" in one for one in pages)
    before = [name.read_bytes() for name in names]
    run("statement", "--from", "2026-11-28", "--to", "2027-12-31", "--zone", "Europe/Vienna", *words)
    assert [name.read_bytes() for name in names] == before, "the same books, the same bytes"
    out = tmp_path / "out"
    run("book", "export", out)
    other = runner(str(tmp_path / "other.sqlite"))
    other("book", "import", out)
    assert other("statement", "Mira") == run("statement", "Mira")
    other("book", "export", tmp_path / "again")
    assert {one.name: one.read_bytes() for one in out.iterdir()} == {
        one.name: one.read_bytes() for one in (tmp_path / "again").iterdir()
    }
