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
