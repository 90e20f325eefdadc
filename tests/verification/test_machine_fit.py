"""The fitted arm: it finds the numbers of an arm that made its readings, as often as it says it does.

Case: arms drawn at random, read with the stated errors. Source: none needed, the truth is known. Tolerance: each
interval of ninety per cent must hold the truth in a share of the trials that a binomial of 0.9 gives with all but one
chance in a thousand.
"""

from math import pi

import numpy as np
import pytest
from scipy.stats import binom
from tests.made_up_arm import made_up_arm, readings_from

from pourwright.physics.spin.fitting import fit_arm
from pourwright.physics.spin.history import HingedArm
from pourwright.physics.spin.run_up import RunUp, peak_rad_s, running_down_rad_s
from pourwright.physics.spin.throwing import throw_arm

NAMES = ("torque_start_Nm", "torque_rate_Nm_turn", "friction_frac", "inertia_kg_m2", "dry_Nm", "air_Nms2")


def hits_of(trials, seed):
    """Count how often each interval holds the true value."""
    rng = np.random.default_rng(seed)
    hits = dict.fromkeys((*NAMES, "peak"), 0)
    for _ in range(trials):
        arm = made_up_arm(rng)
        fit = fit_arm(readings_from(arm, rng))
        for name in NAMES:
            found = fit.interval(name)
            hits[name] += found.low <= getattr(arm, name) <= found.high
        peak = fit.peak(3.0)
        hits["peak"] += peak.low <= peak_rad_s(arm, 3.0) * (1 + 0.005 * rng.normal()) <= peak.high
    return hits


def test_a_fitted_arm_holds_the_truth_as_often_as_it_says():
    trials = 40
    low, high = binom.interval(0.999, trials, 0.9)
    for name, count in hits_of(trials, seed=5).items():
        assert low <= count <= high, (name, count)


@pytest.mark.parametrize("turns", [2.0, 3.0, 4.0])
def test_the_energy_gives_the_speed_that_the_two_bodies_have_when_the_spring_has_let_go(turns):
    """Tolerance 1.2 %: the outer part may still swing; over a whole turn that nearly cancels."""
    arm = HingedArm(1.0, 1.6, 0.075, 1.9, 0.005, 0.1, 0.09, spring_loss_frac=0.1, dry_Nm=0.06, air_Nms2=6e-5)
    throw = throw_arm(arm, turns)
    ends = np.interp([2 * pi * turns, 2 * pi * (turns + 1)], throw.angle_rad, throw.time_s)
    a_turn = 2 * pi / (ends[1] - ends[0])
    frac = 0.1 + 0.06 / (1.0 + 0.8 * turns)
    lost = throw.impact_J[-1] / throw.spring_J[-1]
    quick = RunUp(1.0, 1.6, frac, arm.whole_kg_m2(0.0), 0.06, 0.0, 6e-5, lost)
    assert peak_rad_s(quick, turns) == pytest.approx(a_turn, rel=0.012)


def test_the_run_down_is_that_of_the_two_bodies_to_a_ten_thousandth():
    arm = HingedArm(1.0, 1.6, 0.075, 1.9, 0.005, 0.1, 0.09, dry_Nm=0.06, viscous_Nms=2e-4, air_Nms2=6e-5)
    throw = throw_arm(arm, 3.0)
    late = np.flatnonzero(throw.time_s > throw.let_go_s + 1.0)[::25]
    quick = RunUp(1.0, 1.6, 0.0, arm.whole_kg_m2(0.0), 0.06, 2e-4, 6e-5)
    modelled = running_down_rad_s(quick, throw.speed_rad_s[late[0]], throw.time_s[late] - throw.time_s[late[0]])
    assert modelled == pytest.approx(throw.speed_rad_s[late], abs=3e-3)
