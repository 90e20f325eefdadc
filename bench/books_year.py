"""A year of a busy school: every query that a page needs, on SQLite and PostgreSQL.

``python -m bench.books_year [POURS] [SQLite] [PostgreSQL] [--kept] [--write]``: 50 000 pours and a million movements
unless told; ``--write`` puts the figures into ``docs/verification/books-scale.md``. Half the pours are measured too, to
see what grows. Loading takes minutes: what was measured is kept in ``build/books-year.json``, and a run that was broken
off goes on from there; ``--kept`` only shows it.
"""

from __future__ import annotations

import json
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
KEPT = Path(__file__).parents[1] / "build" / "books-year.json"
SCAN = "(plain scan of all entries)"
PAGE = Path(__file__).parents[1] / "docs" / "verification" / "books-scale.md"
DAY = date(2026, 6, 15)
NOON = datetime(2026, 6, 15, tzinfo=UTC)

Query = Callable[[sa.Connection], object]
Measured = tuple[float, float]


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


def measured(books: Books, query: Query) -> Measured:
    """Return the shortest wall and processor times of the repeats after one that warms the cache, each a transaction.

    The processor time is this process's and, on a server, that of its process for us: what a machine with nothing else
    to do would take, as all that is asked for is in memory.
    """
    walls, busy = [], []
    for _ in range(REPEATS_COUNT + 1):
        wall, cpu = time.perf_counter(), _busy_s(books)
        with books.reading() as connection:
            query(connection)
        busy.append(1000 * (_busy_s(books) - cpu))
        walls.append(1000 * (time.perf_counter() - wall))
    return min(walls[1:]), min(busy[1:])


def _busy_s(books: Books) -> float:
    own = time.process_time()
    if books.path is not None:
        return own
    with books.engine.connect() as connection:  # the one connection of the pool, again and again
        number = connection.exec_driver_sql("select pg_backend_pid()").scalar_one()
    return own + int(Path(f"/proc/{number}/schedstat").read_text().split()[0]) / 1e9


def scan(connection: sa.Connection) -> object:
    """Add up every entry of an owner, as a page without totals would."""
    return connection.execute(
        sa.select(account.c.owner_id, entry.c.element, sa.func.sum(entry.c.mass_mg))
        .join(account, account.c.id == entry.c.account_id)
        .group_by(account.c.owner_id, entry.c.element)
    ).all()


@contextmanager
def _server():
    """Run a server that need not outlive a fall of the machine."""
    with postgresql() as address:
        engine = sa.create_engine(address, isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.exec_driver_sql("alter system set fsync = off")
            connection.exec_driver_sql("select pg_reload_conf()")
        engine.dispose()
        yield address


@contextmanager
def _file():
    with tempfile.TemporaryDirectory(prefix="books-year-") as name:
        yield str(Path(name) / "books.sqlite")


DATABASES = {"SQLite": _file, "PostgreSQL": _server}


def _run(address: str, pours_count: int) -> dict[str, Measured]:
    start = time.perf_counter()
    books = open_books(address)
    load_year(books, pours_count)
    with books.reading() as connection:
        counts = [connection.scalar(sa.select(sa.func.count()).select_from(one)) for one in (movement, entry)]
        assert not any(sums_mg(connection).values())
    print(f"  {pours_count} pours, {counts[0]} movements, {counts[1]} entries in {time.perf_counter() - start:.0f} s")
    found = {name: measured(books, query) for name, query in queries().items()}
    found[SCAN] = measured(books, scan)
    books.close()
    return found


def _kept(name: str, pours_count: int) -> dict[str, Measured]:
    """Return what was measured, now or in a run before."""
    key = f"{name} {pours_count}"
    if key not in _read_kept():
        print(name, flush=True)
        with DATABASES[name]() as address:
            found = _run(address, pours_count)
        KEPT.parent.mkdir(exist_ok=True)
        KEPT.write_text(json.dumps(_read_kept() | {key: found}, indent=1))
    return _read_kept()[key]


def _read_kept() -> dict[str, dict[str, Measured]]:
    return json.loads(KEPT.read_text()) if KEPT.exists() else {}


def main() -> None:
    numbers = [int(one) for one in sys.argv[1:] if one.isdigit()]
    pours_count = numbers[0] if numbers else POURS_COUNT
    wanted = [one for one in DATABASES if one in sys.argv] or list(DATABASES)
    results: dict[tuple[str, int], dict[str, Measured]] = {}
    for count in (pours_count, pours_count // 2):
        for name in wanted:
            if "--kept" not in sys.argv or f"{name} {count}" in _read_kept():
                results[name, count] = _kept(name, count)
    lines = _table(results, pours_count)
    print("\n".join(lines))
    if "--write" in sys.argv:
        PAGE.write_text(_page(lines, pours_count), "utf-8")


def _table(results: dict[tuple[str, int], dict[str, Measured]], pours_count: int) -> list[str]:
    names = list(dict.fromkeys(name for name, _ in results))
    heads = [f"{name}: ms busy | ms by the clock | half-year to year | of a plain scan" for name in names]
    lines = ["| query | " + " | ".join(heads) + " |", "| --- |" + " ---: | ---: | ---: | ---: |" * len(names)]
    for query in next(iter(results.values())):
        cells = [query]
        for name in names:
            wall, whole = results[name, pours_count][query]
            half = results.get((name, pours_count // 2))
            plain = results[name, pours_count][SCAN][1]
            slow = " (over)" if whole > LIMIT_MS and query != SCAN else ""
            cells += [
                f"{whole:.1f}{slow}",
                f"{wall:.0f}",
                f"×{whole / half[query][1]:.1f}" if half else "–",
                f"1/{plain / whole:.0f}",
            ]
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def _page(lines: list[str], pours_count: int) -> str:
    return f"""# The books after a busy year

Written by `python -m bench.books_year --write`: {pours_count} pours over a year with all that happens to their pieces,
twenty movements to a pour (our own invention), loaded into books in a file and on a server, then asked what every page
asks. "ms busy" is the processor time of the program and, on a server, of the server's process for it, the shortest of
{REPEATS_COUNT}, with all that is asked for in memory: near to what a machine with nothing else to do would take. A page
may take {LIMIT_MS:.0f}. "By the clock" is the shortest too, but on a machine whose processors were wanted by others,
with this program last in the line. "Half-year to year" is how a query grows when the books double; "of a plain scan"
sets it beside adding up every entry, which is what a page would do without the totals kept beside the entries.
Statements are asked for their first {PAGE_LINES_COUNT} movements, with totals and balances of the whole span.
`book balance` on the command line recounts every entry instead, as a check should: that takes as long as the last row.

{chr(10).join(lines)}
"""


if __name__ == "__main__":
    main()
