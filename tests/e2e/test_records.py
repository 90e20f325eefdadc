"""A piece from intake to the card that goes home, typed on the command line, on both databases; then out and in."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import sqlalchemy as sa
from tests.e2e.servers import postgresql
from tests.records_help import plan_document, taken_in

from pourwright.books.records.pieces import chain_of, move, whereabouts
from pourwright.books.store import open_books
from pourwright.core.errors import LedgerError
from pourwright.doors.cli.main import main

COMMAND = Path(sys.executable).with_name("pourwright")
WRITERS = 12
DAY, PIECE, LOAD = "2026-12-05", "2026-12-05-P01", "2026-12-05-F1"


@pytest.fixture(scope="module")
def server():
    with postgresql() as address:
        yield address


def emptied(address):
    engine = sa.create_engine(address)
    with engine.begin() as connection:
        connection.exec_driver_sql("drop schema public cascade")
        connection.exec_driver_sql("create schema public")
    engine.dispose()
    return address


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request, tmp_path):
    if request.param == "sqlite":
        return str(tmp_path / "books.sqlite")
    return emptied(request.getfixturevalue("server"))


@pytest.fixture
def run(address, tmp_path, monkeypatch, capsys):
    """Run a command in a studio's folder and return its one JSON document; the program is loaded once, to save time."""
    monkeypatch.setenv("POURWRIGHT_STUDIO", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "studio.toml").write_text('name = "Demo Evening Studio"\nzone = "Europe/Vienna"\n')
    folder = tmp_path / "days" / DAY
    folder.mkdir(parents=True)
    (folder / "plan.json").write_text(json.dumps(plan_document()))

    def one(*words, code=0, books=address):
        monkeypatch.setenv("POURWRIGHT_BOOKS", books)
        with pytest.raises(SystemExit) as end:
            main([*words, "--json"])
        said = capsys.readouterr()
        assert end.value.code == code, said.out + said.err
        return json.loads(said.out)

    return one


def test_the_command_is_there_and_says_one_document(tmp_path):
    env = os.environ | {"POURWRIGHT_BOOKS": str(tmp_path / "books.sqlite")}
    done = subprocess.run([COMMAND, "record", "where", "--json"], capture_output=True, text=True, env=env, check=False)
    assert done.returncode == 1
    assert json.loads(done.stdout)["findings"][0]["code"] == "doors.books-none"
    assert done.stderr == ""


def test_of_many_who_move_one_piece_at_once_one_does_and_the_same_word_twice_counts_once(address, tmp_path):
    first = open_books(address)
    (piece,) = taken_in(first, tmp_path, "P01")

    def attempt(number):
        books = open_books(address)
        try:
            with books.writing() as connection:
                mark = "01SAME" if number % 2 else f"01OTHER{number}"
                return move(connection, piece, "sprued", "T", load=LOAD, mark=mark)
        except LedgerError as refusal:
            return refusal.findings[0].code
        finally:
            books.close()

    with ThreadPoolExecutor(WRITERS) as pool:
        said = list(pool.map(attempt, range(WRITERS)))
    with first.reading() as connection:
        chain = [one.state for one in chain_of(connection, piece)]
        (now,) = whereabouts(connection)
    first.close()
    assert chain == ["received", "sprued"]
    assert now.mark in said
    assert set(said) <= {now.mark, "books.piece-step"}


def test_a_piece_from_intake_to_the_card_that_goes_home(run, tmp_path):
    no = run("record", "intake", PIECE, "--owner", "Mira", "--by", "T", code=1)
    assert no["findings"][0]["code"] == "books.intake-no-consent"
    run("record", "intake", PIECE, "--owner", "Mira", "--title", "Leaf", "--weighed", "1.93 g", "--agreed-by", "Mira",
        "--by", "T", "--at", "2026-12-03 18:00")  # fmt: skip
    run("record", "receipt", PIECE, "--out", "receipt.pdf")
    run("record", "keep", f"days/{DAY}", "--by", "T")
    for metal, mass in (("fine-silver-999", "500 g"), ("copper", "50 g")):
        run("stock", "add", "--metal", metal, "--mass", mass, "--from", "dealer", "--by", "T")
    run("record", "state", "sprued", PIECE, "--load", LOAD, "--by", "T", "--at", "2026-12-04 15:00")
    for state, hour in (("invested", 17), ("in-kiln", 19)):
        run("record", "state", state, "--load", LOAD, "--by", "T", "--at", f"2026-12-04 {hour}:00")
    wrong = run("record", "weigh", LOAD, "burned-out", "556 g", "--by", "T", code=1)
    assert "that is flask 2?" in wrong["findings"][0]["what"]
    run("record", "reverse", wrong["mark"], "--why", "it was flask 2", "--by", "T")
    assert run("record", "weigh", LOAD, "burned-out", "490 g", "--by", "T")["findings"] == []
    run("record", "enter", LOAD, "flask-temperature", "572 C", "--by", "T")
    run("record", "state", "cast", "--load", LOAD, "--by", "T", "--at", "2026-12-05 10:06")
    run("book", "pour", LOAD, "--use", "L-0001:55.55 g", "--use", "L-0002:4.45 g", "--casting", f"{PIECE}:Mira:21.43 g",
        "--button", "38.30 g", "--by", "T")  # fmt: skip
    assert run("record", "weigh", LOAD, "cast", "550 g", "--by", "T")["findings"] == []
    run("record", "outcome", PIECE, "good", "--by", "T")
    rows = {(one["subject"], one["quantity"]): one for one in run("record", "compare", DAY)["rows"]}
    assert rows[LOAD, "flask-temperature"]["difference_C"] == -8.0
    assert rows[PIECE, "piece-mass"]["actual_g"] == 21.43
    card = run("record", "card", PIECE, "--out", "card.pdf")
    assert card["mass_g"] == 21.43 == round(sum(card["elements_g"].values()), 3)
    assert all((tmp_path / name).read_bytes().startswith(b"%PDF") for name in ("receipt.pdf", "card.pdf"))
    assert run("record", "files")["bad"] == []
    assert run("record", "where", PIECE, "--at", "2026-12-04 18:00")["pieces"][0]["state"] == "invested"

    first = run("book", "export", "one")
    (tmp_path / "other").mkdir()
    other = str(tmp_path / "other" / "books.sqlite")
    run("book", "import", "one", books=other)
    second = run("book", "export", "two", books=other)
    read = [[Path(tmp_path / one).read_bytes() for one in out["written"]] for out in (first, second)]
    assert read[0] == read[1]
    assert run("record", "card", PIECE, books=other)["mass_g"] == 21.43
    assert set(run("book", "balance", books=other)["sums_mg"].values()) == {0}
