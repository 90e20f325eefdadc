"""Somebody does not come: the flask is not poured, waits for another day, and no metal moves.

Whoever is absent pays the place in the kiln, not metal: see the seats of :func:`pourwright.books.money.pour_bill`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import new_mark, refused
from pourwright.books.records.entering import enter, known, standing
from pourwright.books.records.intake import intakes
from pourwright.books.records.pieces import PieceEvent, chain_of, move, whereabouts
from pourwright.books.records.tables import record
from pourwright.books.tables import pour

_CAN_WAIT = ("invested", "in-kiln", "held")


@dataclass(frozen=True)
class Absence:
    """A load that waits: its pieces, whose they are, and which trip through the kiln comes next."""

    load: str
    pieces: tuple[str, ...]
    owners: tuple[str, ...]
    next_cycle_count: int
    mark: str


def mark_absent(
    connection: Connection,
    load: str,
    owners: Sequence[str],
    made_by: str,
    reason: str,
    happened_at: datetime | None = None,
    mark: str = "",
) -> Absence:
    """Enter that the owners of a load's pieces did not come: every piece of it waits for another day.

    Parameters
    ----------
    connection : Connection
        Inside a transaction; nothing of the metal is touched.
    load : str
        The flask load.
    owners : sequence of str
        Who did not come: all whose pieces are in it.
    made_by, reason, happened_at, mark
        As for :func:`pourwright.books.records.entering.enter`.

    Raises
    ------
    LedgerError
        Nothing is in the load, it is poured already, a piece of it cannot wait, or others' pieces are in it too.
    """
    mark = mark or new_mark()
    inside = whereabouts(connection, happened_at, load=load)
    if not known(connection, mark):
        _check(connection, load, inside, owners)
        for one in inside:
            if one.state != "held":
                move(connection, one.piece, "held", made_by, "", load, happened_at, reason, f"{mark}:{one.piece}")
        enter(connection, "absent", load, made_by, happened_at=happened_at, reason=reason, mark=mark)
    pieces = tuple(one.piece for one in inside)
    return Absence(load, pieces, _owners(connection, pieces), _next_cycle(connection, pieces), mark)


def _check(connection: Connection, load: str, inside: Sequence[PieceEvent], owners: Sequence[str]) -> None:
    if not inside:
        raise refused("books.absent-empty", load, load=load)
    if connection.execute(sa.select(pour.c.id).where(pour.c.id == load)).first():
        raise refused("books.absent-poured", load, load=load)
    stuck = [one for one in inside if one.state not in _CAN_WAIT]
    if stuck:
        raise refused("books.absent-too-late", load, piece=stuck[0].piece, state=stuck[0].state)
    others = set(_owners(connection, tuple(one.piece for one in inside))) - set(owners)
    if others:
        raise refused("books.absent-others", load, load=load, others=", ".join(sorted(others)))


def _owners(connection: Connection, pieces: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted({one.owner for one in intakes(connection, pieces)})) if pieces else ()


def _next_cycle(connection: Connection, pieces: tuple[str, ...]) -> int:
    """Return the number of the next trip through the kiln: one more than the piece that went most often."""
    trips = [sum(one.state == "in-kiln" for one in chain_of(connection, piece)) for piece in pieces]
    return max(trips, default=0) + 1


def absences(connection: Connection, loads: Sequence[str] = ()) -> tuple[str, ...]:
    """Return loads whose owners did not come, in the order of events; only among those named, if any are."""
    wanted = sa.select(record.c.subject).where(record.c.kind == "absent", standing()).order_by(record.c.happened_at)
    rows = connection.execute(wanted.where(record.c.subject.in_(loads)) if loads else wanted).scalars()
    return tuple(dict.fromkeys(rows))


def pours_left(connection: Connection, loads: Sequence[str]) -> tuple[tuple[int, str], ...]:
    """Return the loads still to be poured with their new numbers in line: the absent and the poured ones drop out.

    What is scratched into a mould stays; only the place in the line changes.
    """
    absent = set(absences(connection, loads))
    poured = set(connection.execute(sa.select(pour.c.id).where(pour.c.id.in_(loads))).scalars())
    return tuple(enumerate((one for one in loads if one not in absent | poured), 1))
