"""What the plan warns of: the day first, then piece by piece, nothing twice."""

from __future__ import annotations

from dataclasses import replace

from pourwright.core.findings import Level
from pourwright.sheet.warnings import warnings, worst_level


def test_notes_of_the_day_are_not_printed_and_stops_come_first(plan):
    one = plan.findings[0]
    mixed = replace(plan, findings=(one, replace(one, level=Level.NOTE), replace(one, level=Level.STOP)))
    assert [row["level"] for row in warnings(mixed)["day"]] == ["stop", "look"]


def test_a_pieces_warning_stands_with_the_piece_and_not_among_those_of_the_day(full_plan):
    found = warnings(full_plan)
    assert [piece["short"] for piece in found["pieces"]] == ["P01"]
    row = found["pieces"][0]["rows"][0]
    assert row["what"].startswith("P01: a wall of 0.40 mm")
    assert not any("wall" in one["what"] for one in found["day"])


def test_a_note_about_a_shape_is_printed_with_its_piece(full_plan):
    noted = replace(full_plan.pieces[0].findings[0], level=Level.NOTE)
    plan = replace(full_plan, pieces=(replace(full_plan.pieces[0], findings=(noted,)), *full_plan.pieces[1:]))
    assert [row["name"] for row in warnings(plan)["pieces"][0]["rows"]] == ["Note"]


def test_nothing_found_and_nothing_measured_are_told_apart(full_plan):
    found = warnings(full_plan)
    assert "P02 Signet blank" in found["nothing"]
    assert found["unseen"].startswith("P03 Seed pod")
    assert "P03" not in found["nothing"]


def test_days_ids_are_printed_short(full_plan):
    text = str(warnings(full_plan))
    assert "2026-12-05-P" not in text
    assert "2026-12-05-F" not in text


def test_a_piece_is_marked_on_its_flasks_page_from_look_again_on(full_plan):
    assert worst_level(full_plan.pieces[0]) == "Look again"
    assert worst_level(full_plan.pieces[1]) == ""
