"""A kept plan is read as the planner writes it: every number that records look for is there, with its range."""

from __future__ import annotations

import json

import pytest
from tests.demo_day import planned

from pourwright.books.records.actuals import QUANTITIES
from pourwright.books.records.checksum import WeighedLoad, expected_g
from pourwright.books.records.plans import KeptPlan, pattern_figure
from pourwright.core.figure import Figure
from pourwright.prepare.plan_file import plan_as_json

# Nobody plans these: the melt takes what it takes, how long the arm turns only a simulation says, and nobody measured
# the room of that day.
NOT_PLANNED = {"melt-time", "spin-time", "room"}


@pytest.fixture(scope="module")
def plan():
    return KeptPlan(json.loads(json.dumps(plan_as_json(planned().plan))))


def test_every_quantity_is_found_where_the_planner_puts_it(plan):
    for one in QUANTITIES.values():
        subject = plan.day if one.of == "day" else plan.loads[0]
        assert (one.planned(plan, subject) is None) == (one.id in NOT_PLANNED), one.id


def test_ranges_come_along(plan):
    warm = QUANTITIES["flask-temperature"].planned(plan, plan.loads[0])
    assert isinstance(warm, Figure)
    assert warm.low < warm.high
    charge = QUANTITIES["charge"].planned(plan, plan.loads[0])
    assert charge.low < charge.value < charge.high


def test_every_load_is_expected_to_weigh_what_the_planner_says(plan):
    real = {one.flask: one for one in planned().plan.mix.flasks}
    for load in plan.loads:
        setup = plan.setup(load)
        should = expected_g(WeighedLoad(setup))
        assert list(should) == ["invested", "burned-out", "cast"]
        assert should["burned-out"].value == pytest.approx(1000 * real[load].dry_kg.value, abs=0.01)
        assert should["burned-out"].low < should["burned-out"].high < should["invested"].low
        assert setup.tree_g.value > 0
        assert setup.cavity_g.value < setup.charge_g.value


def test_patterns_are_expected_by_weight_where_weighed_else_by_volume(plan):
    days = planned().plan.day.pieces
    found = {piece: pattern_figure(plan, piece) for piece in plan.pieces}
    assert all(one is not None and one.value > 0 for one in found.values())
    weighed = {place: one.weighed_g.value for place, one in enumerate(days) if one.weighed_g is not None}
    real = [one for one in planned().plan.pieces if one.order in weighed]
    assert real
    assert [found[one.id].value for one in real] == [weighed[one.order] for one in real]
