"""Metal nodes: no metal lost, no node almost empty, even gradients carried exactly."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import cut, even_grid, tilted, volume_m3

from pourwright.grid.metal_nodes import metal_links, metal_nodes
from pourwright.shape.pattern import solids


def _nodes(mesh, side_m=0.7e-3, offset=(0.1, 0.2, 0.3)):
    grid = even_grid(mesh, side_m, offset)
    cells = cut(mesh, grid)
    return grid, cells, metal_nodes(grid, cells)


def test_nodes_hold_all_metal_and_its_centre():
    mesh = solids.moved(tilted(solids.torus(6.0, 1.0, 48)), (1.0, 2.0, 3.0))
    _, _, metal = _nodes(mesh)
    assert metal.m3.sum() == pytest.approx(volume_m3(mesh), rel=1e-9)
    centre_m = (metal.m3[:, None] * metal.centre_m).sum(axis=0) / metal.m3.sum()
    assert centre_m == pytest.approx([1e-3, 2e-3, 3e-3], rel=1e-3)


def test_slivers_of_a_thick_body_join_their_neighbours():
    grid, cells, metal = _nodes(solids.sphere(3.0, 96))
    assert (cells.metal_frac < 0.05).any()
    assert metal.m3.min() > 0.1 * grid.side_m**3
    assert np.all(metal.of_cell[cells.cells[cells.metal_frac > 1e-8]] >= 0)


def test_a_thin_plate_hangs_together_as_one_piece():
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    grid, cells, metal = _nodes(tilted(solids.box(8.0, 6.0, 0.4)))
    links, _ = metal_links(grid, cells, metal)
    joined = coo_matrix((np.ones(len(links)), links.T), shape=(len(metal.cells),) * 2)
    assert connected_components(joined, directed=False)[0] == 1


def test_paths_carry_the_heat_of_an_even_gradient_through_a_turned_bar():
    """A gradient along a bar, its sides shut: heat leaving each node through the open faces is nothing.

    The node's temperature is that of its cell's middle. Exact for cells that stand for themselves, away from the ends.
    """
    direction = np.array([3.0, 2.0, 1.0]) / np.sqrt(14.0)
    bar = solids.rotated(solids.rod(1.6, 12.0), np.cross([0, 0, 1.0], direction), np.degrees(np.arccos(direction[2])))
    grid, cells, metal = _nodes(bar, 0.5e-3)
    links, shape_m = metal_links(grid, cells, metal)
    middles_m = grid.centres_m(metal.cells)
    flow = shape_m * ((middles_m[links[:, 0]] - middles_m[links[:, 1]]) @ direction)
    left = np.bincount(links[:, 0], flow, len(metal.cells)) - np.bincount(links[:, 1], flow, len(metal.cells))
    held = np.bincount(metal.of_cell[metal.of_cell >= 0], minlength=len(metal.cells))
    beside = np.ones(len(metal.cells))
    np.minimum.at(beside, links[:, 0], held[links[:, 1]] == 1)
    np.minimum.at(beside, links[:, 1], held[links[:, 0]] == 1)
    inner = (np.abs(middles_m @ direction) < 5e-3) & (held == 1) & (beside > 0)
    assert inner.sum() > 100
    assert np.abs(left[inner]).max() < 1e-9 * np.abs(flow).max()


def test_no_pair_is_listed_twice_and_all_shapes_are_positive():
    grid, cells, metal = _nodes(tilted(solids.torus(5.0, 0.6, 48)))
    links, shape_m = metal_links(grid, cells, metal)
    assert len(np.unique(links, axis=0)) == len(links)
    assert np.all(links[:, 0] < links[:, 1])
    assert shape_m.min() > 0
