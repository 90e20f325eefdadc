"""Solids whose figures can be written down, and turning them at random: what the quick and the long checks share."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.report import Mesh


@dataclass(frozen=True)
class Case:
    """A solid with its true volume, thinnest wall and moduli of its sections, the largest first; None: none."""

    name: str
    make: Callable[[], Mesh]
    volume_mm3: float | None
    wall_mm: float | None
    moduli_mm: tuple[float, ...]
    flat: bool = False


def turned_at_random(mesh: Mesh, seed: int) -> Mesh:
    """Turn a mesh about a random axis by a random angle and put it at a random place."""
    generator = np.random.default_rng(seed)
    turned = solids.rotated(mesh, tuple(generator.normal(size=3)), float(generator.uniform(0, 360)))
    return solids.moved(turned, tuple(generator.uniform(-20, 20, 3)))


def moved_as(points_mm: list[tuple[float, float, float]], seed: int) -> np.ndarray:
    """Return where points of a solid are after :func:`turned_at_random`."""
    lone = Mesh(np.array(points_mm, dtype=float), np.zeros((0, 3), dtype=np.int64))
    return turned_at_random(lone, seed).vertices_mm


def cone() -> Mesh:
    return solids.turned(np.array([[0, 0], [5, 0], [0, 12.0]]), 96)


def ball_with_rods(rod_mm: float) -> Mesh:
    """A ball of radius 4 with three rods, 4 mm long outside it."""
    full_mm = 6.0
    rod = solids.moved(solids.rod(rod_mm, full_mm, 32), (0, 0, 8.0 - full_mm / 2))
    ways = [((0, 1, 0), 90.0), ((0, 1, 0), -90.0), ((1, 0, 0), -90.0)]
    return solids.united(solids.sphere(4.0, 64), *(solids.rotated(rod, *way) for way in ways))


def cube_on_plate() -> Mesh:
    """A cube of 8 mm standing on a plate of 20 x 20 x 1."""
    plate = solids.moved(solids.box(20, 20, 1.0), (0, 0, -0.5))
    return solids.united(plate, solids.moved(solids.box(8, 8, 8.2), (0, 0, 3.9)))


def ring_with_bead() -> Mesh:
    return solids.united(solids.torus(9.5, 0.8, 128), solids.moved(solids.sphere(2.5, 64), (9.5, 0, 0)))


def _cap(ball_mm: float, mouth_mm: float) -> tuple[float, float]:
    """Volume [mm3] and area [mm2] of the cap that a mouth of some radius cuts off a ball."""
    height_mm = ball_mm - math.sqrt(ball_mm**2 - mouth_mm**2)
    return math.pi * height_mm**2 * (3 * ball_mm - height_mm) / 3, 2 * math.pi * ball_mm * height_mm


def _ball_with_rods_moduli(rod_mm: float) -> tuple[float, ...]:
    ball = 4 / 3 * math.pi * 64 / (4 * math.pi * 16 - 3 * _cap(4.0, rod_mm)[1])
    return ball, *[rod_mm * 4 / (2 * 4 + rod_mm)] * 3


def _dumbbell_moduli(ball_mm: float, bar_mm: float) -> tuple[float, ...]:
    cap_mm3, cap_mm2 = _cap(ball_mm, bar_mm)
    ball = (4 / 3 * math.pi * ball_mm**3 - cap_mm3) / (4 * math.pi * ball_mm**2 - cap_mm2)
    return ball, ball, bar_mm / 2


def _ring_with_bead_moduli() -> tuple[float, float]:
    return 4 / 3 * math.pi * 2.5**3 / (4 * math.pi * 2.5**2 - 2 * _cap(2.5, 0.8)[1]), 0.4


_TORUS_MM3 = 2 * math.pi**2 * 9.5
_HOLLOW_MM3 = 4 / 3 * math.pi * (8.0**3 - 7.0**3)

SINGLE = (
    Case("torus", lambda: solids.torus(9.5, 1.25), _TORUS_MM3 * 1.25**2, 2.5, (0.625,)),
    Case("thin torus", lambda: solids.torus(9.5, 0.3), _TORUS_MM3 * 0.3**2, 0.6, (0.15,)),
    Case("ring band", lambda: solids.ring_band(8, 4, 1.5), math.pi * (9.5**2 - 64) * 4, 1.5, (6 / 11,)),
    Case("thin band", lambda: solids.ring_band(8, 4, 0.4), math.pi * (8.4**2 - 64) * 4, 0.4, (1.6 / 8.8,)),
    Case("ball", lambda: solids.sphere(5.0), 4 / 3 * math.pi * 125, 10.0, (5 / 3,)),
    Case("cube", lambda: solids.box(8, 8, 8), 512.0, 8.0, (8 / 6,), True),
    Case("plate", lambda: solids.box(20, 20, 0.6), 240.0, 0.6, (240 / 848,), True),
    Case("foil", lambda: solids.box(30, 20, 0.3), 180.0, 0.3, (180 / 1230,), True),
    Case("tube", lambda: solids.ring_band(4, 20, 0.8), math.pi * (4.8**2 - 16) * 20, 0.8, (16 / 41.6,)),
    Case("rod", lambda: solids.rod(0.5, 20), math.pi * 5, 1.0, (0.25 * 20 / 20.5,)),
    Case("hollow ball", lambda: solids.hollow_sphere(8, 7), _HOLLOW_MM3, 1.0, (169 / 3 / 113,)),
    Case("cone", cone, math.pi * 100, None, (100 / (25 + 65),)),
)
COMPOUND = (
    Case("plate with fin", lambda: solids.cube_with_fin(10, 0.5, 6), 1000 + 24, 0.5, (1000 / 596, 24 / 106), True),
    Case("ball with rods", lambda: ball_with_rods(0.6), None, 1.2, _ball_with_rods_moduli(0.6)),
    Case("ball with wires", lambda: ball_with_rods(0.25), None, 0.5, _ball_with_rods_moduli(0.25)),
    Case("dumbbell", lambda: solids.dumbbell(4, 1.5, 14), None, 3.0, _dumbbell_moduli(4, 1.5)),
    Case("thin dumbbell", lambda: solids.dumbbell(4, 0.5, 14), None, 1.0, _dumbbell_moduli(4, 0.5)),
    # the plate under the cube is as thick as the cube: it is the cube's, with its surface
    Case("cube on plate", cube_on_plate, 400 + 512, 1.0, (576 / 384, 336 / 752), True),
    Case("cube, neck, plate", solids.plate_with_cube, None, 0.5, (512 / (384 - math.pi / 4), 0.25, 0.238)),
    Case("ring with bead", ring_with_bead, None, 1.6, _ring_with_bead_moduli()),
)


def small_fin(body_mm: float, thick_mm: float, wide_mm: float, reach_mm: float) -> Mesh:
    """A cube with one small fin on it."""
    fin = solids.moved(solids.box(reach_mm + 0.5, wide_mm, thick_mm), (body_mm / 2 + reach_mm / 2 - 0.25, 0, 0))
    return solids.united(solids.box(body_mm, body_mm, body_mm), fin)
