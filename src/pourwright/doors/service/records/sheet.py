"""A weigh sheet kept on paper, typed into a spreadsheet afterwards: the same records and the same ledger.

One row is one line of the paper: when, what, subject, value, who, scale, note. All of it is entered, or nothing, and a
row that was typed before is not entered again.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pourwright.books.ledger import was_booked
from pourwright.books.pours import Casting, Poured, book_pour
from pourwright.books.records.actuals import QUANTITIES, TIME, enter_actual
from pourwright.books.records.checksum import STAGES
from pourwright.books.records.pieces import STATES, move, whereabouts
from pourwright.books.records.seen import enter_outcome
from pourwright.books.records.weighings import weigh
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, refused
from pourwright.doors.service.books.pours import expected_loss_mg
from pourwright.doors.service.books.typed import noble_of, typed_mg, typed_parts
from pourwright.doors.service.records.day import moment_value, number_value
from pourwright.doors.service.records.opening import Room, file_content, moment, writing

COLUMNS = ("when", "what", "subject", "value", "who", "scale", "note")
_NEEDED = COLUMNS[:4]
_POUR = ("alloy", "use", "casting", "button", "scrap", "spill", "explained")
_OUTCOME = "outcome"
_WORDS = (*STAGES, *QUANTITIES, *STATES, *_POUR, _OUTCOME)
_STAGE_SCALE, _POUR_SCALE = "1 g", "0.01 g"
_DEFAULT_ALLOY = "sterling-925"
_MARK_LETTERS = 32


@dataclass(frozen=True)
class Line:
    """One row of the sheet; ``row`` is its number as a spreadsheet counts."""

    row: int
    when: str
    what: str
    subject: str
    value: str
    who: str
    scale: str
    note: str

    @property
    def mark(self) -> str:
        """The row's own name: the same words give the same mark."""
        words = "\n".join((self.when, self.what, self.subject, self.value, self.who, self.scale, self.note))
        return f"sheet-{hashlib.sha256(words.encode()).hexdigest()[:_MARK_LETTERS]}"


def import_sheet(told: str, path: Path, by: str) -> BookAnswer:
    """Enter all lines of a weigh sheet in one transaction.

    Parameters
    ----------
    told : str
        Books.
    path : Path
        A CSV file with the columns of :data:`COLUMNS`; the last three may be left out.
    by : str
        Who typed it, where a row does not say who did the work.
    """
    found: list[Finding] = []
    lines = _lines(path, file_content(path, found), by, found) if not found else ()

    def work(room: Room) -> BookAnswer:
        for one in lines:
            if one.what not in _POUR:
                with _saying_row(path, one):
                    _enter(room, one)
        pours = _pours(lines)
        for load, rows in pours.items():
            with _saying_row(path, rows[0]):
                _book(room, load, rows)
        text = say("doors.record-typed-in", rows=len(lines), pours=len(pours))
        return BookAnswer({"rows": len(lines), "pours": sorted(pours)}, text)

    return writing(told, work, tuple(found), must_exist=False)


def _lines(path: Path, content: bytes, by: str, found: list[Finding]) -> tuple[Line, ...]:
    """Return the rows of a sheet; every row that cannot be one goes to ``found``."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        found.append(Finding("doors.record-sheet-text", Level.STOP, str(path)))
        return ()
    first = text.partition("\n")[0]
    reader = csv.DictReader(io.StringIO(text), delimiter=";" if first.count(";") > first.count(",") else ",")
    lacking = [name for name in _NEEDED if name not in (reader.fieldnames or ())]
    if lacking:
        params = {"lacking": ", ".join(lacking), "columns": ", ".join(COLUMNS)}
        found.append(Finding("doors.record-sheet-columns", Level.STOP, str(path), params))
        return ()
    rows = [{name: str(row.get(name) or "").strip() for name in COLUMNS} for row in reader]
    lines = [
        Line(number, **{**row, "who": row["who"] or by}) for number, row in enumerate(rows, 2) if any(row.values())
    ]
    for one in lines:
        if one.what not in _WORDS:
            params = {"word": one.what, "words": ", ".join(_WORDS)}
            found.append(Finding("doors.record-sheet-word", Level.STOP, _place(path, one), params))
    return tuple(lines)


def _place(path: Path, one: Line) -> str:
    return say("doors.record-row", file=path.name, row=one.row)


@contextmanager
def _saying_row(path: Path, one: Line) -> Iterator[None]:
    """Say in which row of the sheet something was refused."""
    try:
        yield
    except LedgerError as stop:
        there = [replace(finding, where=_place(path, one)) for finding in stop.findings if isinstance(finding, Finding)]
        raise LedgerError(str(stop), tuple(there)) from None


def _enter(room: Room, one: Line) -> None:
    """Enter one line that is not part of a pour; invested and cast are weighings with a value, and steps without."""
    when = moment(one.when, room.zone, "when")
    if one.what in STAGES and (one.value or one.what not in STATES):
        mass_mg, mark_mg = _mg(one.value), _mg(one.scale or _STAGE_SCALE)
        weigh(room.connection, one.subject, one.what, mass_mg, -(-mark_mg // 2), one.who, when, one.note, one.mark)
    elif one.what in QUANTITIES:
        unit = QUANTITIES[one.what].unit
        number = moment_value(one.value, room.zone) if unit == TIME else number_value(one.value, unit)
        enter_actual(room.connection, one.subject, one.what, number, one.who, when, one.note, one.mark)
    elif one.what == _OUTCOME:
        enter_outcome(room.connection, one.subject, one.value, one.who, one.note, when, one.mark)
    else:
        _move(room, one)


def _move(room: Room, one: Line) -> None:
    """Move a piece, or all pieces of a load; the value names the load where a piece comes into one."""
    when = moment(one.when, room.zone, "when")
    inside = [event.piece for event in whereabouts(room.connection, when, load=one.subject)]
    for piece in inside or [one.subject]:
        load = one.subject if inside else one.value
        move(room.connection, piece, one.what, one.who, "", load, when, one.note, f"{one.mark}:{piece}")


def _mg(text: str) -> int:
    found: list[Finding] = []
    mass_mg = typed_mg(text, "value", found)
    _stop_at(found)
    return mass_mg


def _stop_at(found: Sequence[Finding]) -> None:
    if found:
        raise LedgerError(found[0].what, tuple(found))


def _pours(lines: Sequence[Line]) -> dict[str, list[Line]]:
    """Return the lines of each pour, in the order in which the pours stand on the sheet."""
    found: dict[str, list[Line]] = {}
    for one in lines:
        if one.what in _POUR:
            found.setdefault(one.subject, []).append(one)
    return found


def _book(room: Room, load: str, rows: Sequence[Line]) -> None:
    """Book a pour from its lines, at the time of the first."""
    if was_booked(room.connection, rows[0].mark):
        return
    poured = _poured(load, rows)
    owners = [one.owner for one in poured.castings]
    when = moment(rows[0].when, room.zone, "when")
    book_pour(room.connection, poured, rows[0].who, owners, rows[0].mark, when)


def _poured(load: str, rows: Sequence[Line]) -> Poured:
    found: list[Finding] = []
    told = {what: [one.value for one in rows if one.what == what] for what in _POUR}
    used = {name: mass for (name,), mass in typed_parts(told["use"], 1, "use", found)}
    pieces = [Casting(piece, owner, mass) for (piece, owner), mass in typed_parts(told["casting"], 2, "casting", found)]
    alloy = (told["alloy"] or [_DEFAULT_ALLOY])[-1]
    noble = noble_of(alloy, found)
    others = {what: sum(typed_mg(one, what, found) for one in told[what]) for what in ("button", "scrap", "spill")}
    mark_mg = typed_mg(next((one.scale for one in rows if one.scale), _POUR_SCALE), "scale", found)
    _stop_at(found)
    weighings_count = len(used) + len(pieces) + sum(len(told[what]) for what in others)
    return Poured(
        load,
        _day(load),
        alloy,
        noble,
        used,
        pieces,
        others["button"],
        others["scrap"],
        others["spill"],
        scales_mg=-(-mark_mg * weighings_count // 2),
        expected_loss_mg=expected_loss_mg(sum(used.values())),
        explained=" ".join(told["explained"]),
        state="poured" if pieces else "aborted",
    )


def _day(load: str) -> date:
    try:
        return date.fromisoformat(load[:10])
    except ValueError:
        raise refused("doors.pour-day", "subject", text=load) from None
