"""Wall thickness against solids whose wall is known: within 2 % or 0.02 mm, no false alarm at sharp edges."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.walls import map_walls, thinnest_wall

CASES = [
    ("torus", solids.torus(9.5, 1.25, 96), 2.5),
    ("plate", solids.rotated(solids.box(20, 20, 0.6), (1, 2, 3), 33), 0.6),
    ("thin plate", solids.box(30, 30, 0.3), 0.3),
    ("sharp ring band", solids.ring_band(8.0, 4.0, 1.5), 1.5),
    ("tube", solids.ring_band(4.0, 20.0, 0.8), 0.8),
    ("hollow ball", solids.hollow_sphere(8.0, 7.0), 1.0),
    ("cube", solids.box(10, 10, 10), 10.0),
    ("fin on a cube", solids.cube_with_fin(10.0, 0.5), 0.5),
    ("rod", solids.rod(0.5, 20.0), 1.0),
]


@pytest.mark.parametrize(("mesh", "wall_mm"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_thinnest_wall_of_a_known_solid(mesh, wall_mm):
    walls = map_walls(mesh)
    wall = thinnest_wall(walls)
    assert wall.thickness_mm == pytest.approx(wall_mm, rel=0.02, abs=0.02)
    assert wall.uncertainty_mm < 0.02 * wall_mm
    assert wall.patch_mm2 > 0.98 * wall.thickness_mm**2
    thin = (walls.width_mm < 0.8 * wall_mm) & walls.is_wall
    assert thin.mean() < 0.01


def test_the_fin_is_not_masked_by_the_ball_of_the_cube_and_the_place_lies_on_it():
    walls = map_walls(solids.cube_with_fin(10.0, 0.5, 6.0))
    wall = thinnest_wall(walls)
    assert 5.0 <= wall.place_mm[0] <= 11.0
    assert abs(wall.place_mm[2]) <= 0.25
    on_fin = (walls.points_mm[:, 0] > 5.05) & (np.abs(walls.points_mm[:, 2]) > 0.249)
    assert (walls.width_mm[on_fin] > 0.6).mean() < 0.01


def test_a_wedge_of_sixty_degrees_is_no_thin_wall_but_a_knife_is():
    roof = solids.turned(np.array([[0, 0], [5.0, 0.0], [0, 5.0 * np.tan(np.radians(60))]]), 48)
    assert thinnest_wall(map_walls(roof)).thickness_mm > 1.0
    knife = solids.turned(np.array([[0, 0], [8.0, 0.0], [0, 8.0 * np.tan(np.radians(12))]]), 48)
    assert thinnest_wall(map_walls(knife)).thickness_mm < 0.6


def test_the_same_mesh_gives_the_same_answer():
    mesh = solids.ring_band(8.0, 4.0, 1.5)
    assert thinnest_wall(map_walls(mesh)) == thinnest_wall(map_walls(mesh))
