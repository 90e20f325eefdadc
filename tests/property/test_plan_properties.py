"""Whatever the pieces weigh: no metal is made or lost on the way through the plan; the same day, the same plan."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.demo_day import planned

from pourwright.prepare.plan_file import plan_as_json

FEW = settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
VOLUMES = st.floats(120.0, 1400.0)


@FEW
@given(volume_mm3=VOLUMES)
def test_metal_is_conserved_through_every_step(volume_mm3):
    plan = planned(volume_mm3).plan
    assert plan is not None
    by_id = {one.id: one for one in plan.pieces}
    for flask in plan.flasks:
        pieces_cm3 = sum(by_id[one].volume_cm3.value for one in flask.pieces)
        rods_cm3 = (flask.tree.sprue_volume_mm3 + flask.tree.gates_volume_mm3) / 1000
        assert flask.need.cavity_cm3.value == pytest.approx(pieces_cm3 + rods_cm3)
        if flask.alloyed is None:
            continue
        assert sum(one.mass_g for one in flask.alloyed.weigh) == pytest.approx(flask.need.charge_g.value, abs=1e-6)
        assert sum(one.mass_g for one in flask.alloyed.weigh_to_aim) == pytest.approx(
            flask.need.charge_g.value, abs=0.0051
        )
    taken = sum(row.take_g.value for row in plan.stock)
    weighed = sum(one.mass_g for flask in plan.flasks if flask.alloyed for one in flask.alloyed.weigh_to_aim)
    assert taken == pytest.approx(weighed)
    placed = sorted(piece for flask in plan.flasks for piece in flask.pieces)
    assert placed == sorted(by_id)


@FEW
@given(volume_mm3=VOLUMES)
def test_the_same_input_is_the_same_plan(volume_mm3):
    first, again = planned(volume_mm3), planned(volume_mm3)
    assert [one.as_json() for one in first.findings] == [one.as_json() for one in again.findings]
    if first.plan is not None and again.plan is not None:
        assert plan_as_json(first.plan) == plan_as_json(again.plan)
