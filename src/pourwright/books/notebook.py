"""Rows of an old notebook as bookings: each under a mark made of what it says, so that reading twice books once."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import Leg, know_account, post, refused
from pourwright.books.lots import NewLot, elements_of, lots, take_in
from pourwright.books.pours import Poured, book_pour
from pourwright.books.tables import movement
from pourwright.core.errors import LedgerError

_MARK_LENGTH = 40


@dataclass(frozen=True)
class OldLot:
    """A lot that came in: its label in the notebook (empty for a new id), what it is, mass and source."""

    label: str
    new: NewLot
    gross_mg: int
    source: str


@dataclass(frozen=True)
class OldPour:
    """A pour as the notebook has it, of one row or several; whose metal it may use."""

    poured: Poured
    owners: tuple[str, ...]


@dataclass(frozen=True)
class OldHandOut:
    """Metal of a lot that left the studio: to whom, and why."""

    lot: str
    gross_mg: int
    receiver: str
    reason: str


@dataclass(frozen=True)
class OldEntry:
    """One booking to be: where it stands in the file, what its rows say, when it was, and what it is."""

    place: str
    said: tuple[str, ...]
    made_at: datetime
    what: OldLot | OldPour | OldHandOut


def book_entries(
    connection: Connection, entries: Sequence[OldEntry], made_by: str
) -> tuple[list[OldEntry], list[tuple[OldEntry, LedgerError]]]:
    """Book what is not booked yet.

    Parameters
    ----------
    connection : Connection
        Inside a transaction; it is for the caller to keep it or not.
    entries : sequence of OldEntry
        In the order in which they happened.
    made_by : str
        Who enters them.

    Returns
    -------
    new : list of OldEntry
        Entries booked now.
    refusals : list of (OldEntry, LedgerError)
        Entries that the books refuse; nothing of these was booked, and the rest went on.
    """
    marks = _marks_of(entries)
    known = _known_marks(connection, marks)
    new: list[OldEntry] = []
    refusals: list[tuple[OldEntry, LedgerError]] = []
    for one, mark in zip(entries, marks, strict=True):
        if mark in known:
            continue
        try:
            with connection.begin_nested():
                _book_entry(connection, one, made_by, mark)
            new.append(one)
        except LedgerError as refusal:
            refusals.append((one, refusal))
    return new, refusals


def _marks_of(entries: Sequence[OldEntry]) -> list[str]:
    """Return a mark for each entry, made of what its rows say; the second of two alike gets another than the first."""
    seen: dict[tuple[str, ...], int] = {}
    marks = []
    for one in entries:
        said = (type(one.what).__name__, *one.said)
        seen[said] = seen.get(said, 0) + 1
        digest = hashlib.sha256("\x1f".join((*said, str(seen[said]))).encode()).hexdigest()
        marks.append(f"notebook-{digest[:_MARK_LENGTH]}")
    return marks


def _known_marks(connection: Connection, marks: Sequence[str]) -> set[str]:
    """Return those of the marks that are booked already."""
    found: set[str] = set()
    for start in range(0, len(marks), 500):
        some = marks[start : start + 500]
        found |= set(connection.execute(sa.select(movement.c.mark).where(movement.c.mark.in_(some))).scalars())
    return found


def _book_entry(connection: Connection, one: OldEntry, made_by: str, mark: str) -> None:
    if isinstance(one.what, OldLot):
        old = one.what
        take_in(
            connection, old.new, old.gross_mg, old.source, made_by, old.new.provenance, mark, old.label, one.made_at
        )
    elif isinstance(one.what, OldPour):
        book_pour(connection, one.what.poured, made_by, one.what.owners, mark, one.made_at)
    else:
        _hand_out(connection, one.what, made_by, mark, one.made_at)


def _hand_out(connection: Connection, old: OldHandOut, made_by: str, mark: str, made_at: datetime) -> None:
    found = lots(connection, [old.lot])
    if not found:
        raise refused("books.lot-unknown", old.lot, lot=old.lot)
    if not 0 < old.gross_mg <= found[0].held_mg:
        raise refused("books.hand-out-too-much", old.lot, lot=old.lot)
    outside = f"outside:{old.receiver}"
    know_account(connection, "outside", outside)
    part = elements_of(connection, found[0], old.gross_mg)
    less = {name: -mass for name, mass in part.items()}
    post(
        connection, "handed out", [Leg(f"lot:{old.lot}", less), Leg(outside, part)], made_by, old.reason, mark, made_at
    )
