"""Peak speed and its time against an independent integration of the arm's motion.

Case: I theta'' = tau(turns left) - friction, from rest until the spring is run down, step by step (Runge-Kutta 8).
Source: our own derivation of both; the integration knows no energy balance.
Tolerance: 1e-6 relative for the same friction law; 2 % for the time of the peak under dry friction, because the
closed form spreads friction as an even share of the torque.
"""

from math import pi

import pytest
from scipy.integrate import solve_ivp

from pourwright.physics.spin import arm, spring

_SPRINGS = [(0.0, 1.5, 0.164), (1.0, 1.6, 0.14959), (0.6, 0.9, 0.21)]


def _run_down(start_Nm, rate_Nm_turn, turns, inertia, friction):
    """Return speed and time at which the spring is run down; friction(torque, speed) in N m."""

    def motion(_, state):
        angle, speed = state
        torque = start_Nm + rate_Nm_turn * (turns - angle / (2 * pi))
        return speed, (torque - friction(torque, speed)) / inertia

    def done(_, state):
        return state[0] - 2 * pi * turns

    done.terminal = True
    path = solve_ivp(motion, (0, 60), (0, 0), "DOP853", events=done, rtol=1e-10, atol=1e-12)
    return path.y[1, -1], path.t[-1]


@pytest.mark.parametrize("turns", [1, 2, 3, 4])
@pytest.mark.parametrize(("start", "rate", "inertia"), _SPRINGS)
def test_peak_speed_with_dry_friction_agrees_with_integration(start, rate, inertia, turns):
    drag_Nm = 0.05
    energy = spring.stored_energy_J(start, rate, turns)
    share = drag_Nm * 2 * pi * turns / energy
    speed, time = _run_down(start, rate, turns, inertia, lambda torque, speed: drag_Nm)
    assert arm.peak_speed_rad_s(energy, inertia, share) == pytest.approx(speed, rel=1e-6)
    assert arm.peak_time_s(start, rate, turns, inertia, share) == pytest.approx(time, rel=0.02)


@pytest.mark.parametrize(("start", "rate", "inertia"), _SPRINGS)
def test_peak_speed_and_time_with_an_even_share_of_friction_agree_with_integration(start, rate, inertia):
    speed, time = _run_down(start, rate, 3, inertia, lambda torque, speed: 0.08 * torque)
    energy = spring.stored_energy_J(start, rate, 3)
    assert arm.peak_speed_rad_s(energy, inertia, 0.08) == pytest.approx(speed, rel=1e-6)
    assert arm.peak_time_s(start, rate, 3, inertia, 0.08) == pytest.approx(time, rel=1e-6)
