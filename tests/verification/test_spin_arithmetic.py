"""Spin formulas against hand arithmetic.

Case: single formulas with stated numbers (the machine and metal are model inputs, not data).
Source: our own arithmetic, written beside each row; the grade's form e x omega is that of ISO 21940-11.
Tolerance: 0.1 %, because the expected values are written with four to six figures.
"""

from math import pi

import pytest

from pourwright.physics.spin import arm, balance, head, spring

_RTOL = 1e-3
_OMEGA_300 = 300 * 2 * pi / 60

ROWS = {
    # name: (computed, expected, arithmetic)
    "speed of 300 rpm, rad/s": (arm.speed_rad_s(300), 31.4159, "300 x 2 pi / 60"),
    "pull at 300 rpm, 0.20 m": (head.pull_gee(_OMEGA_300, 0.20), 20.1284, "31.4159^2 x 0.20 / 9.80665"),
    "pull at 116 rpm, 0.20 m": (head.pull_gee(arm.speed_rad_s(116), 0.20), 3.00942, "12.1475^2 x 0.20 / 9.80665"),
    "rpm for 3 gravities at 0.20 m": (
        arm.speed_rpm(head.speed_for_pull_rad_s(3, 0.20)),
        115.818,
        "sqrt(3 x 9.80665 / 0.20) x 60 / (2 pi)",
    ),
    "rpm for 20 gravities at 0.22 m": (
        arm.speed_rpm(head.speed_for_pull_rad_s(20, 0.22)),
        285.125,
        "sqrt(20 x 9.80665 / 0.22) x 60 / (2 pi)",
    ),
    "head at 20 rad/s, Pa": (head.spin_head_Pa(9100, 20, 0.13, 0.19), 34944, "0.5 x 9100 x 400 x (0.0361 - 0.0169)"),
    "head at 300 rpm, Pa": (
        head.spin_head_Pa(9100, _OMEGA_300, 0.15, 0.22),
        116308,
        "0.5 x 9100 x 986.96 x (0.0484 - 0.0225)",
    ),
    "head of 50 mm standing metal, Pa": (head.gravity_head_Pa(9100, 0.05), 4462.03, "9100 x 9.80665 x 0.05"),
    "energy of three turns, J": (spring.stored_energy_J(1.0, 1.6, 3), 64.0885, "2 pi (1.0 x 3 + 1.6 x 9 / 2)"),
    "inertia of the straight arm, kg m2": (
        arm.straight_inertia_kg_m2(0.075, 1.9, 0.10, 0.09, 0.006),
        0.14959,
        "0.075 + 1.9 x 0.10^2 + (0.006 + 1.9 x 0.09^2) + 2 x 1.9 x 0.10 x 0.09",
    ),
    "peak speed of three turns, rad/s": (
        arm.peak_speed_rad_s(64.088, 0.14959, 0.0),
        29.2721,
        "sqrt(2 x 64.088 / 0.14959)",
    ),
    "mark, m": (balance.mark_m(1.9 * 0.19 + 0.35 * 0.12, 2.2), 0.183182, "(1.9 x 0.19 + 0.35 x 0.12) / 2.2"),
    "metal moved, kg m": (
        balance.side_moment_kgm(0, 0, 0, 0, 0, 0.060, 0.21) - balance.side_moment_kgm(0, 0, 0, 0, 0, 0.060, 0.15),
        0.0036,
        "0.060 x 0.060",
    ),
    "force of moved metal at 300 rpm, N": (balance.shaft_force_N(0.0036, _OMEGA_300), 3.55306, "986.96 x 0.0036"),
    "dry mass of 500 g powder, g": (
        1000 * balance.dry_flask_kg(0.0, 0.500, 0.30),
        490.691,
        "500 x (1 - 0.30 x 0.5 x 18.015 / 145.148)",
    ),
    "force of a flask balanced wet, N": (
        balance.shaft_force_N((0.700 - balance.dry_flask_kg(0.0, 0.500, 0.30)) * 0.2, _OMEGA_300),
        41.3159,
        "(0.700 - 0.4907) x 0.2 x 986.96; wet mass 500 x 1.40",
    ),
    "moment allowed by G 16, kg m": (
        balance.residual_allowed_kgm(0.016, 6.0, 31.416),
        0.00305577,
        "6 kg x 16 mm/s / 31.416 rad/s",
    ),
}


@pytest.mark.parametrize("name", ROWS)
def test_spin_formula_equals_hand_arithmetic(name):
    computed, expected, arithmetic = ROWS[name]
    assert computed == pytest.approx(expected, rel=_RTOL), arithmetic
