"""Ways over the wall: true areas wherever the lines fall, and how a bent wall is allowed for."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import area_m2, cut, even_grid, tilted

from pourwright.grid.cut import _kernels
from pourwright.grid.network import lay_network
from pourwright.shape.pattern import solids


def _bends_per_m(mesh, side_m):
    grid = even_grid(mesh, side_m)
    cells = cut(mesh, grid)
    rows = np.full(grid.cells_count, -1, np.int32)
    rows[cells.cells] = np.arange(len(cells.cells))
    bends = np.zeros(len(cells.cells))
    places = np.column_stack(np.unravel_index(cells.cells, grid.shape))
    _kernels.bend_walls(rows.reshape(grid.shape), places, cells.wall_m2, cells.facing_m2, cells.wall_m, bends)
    return cells, bends


def test_the_bend_of_a_ball_is_one_over_its_radius_and_of_its_void_minus_that():
    cells, bends = _bends_per_m(solids.sphere(3.0, 192), 0.8e-3)
    assert np.average(bends, weights=cells.wall_m2) == pytest.approx(1 / 3e-3, rel=0.01)
    hollow = solids.hollow_sphere(6.0, 3.0, 192)
    cells, bends = _bends_per_m(hollow, 0.8e-3)
    inner = np.linalg.norm(cells.wall_m, axis=1) < 4e-3
    assert np.average(bends[inner], weights=cells.wall_m2[inner]) == pytest.approx(-1 / 3e-3, rel=0.01)


def test_the_bend_of_a_thick_ring_is_half_that_of_its_wire_on_the_average():
    """Gauss: the mean curvature of a torus, averaged over it, is half the wire's; round the bore it is less."""
    cells, bends = _bends_per_m(tilted(solids.torus(9.0, 2.0, 192)), 0.5e-3)
    assert np.average(bends, weights=cells.wall_m2) == pytest.approx(0.5 / 2e-3, rel=0.03)


def test_a_flat_plate_has_no_bend_though_its_other_side_is_near():
    cells, bends = _bends_per_m(tilted(solids.box(10.0, 9.0, 0.8)), 0.6e-3)
    inner = np.linalg.norm(cells.wall_m, axis=1) < 2.5e-3
    plain = inner & ~cells.is_doubled
    assert plain.sum() > 20
    assert np.abs(bends[plain]).max() * 0.6e-3 < 0.02


@pytest.mark.parametrize("offset", [(0.0, 0.0, 0.0), (0.37, 0.81, 0.12)])
def test_neither_axes_nor_diagonals_are_favoured_with_area(offset):
    """Area round an upright ring by the fourfold wave of its angle, which lines of a grid would leave if they could."""
    mesh = solids.torus(6.0, 1.2, 96)
    grid = even_grid(mesh, 0.5e-3, offset)
    network = lay_network(grid, cut(mesh, grid), mesh.vertices_mm / 1e3, mesh.faces, 0.15e-3)
    x, y, _ = grid.centres_m(network.wall_cells).T
    wave = np.cos(4 * np.arctan2(y, x))
    assert network.wall_m2.sum() == pytest.approx(area_m2(mesh), rel=1e-9)
    assert abs(np.average(wave, weights=network.wall_m2)) < 0.015
