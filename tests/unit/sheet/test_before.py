"""Before the day: supplies against stock, checks due, steps with boxes, what is not as last time."""

from __future__ import annotations

from dataclasses import replace

from pourwright.sheet.before import before, supply_rows, unlike_last_time


def test_powder_gas_and_flux_stand_with_what_is_there_taken_and_left(full_plan):
    rows = {row["id"]: row for row in supply_rows(full_plan)}
    assert list(rows) == ["plain", "G-1", "F-1", "F-2"]
    assert (rows["plain"]["have"], rows["plain"]["out"]) == ("5\u2009000\u00a0g", "1\u2009133\u00a0g")
    assert rows["plain"]["left"] == "3\u2009867\u00a0g"
    assert (rows["G-1"]["out"], rows["G-1"]["state"]) == ("180\u00a0g", "enough")


def test_what_is_lacking_is_said_in_grams_and_what_may_run_short_in_words(full_plan):
    states = {row["id"]: (row["state"], row["short"]) for row in supply_rows(full_plan)}
    assert states["F-1"] == ("2\u00a0g lacking", True)
    assert states["F-2"] == ("may run short", True)


def test_checks_say_their_state_in_words_with_the_test_mass(full_plan):
    checks = {row["name"]: row for row in before(full_plan)["checks"]}
    scale = checks["Scale against its test mass (S-01)"]
    assert (scale["state"], scale["due"], scale["against"]) == ("overdue", "31 Oct 2026", "100 g test mass")
    assert checks["Eyewash"]["last"] == "never"
    assert checks["Pin and spring of the arm (arm-1)"]["state"] == "in time"


def test_steps_before_investing_have_base_numbers_and_boxes_for_three_weights(full_plan):
    steps = before(full_plan)["steps"]
    assert "no sticky spot" in steps[0]["text"]
    assert steps[1]["text"].startswith("Flask 1: sprue P01, P02, P05 on base B-64;")
    assert steps[1]["write_in"] == ["Pattern on its sprue", "Base alone", "Flask when invested"]


def test_a_caution_stands_once_in_a_list_of_steps(full_plan):
    steps = before(full_plan)["steps"]
    told = [one["text"] for step in steps for one in step["cautions"]]
    assert len(told) == len(set(told)) == 2


def test_a_plan_without_supplies_still_counts_its_powder(plan):
    page = before(plan)
    assert [row["id"] for row in page["supplies"]] == ["plain"]
    assert page["checks"] == page["steps"] == []


def test_what_changed_since_the_day_most_alike_is_shown_then_and_now(plan, full_plan):
    assert unlike_last_time(plan) is None
    told = unlike_last_time(full_plan)
    assert told["day"] == "Saturday 14 November 2026"
    assert [row["what"] for row in told["rows"]] == ["Powder tin opened on", "Spring"]
    assert told["rows"][0]["now"] == "2026-11-20"


def test_a_day_like_the_earlier_one_in_all_has_no_rows(full_plan):
    assert unlike_last_time(replace(full_plan, differences=()))["rows"] == []
