"""The kiln's page: curve, ticks and steps."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.sheet.sample_plan import fig

from pourwright.sheet.kiln import curve, flask_name, kiln
from pourwright.studio.profile import PrintUnits


def test_curve_stays_on_its_sheet_and_goes_forward(plan):
    points = curve(plan)["points"]
    assert all(0 <= share <= 1 for point in points for share in point)
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert len(points) == len(plan.burnout.steps) + 1


def test_hottest_point_of_the_curve_is_at_the_hold(plan):
    drawing = curve(plan)
    assert max(y for _, y in drawing["points"]) == max(hold["y"] for hold in drawing["holds"])
    assert "726\u00a0°C" in [hold["label"] for hold in drawing["holds"]]


def test_midnight_carries_the_name_of_the_new_day(plan):
    days = {tick["label"]: tick["day"] for tick in curve(plan)["hours"]}
    assert days["00"] == "Sat"
    assert days["06"] == ""


def test_pours_close_together_share_a_label(plan):
    groups = curve(plan)["pours"]
    assert [group["label"] for group in groups] == ["1–2"]
    assert len(groups[0]["places"]) == 2


def test_steps_give_set_point_rate_and_clock(plan):
    steps = kiln(plan)["steps"]
    assert steps[0]["from"] == "Fri 22:45"
    assert steps[0]["how"] == "130\u00a0°C/h"
    assert steps[1]["how"] == "2 h 00 min"
    assert steps[-1]["set"] == "534\u00a0°C"


def test_fahrenheit_levels_lie_where_they_belong(plan):
    american = replace(plan, studio=replace(plan.studio, units=PrintUnits("g", "mm", "F")))
    drawn = curve(american)
    levels = {level["label"]: level["y"] for level in drawn["levels"]}
    hottest = max(up for _, up in drawn["points"])
    assert abs(levels["1400"] / hottest - 760.0 / 726.0) < 1e-9


def test_curve_and_set_points_are_what_the_controller_shows(plan):
    steps = tuple(replace(one, reading_C=fig(one.to_C - 7.0, "C")) for one in plan.burnout.steps)
    off = replace(plan, burnout=replace(plan.burnout, steps=steps))
    assert kiln(off)["steps"][-1]["set"] == "527\u00a0°C"
    assert curve(off)["holds"][-1]["label"] == "527\u00a0°C"


def test_a_load_is_named_by_its_own_or_its_steel_flasks_id(plan):
    assert flask_name(plan, "2026-12-05-F2") == flask_name(plan, "FL-07") == "2 (FL-07)"
    assert flask_name(plan, "elsewhere") == "elsewhere"
