"""Quench minutes on paper: rounded inwards, or the words for none."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.sheet.sample_plan import ZONE, fig

from pourwright.sheet.quench import quench


def _with(plan, early, late, basis="prepare.quench-basis-calibrated"):
    one = plan.flasks[0]
    window = replace(one.quench, earliest_min=fig(early, "min"), latest_min=fig(late, "min"), basis=basis)
    return quench(replace(one, quench=window), ZONE.key)


def test_minutes_and_clock_times_are_rounded_inwards(plan):
    shown = _with(plan, 15.4, 31.8)
    assert shown["text"] == "16–31\u00a0min"
    assert shown["clock"] == "14:16 – 14:31"
    assert shown["marks"] == []


def test_whole_minutes_stay(plan):
    assert _with(plan, 15.0, 31.0)["text"] == "15–31\u00a0min"


def test_a_single_time_is_shown_once(plan):
    assert _with(plan, 18.2, 18.2)["text"] == "19\u00a0min"


def test_flask_left_to_cool_is_not_quenched(plan):
    shown = _with(plan, 200, 200, "prepare.quench-basis-hand-warm")
    assert shown["text"] == "no quench"
    assert not shown["wet"]


def test_minutes_nobody_measured_are_marked(plan):
    assert _with(plan, 8, 12, "prepare.quench-basis-practice")["marks"] == ["uncalibrated"]
