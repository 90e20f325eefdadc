"""The message catalogue."""

import pytest

from pourwright.core.errors import DataError
from pourwright.core.text import LANGUAGE_VARIABLE, has, say


def test_blanks_are_filled():
    assert "x.stl" in say("doors.check-no-figure", file="x.stl")


def test_an_unknown_key_is_a_fault():
    with pytest.raises(DataError, match="no entry"):
        say("doors.there-is-no-such-key")


def test_a_missing_blank_is_a_fault():
    with pytest.raises(DataError, match="file"):
        say("doors.check-no-figure")


def test_a_language_without_a_catalogue_falls_back_to_english(monkeypatch):
    monkeypatch.setenv(LANGUAGE_VARIABLE, "xx")
    assert has("doors.help")
    assert not has("doors.there-is-no-such-key")
