"""A piece comes in with a consent whose words are kept as shown, its pattern by hash."""

from __future__ import annotations

import hashlib

import pytest
from tests.records_help import PNG, START, taken_in

from pourwright.books.records.files import check, keep, kept_file_of, read_file
from pourwright.books.records.intake import (
    CONSENT_VERSION,
    RECAST_TERMS,
    NewPiece,
    consent,
    intake_of,
    take_piece_in,
)
from pourwright.core.errors import LedgerError

# The words of each version of the consent, all terms in a row. New words are a new version: add a line.
WORDS = {"1": "f226aab54a6ded04"}


def test_words_of_the_consent_do_not_change_without_its_version():
    words = "".join(consent(one).text for one in RECAST_TERMS)
    assert hashlib.sha256(words.encode()).hexdigest()[:16] == WORDS[CONSENT_VERSION]
    assert "one chance" in words


def test_what_was_shown_is_kept_word_for_word_with_the_pattern_and_its_weight(books, tmp_path):
    taken_in(books, tmp_path, "P07", pattern=b"solid ring", pattern_name="ring.STL", pattern_mg=1_234)
    with books.reading() as connection:
        found = intake_of(connection, "2026-12-05-P07")
        words = read_file(tmp_path, kept_file_of(connection, found.consent_sha256))
        pattern = read_file(tmp_path, kept_file_of(connection, found.pattern_sha256))
    assert words.decode() == consent("none").text
    assert pattern == b"solid ring"
    assert found.pattern_sha256 == hashlib.sha256(b"solid ring").hexdigest()
    assert (found.owner, found.agreed_by, found.pattern_mg, found.happened_at) == ("Mira", "Mira", 1_234, START)


@pytest.mark.parametrize(
    ("piece", "agreed_by", "more", "code"),
    [
        ("2026-12-05-P08", " ", {}, "books.intake-no-consent"),
        ("P08", "Mira", {}, "books.intake-id"),
        ("2026-12-05-P08", "Mira", {"pattern_mg": 0}, "books.intake-weightless"),
        ("2026-12-05-P07", "Mira", {}, "books.intake-known"),
    ],
)
def test_without_consent_or_with_a_wrong_number_nothing_comes_in(books, tmp_path, piece, agreed_by, more, code):
    taken_in(books, tmp_path, "P07")
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        take_piece_in(connection, tmp_path, NewPiece(piece, "Mira", **more), consent("none"), agreed_by, "T")
    assert refusal.value.findings[0].code == code


def test_unknown_terms_of_a_recast_are_refused():
    with pytest.raises(LedgerError, match="studio-fault"):
        consent("always")


def test_a_file_is_kept_once_and_damage_is_found_and_mended(books, tmp_path):
    with books.writing() as connection:
        one = keep(connection, tmp_path, PNG, "a photo.PNG")
        again = keep(connection, tmp_path, PNG, "../../elsewhere/b.png")
    path = one.path_in(tmp_path)
    assert one == again
    assert list(tmp_path.rglob("*.png")) == [path]
    assert path.is_relative_to(tmp_path / "photos")
    path.write_bytes(PNG + b"x")
    with books.reading() as connection:
        assert [(bad.sha256, why) for bad, why in check(connection, tmp_path)] == [(one.sha256, "damaged")]
    with pytest.raises(LedgerError, match="not what it was"):
        read_file(tmp_path, one)
    path.unlink()
    with pytest.raises(LedgerError, match="not where it was put"):
        read_file(tmp_path, one)
    with books.writing() as connection:
        keep(connection, tmp_path, PNG, "found.png")
        assert check(connection, tmp_path) == ()


@pytest.mark.parametrize(
    ("content", "name", "code"),
    [(b"", "a.txt", "books.file-size"), (b"<script>", "a.png", "books.file-no-picture")],
)
def test_an_empty_file_or_a_picture_that_is_none_is_refused(books, tmp_path, content, name, code):
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        keep(connection, tmp_path, content, name)
    assert refusal.value.findings[0].code == code


def test_an_ending_that_is_no_ending_is_dropped(books, tmp_path):
    with books.writing() as connection:
        one = keep(connection, tmp_path, b"x", "a.<b>/..")
    assert one.name == hashlib.sha256(b"x").hexdigest()
    with books.reading() as connection, pytest.raises(LedgerError, match="no file"):
        kept_file_of(connection, "0" * 64)
