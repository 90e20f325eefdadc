"""Whatever anybody enters or takes back, each piece is in exactly one place, and nothing written is lost."""

from __future__ import annotations

import contextlib
import itertools
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.records_help import LOAD, START, taken_in

from pourwright.books.records.entering import history
from pourwright.books.records.pieces import FOLLOWS, STATES, chain_of, move, take_state_back, whereabouts
from pourwright.books.store import open_books
from pourwright.core.errors import LedgerError

PIECES = ("2026-12-05-P01", "2026-12-05-P02", "2026-12-05-P03")
_piece = st.sampled_from(PIECES)
_enter = st.tuples(st.just("enter"), _piece, st.sampled_from(STATES), st.integers(0, 12))
_on = st.tuples(st.just("on"), _piece, st.integers(0, 5), st.none())
_back = st.tuples(st.just("back"), _piece, st.integers(0, 8), st.none())


class UndoneError(Exception):
    """Raised at the end of an example: the next one begins with the same books."""


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    """Books with three pieces just taken in."""
    folder = tmp_path_factory.mktemp("states")
    opened = open_books(folder / "books.sqlite")
    taken_in(opened, folder, "P01", "P02", "P03")
    yield opened
    opened.close()


def attempt(connection, deed, count):
    """Do one deed, which may be refused; return whether it was done."""
    kind, piece, what, hour = deed
    chain = chain_of(connection, piece)
    try:
        if kind == "back":
            take_state_back(connection, chain[what % len(chain)].mark, "T", "wrong")
        elif kind == "on":
            able = sorted(FOLLOWS[chain[-1].state]) or ["received"]
            moment = START + timedelta(days=1 + count)
            move(connection, piece, able[what % len(able)], "T", load=LOAD, happened_at=moment, reason="on")
        else:
            move(connection, piece, what, "T", load=LOAD, happened_at=START + timedelta(hours=hour), reason="x")
    except LedgerError as refusal:
        assert refusal.findings
        assert chain_of(connection, piece) == chain, "what is refused changes nothing"
        return False
    return True


@settings(max_examples=40, deadline=None)
@given(st.lists(st.one_of(_on, _on, _enter, _back), max_size=20))
def test_any_sequence_of_events_leaves_each_piece_in_exactly_one_place(books, deeds):
    with contextlib.suppress(UndoneError), books.writing() as connection:
        done = sum(attempt(connection, deed, count) for count, deed in enumerate(deeds))
        now = whereabouts(connection)
        assert tuple(one.piece for one in now) == PIECES
        for one in now:
            chain = chain_of(connection, one.piece)
            assert chain[-1] == one
            assert all(later.state in FOLLOWS[earlier.state] for earlier, later in itertools.pairwise(chain))
            assert [step.happened_at for step in chain] == sorted(step.happened_at for step in chain)
        # An intake and an arrival each, and every deed that was done: nothing written is lost.
        assert len(history(connection)) == 2 * len(PIECES) + done
        raise UndoneError
