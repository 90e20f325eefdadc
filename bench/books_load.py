"""Loads a year of a busy school into books, quickly and always the same: our own invention, no real school."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import islice

import sqlalchemy as sa

from pourwright.books.records.tables import intake, kept_file, piece_state, record
from pourwright.books.store import Books
from pourwright.books.tables import account, entry, lot, lot_element, movement, owner, pour
from pourwright.books.totals import rebuild_totals

DAYS_COUNT = 365
STUDENTS_COUNT = 400
OWNER = "S007"
FINE, COPPER, FILINGS = "L-0001", "L-0002", "L-0003"
# A pour: 60 g of sterling, of which 24 g come from an earlier button and 24 g go into the next; 0.6 g is lost.
BUTTON_MG = {"Ag": 22_200, "Cu": 1_800}
NEW_SILVER_MG, NEW_COPPER_MG = 33_300, 2_700
CAST_MG, LOSS_MG, CHARGE_MG = 35_400, 600, 60_000
BUTTON_RESTS_POURS = 40
# A piece is filed eight or nine times before its owner takes it home ten days later.
FILED_MG = {"Ag": 18, "Cu": 2}
HOME_AFTER_DAYS = 10
OPEN_LOADS_COUNT = 20
_BLOCK_ROWS = 20_000
_START = datetime(2026, 1, 1, 8, tzinfo=UTC)
_STUDIO_ACCOUNTS = {"outside:dealer": 1, "outside:home": 2, "loss:melt": 3, f"lot:{FINE}": 4, f"lot:{COPPER}": 5,
                    f"lot:{FILINGS}": 6}  # fmt: skip
_FIRST_FREE = 100

Row = tuple[object, ...]
Change = dict[tuple[int, str], int]
Event = tuple[str, datetime, str | None, Callable[[], Change]]


def _moved(source: int, target: int, masses: Mapping[str, int]) -> Change:
    change = {(source, element): -mass for element, mass in masses.items()}
    return change | {(target, element): mass for element, mass in masses.items()}


def load_year(books: Books, pours_count: int) -> None:
    """Load pours spread evenly over a year, and rebuild the totals."""
    rows = _Rows(pours_count)
    with books.writing() as connection:
        if connection.dialect.name == "postgresql":  # our rows refer to each other rightly, and are many
            connection.exec_driver_sql("set local session_replication_role = replica")
            connection.exec_driver_sql("set local maintenance_work_mem = '256MB'")
        (index,) = entry.indexes
        index.drop(connection)
        for table in (owner, account, lot, lot_element, pour, movement, entry, kept_file, record, intake, piece_state):
            _bulk(connection, table, rows.of(table.name))
        index.create(connection)
        rebuild_totals(connection)
    with books.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql("vacuum analyze" if books.path is None else "analyze")


def _bulk(connection: sa.Connection, table: sa.Table, rows: Iterable[Row]) -> None:
    names = [column.name for column in table.columns]
    raw = connection.connection.driver_connection
    assert raw is not None
    if connection.dialect.name == "postgresql":
        with raw.cursor().copy(f"copy {table.name} ({', '.join(names)}) from stdin (format csv, null '\\N')") as copy:
            for block in _blocks(rows):
                text = io.StringIO()
                csv.writer(text).writerows([["\\N" if one is None else one for one in row] for row in block])
                copy.write(text.getvalue())
        return
    marks = ", ".join("?" for _ in names)
    for block in _blocks(rows):
        raw.executemany(f"insert into {table.name} ({', '.join(names)}) values ({marks})", block)


def _blocks(rows: Iterable[Row]) -> Iterator[Sequence[Row]]:
    some = iter(rows)
    while block := list(islice(some, _BLOCK_ROWS)):
        yield block


class _Rows:
    """The rows of every table, made on the way; accounts of a pour are numbered by it."""

    def __init__(self, pours_count: int) -> None:
        self.pours_count = pours_count
        chance = random.Random(20261128)
        self.first_mg = [chance.randrange(12_000, 23_000) for _ in range(pours_count)]

    def of(self, table: str) -> Iterable[Row]:
        return getattr(self, f"_{table}")()

    # Accounts of pour n: button, first piece, second piece.
    def _numbers(self, n: int) -> tuple[int, int, int]:
        return _FIRST_FREE + 3 * n, _FIRST_FREE + 3 * n + 1, _FIRST_FREE + 3 * n + 2

    def _day(self, n: int) -> int:
        return n * DAYS_COUNT // self.pours_count

    def _name(self, n: int) -> str:
        first = -(-self._day(n) * self.pours_count // DAYS_COUNT)
        return f"{self._date(n)}-F{n - first + 1}"

    def _date(self, n: int) -> str:
        return f"{_START + timedelta(days=self._day(n)):%Y-%m-%d}"

    def _piece(self, n: int, which: int) -> str:
        return self._name(n).replace("-F", "-P") + "ab"[which]

    def _student(self, n: int, which: int) -> str:
        return f"S{(2 * n + which) % STUDENTS_COUNT:03d}"

    def _masses(self, n: int) -> list[dict[str, int]]:
        """Return silver and copper of both pieces."""
        both = (self.first_mg[n], CAST_MG - self.first_mg[n])
        return [{"Ag": mass * 925 // 1000, "Cu": mass - mass * 925 // 1000} for mass in both]

    def _owner(self) -> Iterator[Row]:
        yield "studio", "studio"
        yield from ((f"S{one:03d}", f"Student {one}") for one in range(STUDENTS_COUNT))

    def _account(self) -> Iterator[Row]:
        for name, number in _STUDIO_ACCOUNTS.items():
            yield number, name.partition(":")[0], name, "studio"
        for n in range(self.pours_count):
            button, *pieces = self._numbers(n)
            yield button, "lot", f"lot:{self._lot_id(n)}", "studio"
            for which, number in enumerate(pieces):
                yield number, "piece", f"piece:{self._piece(n, which)}", self._student(n, which)

    def _lot_id(self, n: int) -> str:
        return f"L-{n + 4:04d}"

    def _lot(self) -> Iterator[Row]:
        def row(name: str, number: int, metal: str, ppm: int, new: bool) -> Row:
            noble = "" if metal == "copper" else "Ag"
            known = {"certain": True, "solder": False, "released_by": ""}
            values = {
                "id": name, "account_id": number, "metal": metal, "noble": noble, "share_low_ppm": ppm,
                "share_high_ppm": ppm, "provenance": "", "is_new": new, "whole": metal == "button",
                "melts_count": 0 if new else 1, "price_per_g": "1.10", "quarantine": "", **known,
            }  # fmt: skip
            return tuple(values[column.name] for column in lot.columns)

        yield row(FINE, _STUDIO_ACCOUNTS[f"lot:{FINE}"], "fine-silver-9999", 1_000_000, True)
        yield row(COPPER, _STUDIO_ACCOUNTS[f"lot:{COPPER}"], "copper", 0, True)
        yield row(FILINGS, _STUDIO_ACCOUNTS[f"lot:{FILINGS}"], "scrap", 900_000, False)
        for n in range(self.pours_count):
            yield row(self._lot_id(n), self._numbers(n)[0], "button", 925_000, False)

    def _lot_element(self) -> Iterator[Row]:
        yield from (
            (FINE, "Ag", 1_000_000),
            (COPPER, "Cu", 1_000_000),
            (FILINGS, "Ag", 900_000),
            (FILINGS, "Cu", 100_000),
        )
        for n in range(self.pours_count):
            yield self._lot_id(n), "Ag", 925_000
            yield self._lot_id(n), "Cu", 75_000

    def _pour(self) -> Iterator[Row]:
        for n in range(self.pours_count):
            values = {
                "id": self._name(n), "day": self._date(n), "flask": f"FL-{n % 40:02d}", "alloy": "sterling-925",
                "state": "poured", "charge_mg": CHARGE_MG, "loss_mg": LOSS_MG, "explained": "", "crucible": "CR-1",
            }  # fmt: skip
            yield tuple(values[column.name] for column in pour.columns)

    def _events(self) -> Iterator[Event]:
        """Return all movements day by day: kind, moment, pour, how to make the change of each account."""
        whole = self.pours_count + BUTTON_RESTS_POURS
        dealer = _STUDIO_ACCOUNTS["outside:dealer"]
        for lot_name, element, mass in ((FINE, "Ag", 2 * NEW_SILVER_MG), (COPPER, "Cu", 2 * NEW_COPPER_MG)):
            bought = {(_STUDIO_ACCOUNTS[f"lot:{lot_name}"], element): mass * whole, (dealer, element): -mass * whole}
            yield "taken in", _START, None, partial(dict, bought)
        of_day: dict[int, list[int]] = {}
        for n in range(self.pours_count):
            of_day.setdefault(self._day(n), []).append(n)
        for day in range(DAYS_COUNT + HOME_AFTER_DAYS):
            morning = _START + timedelta(days=day)
            for place, n in enumerate(of_day.get(day, ())):
                yield "poured", morning + timedelta(minutes=place), self._name(n), partial(self._poured, n)
            for back in range(1, HOME_AFTER_DAYS):
                yield from self._filed(of_day.get(day - back, ()), morning, back)
            yield from self._taken_home(of_day.get(day - HOME_AFTER_DAYS, ()), morning)

    def _poured(self, n: int) -> Change:
        button, first, second = self._numbers(n)
        fine, copper, loss = (_STUDIO_ACCOUNTS[one] for one in (f"lot:{FINE}", f"lot:{COPPER}", "loss:melt"))
        change = {(fine, "Ag"): -NEW_SILVER_MG, (copper, "Cu"): -NEW_COPPER_MG}
        if n >= BUTTON_RESTS_POURS:
            before = self._numbers(n - BUTTON_RESTS_POURS)[0]
            change |= {(before, element): -mass for element, mass in BUTTON_MG.items()}
        else:
            change[fine, "Ag"] -= BUTTON_MG["Ag"]
            change[copper, "Cu"] -= BUTTON_MG["Cu"]
        for number, masses in zip((button, first, second), (BUTTON_MG, *self._masses(n)), strict=True):
            change |= {(number, element): mass for element, mass in masses.items()}
        for element in ("Ag", "Cu"):
            change[loss, element] = -sum(mass for (_, one), mass in change.items() if one == element)
        return change

    def _filed(self, pours: Sequence[int], morning: datetime, back: int) -> Iterator[Event]:
        for n in pours:
            for which, number in enumerate(self._numbers(n)[1:]):
                if back == HOME_AFTER_DAYS - 1 and (n + which) % 2:
                    continue
                moment = morning + timedelta(hours=3, seconds=n % 7200)
                filings = _STUDIO_ACCOUNTS[f"lot:{FILINGS}"]
                yield "filed", moment, None, partial(_moved, number, filings, FILED_MG)

    def _taken_home(self, pours: Sequence[int], morning: datetime) -> Iterator[Event]:
        for n in pours:
            for which, number in enumerate(self._numbers(n)[1:]):
                filed_times = 8 + (0 if (n + which) % 2 else 1)
                left = {name: mass - filed_times * FILED_MG[name] for name, mass in self._masses(n)[which].items()}
                moment = morning + timedelta(hours=8, seconds=n % 7200)
                yield "taken home", moment, None, partial(_moved, number, _STUDIO_ACCOUNTS["outside:home"], left)

    def _movement(self) -> Iterator[Row]:
        for number, (kind, moment, of_pour, _) in enumerate(self._events(), start=1):
            when = moment.replace(tzinfo=None).isoformat(" ", "microseconds")
            yield number, f"Y{number:08d}", when, "Teacher", kind, "", None, of_pour

    def _entry(self) -> Iterator[Row]:
        for number, (_, _, _, change) in enumerate(self._events(), start=1):
            for (place, element), mass in sorted(change().items()):
                yield number, place, element, mass

    # Records: the consent of every piece, and the load that it went into; the last loads wait for their pour.
    def _kept_file(self) -> Iterator[Row]:
        yield "0" * 64, ".txt", 10

    def _pieces(self) -> Iterator[tuple[int, str, str, str, str]]:
        for n in range(self.pours_count):
            for which in (0, 1):
                yield n, self._piece(n, which), self._student(n, which), self._date(n), self._name(n)
        for n in range(OPEN_LOADS_COUNT):
            yield n, f"2027-01-11-P{n}", self._student(n, 0), "2027-01-10", f"2027-01-11-F{n}"

    def _record(self) -> Iterator[Row]:
        for place, (_, piece, _, day, _) in enumerate(self._pieces()):
            for step, kind in enumerate(("intake", "state")):
                values = {
                    "id": 2 * place + step + 1, "mark": f"R{2 * place + step:08d}", "kind": kind, "subject": piece,
                    "happened_at": f"{day} 07:00:00.000000", "noted_at": f"{day} 07:00:00.000000",
                    "made_by": "Teacher", "reason": "", "reverses_id": None,
                }  # fmt: skip
                yield tuple(values[column.name] for column in record.columns)

    def _intake(self) -> Iterator[Row]:
        for place, (n, piece, student, _, _) in enumerate(self._pieces()):
            values = {
                "record_id": 2 * place + 1, "piece": piece, "owner_id": student, "title": f"ring {n % 1000}",
                "material": "casting-wax", "pattern_mg": 1500, "pattern_sha256": None, "recast": "ask",
                "agreed_by": student, "consent_version": "1", "consent_sha256": "0" * 64,
            }  # fmt: skip
            yield tuple(values[column.name] for column in intake.columns)

    def _piece_state(self) -> Iterator[Row]:
        for place, (_, _, _, _, load) in enumerate(self._pieces()):
            values = {"record_id": 2 * place + 2, "state": "invested", "place": "", "load": load}
            yield tuple(values[column.name] for column in piece_state.columns)
