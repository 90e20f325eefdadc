"""Fitting an arm: what readings narrow, what they leave open, and what should be read next."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from tests.made_up_arm import made_up_arm, readings_from

from pourwright.physics.spin.fitting import fit_arm
from pourwright.physics.spin.next_reading import energy_check, next_readings, one_curve
from pourwright.physics.spin.readings import ArmPart, ArmReadings, opening_by_parts_rad

TURNS = (2.0, 3.0, 4.0)


@pytest.fixture(scope="module")
def readings():
    rng = np.random.default_rng(3)
    return readings_from(made_up_arm(rng), rng)


def test_pulls_alone_measure_the_spring_and_leave_the_inertia_open(readings):
    fit = fit_arm(ArmReadings(pulls=readings.pulls, pull_radius_m=readings.pull_radius_m))
    assert fit.is_measured("torque_rate_Nm_turn")
    assert fit.is_measured("friction_frac")
    assert not fit.is_measured("inertia_kg_m2")
    assert next_readings(fit, TURNS)[0].what == "spin"
    assert next_readings(fit, TURNS)[-1].what == "pulls"


def test_one_spin_alone_asks_for_the_pulls_before_the_weights(readings):
    fit = fit_arm(ArmReadings(spins=readings.spins[:1]))
    order = [one.what for one in next_readings(fit, TURNS)]
    assert order.index("pulls") < order.index("weights")


def test_a_further_reading_never_widens_the_peak(readings):
    for one in next_readings(fit_arm(readings), TURNS):
        assert one.peak_then_frac <= one.peak_now_frac + 1e-9


def test_more_readings_give_a_narrower_peak(readings):
    few = fit_arm(replace(readings, spins=())).peak(3.0)
    many = fit_arm(readings).peak(3.0)
    assert many.high / many.low < few.high / few.low


def test_strong_friction_with_the_speed_is_told_and_weak_is_not():
    rng = np.random.default_rng(8)
    weak = fit_arm(readings_from(made_up_arm(rng), rng))
    strong = fit_arm(readings_from(made_up_arm(rng, viscous_Nms=8e-3), rng))
    assert "viscous_Nms" not in weak.names
    assert strong.interval("viscous_Nms").low < 8e-3 < strong.interval("viscous_Nms").high


def test_a_slipped_reading_widens_the_ranges(readings):
    slipped = replace(readings.pulls[3], winding_N=readings.pulls[3].winding_N * 1.5)
    pulls = (*readings.pulls[:3], slipped, *readings.pulls[4:])
    assert fit_arm(readings).misfit_ratio == 1
    assert fit_arm(replace(readings, pulls=pulls)).misfit_ratio > 1.5


def test_a_spin_with_turns_miscounted_is_off_the_one_curve(readings):
    fit = fit_arm(readings)
    assert one_curve(fit).holds
    wrong = replace(readings, spins=(replace(readings.spins[0], turns_turns=2.5), *readings.spins[1:]))
    found = one_curve(fit_arm(wrong))
    assert not found.holds
    assert found.worst_turns == 2.5


def test_weights_that_leave_a_part_out_disagree_with_the_energy(readings):
    light = replace(readings, parts=(ArmPart(0.6 * readings.parts[0].kg, readings.parts[0].radius_m),))
    without = fit_arm(replace(readings, parts=()))
    assert energy_check(fit_arm(readings), without).apart_ratio < 2.6
    assert energy_check(fit_arm(light), without).apart_ratio > 4


def test_the_opening_angle_is_that_of_the_example_by_hand():
    """0.02139 / (2 * 0.0171) rad, as for an outer part of 1.9 kg at 90 mm beyond a hinge at 100 mm."""
    outer = ArmPart(1.9, 0.19, 0.02139 - 1.9 * 0.09**2, beyond_hinge=True)
    found = opening_by_parts_rad(ArmReadings(parts=(outer,), hinge_m=0.1))
    assert found == pytest.approx(0.02139 / (2 * 1.9 * 0.1 * 0.09), rel=1e-9)
    assert 30 < found * 180 / pi < 40


def test_no_reading_is_refused():
    with pytest.raises(ValueError, match="nothing was measured"):
        fit_arm(ArmReadings())
