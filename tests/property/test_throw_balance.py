"""The loaded arm is balanced at its mark, whatever stands on it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.core.figure import given as figure
from pourwright.physics.spin import balance
from pourwright.prepare.throw.balancing import ArmLoad, balance_arm


@settings(max_examples=60, deadline=None)
@given(
    flask_kg=st.floats(0.2, 4),
    crucible_kg=st.floats(0.1, 1),
    charge_g=st.floats(5, 500),
    weight_kg=st.floats(0.3, 5),
    arm_kgm=st.floats(-0.02, 0.2),
)
def test_at_its_mark_nothing_is_left_of_the_moment(flask_kg, crucible_kg, charge_g, weight_kg, arm_kgm):
    load = ArmLoad(
        flask_kg=figure(flask_kg, "kg", "test"),
        flask_mm=figure(230.0, "mm", "test"),
        crucible_kg=figure(crucible_kg, "kg", "test"),
        crucible_mm=figure(150.0, "mm", "test"),
        charge_g=figure(charge_g, "g", "test"),
        charge_mm=figure(150.0, "mm", "test"),
        metal_mm=figure(225.0, "mm", "test"),
        weight_kg=figure(weight_kg, "kg", "test"),
        arm_kgm=figure(arm_kgm, "kgm", "test"),
    )
    result = balance_arm(load, "F1")
    filled = arm_kgm + flask_kg * 0.230 + crucible_kg * 0.150 + charge_g / 1000 * 0.225
    assert balance.residual_kgm(filled, weight_kg, result.mark_mm.value / 1000) == pytest.approx(0, abs=1e-12)
    left = balance.residual_kgm(result.moment_start_kgm.value, weight_kg, result.start_mark_mm.value / 1000)
    assert left == pytest.approx(0, abs=1e-12)
    assert result.start_force_N.value == pytest.approx(2 * result.residual_force_N.value)
