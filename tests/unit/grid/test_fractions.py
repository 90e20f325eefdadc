"""Partial volumes of voxels."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.grid.fractions import affordable_side, partial_volumes, side_for
from pourwright.shape.pattern import mass, solids


def _grid(mesh, side_mm):
    return partial_volumes(mesh.vertices_mm, mesh.faces, side_mm)


def test_total_volume_is_that_of_the_mesh():
    for mesh, most in ((solids.sphere(5.0, 192), 2e-4), (solids.rotated(solids.box(9, 6, 0.5), (1, 2, 3), 37), 2e-3)):
        grid = _grid(mesh, 0.2)
        assert grid.filled_mm3 == pytest.approx(mass.volume_mm3(mesh), rel=most)
        assert grid.turns_ratio.min() > -1e-9
        assert grid.turns_ratio.max() < 1 + 1e-9


def test_cut_voxels_of_a_ball_are_right_to_a_hundredth():
    """Against 10^3 points of the true ball in each cut voxel; 192 segments keep faceting under a thousandth."""
    grid = _grid(solids.sphere(5.0, 192), 0.5)
    steps = (np.arange(10) + 0.5) / 10 * 0.5
    x, y, z = (
        grid.corner_mm[axis] + 0.5 * np.arange(grid.turns_ratio.shape[axis])[:, None] + steps for axis in range(3)
    )
    square = x[:, None, None, :, None, None] ** 2 + y[None, :, None, None, :, None] ** 2
    inside = square + z[None, None, :, None, None, :] ** 2 <= 25.0
    true = inside.mean(axis=(3, 4, 5))
    cut = (true > 0) & (true < 1)
    assert np.sqrt(np.mean((grid.turns_ratio - true)[cut] ** 2)) < 0.01


def test_overlap_counts_twice_in_turns_and_once_in_filling():
    ball = solids.sphere(5.0, 64)
    grid = _grid(solids.beside(ball, ball), 0.3)
    assert grid.turns_ratio.max() == pytest.approx(2.0)
    assert grid.doubtful_mm3 == pytest.approx(grid.signed_mm3 - grid.filled_mm3)
    assert grid.signed_mm3 == pytest.approx(2 * mass.volume_mm3(ball), rel=1e-3)
    # a voxel of the skin that both copies cut holds up to twice its share, so filling reads a little high
    assert mass.volume_mm3(ball) <= grid.filled_mm3 <= 1.06 * mass.volume_mm3(ball)


def test_a_void_is_empty():
    grid = _grid(solids.hollow_sphere(8.0, 7.0, 64), 0.4)
    middle = tuple(np.array(grid.turns_ratio.shape) // 2)
    assert abs(grid.turns_ratio[middle]) < 1e-9


def test_centres_are_where_the_material_is():
    grid = _grid(solids.moved(solids.box(2, 2, 2), (10, 20, 30)), 0.25)
    assert np.allclose(grid.centres_mm(grid.filled_frac > 0.99).mean(axis=0), (10, 20, 30), atol=0.13)


@pytest.mark.parametrize("box", [(10, 10, 10), (100, 1, 1), (50, 50, 0.01), (300, 0.001, 0.001)])
def test_voxel_count_is_kept_for_any_box(box):
    side = side_for(np.array(box), 100_000)
    assert np.prod(np.ceil(np.array(box) / side) + 2) < 130_000


def test_a_sound_mesh_keeps_its_voxels_and_a_criss_cross_one_gets_larger_ones():
    ring = solids.torus(9.5, 1.25)
    assert affordable_side(ring.vertices_mm, ring.faces, 0.14) == 0.14
    shuffled = np.random.default_rng(0).permutation(ring.vertices_mm)
    assert affordable_side(shuffled, ring.faces, 0.14) > 0.2
