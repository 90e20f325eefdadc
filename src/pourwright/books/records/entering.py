"""Entering records: each once, never changed, taken back only by another with a reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import new_mark, refused
from pourwright.books.records.tables import record

# What cannot be taken back: a piece taken in is withdrawn or returned instead.
_STAYS = ("intake", "reversed")
_MOST_COUNT = 500


@dataclass(frozen=True)
class Entry:
    """The head of a record: what it is about, when that happened, when and by whom it was noted.

    ``taken_back_by`` is the mark of the record that took it back, ``reverses`` the mark of the one that it took back.
    """

    mark: str
    kind: str
    subject: str
    happened_at: datetime
    noted_at: datetime
    made_by: str
    reason: str
    taken_back_by: str = ""
    reverses: str = ""


def enter(
    connection: Connection,
    kind: str,
    subject: str,
    made_by: str,
    table: sa.Table | None = None,
    row: dict[str, Any] | None = None,
    happened_at: datetime | None = None,
    reason: str = "",
    mark: str = "",
    reverses_id: int | None = None,
) -> str:
    """Enter a record, and return its mark.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    kind, subject : str
        What it is, and about which piece, load or day.
    made_by, reason : str
        Who wrote it, and what should be remembered.
    table, row : Table and dict, optional
        The row beside the head.
    happened_at : datetime, optional
        When it happened; now unless given.
    mark : str
        Its own name; one that is entered already is not entered again.
    reverses_id : int, optional
        The record that it takes back.
    """
    mark = mark or new_mark()
    if known(connection, mark):
        return mark
    now = datetime.now(UTC)
    number = connection.execute(
        record.insert()
        .values(
            mark=mark,
            kind=kind,
            subject=subject,
            happened_at=happened_at or now,
            noted_at=now,
            made_by=made_by,
            reason=reason,
            reverses_id=reverses_id,
        )
        .returning(record.c.id)
    ).scalar_one()
    if table is not None:
        connection.execute(table.insert().values(record_id=number, **(row or {})))
    return mark


def known(connection: Connection, mark: str) -> bool:
    """Return whether a record of that mark is entered."""
    return connection.execute(sa.select(record.c.id).where(record.c.mark == mark)).first() is not None


def standing() -> sa.ColumnElement[bool]:
    """Return the condition that a record stands: nobody took it back."""
    back = record.alias("back")
    return ~sa.exists().where(back.c.reverses_id == record.c.id)


def take_back(connection: Connection, mark: str, made_by: str, reason: str, new: str = "") -> str:
    """Take a record back with a reason; the first stays to be read.

    Raises
    ------
    LedgerError
        There is none, it is taken back already, it is one that stays, or no reason is given.
    """
    if new and known(connection, new):
        return new
    found = entry_by(connection, mark)
    if not reason.strip():
        raise refused("books.record-no-reason", mark, mark=mark)
    if found.taken_back_by:
        raise refused("books.record-taken-back", mark, mark=mark, by=found.taken_back_by)
    if found.kind in _STAYS:
        raise refused("books.record-stays", mark, mark=mark, subject=found.subject)
    number = connection.execute(sa.select(record.c.id).where(record.c.mark == mark)).scalar_one()
    return enter(connection, "reversed", found.subject, made_by, reason=reason, mark=new, reverses_id=number)


def entry_by(connection: Connection, mark: str) -> Entry:
    """Return the head of a record by its mark.

    Raises
    ------
    LedgerError
        There is none.
    """
    found = _read(connection, record.c.mark == mark)
    if not found:
        raise refused("books.record-unknown", mark, mark=mark)
    return found[0]


def history(connection: Connection, subjects: Sequence[str] = (), most_count: int = _MOST_COUNT) -> tuple[Entry, ...]:
    """Return the heads of records about pieces, loads or days (all if none is named), in the order of events."""
    which = record.c.subject.in_(subjects) if subjects else sa.true()
    newest = sa.select(record.c.id).where(which).order_by(record.c.happened_at.desc(), record.c.id.desc())
    return _read(connection, record.c.id.in_(newest.limit(most_count)))


def _read(connection: Connection, which: sa.ColumnElement[bool]) -> tuple[Entry, ...]:
    back, first = record.alias("back"), record.alias("first")
    rows = connection.execute(
        sa.select(
            record.c.mark,
            record.c.kind,
            record.c.subject,
            record.c.happened_at,
            record.c.noted_at,
            record.c.made_by,
            record.c.reason,
            sa.func.coalesce(back.c.mark, ""),
            sa.func.coalesce(first.c.mark, ""),
        )
        .outerjoin(back, back.c.reverses_id == record.c.id)
        .outerjoin(first, first.c.id == record.c.reverses_id)
        .where(which)
        .order_by(record.c.happened_at, record.c.id)
    )
    return tuple(Entry(*row) for row in rows)
