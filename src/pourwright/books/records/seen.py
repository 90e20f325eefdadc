"""What was seen: how a piece came out, faults by the atlas with their place, incidents, and files kept with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import refused
from pourwright.books.records.entering import enter, standing
from pourwright.books.records.files import keep
from pourwright.books.records.tables import attachment, defect_seen, incident, outcome, record
from pourwright.core.errors import DataError
from pourwright.matter.defects import defect as find_defect

RESULTS = ("good", "flawed", "failed")
SEVERITIES = ("slight", "plain", "spoils")
WEIGHTS = ("incident", "near-miss")
# What a kept file is to its subject.
KINDS = ("plan", "studio", "day", "calibration", "simulation", "photo", "paper")
PointUm = tuple[int, int, int]


@dataclass(frozen=True)
class Outcome:
    """How a piece came out."""

    piece: str
    result: str
    note: str
    happened_at: datetime
    made_by: str
    mark: str


@dataclass(frozen=True)
class SeenDefect:
    """A fault of a piece: its id in the atlas, how bad, and where: in words, and as a point [um] if measured."""

    piece: str
    defect: str
    severity: str
    region: str
    place_um: PointUm | None
    note: str
    happened_at: datetime
    made_by: str
    mark: str


@dataclass(frozen=True)
class Incident:
    """Something that went wrong or nearly: what happened, in which role, and what is done another way next time."""

    subject: str
    weight: str
    role: str
    what: str
    next_time: str
    happened_at: datetime
    made_by: str
    mark: str


@dataclass(frozen=True)
class Attachment:
    """A file kept with a piece, load or day."""

    subject: str
    kind: str
    sha256: str
    name: str
    note: str
    happened_at: datetime
    made_by: str
    mark: str


def enter_outcome(
    connection: Connection,
    piece: str,
    result: str,
    made_by: str,
    note: str = "",
    happened_at: datetime | None = None,
    mark: str = "",
) -> str:
    """Enter how a piece came out: one of :data:`RESULTS`; a later one counts in place of an earlier.

    Raises
    ------
    LedgerError
        There is no such result.
    """
    _one_of("result", result, RESULTS)
    return enter(connection, "outcome", piece, made_by, outcome, {"result": result}, happened_at, note, mark)


def enter_defect(
    connection: Connection,
    piece: str,
    defect: str,
    severity: str,
    made_by: str,
    region: str = "",
    place_um: PointUm | None = None,
    note: str = "",
    happened_at: datetime | None = None,
    mark: str = "",
) -> str:
    """Enter a fault of a piece.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    piece, defect, severity : str
        The fault by its id in the atlas, and how bad: one of :data:`SEVERITIES`.
    made_by, note, happened_at, mark
        As for :func:`pourwright.books.records.entering.enter`.
    region : str
        Where, in words.
    place_um : tuple of int, optional
        Where, in the axes of the pattern file [um].

    Raises
    ------
    LedgerError
        The fault or its severity is not known, or it has no place at all.
    """
    _one_of("severity", severity, SEVERITIES)
    try:
        find_defect(defect)
    except DataError as unknown:
        raise refused("books.defect-unknown", defect, reason=str(unknown)) from None
    if not region.strip() and place_um is None:
        raise refused("books.defect-no-place", piece, piece=piece)
    x_um, y_um, z_um = place_um or (None, None, None)
    row = {"defect": defect, "severity": severity, "region": region, "x_um": x_um, "y_um": y_um, "z_um": z_um}
    return enter(connection, "defect", piece, made_by, defect_seen, row, happened_at, note, mark)


def enter_incident(
    connection: Connection,
    subject: str,
    weight: str,
    what: str,
    made_by: str,
    role: str = "",
    next_time: str = "",
    happened_at: datetime | None = None,
    mark: str = "",
) -> str:
    """Enter an incident or a near miss; a role stands in for whoever was there, no name is asked for.

    Raises
    ------
    LedgerError
        It is neither, or says nothing.
    """
    _one_of("weight", weight, WEIGHTS)
    if not what.strip():
        raise refused("books.incident-empty", subject)
    row = {"weight": weight, "role": role, "what": what, "next_time": next_time}
    return enter(connection, "incident", subject, made_by, incident, row, happened_at, mark=mark)


def attach(
    connection: Connection,
    studio: Path,
    subject: str,
    kind: str,
    content: bytes,
    name: str,
    made_by: str,
    note: str = "",
    happened_at: datetime | None = None,
    mark: str = "",
) -> str:
    """Keep a file with a piece, load or day, and return its hash; the same file with the same subject once.

    Raises
    ------
    LedgerError
        The kind is not known, or the file is refused (:func:`pourwright.books.records.files.keep`).
    """
    _one_of("kind", kind, KINDS)
    one = keep(connection, studio, content, name)
    held = [file for file in attachments(connection, (subject,), kind) if file.name == name]
    if kind == "photo":
        held = [file for file in held if file.sha256 == one.sha256]
    if not held or held[-1].sha256 != one.sha256:
        row = {"kind": kind, "sha256": one.sha256, "name": name}
        enter(connection, "kept", subject, made_by, attachment, row, happened_at, note, mark)
    return one.sha256


def _one_of(what: str, word: str, words: Sequence[str]) -> None:
    if word not in words:
        raise refused("books.word-unknown", word, what=what, word=word, words=", ".join(words))


_HEAD = (record.c.happened_at, record.c.made_by, record.c.mark)


def _standing(table: sa.Table, subjects: Sequence[str], *columns: sa.Column[Any]) -> sa.Select[Any]:
    """Return what stands in a table about subjects (all if none is named), in the order of events."""
    wanted = (
        sa.select(record.c.subject, *columns, *_HEAD)
        .join(table, table.c.record_id == record.c.id)
        .where(standing())
        .order_by(record.c.happened_at, record.c.id)
    )
    return wanted.where(record.c.subject.in_(subjects)) if subjects else wanted


def outcomes(connection: Connection, pieces: Sequence[str] = ()) -> dict[str, Outcome]:
    """Return how pieces came out, the last word on each."""
    rows = connection.execute(_standing(outcome, pieces, outcome.c.result, record.c.reason))
    return {row.subject: Outcome(*tuple(row)) for row in rows}


def defects(connection: Connection, pieces: Sequence[str] = ()) -> tuple[SeenDefect, ...]:
    """Return faults of pieces, in the order in which they were seen."""
    table = defect_seen.c
    columns = (table.defect, table.severity, table.region, table.x_um, table.y_um, table.z_um, record.c.reason)
    rows = connection.execute(_standing(defect_seen, pieces, *columns))
    return tuple(
        SeenDefect(
            row.subject,
            row.defect,
            row.severity,
            row.region,
            None if row.x_um is None else (row.x_um, row.y_um, row.z_um),
            row.reason,
            row.happened_at,
            row.made_by,
            row.mark,
        )
        for row in rows
    )


def incidents(connection: Connection, subjects: Sequence[str] = ()) -> tuple[Incident, ...]:
    """Return incidents and near misses, in the order of events."""
    table = incident.c
    rows = connection.execute(_standing(incident, subjects, table.weight, table.role, table.what, table.next_time))
    return tuple(Incident(*tuple(row)) for row in rows)


def attachments(connection: Connection, subjects: Sequence[str], kind: str = "") -> tuple[Attachment, ...]:
    """Return files kept with pieces, loads or days, the latest last; of one kind only if asked."""
    table = attachment.c
    wanted = _standing(attachment, subjects, table.kind, table.sha256, table.name, record.c.reason)
    rows = connection.execute(wanted.where(table.kind == kind) if kind else wanted)
    return tuple(Attachment(*tuple(row)) for row in rows)
