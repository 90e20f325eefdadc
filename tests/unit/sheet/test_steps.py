"""The checklist: bench order, one role a step, each confirmation its own."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pourwright.sheet import steps
from pourwright.studio.day import Person

ROLES = {"Caller", "Pourer", "Helper"}


def _texts(rows):
    return [row["text"] for row in rows]


@pytest.fixture
def cold(plan):
    return steps.cold_steps(plan, plan.flasks[1])


def test_cold_checks_come_in_bench_order_and_the_winding_last(cold):
    texts = _texts(cold)
    wanted = [
        "mark 228.3",
        "Cradle pin",
        "Dry fit",
        "Guard",
        "Nobody in the plane",
        "Dry run",
        "Wind 3 turns",
        "not left",
    ]
    places = [next(index for index, words in enumerate(texts) if want in words) for want in wanted]
    assert places == sorted(places)
    assert places[-1] == len(texts) - 1


def test_winding_names_range_and_limit_and_warns_of_the_wound_arm(cold):
    wind = next(row for row in cold if row["text"].startswith("Wind"))
    assert "range 2.5–4, never past 4" in wind["text"]
    assert "Never leave a wound arm" in wind["cautions"][0]["text"]
    assert "uncalibrated" in wind["marks"]


def test_each_step_is_one_roles(plan):
    one = plan.flasks[0]
    rows = [*steps.cold_steps(plan, one), *steps.melt_steps(plan, one), *steps.flask_steps(plan, one),
            *steps.release(plan, one)["steps"], *steps.tub(plan)["steps"]]  # fmt: skip
    assert {row["role"] for row in rows} <= ROLES
    assert all(row["text"] for row in rows)


def test_release_asks_three_things_each_alone(plan):
    asked = steps.release(plan, plan.flasks[0])
    assert asked["calls"] == ["Mouth to crucible?", "Crucible up?", "People clear?"]
    assert [row["role"] for row in asked["steps"]] == ["Caller", "Pourer", "Caller"]


def test_cold_checks_are_confirmed_again_by_eye_each_in_its_own_box(plan):
    assert steps.flask_steps(plan, plan.flasks[0])[-1]["boxes"] == ["mark", "pin", "way round", "guard", "area"]


def test_helper_fetches_the_flask_where_there_is_one(plan):
    with_helper = replace(plan, day=replace(plan.day, people=(*plan.day.people, Person("Odd One", "helper"))))
    assert steps.flask_steps(plan, plan.flasks[0])[0]["role"] == "Caller"
    assert steps.flask_steps(with_helper, plan.flasks[0])[0]["role"] == "Helper"


def test_pour_temperature_is_named_only_where_it_is_known(plan):
    blind = replace(plan, studio=replace(plan.studio, habits=replace(plan.studio.habits, pour_temperature_C=None)))
    assert "970\u00a0°C" in _texts(steps.melt_steps(plan, plan.flasks[0]))[-1]
    assert "°C" not in _texts(steps.melt_steps(blind, plan.flasks[0]))[-1]


def test_zinc_fume_is_said_for_brass_only(plan):
    brass = replace(plan, day=replace(plan.day, alloy=_brass()))
    assert not any("inc oxide" in one["text"] for one in steps.melt_steps(plan, plan.flasks[0])[0]["cautions"])
    assert any("inc oxide" in one["text"] for one in steps.melt_steps(brass, plan.flasks[0])[0]["cautions"])


def _brass():
    from pourwright.matter.alloys import alloy, alloy_ids

    return next(one for one in alloy_ids() if alloy(one).family == "brass")


def test_calibrated_machine_carries_no_mark(plan):
    one = replace(plan.flasks[0], throw=replace(plan.flasks[0].throw, calibrated=True))
    assert not any("uncalibrated" in row["marks"] for row in steps.cold_steps(plan, one))
