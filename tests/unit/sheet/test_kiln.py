"""The kiln's page: curve, ticks and steps."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.sheet.sample_plan import at, fig

from pourwright.prepare.mould.results import CastingHold, CoreLag
from pourwright.sheet.kiln import ash, casting_holds, curve, dewax, flask_name, kiln, segments
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


def test_a_segment_gives_rate_set_point_hold_and_clock(plan):
    rows = segments(plan)
    assert [row["number"] for row in rows] == [1, 2, 3, 4]
    first = rows[0]
    assert (first["rate"], first["set"], first["hold"]) == ("130\u00a0°C/h", "150\u00a0°C", "2 h 00 min")
    assert (first["from"], first["reached"], first["to"]) == ("Fri 22:45", "Fri 23:45", "01:45")
    assert rows[-1]["set"] == "534\u00a0°C"
    assert rows[-1]["kind"] == "Down"


def test_segments_follow_one_another_and_cover_the_whole_burnout(plan):
    rows = segments(plan)
    assert [row["to"] for row in rows[:-1]] == [row["from"] for row in rows[1:]]
    assert rows[-1]["to"] == "14:00"


def test_holds_at_one_temperature_stay_segments_of_their_own(plan):
    hold = plan.burnout.steps[1]
    twice = replace(plan, burnout=replace(plan.burnout, steps=(*plan.burnout.steps[:2], hold)))
    rows = segments(twice)
    assert [row["rate"] for row in rows] == ["130\u00a0°C/h", "–"]


def test_a_reason_names_the_flask_by_its_scratched_number_and_once(plan):
    reason = "Flask 2026-12-05-F10 before 2026-12-05-F1."
    loads = tuple(
        replace(one, id=f"2026-12-05-{name}", number=number)
        for one, (name, number) in zip(plan.flasks, (("F1", 1), ("F10", 12)), strict=True)
    )
    steps = tuple(replace(one, because=reason) for one in plan.burnout.steps[:2])
    renamed = replace(plan, flasks=loads, burnout=replace(plan.burnout, steps=steps))
    assert segments(renamed)[0]["because"] == ["Flask 12 before flask 1."]


def test_wax_leaves_before_the_kiln_with_times_and_cautions(plan, full_plan):
    assert dewax(plan) is None
    told = dewax(full_plan)
    assert (told["flasks"], told["from"], told["to"], told["into"]) == (
        "1 (FL-03)",
        "Fri 22:15",
        "Fri 22:45",
        "Fri 23:00",
    )
    assert any("tongs" in one["text"] for one in told["cautions"])


def test_ash_is_tapped_out_at_its_time_with_at_least_15_minutes_to_follow(plan, full_plan):
    assert ash(plan) is None
    row = ash(full_plan)["rows"][0]
    assert (row["flask"], row["at"], row["reheat"]) == ("2 (FL-07)", "13:35", "15\u00a0min")


def test_energy_of_the_kiln_is_there_where_the_plan_knows_it(plan, full_plan):
    assert kiln(plan)["energy"] is None
    assert kiln(full_plan)["energy"]["text"] == "13.4\u00a0kWh"


def test_fahrenheit_levels_lie_where_they_belong(plan):
    american = replace(plan, studio=replace(plan.studio, units=PrintUnits("g", "mm", "F")))
    drawn = curve(american)
    levels = {level["label"]: level["y"] for level in drawn["levels"]}
    hottest = max(up for _, up in drawn["points"])
    assert abs(levels["1400"] / hottest - 760.0 / 726.0) < 1e-9


def test_curve_and_set_points_are_what_the_controller_shows(plan):
    steps = tuple(replace(one, reading_C=fig(one.to_C - 7.0, "C")) for one in plan.burnout.steps)
    off = replace(plan, burnout=replace(plan.burnout, steps=steps))
    assert kiln(off)["segments"][-1]["set"] == "527\u00a0°C"
    assert curve(off)["holds"][-1]["label"] == "527\u00a0°C"


def test_a_load_is_named_by_its_own_or_its_steel_flasks_id(plan):
    assert flask_name(plan, "2026-12-05-F2") == flask_name(plan, "FL-07") == "2 (FL-07)"
    assert flask_name(plan, "elsewhere") == "elsewhere"


def test_flasks_poured_at_falling_temperatures_have_a_row_for_each_set_point(plan):
    assert casting_holds(plan) == []
    holds = tuple(
        CastingHold(fig(hot, "C"), fig(hot + 6, "C"), (f"2026-12-05-F{number}",), at(hour), at(hour, 45), at(hour, 57),
                    (CoreLag(f"2026-12-05-F{number}", fig(lag, "min")),))
        for number, hot, hour, lag in ((1, 620, 13, 41), (2, 540, 15, 33))
    )  # fmt: skip
    rows = casting_holds(replace(plan, burnout=replace(plan.burnout, casting=holds)))
    assert [row["set"]["text"] for row in rows] == ["626\u00a0°C", "546\u00a0°C"]
    assert (rows[1]["flasks"], rows[1]["first"], rows[1]["done"], rows[1]["lag"]) == (
        "2 (FL-07)", "15:45", "15:57", "33\u00a0min",
    )  # fmt: skip
