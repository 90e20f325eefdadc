"""The mixing page: bowls, clock and limit."""

from __future__ import annotations

import pytest

from pourwright.sheet.mixing import mixing


@pytest.fixture
def bowl(plan):
    return mixing(plan)["bowls"][0]


def test_bowl_shows_powder_water_and_both_flasks(bowl):
    assert bowl["powder"]["text"] == "1\u2009133\u00a0g"
    assert bowl["water"]["text"] == "453\u00a0g"
    assert bowl["flasks"] == "1 (FL-03), 2 (FL-07)"


def test_clock_steps_follow_each_other_without_a_gap(bowl):
    for before, after in zip(bowl["clock"], bowl["clock"][1:], strict=False):
        assert before["end_share"] == after["start_share"]
    assert bowl["clock"][0]["start_share"] == 0


def test_limit_lies_inside_the_bar_and_after_the_work(bowl):
    assert bowl["clock"][-1]["end_share"] < bowl["limit_share"] < 1


def test_each_flask_is_told_its_number_to_scratch(plan):
    assert [row["scratch"] for row in mixing(plan)["flasks"]] == ["1", "2"]
