"""Ids that a person can read."""

from datetime import date

from pourwright.core.ids import flask_load_id, piece_id


def test_ids_name_day_and_number():
    assert flask_load_id(date(2026, 12, 5), 2) == "2026-12-05-F2"
    assert piece_id(date(2026, 12, 5), 7) == "2026-12-05-P07"
