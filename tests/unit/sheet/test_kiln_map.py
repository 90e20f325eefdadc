"""Who stands where in the kiln: what leaves first stands at the door."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from pourwright.sheet.kiln_map import abreast, kiln_map, stand


@pytest.mark.parametrize("across", [1, 2, 3])
def test_nothing_needed_early_stands_behind_what_is_needed_later(across):
    rows = stand(["F2", "F5", "F1"], across)
    depth = {name: row for row, names in enumerate(rows) for name in names}
    assert depth["F2"] <= depth["F5"] <= depth["F1"]
    assert [name for row in rows for name in row] == ["F2", "F5", "F1"]
    assert max(map(len, rows)) <= across


def test_first_to_leave_stands_at_the_door_whatever_its_number(plan):
    late, early = plan.flasks
    loads = (replace(late, pour_at=early.pour_at + timedelta(minutes=12)), early)
    drawn = kiln_map(replace(plan, flasks=loads))
    assert [place["number"] for row in drawn["rows"] for place in row] == [early.number, late.number]
    assert drawn["words"] == [f"Row 1 from the door: {early.number}, {late.number}"]


def test_map_says_that_the_places_abreast_are_a_guess(plan):
    assert abreast(6) == 2
    assert abreast(7) == 3
    assert "guess" in kiln_map(plan)["key"]
