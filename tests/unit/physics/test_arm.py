"""The arm's inertia, peak speed and the time of the peak."""

from math import inf, pi, sqrt

import pytest

from pourwright.physics.spin import arm


def test_friction_that_takes_three_quarters_of_the_energy_halves_the_speed():
    assert arm.peak_speed_rad_s(64.0, 0.15, 0.75) == pytest.approx(arm.peak_speed_rad_s(64.0, 0.15, 0.0) / 2)


@pytest.mark.parametrize(("inertia", "friction"), [(0.0, 0.0), (-1.0, 0.0), (0.1, 1.1), (0.1, -0.1)])
def test_an_impossible_arm_is_refused(inertia, friction):
    with pytest.raises(ValueError, match="must"):
        arm.peak_speed_rad_s(10.0, inertia, friction)


def test_without_starting_torque_the_peak_comes_after_a_quarter_swing_whatever_the_turns():
    times = [arm.peak_time_s(0.0, 1.5, turns, 0.164, 0.0) for turns in (1.0, 3.0)]
    assert times == pytest.approx([pi / 2 * sqrt(0.164 / (1.5 / (2 * pi)))] * 2)


def test_with_constant_torque_the_time_is_that_of_even_acceleration():
    assert arm.peak_time_s(2.0, 0.0, 1.0, 0.1, 0.0) == pytest.approx(sqrt(2 * 2 * pi * 0.1 / 2.0))


def test_a_spring_without_torque_never_gets_the_arm_to_its_peak():
    assert arm.peak_time_s(0.0, 0.0, 3.0, 0.1, 0.0) == inf
    assert arm.peak_time_s(1.0, 1.5, 3.0, 0.1, 1.0) == inf


def test_speeds_convert_both_ways():
    assert arm.speed_rpm(arm.speed_rad_s(217.0)) == pytest.approx(217.0)
