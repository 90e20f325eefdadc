"""The force of a throw on its shaft, and the mark that keeps it steadiest."""

from dataclasses import replace

import numpy as np
import pytest

from pourwright.physics.spin.history import HingedArm
from pourwright.physics.spin.shaft import ArmMoments, stays_straight, steadiest_mark, throw_force_N, unbalance_force_N
from pourwright.physics.spin.throwing import throw_arm

ARM = HingedArm(1.0, 1.6, 0.075, 1.9, 0.006, 0.10, 0.09, dry_Nm=0.06, air_Nms2=6e-5)
THROW = throw_arm(ARM, 3.0, 60.0)


def _moments(throw=THROW, start_kgm=0.0, runs_s=0.2, weight_kg=2.2):
    """Return moments of the invented arm: 1.9 kg on the hinge, a bare arm of -0.05 kg m, metal that moves outward."""
    outer = 1.9 * 0.09 - np.where(throw.time_s < runs_s, start_kgm, 0.0)
    return ArmMoments(-0.05 + 1.9 * 0.10, outer, weight_kg)


def test_straight_and_steady_the_force_is_the_moment_left_times_the_speed_squared():
    run = (THROW.time_s > 3.0) & (THROW.time_s < 20.0)
    left_kgm = 0.14 + 0.171 - 2.2 * 0.13
    force_N = throw_force_N(THROW, _moments(), 0.13)[run]
    assert force_N == pytest.approx(left_kgm * THROW.speed_rad_s[run] ** 2, rel=1e-3)


def test_the_force_is_how_fast_the_sum_of_all_momenta_changes():
    moments = _moments()
    swinging = (THROW.time_s > THROW.opens_s + 0.004) & (THROW.time_s < THROW.straight_s - 0.004)
    at = np.flatnonzero(swinging)[1:-1]
    inner = (moments.inner_kgm - 2.2 * 0.14) * np.exp(1j * THROW.angle_rad)
    place = inner + moments.outer_kgm * np.exp(1j * (THROW.angle_rad + THROW.hinge_rad))
    step_s = THROW.time_s[at + 1] - THROW.time_s[at]
    expected = np.abs((place[at + 1] - 2 * place[at] + place[at - 1]) / step_s**2)
    assert throw_force_N(THROW, moments, 0.14)[at] == pytest.approx(expected, rel=2e-3, abs=0.05)


def test_held_in_its_fold_at_a_steady_speed_both_forces_agree():
    steady = replace(
        THROW,
        time_s=np.array([0.0]),
        speed_rad_s=np.array([12.0]),
        speedup_rad_s2=np.zeros(1),
        hinge_rad=np.array([-0.7]),
        hinge_rad_s=np.zeros(1),
        hinge_rad_s2=np.zeros(1),
    )
    moments = ArmMoments(0.14, np.array([0.171]), 2.2)
    assert throw_force_N(steady, moments, 0.12) == pytest.approx(unbalance_force_N(steady, moments, 0.12))


def test_the_arm_stays_straight_only_once_it_no_longer_swings_back():
    straight = stays_straight(THROW)
    first = THROW.time_s[np.argmax(straight)]
    assert THROW.straight_s < first < 1.3
    assert straight[-1] and not straight[0]
    assert np.all(THROW.hinge_rad[straight] > -1e-5)


@pytest.mark.parametrize("spare", [(0.0, 0.0), (0.1, 5.0), (0.5, 0.0)])
@pytest.mark.parametrize(("start_kgm", "runs_s"), [(0.0, 0.2), (0.02, 0.2), (0.03, 1.6), (0.06, 9.0)])
def test_no_mark_tried_one_by_one_is_steadier(spare, start_kgm, runs_s):
    moments = _moments(start_kgm=start_kgm, runs_s=runs_s)
    found = steadiest_mark(THROW, moments, *spare)
    straight = stays_straight(THROW)
    tried = np.arange(0.05, 0.25, 5e-4)
    forces = [unbalance_force_N(THROW, moments, one) for one in tried]
    largest = np.array([one.max() for one in forces])
    run = np.array([one[straight].max() for one in forces])
    assert found.least_N <= largest.min() + 1e-3
    allowed_N = found.least_N + max(spare[0] * found.least_N, spare[1])
    assert found.throw_N <= allowed_N + 1e-3
    assert found.run_N <= run[largest <= allowed_N].min(initial=np.inf) + 0.02


def test_metal_that_runs_early_leaves_the_mark_of_the_filled_flask():
    found = steadiest_mark(THROW, _moments(start_kgm=0.02, runs_s=0.2), 0.1, 5.0)
    assert found.mark_m == pytest.approx((0.14 + 0.171) / 2.2, abs=1e-5)
    assert found.run_N < 0.05
    assert found.least_N < found.throw_N < found.swing_N


def test_metal_that_runs_in_the_middle_of_the_run_leaves_a_mark_between_both_states():
    moments = _moments(start_kgm=0.02, runs_s=1.6)
    found = steadiest_mark(THROW, moments, 0.1, 5.0)
    assert (0.14 + 0.151) / 2.2 < found.mark_m < (0.14 + 0.171) / 2.2
    straight = stays_straight(THROW)
    force_N = unbalance_force_N(THROW, moments, found.mark_m)
    before = force_N[straight & (THROW.time_s < 1.6)].max()
    after = force_N[straight & (THROW.time_s >= 1.6)].max()
    assert before == pytest.approx(after, rel=1e-3)  # the larger of two falling and rising forces is least where equal


def test_an_arm_the_same_on_both_sides_needs_its_weight_where_the_outer_part_is():
    moments = replace(_moments(), inner_kgm=1.9 * 0.10, weight_kg=1.9)
    assert steadiest_mark(THROW, moments, 0.1, 5.0).mark_m == pytest.approx(0.19, abs=1e-5)


def test_twice_of_everything_leaves_the_mark_and_doubles_the_forces():
    once = _moments(start_kgm=0.02, runs_s=1.6)
    twice = ArmMoments(2 * once.inner_kgm, 2 * once.outer_kgm, 2 * once.weight_kg)
    one, two = steadiest_mark(THROW, once, 0.1, 0.0), steadiest_mark(THROW, twice, 0.1, 0.0)
    assert two.mark_m == pytest.approx(one.mark_m, abs=1e-5)
    assert two.throw_N == pytest.approx(2 * one.throw_N, rel=1e-4)
