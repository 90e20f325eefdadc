"""Finding pieces, and loads that wait for their pour, at the doors."""

from __future__ import annotations

from pourwright.books import store
from pourwright.books.finding import find_pieces, open_loads
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns

_MOST_PIECES = 50


def find(told: str, words: str) -> BookAnswer:
    """Return pieces by the beginning of their id, by owner or by title."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = find_pieces(connection, words, _MOST_PIECES)
        document = {"pieces": [{"piece": one.piece, "owner": one.owner, "title": one.title} for one in found]}
        rows = [(one.piece, one.owner, one.title) for one in found]
        return BookAnswer(document, columns(rows) if rows else say("doors.found-none", words=words))

    return with_books(told, work)


def waiting(told: str) -> BookAnswer:
    """Return the loads that pieces went into and whose pour is not booked."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = open_loads(connection)
        document = {"loads": [{"load": one.load, "pieces_count": one.pieces_count} for one in found]}
        lines = [say("doors.waiting-load", load=one.load, count=one.pieces_count) for one in found]
        return BookAnswer(document, "\n".join(lines) or say("doors.waiting-none"))

    return with_books(told, work)
