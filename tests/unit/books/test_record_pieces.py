"""A piece is in one place, came there by steps that can follow each other, and nothing written is ever changed."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from tests.records_help import CAST_STEPS, LOAD, START, moved, taken_in

from pourwright.books.records.entering import history, take_back
from pourwright.books.records.pieces import FOLLOWS, STATES, chain_of, move, pieces_here, take_state_back, whereabouts
from pourwright.books.records.tables import RECORD_TABLES, piece_state
from pourwright.core.errors import LedgerError


def where(books, **asked):
    with books.reading() as connection:
        return {one.piece: one for one in whereabouts(connection, **asked)}


def test_where_a_piece_is_can_be_asked_for_any_time_over_several_days(books, tmp_path):
    first, second = taken_in(books, tmp_path, "P01", "P02")
    moved(books, first, *CAST_STEPS)
    moved(books, second, "sprued")
    now, noon = where(books), where(books, at=START + timedelta(hours=3, minutes=30))
    assert (now[first].state, now[first].load) == ("returned", "")
    assert (noon[first].state, noon[first].load) == ("in-kiln", LOAD)
    assert noon[second].state == "sprued"
    assert where(books, at=START - timedelta(hours=1)) == {}
    assert set(where(books, load=LOAD)) == {second}
    assert set(where(books, at=START + timedelta(hours=5), load=LOAD)) == {first, second}


def test_what_is_in_the_studio_leaves_out_what_has_gone_but_only_from_then_on(books, tmp_path):
    first, second, third = taken_in(books, tmp_path, "P01", "P02", "P03")
    *_, returned = moved(books, first, *CAST_STEPS)
    moved(books, second, "withdrawn")
    with books.reading() as connection:
        assert pieces_here(connection) == (third,)
        assert pieces_here(connection, START + timedelta(hours=5)) == (first, third)
    with books.writing() as connection:
        take_state_back(connection, returned, "T", "nobody came for it")
        assert pieces_here(connection) == (first, third)


@pytest.mark.parametrize(
    ("states", "code"),
    [
        (("cast",), "books.piece-step"),
        (("sprued", "in-kiln"), "books.piece-step"),
        ((*CAST_STEPS, "pickled"), "books.piece-at-end"),
        (("baked",), "books.piece-state-unknown"),
    ],
)
def test_a_step_that_cannot_follow_is_refused_with_those_that_can(books, tmp_path, states, code):
    (piece,) = taken_in(books, tmp_path, "P01")
    with pytest.raises(LedgerError) as refusal:
        moved(books, piece, *states)
    assert refusal.value.findings[0].code == code
    assert where(books)[piece].state == "received", "all of it is refused"


def test_paper_typed_afterwards_fills_a_gap_in_the_middle(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    moved(books, piece, "sprued", "invested", "held")
    with books.writing() as connection:
        move(connection, piece, "in-kiln", "T", happened_at=START + timedelta(hours=5))
        with pytest.raises(LedgerError, match="cannot be cast right after invested"):
            move(connection, piece, "cast", "T", happened_at=START + timedelta(hours=2, minutes=5))
        move(connection, piece, "in-kiln", "T", happened_at=START + timedelta(hours=2, minutes=5))
    with books.reading() as connection:
        states = [one.state for one in chain_of(connection, piece)]
    assert states == ["received", "sprued", "invested", "in-kiln", "held", "in-kiln"]


def test_a_link_is_taken_back_only_where_the_rest_can_stand_without_it(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    sprued, invested = moved(books, piece, "sprued", "invested")
    with pytest.raises(LedgerError, match="cannot be invested right after received"), books.writing() as connection:
        take_state_back(connection, sprued, "T", "wrong piece")
    with pytest.raises(LedgerError, match="without a reason"), books.writing() as connection:
        take_state_back(connection, invested, "T", " ")
    with books.writing() as connection:
        back = take_state_back(connection, invested, "T", "it was P02")
    assert where(books)[piece].state == "sprued"
    with pytest.raises(LedgerError, match="already"), books.writing() as connection:
        take_state_back(connection, invested, "T", "again")
    with books.reading() as connection:
        heads = {one.mark: one for one in history(connection, (piece,))}
    assert heads[invested].taken_back_by == back
    assert heads[back].reverses == invested
    assert heads[back].reason == "it was P02"
    with pytest.raises(LedgerError, match="cannot be taken back"), books.writing() as connection:
        take_back(connection, back, "T", "no, it was right")


def test_that_a_piece_came_in_stays(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    with books.reading() as connection:
        heads = {one.kind: one.mark for one in history(connection, (piece,))}
    for kind in ("intake", "state"):
        with pytest.raises(LedgerError), books.writing() as connection:
            take_state_back(connection, heads[kind], "T", "never came")
    assert where(books)[piece].state == "received"


def test_to_lose_or_to_hold_wants_a_reason_and_a_flask_step_its_load(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    with pytest.raises(LedgerError, match="without a reason"), books.writing() as connection:
        move(connection, piece, "lost", "T", happened_at=START)
    with pytest.raises(LedgerError, match="without a flask load"), books.writing() as connection:
        move(connection, piece, "sprued", "T", happened_at=START)
    with pytest.raises(LedgerError, match="came in later"), books.writing() as connection:
        move(connection, piece, "sprued", "T", load=LOAD, happened_at=START - timedelta(days=1))
    with pytest.raises(LedgerError, match="taken in"), books.writing() as connection:
        move(connection, "2026-12-05-P77", "sprued", "T", load=LOAD)


def test_the_same_mark_moves_once(books, tmp_path):
    (piece,) = taken_in(books, tmp_path, "P01")
    for _ in range(2):
        with books.writing() as connection:
            move(connection, piece, "sprued", "T", load=LOAD, happened_at=START, mark="01PHONE")
    with books.reading() as connection:
        assert len(chain_of(connection, piece)) == 2


def test_the_database_itself_refuses_to_change_a_record(books, tmp_path):
    taken_in(books, tmp_path, "P01")
    for change in (piece_state.update().values(state="returned"), piece_state.delete()):
        with pytest.raises(sa.exc.DatabaseError, match="booked once"), books.writing() as connection:
            connection.execute(change)
    with books.reading() as connection:
        rows = connection.exec_driver_sql("select tbl_name from sqlite_master where type = 'trigger'")
        guarded = [name for (name,) in rows]
    assert all(guarded.count(table.name) == 2 for table in RECORD_TABLES)


def test_every_state_can_be_reached_and_the_ends_are_ends():
    reached = {"received"}
    for _ in STATES:
        reached |= {later for one in reached for later in FOLLOWS[one]}
    assert reached == set(STATES)
    assert {one for one in STATES if not FOLLOWS[one]} == {"returned", "withdrawn", "lost"}
