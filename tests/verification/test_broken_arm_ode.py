"""What the straight-arm formulas leave out: the fold, followed by an independent integration of the two bodies.

Case: an invented machine (tau = 1.0 + 1.6 N m for each turn, straight inertia 0.14959 kg m2) starts folded at a right
angle; the hinge opens when its stop lets go, the outer part swings out and meets the straight stop without rebound.
Source: our own derivation (Lagrange's equations of two hinged bodies, angular momentum kept at the stop).
Tolerance: the closed forms may be 2 % off in peak speed and 6 % in its time; the opening angle under constant torque
is exact to the integration, 0.1 %.
"""

from math import cos, degrees, pi, sin, sqrt

import pytest
from scipy.integrate import solve_ivp

from pourwright.physics.spin import arm, spring

_START_NM, _RATE_NM_TURN = 1.0, 1.6
_INNER, _OUTER_KG, _HINGE_M, _CENTRE_M, _OWN = 0.075, 1.9, 0.10, 0.09, 0.006
_HINGED = _OWN + _OUTER_KG * _CENTRE_M**2
_COUPLED = _OUTER_KG * _HINGE_M * _CENTRE_M
_FOLDED = _INNER + _OUTER_KG * _HINGE_M**2 + _HINGED
_STRAIGHT = arm.straight_inertia_kg_m2(_INNER, _OUTER_KG, _HINGE_M, _CENTRE_M, _OWN)


def _integrate(motion, start, time, event):
    event.terminal = True
    path = solve_ivp(motion, (time, time + 30), start, "DOP853", events=event, rtol=1e-10, atol=1e-12)
    return path.y[:, -1], path.t[-1]


def _open(torque):
    """Turn the folded arm until the hinge's stop no longer pushes."""
    return _integrate(
        lambda _, state: (state[1], torque(state[0]) / _FOLDED),
        (0.0, 0.0),
        0.0,
        lambda _, state: _COUPLED * state[1] ** 2 - _HINGED * torque(state[0]) / _FOLDED,
    )


def _unfold(torque, state, time):
    """Let the outer part swing out until the arm is straight; state: angle, speed, hinge angle, hinge speed."""

    def motion(_, now):
        angle, speed, hinge, swing = now
        whole, mixed = _FOLDED + 2 * _COUPLED * cos(hinge), _HINGED + _COUPLED * cos(hinge)
        first = torque(angle) + _COUPLED * sin(hinge) * swing * (2 * speed + swing)
        second = -_COUPLED * sin(hinge) * speed**2
        det = whole * _HINGED - mixed**2
        return speed, (first * _HINGED - second * mixed) / det, swing, (second * whole - first * mixed) / det

    return _integrate(motion, (*state, -pi / 2, 0.0), time, lambda _, now: now[2])


def _peak(turns):
    """Return the peak speed and its time for a number of turns."""

    def torque(angle):
        return _START_NM + _RATE_NM_TURN * (turns - angle / (2 * pi))

    state, time = _open(torque)
    (angle, speed, _, swing), time = _unfold(torque, state, time)
    after = speed + (_HINGED + _COUPLED) * swing / _STRAIGHT
    (_, peak), time = _integrate(
        lambda _, now: (now[1], torque(now[0]) / _STRAIGHT),
        (angle, after),
        time,
        lambda _, now: now[0] - 2 * pi * turns,
    )
    return peak, time


def test_the_hinge_opens_at_the_angle_that_the_masses_alone_decide():
    (angle, _), _ = _open(lambda angle: 2.0)
    assert degrees(angle) == pytest.approx(35.835, rel=1e-3)  # 0.02139 / (2 x 0.0171) rad


@pytest.mark.parametrize("turns", [1, 2, 3, 4])
def test_the_fold_costs_little_of_the_peak_speed_and_hardly_shifts_its_time(turns):
    peak, time = _peak(turns)
    energy = spring.stored_energy_J(_START_NM, _RATE_NM_TURN, turns)
    straight = arm.peak_speed_rad_s(energy, _STRAIGHT, 0.0)
    assert straight == pytest.approx(sqrt(2 * energy / 0.14959))
    assert peak <= straight
    assert peak == pytest.approx(straight, rel=0.02)
    assert time == pytest.approx(arm.peak_time_s(_START_NM, _RATE_NM_TURN, turns, _STRAIGHT, 0.0), rel=0.06)
