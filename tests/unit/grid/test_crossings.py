"""Lines through middles: who lies in metal, and how far the wall is."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import area_m2, even_grid, tilted

from pourwright.grid.crossings import find_crossings, middles_in_metal, nudged, wall_paths
from pourwright.grid.graded import GradedGrid
from pourwright.shape.pattern import solids


def _found(mesh, grid):
    return [find_crossings(grid, nudged(grid, mesh.vertices_mm[mesh.faces] / 1e3), axis) for axis in range(3)]


def test_middles_in_a_ball_are_told_from_those_outside():
    mesh = solids.sphere(3.0, 192)
    grid = even_grid(mesh, 0.6e-3)
    inside = middles_in_metal(grid, _found(mesh, grid)[2])
    radius_m = np.linalg.norm(grid.centres_m(np.arange(grid.cells_count)), axis=1).reshape(grid.shape)
    assert np.all(inside[radius_m < 2.99e-3])
    assert not np.any(inside[radius_m > 3.0e-3])


def test_ways_to_the_wall_of_a_ball_are_as_long_as_the_true_gap():
    """Along the normal: the line's length times the normal's component; bent walls leave a second-order rest."""
    mesh = solids.sphere(3.0, 192)
    grid = even_grid(mesh, 0.3e-3)
    found = _found(mesh, grid)
    inside = middles_in_metal(grid, found[2])
    for crossings in found:
        paths, parted = wall_paths(grid, crossings, inside)
        gap_m = np.linalg.norm(grid.centres_m(paths.mould), axis=1) - 3e-3
        assert len(parted) == 0
        assert np.abs(paths.mould_m - gap_m).max() < 0.3e-3**2 / 3e-3
        assert not inside.ravel()[paths.mould].any()


@pytest.mark.parametrize("mesh", [solids.sphere(3.0, 96), tilted(solids.box(7, 5, 2)), tilted(solids.torus(6, 1, 96))])
def test_lines_see_the_true_area_on_the_average(mesh):
    grid = even_grid(mesh, 0.25e-3)
    found = _found(mesh, grid)
    inside = middles_in_metal(grid, found[2])
    seen_m2 = sum(wall_paths(grid, one, inside)[0].raw_m2.sum() for one in found)
    assert seen_m2 == pytest.approx(area_m2(mesh), rel=0.02)


def test_a_plate_between_two_middles_parts_them_and_each_has_its_way():
    mesh = solids.moved(solids.box(6.0, 6.0, 0.2), (0, 0, 0.5))
    edge_m = np.arange(-5e-3, 5.1e-3, 1e-3)
    grid = GradedGrid(edge_m, edge_m, edge_m + 0.5e-3, 1e-3)
    found = _found(mesh, grid)
    inside = middles_in_metal(grid, found[2])
    assert not inside.any()
    paths, parted = wall_paths(grid, found[2], inside)
    assert len(parted) == 36
    assert len(paths.mould) == 72
    assert paths.mould_m == pytest.approx(0.4e-3, rel=1e-5)


def test_a_wall_through_the_middles_leaves_no_way_out():
    """Each face between middles in metal and in mould has one way to the wall, no other has any, though faces touch."""
    mesh = solids.box(4.0, 4.0, 4.0)
    edge_m = np.arange(-4e-3, 4.1e-3, 1e-3) + 0.5e-3
    grid = GradedGrid(edge_m, edge_m, edge_m, 1e-3)
    found = _found(mesh, grid)
    inside = middles_in_metal(grid, found[2])
    assert inside.any()
    for axis, crossings in enumerate(found):
        paths, _ = wall_paths(grid, crossings, inside)
        assert len(paths.mould) == np.count_nonzero(np.diff(inside.astype(int), axis=axis))
