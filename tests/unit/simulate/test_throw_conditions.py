"""Cases of a throw, and what drives the metal in them."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from tests.unit.simulate.made_up_throw import ARM, conditions

from pourwright.core.interval import Interval
from pourwright.physics.spin.body_force import force_across_m_s2, force_along_m_s2
from pourwright.physics.spin.throwing import throw_arm
from pourwright.simulate.ranks import strongest
from pourwright.simulate.throw_conditions import (
    Head,
    best_throw,
    draw_throws,
    drive_in,
    drive_of,
    melt_in,
    mould_in,
    scaled_drive,
    supply_in,
    throw_ranges,
)

SAID = conditions()


def test_draws_lie_in_their_ranges_and_are_the_same_for_a_seed():
    cases = draw_throws(SAID, 20, 3)
    assert cases == draw_throws(SAID, 20, 3)
    for name, one in throw_ranges(SAID).items():
        drawn = [getattr(case, name) for case in cases]
        assert one.low <= min(drawn) <= max(drawn) <= one.high, name


def test_the_metal_cools_from_torch_off_to_release():
    case = replace(best_throw(SAID), release_s=2.0, dwell_K_s=10.0)
    assert case.arrival_K == pytest.approx(case.pour_K - 20.0)
    assert melt_in(case, "sterling-925").pour_K == case.arrival_K


def test_a_place_feels_through_the_drive_what_it_feels_on_the_arm():
    throw = throw_arm(ARM, 3.0, 1.2)
    drive = drive_of(throw)
    for beyond_m in (0.02, 0.12):
        along = drive.along_m_s2 + drive.turning_rad_s**2 * beyond_m
        assert along == pytest.approx(force_along_m_s2(throw, beyond_m))
        across = drive.across_m_s2 - drive.turning_rad_s2 * beyond_m
        assert across == pytest.approx(force_across_m_s2(throw, beyond_m))


def test_twice_the_torque_is_the_same_way_faster_by_the_root_of_two():
    # The equations of motion keep their form when torque doubles and time shrinks by the root of two; dry and air
    # friction are torques too. Held against the arm followed anew.
    strong = replace(ARM, torque_start_Nm=1.8, torque_rate_Nm_turn=3.0, dry_Nm=0.02)
    weak = replace(ARM, dry_Nm=0.01)
    scaled, anew = scaled_drive(drive_of(throw_arm(weak, 3.0, 1.4)), 2.0), drive_of(throw_arm(strong, 3.0, 0.95))
    time_s = np.linspace(0.01, 0.9, 60)
    blow_s = throw_arm(strong, 3.0, 0.95).straight_s
    time_s = time_s[np.abs(time_s - blow_s) > 0.01]
    for name in ("along_m_s2", "turning_rad_s"):
        ours, theirs = (np.interp(time_s, one.time_s, getattr(one, name)) for one in (scaled, anew))
        assert ours == pytest.approx(theirs, rel=0.01, abs=0.05), name


def test_a_vacuum_pushes_and_a_plain_pour_has_its_weight_alone():
    case = replace(best_throw(SAID), vacuum_Pa=8e4)
    assert drive_in(case, Head.VACUUM, None).push_Pa[0] == 8e4
    assert drive_in(case, Head.GRAVITY, None).push_Pa[0] == 0.0
    assert drive_in(case, Head.GRAVITY, None).gravity_m_s2[0] > 9.8
    with pytest.raises(ValueError, match="needs a throw"):
        drive_in(case, Head.SPIN, None)


def test_the_supply_holds_the_charge_as_liquid_and_empties_to_its_mouth():
    case = best_throw(SAID)
    supply = supply_in(case, SAID, 0.07, 30.0)
    assert supply.volume_m3 == pytest.approx(0.040 / 9150.0, rel=0.02)
    assert supply.full_m[0] < supply.empty_m[0] == 0.07
    assert supply.mouth_m2 == pytest.approx(pi * 3.5e-3**2)
    assert supply_in(case, replace(SAID, head=Head.GRAVITY), 0.0, 30.0).lip_rad == 0.0


def test_a_mould_that_conducts_better_has_the_ratio_in_its_conductivity():
    case = best_throw(SAID)
    cases = (replace(case, conductivity_ratio=one) for one in (1.0, 1.5))
    plain, better = (mould_in(one, "gypsum-bonded", 753.15) for one in cases)
    assert better.conductivity_W_mK == pytest.approx(1.5 * plain.conductivity_W_mK)
    assert plain.permeability_m2 == case.permeability_m2
    assert 0.3 < plain.porosity_frac < 0.7  # gas soaks into its pores


def test_the_input_that_decides_is_named_and_chance_is_not():
    generator = np.random.default_rng(1)
    drawn = {name: generator.random(40) for name in ("one", "other")}
    assert strongest(drawn, drawn["other"] ** 3 + 0.05 * drawn["one"])[0] == "other"
    assert strongest(drawn, generator.random(40))[0] == ""
    assert strongest(drawn, np.ones(40)) == ("", 0.0)


def test_what_is_given_goes_before_the_tables():
    said = conditions(lip_rad=Interval(0.1, 0.2, 0.3, "rad"))
    assert best_throw(said).lip_rad == 0.2
    assert best_throw(SAID).lip_rad == pytest.approx(25 * pi / 180)
