"""Rows of a notebook as entries to be booked: a lot or a handing out to a row, a pour to all rows that name it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from pourwright.books.ledger import STUDIO
from pourwright.books.notebook import OldEntry, OldHandOut, OldLot, OldPour
from pourwright.books.pours import Casting, Poured
from pourwright.core.findings import Finding, Level, stops
from pourwright.doors.service.books.pours import expected_loss_mg
from pourwright.doors.service.books.typed import noble_of
from pourwright.doors.service.notebook.columns import Heads, Reading
from pourwright.doors.service.notebook.sheets import Sheet
from pourwright.doors.service.stock.intake import Brought, lot_as_typed

# A notebook knows the day, not the hour.
_NOON = time(12)


@dataclass(frozen=True)
class Manner:
    """How a notebook is read: the clock of its days, alloy and scale where it says none, how decimals are written."""

    zone: ZoneInfo
    alloy: str
    scale_mg: int
    decimal_comma: bool


def entries_of(file: str, sheet: Sheet, heads: Heads, manner: Manner) -> tuple[list[OldEntry], list[Finding]]:
    """Return the entries of a sheet, and all that is wrong with its cells."""
    readings = [Reading(file, sheet, heads, number, row, manner.decimal_comma) for number, row in sheet.rows[1:]]
    makers = {"lots": _lots, "pours": _pours, "handed out": _handed_out}
    entries = list(makers[heads.kind](readings, manner))
    return entries, [one for reading in readings for one in reading.found]


def _moment(day: date | None, manner: Manner) -> datetime:
    return datetime.combine(day or date.min.replace(year=2000), _NOON, manner.zone)


def _lots(readings: Sequence[Reading], manner: Manner) -> Iterator[OldEntry]:
    for one in readings:
        day, mass_mg = one.day(), one.mass_mg("mass", needed=True)
        source, label = one.text("from", needed=True), one.text("lot")
        metal, fineness, owner = one.text("metal", needed=True), one.text("fineness"), one.text("owner")
        brought = Brought(metal, fineness, one.text("price") or "0", owner=owner, note=one.text("note"))
        new, found = lot_as_typed(brought) if metal else (None, ())
        one.found += [_placed(found_one, one) for found_one in found if found_one.level is not Level.NOTE]
        if new is not None and not stops(one.found):
            said = (str(day), label, metal, fineness, owner, str(mass_mg), source, brought.note)
            yield OldEntry(one.place(), said, _moment(day, manner), OldLot(label, new, mass_mg, source))


def _placed(found: Finding, reading: Reading) -> Finding:
    """Return a finding of the command line as one of a cell."""
    return Finding(found.code, found.level, reading.place(found.where.removeprefix("--")), found.params)


def _handed_out(readings: Sequence[Reading], manner: Manner) -> Iterator[OldEntry]:
    for one in readings:
        day, mass_mg, lot = one.day(), one.mass_mg("out", needed=True), one.text("lot", needed=True)
        receiver, note = one.text("to", needed=True), one.text("note")
        if not one.found:
            said = (str(day), lot, str(mass_mg), receiver, note)
            yield OldEntry(one.place(), said, _moment(day, manner), OldHandOut(lot, mass_mg, receiver, note))


def _pours(readings: Sequence[Reading], manner: Manner) -> Iterator[OldEntry]:
    by_pour: dict[str, list[Reading]] = defaultdict(list)
    for one in readings:
        by_pour[one.text("pour", needed=True)].append(one)
    for name, rows in by_pour.items():
        entry = _pour(name, rows, manner)
        if entry is not None:
            yield entry


def _pour(name: str, rows: Sequence[Reading], manner: Manner) -> OldEntry | None:
    first = rows[0]
    day = first.day()
    used: dict[str, int] = defaultdict(int)
    castings: list[Casting] = []
    back = dict.fromkeys(("button", "scrap", "spill"), 0)
    for one in rows:
        mass_mg = one.mass_mg("used")
        if mass_mg:
            used[one.text("lot", needed=True)] += mass_mg
        casting = _casting(one, f"{name}-{len(castings) + 1}")
        castings += [casting] if casting else []
        for kind in back:
            back[kind] += one.mass_mg(kind)
    alloy = first.text("alloy") or manner.alloy
    noble = noble_of(alloy, first.found)
    if any(one.found for one in rows) or day is None or not name:
        return None
    note = "; ".join(dict.fromkeys(one.text("note") for one in rows if one.text("note")))
    weighings = len(used) + len(castings) + sum(1 for mass in back.values() if mass)
    poured = Poured(
        name,
        day,
        alloy,
        noble,
        dict(used),
        tuple(castings),
        back["button"],
        back["scrap"],
        back["spill"],
        scales_mg=-(-manner.scale_mg * weighings // 2),
        expected_loss_mg=expected_loss_mg(sum(used.values())),
        explained=note,
    )
    said = (name, str(day), alloy, *map(str, sorted(used.items())), *(f"{one}" for one in castings), str(back), note)
    return OldEntry(first.place(), said, _moment(day, manner), OldPour(poured, tuple(one.owner for one in castings)))


def _casting(one: Reading, name: str) -> Casting | None:
    mass_mg = one.mass_mg("cast")
    return Casting(one.text("piece") or name, one.text("owner") or STUDIO, mass_mg) if mass_mg else None
