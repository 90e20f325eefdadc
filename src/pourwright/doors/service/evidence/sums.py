"""Sums of ours about the throw, the charge and meshes, each by the id of its row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from math import pi, sqrt

from pourwright.physics.spin.arm import peak_speed_rad_s, speed_rad_s, speed_rpm
from pourwright.physics.spin.balance import weight_for_mark_kg
from pourwright.physics.spin.head import pull_gee, spin_head_Pa
from pourwright.physics.spin.spring import stored_energy_J
from pourwright.prepare.charge.karat import addition_g, karat_permille
from pourwright.prepare.charge.mixture import mixed_permille, worst_permille
from pourwright.shape.pattern.mass import area_mm2, volume_mm3
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.solids import box, hollow_sphere, rod, sphere, torus

SPRING_START_NM, SPRING_RATE_NM_TURN, SPRING_TURNS = 0.2, 1.5, 3.0
ARM_KG_M2, FRICTION_FRAC = 0.164, 0.1
_SMOOTH = 256  # facets round a solid, so that they hide less than a thousandth


@lru_cache(maxsize=1)
def ring() -> Mesh:
    """Return a ring of wire 2.5 mm thick."""
    return torus(9.5, 1.25)


@lru_cache(maxsize=1)
def hollow_ball() -> Mesh:
    """Return a ball of radius 8 mm with a hollow of radius 7 mm."""
    return hollow_sphere(8.0, 7.0)


def _modulus_mm(mesh: Mesh) -> float:
    return volume_mm3(mesh) / area_mm2(mesh)


def _bars() -> float:
    """Return the freezing time of a bar 3 to 1 over that of a round one, 300 mm across and 500 mm long."""
    thick_mm = sqrt(pi * 150.0**2 / 3.0)
    flat, round_bar = box(3.0 * thick_mm, thick_mm, 500.0), rod(150.0, 500.0, _SMOOTH)
    return (_modulus_mm(flat) / _modulus_mm(round_bar)) ** 2


def _arm_speed() -> float:
    energy_J = stored_energy_J(SPRING_START_NM, SPRING_RATE_NM_TURN, SPRING_TURNS)
    return peak_speed_rad_s(energy_J, ARM_KG_M2, FRICTION_FRAC)


OURS: Mapping[str, Callable[[], float]] = {
    "addition": lambda: addition_g(50.0, 900.0, 925.0, 999.0),
    "peak-speed": _arm_speed,
    "ring-volume": lambda: volume_mm3(ring()),
    "ring-area": lambda: area_mm2(ring()),
    "hollow-volume": lambda: volume_mm3(hollow_ball()),
    "bars-freezing": _bars,
    "ring-pappus": lambda: volume_mm3(torus(9.5, 1.25, _SMOOTH)),
    "spring-energy": lambda: stored_energy_J(0.0, 1.5, 3.0),
    "arm-speed": lambda: speed_rpm(peak_speed_rad_s(stored_energy_J(0.0, 1.5, 3.0), 0.164, 0.0)),
    "head": lambda: spin_head_Pa(9300.0, speed_rad_s(400.0), 0.15, 0.25) / 1000.0,
    "pull": lambda: pull_gee(speed_rad_s(400.0), 0.25),
    "counterweight": lambda: weight_for_mark_kg(1.40 * 0.22 + 0.35 * 0.15, 0.20),
    "copper-to-fine": lambda: addition_g(100.0, 1000.0, 925.0, 0.0),
    "gold-14-to-18": lambda: addition_g(100.0, karat_permille(14), karat_permille(18), 1000.0),
    "three-lots": lambda: mixed_permille([50.0, 20.0, 5.0], [925.0, 999.0, 0.0]),
    "worst-weighing": lambda: worst_permille([120 * 925 / 999, 120 * 74 / 999], [999.0, 0.0], [0.5, 0.5]),
    "ball-freezing": lambda: 3.5 * (_modulus_mm(sphere(50.0, _SMOOTH)) / 10.0) ** 2,
    "cube-freezing": lambda: 0.16 * _modulus_mm(box(30.0, 30.0, 30.0)) ** 2,
}
