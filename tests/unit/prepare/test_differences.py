"""Same again: what is not as it was (NEEDS L3)."""

import json
from dataclasses import replace
from datetime import date

import pytest
from tests.demo_day import demo_studio_and_day, made_up_report, planned

from pourwright.core.text import say
from pourwright.doors.service.plan import _same_again
from pourwright.prepare.differences import differences, likeness
from pourwright.prepare.plan import plan_day
from pourwright.prepare.plan_file import plan_as_json, write_plan


def _plan(change=lambda studio: studio, **day_changes):
    studio, day = demo_studio_and_day()
    return plan_day(change(studio), replace(day, **day_changes), made_up_report).plan


def _document(change=lambda studio: studio, **day_changes):
    return json.loads(json.dumps(plan_as_json(_plan(change, **day_changes))))


def _new_batch_and_spring(studio):
    tin = replace(studio.powders[0], opened_on=date(2026, 12, 1))
    arm = studio.machines[0]
    rate = replace(arm.torque_rate_Nm_turn, value=1.7, low=1.6, high=1.8)
    return replace(studio, powders=(tin,), machines=(replace(arm, torque_rate_Nm_turn=rate),))


def test_a_changed_powder_batch_and_spring_are_the_only_two_rows():
    rows = differences(_document(), _document(_new_batch_and_spring))
    assert [one.what for one in rows] == ["prepare.differs-powder-opened", "prepare.differs-spring"]
    assert (rows[0].then, rows[0].now) == ("–", "2026-12-01")
    assert "1.60" in rows[1].then
    assert "1.70" in rows[1].now


def test_the_same_day_again_has_no_rows():
    assert differences(_document(), _document()) == ()


def test_every_row_has_a_word():
    emptied = {"day": {}, "studio": {}, "flasks": [], "burnout": {}, "stock": []}
    rows = differences(emptied, _document())
    assert len(rows) > 10
    assert all(say(one.what) for one in rows)


def test_days_are_alike_by_their_pieces_and_not_at_all_in_another_metal():
    here = _document()
    assert likeness(here, here) == len(here["pieces"])
    other = {**here, "day": {**here["day"], "alloy": "silver-900"}}
    assert likeness(other, here) == 0


@pytest.fixture
def days(tmp_path):
    for name, day in (("2026-11-07", date(2026, 11, 7)), ("2026-11-21", date(2026, 11, 21))):
        earlier = _plan(date=day, first_pour=demo_studio_and_day()[1].first_pour.replace(month=11, day=day.day))
        write_plan(earlier, tmp_path / name / "plan.json")
    (tmp_path / "2026-11-28").mkdir()
    (tmp_path / "2026-11-28" / "plan.json").write_text("half a fi", "utf-8")
    return tmp_path


def test_the_latest_earlier_day_that_is_most_alike_is_taken_and_a_damaged_one_skipped(days):
    plan = _same_again(planned().plan, days / "2026-12-05")
    assert plan.repeats == "2026-11-21"
    assert plan.differences == ()


def test_changes_since_then_stand_on_the_plan(days):
    plan = _same_again(_plan(_new_batch_and_spring), days / "2026-12-05")
    assert [one.what for one in plan.differences] == ["prepare.differs-powder-opened", "prepare.differs-spring"]


def test_a_first_day_repeats_nothing(tmp_path):
    plan = _same_again(planned().plan, tmp_path / "2026-12-05")
    assert (plan.repeats, plan.differences) == ("", ())
