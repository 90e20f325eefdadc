"""Finding pieces, and the loads that are still to be booked, among years of them."""

from __future__ import annotations

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.records.tables import intake, piece_state, record
from pourwright.books.tables import account, owner, pour

_PIECE = "piece:"
_BEHIND_ALL = "\U0010ffff"


@dataclass(frozen=True)
class FoundPiece:
    """A piece of the books: its id, whose it is, and what it was called when it was taken in."""

    piece: str
    owner: str
    title: str


@dataclass(frozen=True)
class OpenLoad:
    """A flask load with pieces in it whose pour is not in the book."""

    load: str
    pieces_count: int


def find_pieces(connection: Connection, words: str, most_count: int = 50) -> tuple[FoundPiece, ...]:
    """Return pieces whose id begins with the words, or whose owner or title holds them, whatever the case.

    Parameters
    ----------
    connection : Connection
        Reading.
    words : str
        As typed; empty finds nothing.
    most_count : int
        Pieces after which it stops.
    """
    wanted = words.strip()
    if not wanted:
        return ()
    found: dict[str, FoundPiece] = {}
    for query in (_cast_by_id(connection, wanted), _taken_in_by_id(connection, wanted), _by_owner(connection, wanted),
                  _by_title(connection, wanted)):  # fmt: skip
        for row in connection.execute(query.limit(most_count - len(found))):
            piece = row.piece.removeprefix(_PIECE)
            found.setdefault(piece, FoundPiece(piece, row.owner, row.title or ""))
        if len(found) >= most_count:
            break
    return tuple(sorted(found.values(), key=lambda one: one.piece))


def _cast() -> sa.Select[tuple[str, str, str]]:
    """Return the pieces that have metal in the book, with their titles."""
    title = (
        sa.select(intake.c.title)
        .where(intake.c.piece == sa.func.substr(account.c.name, len(_PIECE) + 1))
        .scalar_subquery()
    )
    return sa.select(account.c.name.label("piece"), account.c.owner_id.label("owner"), title.label("title"))


def _cast_by_id(connection: Connection, words: str) -> sa.Select[tuple[str, str, str]]:
    return _cast().where(*_begins(connection, account.c.name, _PIECE + words))


def _taken_in_by_id(connection: Connection, words: str) -> sa.Select[tuple[str, str, str]]:
    return _taken_in().where(*_begins(connection, intake.c.piece, words))


def _taken_in() -> sa.Select[tuple[str, str, str]]:
    return sa.select(intake.c.piece.label("piece"), intake.c.owner_id.label("owner"), intake.c.title.label("title"))


def _begins(connection: Connection, column: sa.Column[str], text: str) -> tuple[sa.ColumnElement[bool], ...]:
    """Return the condition that a text begins so, as a range that an index knows (by bytes, on a server too)."""
    name = sa.collate(column, "C") if connection.dialect.name == "postgresql" else column
    return name >= text, name < text + _BEHIND_ALL


def _by_owner(connection: Connection, words: str) -> sa.Select[tuple[str, str, str]]:
    owned = sa.select(owner.c.id).where(_holds(connection, owner.c.id, words) | _holds(connection, owner.c.name, words))
    return _cast().where(account.c.owner_id.in_(owned), account.c.kind == "piece").order_by(account.c.id.desc())


def _by_title(connection: Connection, words: str) -> sa.Select[tuple[str, str, str]]:
    return _taken_in().where(_holds(connection, intake.c.title, words))


def _holds(connection: Connection, column: sa.Column[str], words: str) -> sa.ColumnElement[bool]:
    """Return the condition that a text holds the words, whatever the case (of Latin letters, in a file)."""
    if connection.dialect.name == "postgresql":
        return column.icontains(words, autoescape=True)
    return column.contains(words, autoescape=True)  # in SQLite this looks past the case already


def open_loads(connection: Connection) -> tuple[OpenLoad, ...]:
    """Return the loads that pieces went into and whose pour is not booked, by their ids."""
    booked = sa.exists().where(pour.c.id == piece_state.c.load)
    waiting_loads = sa.select(piece_state.c.load).where(piece_state.c.load != "", ~booked).distinct()
    waiting = connection.execute(waiting_loads).scalars().all()
    rows = connection.execute(
        sa.select(piece_state.c.load, sa.func.count(sa.distinct(record.c.subject)).label("pieces_count"))
        .join(record, record.c.id == piece_state.c.record_id)
        .where(piece_state.c.load.in_(waiting))
        .group_by(piece_state.c.load)
        .order_by(piece_state.c.load)
    )
    return tuple(OpenLoad(row.load, row.pieces_count) for row in rows)
