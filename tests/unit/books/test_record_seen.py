"""What was seen is kept by the words of the atlas, with its place; photos are kept once; nobody is shamed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.records_help import LOAD, PNG, START, taken_in

from pourwright.books.records.entering import take_back
from pourwright.books.records.seen import (
    attach,
    attachments,
    defects,
    enter_defect,
    enter_incident,
    enter_outcome,
    incidents,
    outcomes,
)
from pourwright.core.errors import LedgerError

PIECE = "2026-12-05-P01"


def test_the_last_word_on_a_piece_counts(books):
    with books.writing() as connection:
        enter_outcome(connection, PIECE, "good", "T", happened_at=START)
        wrong = enter_outcome(connection, PIECE, "failed", "T", "broke in the hand", START + timedelta(hours=1))
        assert outcomes(connection, (PIECE,))[PIECE].note == "broke in the hand"
        take_back(connection, wrong, "T", "that was P02")
        assert outcomes(connection)[PIECE].result == "good"


def test_a_fault_has_a_name_of_the_atlas_a_severity_and_a_place(books):
    with books.writing() as connection:
        enter_defect(connection, PIECE, "gas-porosity", "slight", "T", "inside of the shank", happened_at=START)
        enter_defect(connection, PIECE, "misrun", "spoils", "T", place_um=(4_200, 0, -11_000), happened_at=START)
        first, second = defects(connection, (PIECE,))
    assert (first.defect, first.region, first.place_um) == ("gas-porosity", "inside of the shank", None)
    assert (second.severity, second.place_um) == ("spoils", (4_200, 0, -11_000))


@pytest.mark.parametrize(
    ("defect", "severity", "region", "code"),
    [
        ("gas-porosety", "slight", "shank", "books.defect-unknown"),
        ("misrun", "ugly", "shank", "books.word-unknown"),
        ("misrun", "slight", " ", "books.defect-no-place"),
    ],
)
def test_a_fault_without_name_severity_or_place_is_refused(books, defect, severity, region, code):
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        enter_defect(connection, PIECE, defect, severity, "T", region)
    assert refusal.value.findings[0].code == code


def test_an_incident_needs_no_name_but_says_what_happened(books):
    with books.writing() as connection:
        enter_incident(connection, LOAD, "near-miss", "flask slipped in the tongs", "T", "pourer", "longer tongs")
        (found,) = incidents(connection)
        with pytest.raises(LedgerError, match="what happened"):
            enter_incident(connection, LOAD, "incident", " ", "T")
    assert (found.role, found.next_time, found.weight) == ("pourer", "longer tongs", "near-miss")


def test_a_photo_is_kept_once_and_two_of_the_same_name_are_two(books, tmp_path):
    taken_in(books, tmp_path, "P01")
    with books.writing() as connection:
        for content in (PNG, PNG, PNG + b"2"):
            attach(connection, tmp_path, PIECE, "photo", content, "ring.png", "T")
        assert len(attachments(connection, (PIECE,), "photo")) == 2
    assert len(list((tmp_path / "photos").rglob("*.png"))) == 2


def test_a_plan_kept_again_is_a_new_one_only_if_it_changed(books, tmp_path):
    with books.writing() as connection:
        for content in (b"one", b"one", b"two"):
            attach(connection, tmp_path, "2026-12-05", "plan", content, "plan.json", "T")
        assert len(attachments(connection, ("2026-12-05",), "plan")) == 2
        with pytest.raises(LedgerError, match="none of the words"):
            attach(connection, tmp_path, "2026-12-05", "poem", b"x", "a.txt", "T")
