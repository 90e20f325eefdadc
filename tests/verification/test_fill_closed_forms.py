"""Parts of a filling against closed forms: what a hand with a pencil gets.

Source: our own derivations, given at each test (Torricelli, statics in a turning frame, Darcy, conduction into a deep
wall); round numbers of the cases are assumed inputs, not data. Tolerance: that of the time step or the voxel, said at
each.
"""

from dataclasses import replace
from math import acosh, cosh, log, pi, sinh, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.small_moulds import MELT, MOULD, boxes, changed, comb, gate_of

from pourwright.physics.fill import _kernels
from pourwright.physics.fill.filling import fill
from pourwright.physics.fill.flow import _kernels as flow
from pourwright.physics.fill.flow.network import soak_m2_s, spread_m
from pourwright.physics.fill.force import depth_J_kg, force_over, pull_m_s2
from pourwright.physics.fill.problem import (
    Drive,
    FillControl,
    FillProblem,
    Sprue,
    Supply,
    round_area_m2,
    standing_pour,
    steady_spin,
)

OPEN = replace(MOULD, permeability_m2=np.inf)
RUNNY = replace(MELT, contact_deg=90.0)


def _vat():
    """A sprue large enough to take anything that runs into it, from 0.2 to 0.4 m below the hinge."""
    return boxes(0.02, [(0, (0.2, -0.1, -0.1), (0.4, 0.1, 0.1))])


def test_a_tank_drains_as_torricelli_says():
    # Upright vessel of area a, height h, mouth c (share of discharge in it): sqrt(level) falls evenly, and it is empty
    # after (a / c) * sqrt(2 h / g). Midpoint rule at 0.5 ms: 1e-4.
    height, area, mouth = 0.05, 1e-3, 4e-5
    supply = Supply(area * height, np.zeros(3), np.array([height, 0, 0]), mouth, np.array([height, 0, 0]), 0.7)
    found = fill(FillProblem(_vat(), (), Sprue(1e-4, 1e-2), supply, standing_pour(), RUNNY, OPEN))
    empty_s = area / (0.7 * mouth) * sqrt(2 * height / 9.80665)
    time_s = found.history.time_s
    exact = supply.volume_m3 * np.maximum(1 - time_s / empty_s, 0) ** 2
    assert found.history.crucible_m3 == pytest.approx(exact, abs=1e-4 * supply.volume_m3)
    hundredth_s = np.interp(-0.01 * supply.volume_m3, -found.history.crucible_m3, time_s)
    assert hundredth_s == pytest.approx(0.9 * empty_s, rel=1e-3)


@pytest.mark.parametrize("speed_rad_s", [10.0, 20.0, 40.0])
def test_a_stream_falls_down_a_turning_sprue_as_the_hyperbolic_cosine(speed_rad_s):
    # A bead in a radial way from rest is at r0 cosh(w t): at 0.165 m from 0.13 m after acosh(0.165 / 0.13) / w. The
    # mouth gives it a little speed v, so r = r0 cosh(w t) + v / w sinh(w t). Lumps of 0.05 ms: 0.5 %.
    cavity = boxes(1e-3, [(0, (0.130, -0.002, -0.002), (0.165, 0.002, 0.002))])
    level = np.array([0.12999, 0, 0])
    supply = Supply(1e-6, level, level, 1e-4, np.array([0.13, 0, 0]), 1.0)
    spin = steady_spin(speed_rad_s, 0.0, gravity_m_s2=0.0)
    problem = FillProblem(cavity, (), Sprue(1e-4, 1e-2), supply, spin, RUNNY, OPEN, FillControl(step_max_s=5e-5))
    first_s = float(np.nanmin(fill(problem).arrival_s))
    start = speed_rad_s * sqrt(0.13**2 - 0.12999**2)
    goal, passed = 0.1645, speed_rad_s * first_s
    assert 0.13 * cosh(passed) + start / speed_rad_s * sinh(passed) == pytest.approx(goal, rel=0.005)
    assert acosh(0.165 / 0.13) / 20 == pytest.approx(0.035913, rel=1e-3)


def _fed(speed_rad_s, gates=1):
    """A sprue that keeps full from 0.13 to 0.19 m, and a tank of 2 cm3 beyond it behind holes of 3 mm."""
    parts = [
        (0, (0.130, -0.01, -0.01), (0.190, 0.01, 0.01)),
        (1, (0.190, -0.01, -0.01), (0.195, 0.01, 0.01)),
    ]
    cavity = boxes(1e-3, parts)
    hole = replace(gate_of(cavity, 1, round_area_m2(3e-3), 0.0, 0.6), place_m=np.array([0.19, 0.0, 0.0]))
    level = np.array([0.13, 0, 0])
    supply = Supply(1e-3, level - [1e-5, 0, 0], level, 1e-2, level, 1.0)
    return FillProblem(cavity, (hole,) * gates, Sprue(1.0, 1.0), supply, steady_spin(speed_rad_s, 0.0, 0.0), RUNNY,
                       OPEN, FillControl(share_max_frac=0.002))  # fmt: skip


def test_a_hole_of_3_mm_passes_11_75_cm3_a_second_and_2_cm3_take_0_170_s():
    # 0.6 x pi x 0.0015^2 x sqrt(2 x 34 944 / 9100) under the head from 0.13 to 0.19 m at 20 rad/s. The sprue's surface
    # is known to half a voxel of 1 mm, which is 0.4 % of the head; a step moves a fiftieth of a per cent.
    found = fill(_fed(20.0))
    time_s, held_m3 = found.history.time_s, found.history.volume_m3[:, 1]
    assert found.history.head_Pa[:, 1].max() == pytest.approx(34944, rel=0.01)
    middle = (held_m3 > 0.5e-6) & (held_m3 < 1.5e-6)
    assert np.polyfit(time_s[middle], held_m3[middle], 1)[0] == pytest.approx(11.7534e-6, rel=0.01)
    taken_s = np.interp(1.5e-6, held_m3, time_s) - np.interp(0.5e-6, held_m3, time_s)
    assert taken_s * 2 == pytest.approx(0.170163, rel=0.01)


def test_two_holes_pass_twice_as_much_as_one():
    one, two = fill(_fed(20.0)), fill(_fed(20.0, gates=2))
    rate = [np.interp(1.5e-6, f.history.volume_m3[:, 1], f.history.time_s)
            - np.interp(0.5e-6, f.history.volume_m3[:, 1], f.history.time_s) for f in (one, two)]  # fmt: skip
    assert rate[0] / rate[1] == pytest.approx(2, rel=0.01)


def test_the_head_of_a_straight_arm_is_that_of_the_turning_frame_and_needs_no_path():
    # rho w^2 (r2^2 - r1^2) / 2, in whatever way the hinge splits the radius; and the depth's slope is the pull itself.
    for hinge in (0.0, 0.05, 0.1):
        force = force_over(steady_spin(20.0, hinge), np.zeros(1))
        low, high = np.array([0.13 - hinge, 0, 0]), np.array([0.19 - hinge, 0, 0])
        assert 9100 * (depth_J_kg(force, high) - depth_J_kg(force, low))[0] == pytest.approx(34944, rel=1e-6)
        place, step = np.array([0.08, 0.012, -0.007]), 1e-6
        for axis in range(3):
            there = place + step * np.eye(3)[axis]
            slope = (depth_J_kg(force, there) - depth_J_kg(force, place))[0] / step
            assert slope == pytest.approx(pull_m_s2(force, place)[0, axis], rel=1e-4, abs=1e-4)


def test_the_folded_arm_pulls_as_its_parts_say():
    # Folded: hinge 0.1 m x 40 rad/s2 + 0.09 m x (5 rad/s)^2 = 6.25 m/s2 along; the compiled depth agrees with ours.
    drive = Drive(np.zeros(1), np.array([0.1 * 40.0]), np.array([2.5]), np.array([5.0]), np.array([40.0]), np.zeros(1))
    force = force_over(drive, np.zeros(1))
    place = np.array([0.09, 0.01, 0.005])
    assert pull_m_s2(force, place * [1, 0, 0])[0, 0] == pytest.approx(6.25)
    assert pull_m_s2(force, place * [1, 0, 0])[0, 1] == pytest.approx(2.5 - 40 * 0.09)
    packed = np.append(force.packed()[0], 0.0)
    assert flow.depth(packed, place) == pytest.approx(depth_J_kg(force, place)[0], rel=1e-12)


@pytest.mark.parametrize(("permeability", "over_Pa"), [(1e-13, 12373.3), (1e-14, 170451.0)])
def test_gas_through_a_wall_has_the_pressure_of_the_quadratic(permeability, over_Pa):
    # 4 cm3/s through 20 cm2 of a wall 15 mm thick: p^2 - c p - pa^2 = 0 with c twice the linear drop.
    outlet = permeability * 2e-3 / (0.015 * 3.9e-5)
    assert 4e-6 / outlet == pytest.approx(11700 * 1e-13 / permeability)
    assert flow.gas_pressure(4e-6, outlet, 101325.0) == pytest.approx(over_Pa, rel=1e-3)


def test_gas_soaks_into_a_deep_wall_as_the_diffusion_of_pressure_says():
    # Isothermal gas in pores: phi dp/dt = k/mu d/dx(p dp/dx). For a small step of pressure over ambient the flow into
    # the wall is k/mu times step over sqrt(pi D t). Integrated here in 400 cells with a step of 1 %: 1 %.
    diffusivity = soak_m2_s(MOULD) / pi
    ambient, step, time_s = MOULD.ambient_Pa, 0.01 * MOULD.ambient_Pa, 0.05
    depth_m = 8 * sqrt(diffusivity * time_s)
    side = depth_m / 400
    passing = MOULD.permeability_m2 / MOULD.gas_viscosity_Pa_s

    def motion(_, pressure):
        padded = np.concatenate([[2 * (ambient + step) - pressure[0]], pressure, [pressure[-1]]])
        flux = passing * (padded[1:] + padded[:-1]) / 2 * -np.diff(padded) / side
        return -np.diff(flux) / side / MOULD.porosity_frac

    end = solve_ivp(motion, (0, time_s), np.full(400, ambient), "BDF", rtol=1e-7).y[:, -1]
    into_m_s = passing * (ambient + step - end[0]) / (side / 2)
    assert passing * step / sqrt(soak_m2_s(MOULD) * time_s) == pytest.approx(into_m_s, rel=0.01)


def test_gas_spreads_from_a_ball_to_all_sides_as_four_pi_radius():
    radius = 3e-3
    assert spread_m(MOULD, np.array([4 * pi * radius**2]))[0] == pytest.approx(4 * pi * radius, rel=1e-12)
    assert spread_m(replace(MOULD, porosity_frac=0.0), np.ones(1))[0] == 0.0


@pytest.mark.parametrize(
    ("name", "need_Pa"), [("round 0.3 mm", 9703.23), ("slot 0.3 mm", 4851.61)], ids=["round", "slot"]
)
def test_what_holds_metal_out_of_a_narrow_place_is_tension_times_girth_over_section(name, need_Pa):
    modulus = 0.3e-3 / (4 if name.startswith("round") else 2)
    assert MELT.shy_N_m / modulus == pytest.approx(need_Pa, rel=1e-4)


def test_a_hole_of_half_a_millimetre_holds_off_5577_pa():
    silver = replace(MELT, surface_tension_N_m=0.91, contact_deg=140.0)
    assert silver.shy_N_m / (0.5e-3 / 4) == pytest.approx(5576.803545906159, rel=1e-9)


@pytest.mark.parametrize(
    ("head_Pa", "width_mm"), [(4462.03, 0.652387), (84462.03, 0.0344648), (116308.0, 0.025028)],
    ids=["50 mm", "50 mm and 80 kPa", "300 rpm"],
)  # fmt: skip
def test_the_narrowest_round_place_that_a_head_fills(head_Pa, width_mm):
    assert 1e3 * 4 * MELT.shy_N_m / head_Pa == pytest.approx(width_mm, rel=1e-3)


def test_a_vacuum_of_80_kpa_drives_as_hard_as_249_rpm():
    # sqrt(2 x 80 kPa / (9100 x (0.22^2 - 0.15^2))); the push of a standing flask is that pressure at once.
    pushed = force_over(standing_pour(80e3), np.zeros(1)).push_Pa[0]
    spin = force_over(steady_spin(248.806 * 2 * pi / 60, 0.0), np.zeros(1))
    deep = depth_J_kg(spin, np.array([0.22, 0, 0])) - depth_J_kg(spin, np.array([0.15, 0, 0]))
    assert 9100 * deep[0] == pytest.approx(pushed, rel=1e-3)


def _pin(width_m):
    """A pour of 50 mm into a sprue, with a pin of a width at its foot."""
    parts = [(0, (0.0, -0.002, -0.002), (0.050, 0.002, 0.002)), (1, (0.050, -0.0005, -0.0005), (0.056, 0.0005, 0.0005))]
    cavity = boxes(0.5e-3, parts)
    narrow = replace(cavity, modulus_m=np.where(cavity.tank == 1, width_m / 4, cavity.modulus_m))
    hole = gate_of(narrow, 1, round_area_m2(width_m))
    level = np.array([-1e-3, 0, 0])
    supply = Supply(2e-5, level, level, 1e-5, np.zeros(3), 0.9)
    hot = replace(OPEN, temp_K=1160.0)
    return FillProblem(narrow, (hole,), Sprue(1.6e-5, 4e-3), supply, standing_pour(), MELT, hot)


def test_a_standing_pour_of_50_mm_fills_a_pin_just_wider_than_its_limit_and_none_just_narrower():
    # Limit 0.652 mm under 50 mm; at 56 mm, the foot of the pin, 0.58 mm.
    assert fill(_pin(0.70e-3)).tanks[1].filled_frac == 1.0
    assert fill(_pin(0.55e-3)).tanks[1].filled_frac == 0.0


def test_a_plate_freezes_when_the_wall_has_taken_its_heat():
    # Plate of 1 mm, 105 kJ/kg and 50 K of superheat at 310 J/kg/K, 393 K hotter than the mould, effusivity 700: with
    # the mould alone 3.120 s, with 2000 W/m2/K before it 5.128 s; 0.4 mm 1.154 s.
    store = 9100 * (105e3 + 310 * 50) / 393
    soak = sqrt(pi) / 700
    assert _kernels.freeze_time(0.5e-3 * store, 1e-9, soak) == pytest.approx(3.11965, rel=1e-4)
    assert _kernels.freeze_time(0.5e-3 * store, 1 / 2000, soak) == pytest.approx(5.12791, rel=1e-4)
    assert _kernels.freeze_time(0.2e-3 * store, 1 / 2000, soak) == pytest.approx(1.15412, rel=1e-4)


def _march(count, length_m, speed_m_s, modulus_m, contact, soak, mould_K):
    """Run the pass of heat along a straight even way; return share of solid and temperature along it."""
    line = np.arange(count, dtype=np.int32)
    distance = (line + 0.0) * length_m / (count - 1)
    arrival = distance / speed_m_s
    area = 1e-6
    heat = np.full(count, np.interp(MELT.pour_K, MELT.temp_K, MELT.enthalpy_J_m3))
    shut = np.vstack([np.zeros(count), np.full(count, np.inf)])
    temp, solid, late = np.zeros(count), np.zeros(count), np.zeros(count)
    law = (MELT.temp_K, MELT.enthalpy_J_m3, MELT.solid_frac)
    wall = (contact, soak, mould_K, MELT.liquidus_K, float(MELT.enthalpy_J_m3[1]))
    _kernels.march(
        line, line - 1, distance, np.zeros(count, np.int32), np.array([area]), np.ones(1), np.full(count, modulus_m),
        arrival, np.full(count, area * speed_m_s), arrival.copy(), wall, law, heat, shut, temp, solid, late,
    )  # fmt: skip
    return distance, solid, temp


def test_a_stream_runs_as_far_as_its_heat_lasts():
    # Plate of 0.4 mm at 1 m/s, contact 2000 W/m2/K alone (a wall that does not warm): the superheat decays as an
    # exponential, the latent part to a share f evenly. 0.1 mm steps: 0.3 %.
    contact, mould_K, modulus, speed = 1 / 2000, 773.0, 0.2e-3, 1.0
    distance, solid, _ = _march(2000, 0.2, speed, modulus, contact, 0.0, mould_K)
    density, heat = 9100.0, np.diff(MELT.enthalpy_J_m3) / np.diff(MELT.temp_K)
    over, under = MELT.pour_K - mould_K, MELT.liquidus_K - mould_K
    super_m = modulus * speed * heat[2] * contact * log(over / under)
    latent_m = modulus * speed * MELT.stop_frac * (MELT.enthalpy_J_m3[2] - MELT.enthalpy_J_m3[1]) * contact / under
    reached = distance[np.argmax(solid >= MELT.stop_frac)]
    assert reached == pytest.approx(super_m + latent_m, rel=0.003)
    # The textbook form takes the whole loss at the liquidus: 0.1088 m with its own round numbers.
    own = density * speed * modulus * (0.3 * 105e3 + 310 * 50) / (2000 * 393)
    assert own == pytest.approx(0.10883, rel=1e-3)


def test_a_full_sprue_of_6_mm_cools_236_kelvin_a_second_where_the_wall_stays_cold():
    # h dT (4 / d) / (rho c): over a hundredth of a second 2.4 K, with 500 K to the mould.
    heat = np.diff(MELT.enthalpy_J_m3)[2] / np.diff(MELT.temp_K)[2]
    _, _, temp = _march(50, 0.01, 1.0, 1.5e-3, 1 / 2000, 0.0, MELT.pour_K - 500.0)
    rate = 2000 * 500 / (1.5e-3 * heat)
    assert (temp[0] - temp[-1]) / 0.01 == pytest.approx(rate, rel=0.005)
    assert rate * heat == pytest.approx(236.323 * 9100 * 310, rel=1e-3)  # the case's own heat capacity put back


def test_a_column_in_the_mouth_speeds_up_as_the_hyperbolic_tangent():
    # dv/dt = (v_s^2 - v^2) / (2 l): v = v_s tanh(v_s t / (2 l)). One implicit step of 0.1 ms after another: 1 %.
    steady, length, flow_now, step = 2.0, 0.01, 0.0, 1e-4
    for _ in range(100):
        flow_now = flow._sped_up(flow_now, steady, step, length, 1.0)
    assert flow_now == pytest.approx(steady * np.tanh(steady * 100 * step / (2 * length)), rel=0.01)


def test_steady_spin_fills_in_a_time_that_falls_as_one_over_the_speed_and_in_the_same_order():
    # No gravity, no gas, no shyness, no heat lost: w t is the only time there is.
    def at(speed):
        base = comb(side_m=1e-3, thick_m=2e-3, pieces=4)
        quick = FillControl(step_max_s=5e-3 / speed)
        return fill(replace(base, drive=steady_spin(speed, 0.0, 0.0), melt=replace(RUNNY, pour_K=1300.0),
                            mould=replace(OPEN, temp_K=1160.0), control=quick))  # fmt: skip

    slow, fast = at(15.0), at(45.0)
    assert np.array_equal(np.argsort(slow.arrival_s, kind="stable"), np.argsort(fast.arrival_s, kind="stable"))
    assert 15 * slow.last_s == pytest.approx(45 * fast.last_s, rel=0.005)
    first = [one.first_s for one in slow.tanks[1:]]
    assert max(first[:2]) < min(first[2:])  # far pieces before near ones


def test_mass_is_kept_to_rounding():
    for problem in (comb(), changed(comb(), supply={"volume_m3": 0.7e-6}), changed(comb(), mould={"temp_K": 500.0})):
        found = fill(problem)
        assert found.book.error_frac < 1e-11
        filled = np.isfinite(found.arrival_s)
        by_voxel = problem.cavity.volume_m3[filled].sum()
        assert by_voxel == pytest.approx(sum(one.filled_m3 for one in found.tanks), rel=1e-12)
