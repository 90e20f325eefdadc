"""Pieces are found by the beginning of their id, their owner and their title; loads without a pour are open."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.books_help import sterling, stock

from pourwright.books.finding import find_pieces, open_loads
from pourwright.books.pours import Casting, book_pour
from pourwright.books.records.intake import NewPiece, consent, take_piece_in
from pourwright.books.records.pieces import move
from pourwright.doors.service.books.balance import balance_books
from pourwright.doors.service.books.finding import find, waiting

START = datetime(2026, 11, 27, 9, tzinfo=UTC)


@pytest.fixture
def full(books, tmp_path):
    fine, copper = stock(books)
    castings = (Casting("2026-11-28-P01", "Mira", 21_400), Casting("2026-11-28-P02", "Jon", 34_600))
    with books.writing() as connection:
        book_pour(connection, sterling(fine, copper, castings=castings), "Teacher")
        for piece, owner, title in (("2026-11-28-P01", "Mira", "Fern ring"), ("2026-12-05-P01", "Jon", "100% leaf")):
            take_piece_in(connection, tmp_path, NewPiece(piece, owner, title), consent("none"), owner, "Teacher", START)
        for piece, load in (("2026-11-28-P01", "2026-11-28-F1"), ("2026-12-05-P01", "2026-12-05-F1")):
            move(connection, piece, "sprued", "Teacher", load=load, happened_at=START + timedelta(hours=1))
    return books


def found(books, words, most=50):
    with books.reading() as connection:
        return [one.piece for one in find_pieces(connection, words, most)]


def test_pieces_are_found_by_the_beginning_of_their_id_cast_or_not(full):
    assert found(full, "2026-11-28-P") == ["2026-11-28-P01", "2026-11-28-P02"]
    assert found(full, "2026-12") == ["2026-12-05-P01"]


def test_pieces_are_found_by_owner_and_title_whatever_the_case(full):
    assert found(full, "mira") == ["2026-11-28-P01"]
    assert found(full, "FERN") == ["2026-11-28-P01"]
    with full.reading() as connection:
        (ring,) = find_pieces(connection, "fern")
    assert (ring.owner, ring.title) == ("Mira", "Fern ring")


def test_signs_of_a_pattern_are_only_signs(full):
    assert found(full, "100%") == ["2026-12-05-P01"]
    assert found(full, "%") == ["2026-12-05-P01"]
    assert found(full, "_") == []
    assert found(full, "  ") == []
    assert found(full, "zeppelin") == []


def test_a_page_holds_no_more_than_asked(full):
    assert len(found(full, "2026", most=2)) == 2


def test_a_load_is_open_until_its_pour_is_booked(full):
    with full.reading() as connection:
        assert [(one.load, one.pieces_count) for one in open_loads(connection)] == [("2026-12-05-F1", 1)]


def test_pieces_loads_and_kept_sums_at_the_doors(full):
    told = str(full.path)
    assert find(told, "fern").document == {
        "pieces": [{"piece": "2026-11-28-P01", "owner": "Mira", "title": "Fern ring"}]
    }
    assert "zeppelin" in find(told, "zeppelin").text
    assert waiting(told).document == {"loads": [{"load": "2026-12-05-F1", "pieces_count": 1}]}
    quick, recounted = balance_books(told, quick=True), balance_books(told)
    assert quick.document == recounted.document
    assert set(quick.document["sums_mg"].values()) == {0}
