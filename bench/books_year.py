"""A year of a busy school: every query that a page needs, on SQLite and PostgreSQL.

``python -m bench.books_year [POURS] [--write]``: 50 000 pours and a million movements unless told; ``--write`` puts the
figures into ``docs/verification/books-scale.md``. Half the pours are measured too, to see what grows.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import sqlalchemy as sa
from tests.e2e.servers import postgresql

from bench.books_load import FINE, OWNER, load_year
from pourwright.books.finding import find_pieces, open_loads
from pourwright.books.ledger import movements, sums_mg
from pourwright.books.lots import lots, next_lot_id
from pourwright.books.statements import pours_of, statement_of
from pourwright.books.store import Books, open_books
from pourwright.books.tables import account, entry, movement
from pourwright.books.totals import kept_sums_mg, owner_mg

POURS_COUNT = 50_000
PAGE_LINES_COUNT = 200
LIMIT_MS = 100.0
REPEATS_COUNT = 7
PAGE = Path(__file__).parents[1] / "docs" / "verification" / "books-scale.md"
DAY = date(2026, 6, 15)
NOON = datetime(2026, 6, 15, tzinfo=UTC)

Query = Callable[[sa.Connection], object]


def queries() -> dict[str, Query]:
    month, year = timedelta(days=30), timedelta(days=365)

    def span(owner: str, since: datetime, length: timedelta) -> Query:
        return lambda one: statement_of(one, owner, since, since + length, PAGE_LINES_COUNT)

    return {
        "stock list": lots,
        "lot history, first page": lambda one: movements(one, f"lot:{FINE}", 0, PAGE_LINES_COUNT),
        "lot history, late page": lambda one: movements(one, f"lot:{FINE}", _late(one), PAGE_LINES_COUNT),
        "owner balances": owner_mg,
        "day statement, student": span(OWNER, NOON, timedelta(days=1)),
        "day statement, studio": span("studio", NOON, timedelta(days=1)),
        "month statement, student": span(OWNER, NOON, month),
        "year statement, student": span(OWNER, NOON - year / 2, year),
        "month statement, studio": span("studio", NOON, month),
        "year statement, studio": span("studio", NOON - year / 2, year),
        "pours of a day": lambda one: pours_of(one, DAY, DAY),
        "open pours": open_loads,
        "book balance": lambda one: (kept_sums_mg(one), owner_mg(one)),
        "search piece, by id": lambda one: find_pieces(one, "2026-06-15-P"),
        "search piece, by owner": lambda one: find_pieces(one, OWNER),
        "search piece, by title": lambda one: find_pieces(one, "ring 77"),
        "search piece, in vain": lambda one: find_pieces(one, "zeppelin"),
        "next lot number": next_lot_id,
    }


def _late(connection: sa.Connection) -> int:
    return int(connection.execute(sa.select(sa.func.max(movement.c.id))).scalar_one()) * 9 // 10


def measured_ms(books: Books, query: Query) -> float:
    """Return the shortest of the repeats after one that warms the cache; each opens a transaction as a page does."""
    times = []
    for _ in range(REPEATS_COUNT + 1):
        start = time.perf_counter()
        with books.reading() as connection:
            query(connection)
        times.append(1000 * (time.perf_counter() - start))
    return min(times[1:])


def scan(connection: sa.Connection) -> object:
    """Add up every entry of an owner, as a page without totals would."""
    return connection.execute(
        sa.select(account.c.owner_id, entry.c.element, sa.func.sum(entry.c.mass_mg))
        .join(account, account.c.id == entry.c.account_id)
        .group_by(account.c.owner_id, entry.c.element)
    ).all()


@contextmanager
def _databases():
    with tempfile.TemporaryDirectory(prefix="books-year-") as name, postgresql() as address:
        yield {"SQLite": str(Path(name) / "books.sqlite"), "PostgreSQL": address}


def _fresh(address: str) -> Books:
    if "://" not in address:
        for ending in ("", "-wal", "-shm"):
            Path(address + ending).unlink(missing_ok=True)
        return open_books(address)
    engine = sa.create_engine(address)
    with engine.begin() as connection:
        connection.exec_driver_sql("drop schema public cascade")
        connection.exec_driver_sql("create schema public")
    engine.dispose()
    return open_books(address)


def _run(address: str, pours_count: int) -> dict[str, float]:
    start = time.perf_counter()
    books = _fresh(address)
    load_year(books, pours_count)
    with books.reading() as connection:
        counts = [
            connection.execute(sa.select(sa.func.count()).select_from(one)).scalar_one() for one in (movement, entry)
        ]
        assert not any(sums_mg(connection).values())
    print(f"  {pours_count} pours, {counts[0]} movements, {counts[1]} entries in {time.perf_counter() - start:.0f} s")
    found = {name: measured_ms(books, query) for name, query in queries().items()}
    found["(plain scan of all entries)"] = measured_ms(books, scan)
    books.close()
    return found


def main() -> None:
    numbers = [int(one) for one in sys.argv[1:] if one.isdigit()]
    pours_count = numbers[0] if numbers else POURS_COUNT
    results: dict[tuple[str, int], dict[str, float]] = {}
    with _databases() as databases:
        for name, address in databases.items():
            for count in (pours_count // 2, pours_count):
                print(f"{name}")
                results[name, count] = _run(address, count)
    lines = _table(results, pours_count)
    print("\n".join(lines))
    if "--write" in sys.argv:
        PAGE.write_text(_page(lines, pours_count), "utf-8")


def _table(results: dict[tuple[str, int], dict[str, float]], pours_count: int) -> list[str]:
    names = list(dict.fromkeys(name for name, _ in results))
    heads = [f"{name}, ms | half-year to year | of a plain scan" for name in names]
    lines = ["| query | " + " | ".join(heads) + " |", "| --- |" + " ---: | ---: | ---: |" * len(names)]
    for query in next(iter(results.values())):
        cells = [query]
        for name in names:
            whole, half = results[name, pours_count][query], results[name, pours_count // 2][query]
            plain = results[name, pours_count]["(plain scan of all entries)"]
            slow = " (over)" if whole > LIMIT_MS and not query.startswith("(") else ""
            cells += [f"{whole:.1f}{slow}", f"×{whole / half:.2f}", f"1/{plain / whole:.0f}"]
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def _page(lines: list[str], pours_count: int) -> str:
    return f"""# The books after a busy year

Written by `python -m bench.books_year --write`: {pours_count} pours over a year with all that happens to their pieces,
twenty movements to a pour (our own invention), loaded into books in a file and on a server, then asked what every page
asks. The shortest of {REPEATS_COUNT}, warm, in milliseconds (the machine has other work); a page may take
{LIMIT_MS:.0f}. "Half-year to year" is how a query grows when the books double; "of a plain scan" sets it beside adding
up every entry, which is what a page would do without the totals kept beside the entries. Statements are asked for their
first {PAGE_LINES_COUNT} movements, with totals and balances of the whole span. `book balance` on the command line
recounts every entry instead, as a check should: that takes as long as the last row.

{chr(10).join(lines)}
"""


if __name__ == "__main__":
    main()
