"""What the flask's pages say besides the checklist."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.unit.sheet.sample_plan import fig

from pourwright.sheet.flask import flask_pages, label_words


@pytest.fixture
def second(plan):
    pictures = {piece.id: {"file": "x.png", "width_mm": 10.0} for piece in plan.pieces if piece.pattern}
    pictures |= {one.id: {"file": "t.png", "width_mm": 76.2} for one in plan.flasks}
    return flask_pages(plan, plan.flasks[1], pictures)


def test_figures_of_the_flask(second):
    assert second["metal"]["charge"] == "138.73\u00a0g"
    assert second["mark"]["text"] == "228.3\u00a0mm"
    assert second["winding"]["range"] == "2.5–4"
    assert second["mould"]["powder"] == "610\u00a0g"
    assert second["label"] == "139\u00a0g"


def test_piece_without_a_mesh_has_no_picture(second):
    assert [piece["picture"] is None for piece in second["pieces"]] == [True, False]


def test_workers_of_the_throw_are_named(second):
    assert {row["role"]: row["names"] for row in second["people"]} == {
        "Pourer": "Tomás Ferrow",
        "Caller": "Ασπασία Quill",
    }


def test_only_the_winding_chosen_is_strong(second):
    assert [row["turns"] for row in second["arm"]["windings"] if row["chosen"]] == ["3"]


def test_flask_without_a_charge_scratches_no_grams(plan):
    one = plan.flasks[0]
    assert label_words(replace(one, need=replace(one.need, charge_g=None))) == "–"
    assert label_words(replace(one, need=replace(one.need, charge_g=fig(99.6, "g")))) == "100\u00a0g"


def _flask_with(plan, **changes):
    pictures = {piece.id: {"file": "x.png", "width_mm": 10.0} for piece in plan.pieces if piece.pattern}
    pictures |= {one.id: {"file": "t.png", "width_mm": 76.2} for one in plan.flasks}
    one = plan.flasks[1]
    throw = replace(one.throw, balance=replace(one.throw.balance, **changes))
    return flask_pages(plan, replace(one, throw=throw), pictures)["arm"]


def test_the_arm_is_drawn_with_the_weight_at_its_mark(second):
    drawing = second["arm"]["drawing"]
    assert drawing["mark_mm"] == 228.3
    assert drawing["weight_low_mm"] < 228.3 < drawing["weight_high_mm"]
    assert (drawing["second"], drawing["stands"], second["arm"]["pulls"]) == ("", "", "")


def test_a_second_weight_is_drawn_with_the_first_at_the_end_of_the_reach(plan):
    drawing = _flask_with(plan, mark_mm=fig(300.0, "mm"), second_kg=fig(0.184, "kg"))["drawing"]
    assert drawing["mark_mm"] == drawing["weight_high_mm"]
    assert drawing["second"] == "second weight 184\u00a0g"
    assert drawing["stands"].startswith(f"{drawing['weight_high_mm']:.1f}")


def test_what_is_left_and_what_the_swing_pulls_is_printed_at_its_worst(plan):
    left = {
        "left_force_N": fig(0.0, "N", 0.0, 3.7),
        "grade_m_s": fig(0.035, "m_s"),
        "swing_force_N": fig(75, "N", 70, 88),
    }
    pulls = _flask_with(plan, **left)["pulls"]
    assert "4\u00a0N" in pulls and "G 35" in pulls and "88\u00a0N" in pulls
