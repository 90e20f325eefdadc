"""Flasks of a day poured at falling temperatures (NEEDS F1, F2): order, clock times, curve, core lag, end of class."""

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.demo_day import demo_studio_and_day, made_up_report, planned

from pourwright.core.figure import given
from pourwright.core.findings import Level
from pourwright.prepare.plan import plan_day
from pourwright.prepare.plan_file import plan_as_json

HOT, MID, COOL = (620.0, 620.0), (500.0, 560.0), (460.0, 520.0)
CLASS = (HOT, HOT, MID, MID, MID, COOL)


def _fig(value, unit):
    return given(value, unit, "test")


def _evening(windows=CLASS, hours=None, **day_changes):
    """Plan a flask for each window: 2 K a minute down, 45 min of soak, 6 min a pour, from ten o'clock."""
    studio, day = demo_studio_and_day()
    flasks = tuple(replace(studio.flasks[1], id=f"FL-{number}") for number in range(1, len(windows) + 1))
    base = replace(studio.bases[0], fits=tuple(one.id for one in flasks))
    kiln = replace(studio.kilns[0], cooling_C_h=_fig(120.0, "C_h"), offset_C=_fig(0.0, "C"))
    habits = replace(
        studio.habits, soak_at_casting_min=_fig(45.0, "min"), minutes_per_pour_min=_fig(6.0, "min")
    )  # fmt: skip
    own = replace(studio, flasks=flasks, bases=(base,), kilns=(kiln,), habits=habits)
    pieces = tuple(
        replace(day.pieces[0], id=f"P{number:02d}", wish_flask=flask.id,
                flask_temperature_C=given(sum(window) / 2, "C", "day.toml", *window))
        for number, (flask, window) in enumerate(zip(flasks, windows, strict=True), 1)
    )  # fmt: skip
    done_by = day.first_pour + timedelta(hours=hours) if hours else None
    outcome = plan_day(own, replace(day, pieces=pieces, done_by=done_by, **day_changes), made_up_report)
    assert outcome.plan is not None
    return outcome.plan


@pytest.fixture(scope="module")
def evening():
    return _evening(hours=3)


def _found(plan, code):
    return [one for one in plan.findings if one.code == f"prepare.{code}"]


def test_the_day_takes_136_minutes_with_the_overlap_shared_at_510(evening):
    assert evening.pouring.total_min.value == pytest.approx(136.0)
    assert [one.flask_temperature_C.value for one in evening.flasks] == [620.0] * 2 + [510.0] * 4
    assert evening.pouring.proven


def test_pours_have_clock_times_from_the_hottest_down(evening):
    clock = [f"{one.pour_at:%H:%M}" for one in evening.flasks]
    assert clock == ["10:00", "10:06", "11:52", "11:58", "12:04", "12:10"]
    assert f"{evening.pouring.done_at:%H:%M}" == "12:16"


def test_the_curve_has_both_casting_holds_and_the_fall_between(evening):
    kinds = [(one.kind, one.from_C, one.to_C) for one in evening.burnout.steps[-3:]]
    assert kinds == [("soak", 620.0, 620.0), ("cool", 620.0, 510.0), ("soak", 510.0, 510.0)]
    for earlier, later in zip(evening.burnout.steps, evening.burnout.steps[1:], strict=False):
        assert earlier.end == later.start
        assert earlier.to_C == later.from_C
    assert evening.burnout.steps[-1].end == evening.flasks[2].pour_at


def test_every_flask_is_poured_while_the_kiln_stands_at_its_temperature(evening):
    for flask in evening.flasks:
        (hold,) = [one for one in evening.burnout.casting if flask.id in one.flasks]
        assert hold.temperature_C.value == flask.flask_temperature_C.value
        assert hold.first_pour <= flask.pour_at < hold.done
        assert hold.first_pour - hold.reached >= timedelta(minutes=45)
        assert [one.flask for one in hold.lags] == list(hold.flasks)


def test_the_timeline_says_when_the_kiln_is_set_down(evening):
    (fall,) = [one for one in evening.timeline if one.what == "prepare.timeline-fall"]
    assert (f"{fall.start:%H:%M}", f"{fall.end:%H:%M}") == ("10:12", "11:07")
    soaks = [one for one in evening.timeline if one.what == "prepare.timeline-soak"]
    assert [f"{one.end:%H:%M}" for one in soaks] == ["10:00", "11:52"]


def test_136_minutes_leave_44_of_a_class_of_three_hours(evening):
    assert evening.pouring.spare_min.value == pytest.approx(44.0)
    (fits,) = _found(evening, "class-fits")
    assert "44" in fits.what


def test_a_time_is_said_with_a_range_only_where_the_kiln_has_one(evening):
    (fits,) = _found(evening, "class-fits")
    assert "(" not in fits.what
    (shared,) = _found(evening, "pours-shared")
    assert "136" in shared.what and "(FL" in shared.what
    assert str(round(evening.pouring.apart_min.value - 136)) in shared.why.replace("\u00a0", " ")


def test_196_minutes_are_16_too_long_and_the_coolest_flask_is_to_be_moved():
    plan = _evening((HOT, HOT, *[(540.0, 540.0)] * 3, (480.0, 480.0)), hours=3)
    assert plan.pouring.total_min.value == pytest.approx(196.0)
    (over,) = _found(plan, "class-over")
    assert over.level is Level.LOOK
    assert "16" in over.what
    moved = plan.flasks[-1]
    assert moved.flask in over.do_next
    assert all(piece in over.do_next for piece in moved.pieces)
    # two of 6 min, 40 min down, 45 min of soak, three of 6 min
    assert "11:55" in over.do_next


def test_several_flasks_are_moved_where_one_is_not_enough():
    plan = _evening(((620.0, 620.0), (560.0, 560.0), (480.0, 480.0)), hours=0.5)
    (over,) = _found(plan, "class-over")
    assert sum(flask.flask in over.do_next for flask in plan.flasks) == 2


def test_a_class_too_short_for_one_flask_says_so():
    assert _found(_evening((HOT,), hours=0.05), "class-over-one")


def test_windows_that_overlap_by_less_than_the_doubt_about_the_kiln_do_not_share():
    from pourwright.prepare.flasking.pour_order import Pace, PourGroup, order_pours

    groups = [PourGroup(("F1",), 580.0, 566.0, 621.0), PourGroup(("F2",), 524.0, 510.0, 570.0)]
    pace = Pace(2.0, 45.0, 6.0)
    assert len(order_pours(groups, pace).set_points) == 1
    assert len(order_pours(groups, pace, least_shared_K=8.0).set_points) == 2
    strict = [groups[0], PourGroup(("F2",), 580.0, 580.0, 580.0)]
    assert len(order_pours(strict, pace, least_shared_K=8.0).set_points) == 1


def test_one_flask_temperature_for_the_day_is_kept_for_all():
    plan = planned(flask_temperature_C=_fig(540.0, "C")).plan
    assert {one.flask_temperature_C.value for one in plan.flasks} == {540.0}
    assert len(plan.burnout.casting) == 1
    assert plan.burnout.steps[-1].end == plan.day.first_pour


def test_the_trail_of_a_shared_temperature_ends_at_each_pieces_window(evening):
    document = plan_as_json(evening)
    flask = evening.flasks[-1]
    figures = document["figures"]
    row = figures[f"flasks.{flask.id}.flask_temperature_C"]
    assert (row["low"], row["high"]) == (500.0, 520.0)
    ends = {figures[key]["origin"] for one in row["inputs"].values() for key in figures[one]["inputs"].values()}
    assert all(one.startswith("day.toml, for") for one in ends)
    assert document["pouring"]["total_min"] == 136.0


def _with_stones(**changes):
    _, day = demo_studio_and_day()
    stone = replace(day.pieces[4], material="casting-wax", stone_g=_fig(0.2, "g"), wish_flask="")
    return planned(pieces=(stone,), **changes)


def test_a_day_of_stones_in_wax_is_cast_under_what_stones_stand_without_being_told():
    outcome = _with_stones()
    assert not [one.what for one in outcome.findings if one.level in (Level.STOP, Level.ASK)]
    assert all(one.flask_temperature_C.value < 454.0 - 4.0 for one in outcome.plan.flasks)
    assert outcome.plan.burnout.top_true_C.high <= 454.0


def test_stones_in_a_piece_too_thin_for_so_cool_a_flask_are_pointed_out():
    from pourwright.matter.alloys import alloy
    from pourwright.prepare.casting_temperature import below_stones, practice_window

    window, (found,) = below_stones(practice_window("P01", alloy("sterling-925"), 1.2))
    assert (window.low_C, window.high_C) == (434.0, 454.0)
    assert "566" in found.what and "454" in found.what
    heavy, none = below_stones(practice_window("P01", alloy("sterling-925"), 3.5))
    assert (heavy.high_C, none) == (454.0, ())
