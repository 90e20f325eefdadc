"""The metal book on real databases: many writers at once, killed in the middle, out and in again, as a person would."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest
import sqlalchemy as sa
from tests.books_help import stock
from tests.e2e.servers import postgresql

from pourwright.books.exchange import export_books, import_books
from pourwright.books.ledger import balances_off, held_mg, sums_mg
from pourwright.books.store import open_books
from pourwright.books.tables import entry, movement, pour
from pourwright.books.totals import totals_off

LOOP = Path(__file__).with_name("booking_loop.py")
COMMAND = Path(sys.executable).with_name("pourwright")
WRITERS, POURS_EACH = 20, 3
KILLS = 50


@pytest.fixture(scope="module")
def server():
    with postgresql() as address:
        yield address


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request, tmp_path):
    if request.param == "sqlite":
        yield str(tmp_path / "books.sqlite")
        return
    address = request.getfixturevalue("server")
    engine = sa.create_engine(address)
    with engine.begin() as connection:
        connection.exec_driver_sql("drop schema public cascade")
        connection.exec_driver_sql("create schema public")
    engine.dispose()
    yield address


def start(address, name, count):
    return subprocess.Popen(
        [sys.executable, str(LOOP), address, name, str(count)],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1"},
    )


def assert_whole(address):
    """Every pour is whole or absent, nothing was made or lost, and the kept balances are right."""
    books = open_books(address)
    with books.reading() as connection:
        assert set(sums_mg(connection).values()) == {0}
        assert balances_off(connection) == totals_off(connection) == ()
        pours = set(connection.execute(sa.select(pour.c.id)).scalars())
        moved = set(connection.execute(sa.select(movement.c.pour_id).where(movement.c.kind == "poured")).scalars())
        lines = connection.execute(
            sa.select(movement.c.pour_id, sa.func.count(sa.distinct(entry.c.account_id)))
            .join(entry, entry.c.movement_id == movement.c.id)
            .where(movement.c.kind == "poured")
            .group_by(movement.c.pour_id)
        ).all()
        fine_mg = sum(held_mg(connection, "lot:L-0001").values())
    books.close()
    assert pours == moved
    assert {accounts for _, accounts in lines} <= {5}, "two lots, a piece, a button and the loss"
    assert fine_mg == 1_000_000 - 926 * len(pours)
    return len(pours)


def test_twenty_writers_at_once_lose_nothing(address):
    books = open_books(address)
    stock(books)
    books.close()
    writers = [start(address, f"W{number}", POURS_EACH) for number in range(WRITERS)]
    for one in writers:
        one.communicate(timeout=240)
    assert [one.returncode for one in writers] == [0] * WRITERS
    assert assert_whole(address) == WRITERS * POURS_EACH


def test_killed_at_random_every_pour_is_whole_or_absent(address):
    books = open_books(address)
    stock(books)
    books.close()
    chance, booked_before = random.Random(20261128), 0
    for number in range(KILLS):
        loop = start(address, f"K{number}", 1000)
        assert loop.stdout.readline() == "ready\n"
        told = [loop.stdout.readline() for _ in range(chance.randrange(4))]
        time.sleep(chance.uniform(0.0, 0.03))  # somewhere in the next pour
        loop.kill()
        told += loop.communicate()[0].splitlines()
        books = open_books(address)
        with books.writing() as connection:  # after the one that was killed: a server may still be ending its turn
            booked = connection.execute(sa.select(sa.func.count()).select_from(pour)).scalar_one()
        books.close()
        # What was said to be booked is booked; at most the one in hand came on top.
        assert len(told) <= booked - booked_before <= len(told) + 1
        booked_before = booked
    assert assert_whole(address) > KILLS
    done = subprocess.run([COMMAND, "book", "balance", "--books", address, "--json"], capture_output=True, check=True)
    answer = json.loads(done.stdout)
    assert set(answer["sums_mg"].values()) == {0}
    assert answer["findings"] == []


def test_out_of_one_database_and_into_the_other(server, tmp_path):
    first = open_books(tmp_path / "books.sqlite")
    stock(first)
    subprocess.run([sys.executable, str(LOOP), str(tmp_path / "books.sqlite"), "A", "3"], check=True)
    with first.reading() as connection:
        one = export_books(connection, tmp_path / "one")
    engine = sa.create_engine(server)
    with engine.begin() as connection:
        connection.exec_driver_sql("drop schema public cascade")
        connection.exec_driver_sql("create schema public")
    engine.dispose()
    second = open_books(server)
    with second.writing() as connection:
        import_books(connection, tmp_path / "one")
    with second.reading() as connection:
        two = export_books(connection, tmp_path / "two")
    second.close()
    first.close()
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in two]
    subprocess.run([sys.executable, str(LOOP), server, "B", "2"], check=True)
    assert assert_whole(server) == 5


def test_a_person_keeps_the_book_from_the_command_line(tmp_path):
    env = os.environ | {"POURWRIGHT_BOOKS": str(tmp_path / "books.sqlite")}

    def run(*words, code=0):
        done = subprocess.run([COMMAND, *words, "--json"], capture_output=True, text=True, env=env, check=False)
        assert done.returncode == code, done.stdout + done.stderr
        return json.loads(done.stdout)

    assert run("stock", "list", code=1)["findings"][0]["code"] == "doors.books-none"
    fine = run("stock", "add", "--metal", "fine-silver-999", "--mass", "6 ozt", "--from", "dealer", "--by", "T")["lot"]
    assert fine["held_g"] == 186.621
    run("stock", "add", "--metal", "copper", "--mass", "20 g", "--from", "dealer", "--by", "T")
    pour_words = ["book", "pour", "2026-11-28-F1", "--use", "L-0001:111.11 g", "--use", "L-0002:8.89 g", "--casting",
                  "2026-11-28-P01:Mira:56 g", "--by", "T"]  # fmt: skip
    lost = run(*pour_words, "--button", "60.40 g", code=1)["findings"][0]
    assert lost["code"] == "books.pour-lost"
    assert "Look for 2.40" in lost["what"].replace("\u00a0", " ")
    done = run(*pour_words, "--button", "62.80 g")
    assert done["loss_g"] == 1.2
    assert done["yield_frac"] == pytest.approx(0.4667, abs=1e-4)
    run("stock", "shut", done["button_lot"], "--why", "black slag", "--by", "T")
    shut = run(
        "book", "pour", "2026-11-28-F2", "--use", f"{done['button_lot']}:10 g", "--button", "10 g", "--by", "T", code=1
    )
    assert shut["findings"][0]["code"] == "books.lot-shut"
    back = run("book", "reverse", done["mark"], "--why", "wrong flask", "--by", "T")
    assert back["reverses"] == done["mark"]
    assert set(run("book", "balance")["sums_mg"].values()) == {0}
    assert run("statement", "Mira")["after_g"] == {}
    copy = run("book", "backup")["backup"]
    (tmp_path / "books.sqlite").write_bytes(b"spilt coffee" * 1000)
    damaged = run("stock", "list", code=1)["findings"][0]
    assert damaged["code"] == "books.damaged"
    assert Path(copy).name in damaged["what"]
    run("book", "restore", copy)
    assert set(run("book", "balance")["sums_mg"].values()) == {0}
