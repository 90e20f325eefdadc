"""The spring's torque and energy."""

import pytest

from pourwright.physics.spin import spring


def test_a_spring_with_no_turns_holds_no_energy():
    assert spring.stored_energy_J(1.0, 1.6, 0.0) == 0


def test_torque_rises_by_the_same_step_with_each_turn():
    steps = [spring.torque_Nm(1.0, 1.6, n + 1) - spring.torque_Nm(1.0, 1.6, n) for n in range(4)]
    assert steps == pytest.approx([1.6] * 4)


def test_energy_goes_with_the_square_of_the_turns_when_there_is_no_starting_torque():
    assert spring.stored_energy_J(0.0, 1.5, 4.0) == pytest.approx(4 * spring.stored_energy_J(0.0, 1.5, 2.0))
