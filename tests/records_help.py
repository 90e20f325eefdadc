"""Records filled for tests; our own invention."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from pourwright.books.records.intake import NewPiece, consent, take_piece_in
from pourwright.books.records.pieces import move

LOAD = "2026-12-05-F1"
START = datetime(2026, 12, 4, 9, 0, tzinfo=UTC)
PNG = b"\x89PNG\r\n\x1a\n" + b"drawn by hand"
CAST_STEPS = ("sprued", "invested", "in-kiln", "cast", "quenched", "pickled", "weighed", "returned")


def taken_in(books, studio, *pieces, owner="Mira", **more):
    """Take pieces in, and return their ids."""
    ids = tuple(f"2026-12-05-{one}" for one in pieces)
    with books.writing() as connection:
        for one in ids:
            new = NewPiece(one, owner, **{"title": "Band", "material": "casting-wax", **more})
            take_piece_in(connection, studio, new, consent("none"), owner, "Teacher", START)
    return ids


def moved(books, piece, *states, load=LOAD, start_h=1):
    """Move a piece through states, an hour apart, and return the marks."""
    marks = []
    with books.writing() as connection:
        for number, state in enumerate(states, start_h):
            moment = START + timedelta(hours=number)
            marks.append(move(connection, piece, state, "Teacher", load=load, happened_at=moment, reason="as planned"))
    return marks
