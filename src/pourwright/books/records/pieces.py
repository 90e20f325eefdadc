"""Where each piece is and what was done to it, as a chain of events over days; only steps that can follow each other.

A chain may be added to in the middle (paper typed afterwards) and a link may be taken back, as long as what is left can
have happened. The last link says where the piece is, so it is in exactly one place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import refused
from pourwright.books.records.entering import enter, entry_by, known, standing, take_back
from pourwright.books.records.tables import intake, piece_state, record

# What may follow each state. ``held``: burned out or invested, and waiting for another day. ``lost``: broken, melted
# or gone; ``withdrawn``: given back as a pattern. A loss by mistake is taken back, not followed.
FOLLOWS: Mapping[str, frozenset[str]] = {
    "": frozenset({"received"}),
    "received": frozenset({"sprued", "withdrawn", "lost"}),
    "sprued": frozenset({"received", "invested", "lost"}),
    "invested": frozenset({"in-kiln", "held", "lost"}),
    "in-kiln": frozenset({"held", "cast", "lost"}),
    "held": frozenset({"in-kiln", "lost"}),
    "cast": frozenset({"quenched", "lost"}),
    "quenched": frozenset({"pickled", "weighed", "lost"}),
    "pickled": frozenset({"weighed", "lost"}),
    "weighed": frozenset({"pickled", "returned", "lost"}),
    "returned": frozenset(),
    "withdrawn": frozenset(),
    "lost": frozenset(),
}
STATES = tuple(one for one in FOLLOWS if one)
# States in which a piece belongs to a load; before and after it stands alone.
_IN_LOAD = ("sprued", "invested", "in-kiln", "held", "cast", "quenched", "pickled", "weighed")
_ENDS = tuple(one for one, later in FOLLOWS.items() if not later)
_WANTS_REASON = ("lost", "withdrawn", "held")


@dataclass(frozen=True)
class PieceEvent:
    """One link: the state a piece came into, where, in which load, when, by whom and why."""

    piece: str
    state: str
    place: str
    load: str
    happened_at: datetime
    made_by: str
    reason: str
    mark: str


def move(
    connection: Connection,
    piece: str,
    state: str,
    made_by: str,
    place: str = "",
    load: str = "",
    happened_at: datetime | None = None,
    reason: str = "",
    mark: str = "",
) -> str:
    """Enter that a piece came into a state, and return the mark.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    piece, state : str
        A piece that was taken in, and one of :data:`STATES`.
    made_by, reason, mark : str
        As for :func:`pourwright.books.records.entering.enter`; to lose, hold or withdraw a piece wants a reason.
    place : str
        Where it is now, if somebody says so.
    load : str
        Its flask load; the one it is in already unless given.
    happened_at : datetime, optional
        When; now, after all that is written, unless given.

    Raises
    ------
    LedgerError
        The piece is not known, the state cannot come there in its chain, or lacks a load or a reason.
    """
    if mark and known(connection, mark):
        return mark
    _hold(connection, piece)
    chain = chain_of(connection, piece)
    # "Now" is after all that is written, also where somebody's clock ran ahead.
    moment = happened_at or max([datetime.now(UTC), *(one.happened_at for one in chain)])
    before = [one for one in chain if one.happened_at <= moment]
    after = chain[len(before) :]
    _check(piece, [*(one.state for one in before), state, *(one.state for one in after)])
    load = (load or (before[-1].load if before else "")) if state in _IN_LOAD else ""
    if state in _IN_LOAD and not load:
        raise refused("books.piece-no-load", piece, piece=piece, state=state)
    if state in _WANTS_REASON and not reason.strip():
        raise refused("books.piece-no-reason", piece, piece=piece, state=state)
    row = {"state": state, "place": place, "load": load}
    return enter(connection, "state", piece, made_by, piece_state, row, moment, reason, mark)


def take_state_back(connection: Connection, mark: str, made_by: str, reason: str, new: str = "") -> str:
    """Take a link of a chain back; refused where the rest could not have happened without it.

    Raises
    ------
    LedgerError
        As for :func:`pourwright.books.records.entering.take_back`, or the chain would break.
    """
    if new and known(connection, new):
        return new
    piece = entry_by(connection, mark).subject
    _hold(connection, piece)
    left = [one.state for one in chain_of(connection, piece) if one.mark != mark]
    _check(piece, left)
    return take_back(connection, mark, made_by, reason, new)


def _check(piece: str, states: Sequence[str]) -> None:
    """Refuse a chain in which a state follows one that it cannot follow."""
    for earlier, later in zip(("", *states), states, strict=False):
        if later not in FOLLOWS:
            raise refused("books.piece-state-unknown", piece, state=later, states=", ".join(STATES))
        if later in FOLLOWS[earlier]:
            continue
        if not earlier:
            raise refused("books.piece-before", piece, piece=piece, later=later)
        can = ", ".join(sorted(FOLLOWS[earlier]))
        code = "books.piece-step" if can else "books.piece-at-end"
        raise refused(code, piece, piece=piece, earlier=earlier, later=later, can=can)
    if not states:
        raise refused("books.piece-first", piece, piece=piece)


def _hold(connection: Connection, piece: str) -> None:
    """Let writers on a server take turns at one piece, and refuse a piece that nobody took in."""
    row = connection.execute(sa.select(intake.c.piece).where(intake.c.piece == piece).with_for_update()).first()
    if row is None:
        raise refused("books.piece-unknown", piece, piece=piece)


_COLUMNS = (
    record.c.subject,
    piece_state.c.state,
    piece_state.c.place,
    piece_state.c.load,
    record.c.happened_at,
    record.c.made_by,
    record.c.reason,
    record.c.mark,
)


def chain_of(connection: Connection, piece: str) -> tuple[PieceEvent, ...]:
    """Return all that stands of a piece's chain, in the order of events."""
    rows = connection.execute(
        sa.select(*_COLUMNS)
        .join(piece_state, piece_state.c.record_id == record.c.id)
        .where(record.c.subject == piece, record.c.kind == "state", standing())
        .order_by(record.c.happened_at, record.c.id)
    )
    return tuple(PieceEvent(*row) for row in rows)


def whereabouts(
    connection: Connection, at: datetime | None = None, pieces: Sequence[str] = (), load: str = ""
) -> tuple[PieceEvent, ...]:
    """Return the last link of each piece's chain at a moment (now unless given): one for each piece there was.

    Parameters
    ----------
    connection : Connection
        Reading.
    at : datetime, optional
        The moment.
    pieces : sequence of str
        Only these.
    load : str
        Only what is in that load then.
    """
    place_in_chain = sa.func.row_number().over(
        partition_by=record.c.subject, order_by=(record.c.happened_at.desc(), record.c.id.desc())
    )
    wanted = (
        sa.select(*_COLUMNS, place_in_chain.label("back_count"))
        .join(piece_state, piece_state.c.record_id == record.c.id)
        .where(record.c.kind == "state", standing())
    )
    if at is not None:
        wanted = wanted.where(record.c.happened_at <= at)
    if pieces:
        wanted = wanted.where(record.c.subject.in_(pieces))
    if load:  # first those that ever were in it: one index, not everybody's chain
        head, link = record.alias("head"), piece_state.alias("link")
        ever = sa.select(head.c.subject).join(link, link.c.record_id == head.c.id).where(link.c.load == load)
        wanted = wanted.where(record.c.subject.in_(ever))
    last = wanted.subquery()
    found = sa.select(*list(last.c)[:-1]).where(last.c.back_count == 1)
    rows = connection.execute(found.where(last.c.load == load) if load else found).all()
    return tuple(sorted((PieceEvent(*row) for row in rows), key=lambda one: one.piece))


def pieces_here(connection: Connection, at: datetime | None = None) -> tuple[str, ...]:
    """Return the pieces that were in the studio at a moment: taken in, and not returned, withdrawn or lost."""
    taken_back = sa.select(record.c.reverses_id).where(record.c.reverses_id.is_not(None))
    gone = (
        sa.select(record.c.subject)
        .join(piece_state, piece_state.c.record_id == record.c.id)
        .where(piece_state.c.state.in_(_ENDS), piece_state.c.record_id.not_in(taken_back))
    )
    came = sa.select(intake.c.piece).order_by(intake.c.piece)
    if at is not None:
        came = came.join(record, record.c.id == intake.c.record_id).where(record.c.happened_at <= at)
        gone = gone.where(record.c.happened_at <= at)
    return tuple(connection.execute(came.where(intake.c.piece.not_in(gone))).scalars())
