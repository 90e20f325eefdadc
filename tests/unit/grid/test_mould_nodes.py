"""Mould beside metal: areas, distances, and where its heat is kept."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import area_m2, cut, even_grid, tilted

from pourwright.grid.graded import GradedGrid
from pourwright.grid.mould_nodes import LIGHT_RATIO
from pourwright.grid.network import lay_network
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.report import Mesh

_GAP_M = 0.15e-3


def _network(mesh, grid, gap_m=_GAP_M):
    return lay_network(grid, cut(mesh, grid), mesh.vertices_mm / 1e3, mesh.faces, gap_m)


def _mould_m3(network):
    grid = network.grid
    volumes_m3 = np.where(network.has_mould.ravel() == 1, grid.volumes_m3(np.arange(grid.cells_count)), 0.0)
    volumes_m3[network.near_cells] = network.near_m3
    return volumes_m3


_BODIES = {
    "ball": solids.sphere(3.0, 96),
    "ring": tilted(solids.torus(5.0, 1.0, 64)),
    "plate": tilted(solids.box(7.0, 6.0, 1.5)),
    "leaf": tilted(solids.box(6.0, 5.0, 0.25)),
}


@pytest.mark.parametrize("name", _BODIES)
@pytest.mark.parametrize("side_m", [1.0e-3, 0.45e-3])
def test_metal_mould_and_skins_fill_the_grid_and_walls_have_the_true_area(name, side_m):
    grid = even_grid(_BODIES[name], side_m)
    network = _network(_BODIES[name], grid)
    whole_m3 = grid.volumes_m3(np.arange(grid.cells_count)).sum()
    held_m3 = _mould_m3(network).sum() + network.skin_m3.sum() + network.metal_m3.sum()
    assert held_m3 == pytest.approx(whole_m3, rel=1e-9)
    assert network.wall_m2.sum() == pytest.approx(area_m2(_BODIES[name]), rel=1e-9)
    assert min(network.near_m3.min(), network.skin_m3.min(), network.wall_m2.min()) >= 0
    assert np.all(network.wall_metal >= 0)
    assert np.all(network.has_mould.ravel()[network.wall_cells] > 0)


@pytest.mark.parametrize("gap_frac", [0.1, 0.3, 0.5, 0.9])
def test_a_flat_wall_is_reckoned_as_by_hand(gap_frac):
    """A block's flat top a given share of a side below the middles over it, away from the block's edges.

    By hand: the way; the mould of the cut cell, which is the node's own where the wall is less than half a side below
    it, and else shared with the wall by where its centroid lies. The area is scaled with that of the whole block, whose
    edges the lines see a little wrongly.
    """
    side_m = 1e-3
    top_m = 5e-3 - gap_frac * side_m
    edge_m = np.arange(-8.5e-3, 8.6e-3, side_m)
    high_m = np.arange(-7.5e-3, 12.6e-3, side_m)
    mesh = solids.moved(solids.box(11.0, 11.0, top_m * 1e3 + 6.0), (0, 0, (top_m * 1e3 - 6.0) / 2))
    grid = GradedGrid(edge_m, edge_m, high_m, side_m)
    network = _network(mesh, grid)
    node = np.ravel_multi_index((8, 8, int(np.argmin(np.abs(grid.middles_m[2] - 5e-3)))), grid.shape)
    ways = np.flatnonzero(network.wall_cells == node)
    way_m = gap_frac * side_m
    assert network.wall_m2[ways].sum() == pytest.approx(side_m**2, rel=0.01)
    assert (network.wall_m2 / network.wall_mould_m)[ways].sum() == pytest.approx(side_m**2 / way_m, rel=1e-4)
    below = gap_frac - 0.5
    share = (below / 2 * side_m + _GAP_M) / (way_m + _GAP_M) if below > 0 else 1.0
    kept_m3 = (min(gap_frac + 0.5, 1.0) + share * max(below, 0.0)) * side_m**3
    paths_m = 5 * side_m + side_m**2 / (way_m + _GAP_M)
    is_light = paths_m * side_m**2 > LIGHT_RATIO * 6 * kept_m3
    assert (network.has_mould.ravel()[node] == 2) == is_light
    if not is_light:
        volumes = dict(zip(network.near_cells, network.near_m3, strict=True))
        assert volumes.get(node, side_m**3) == pytest.approx(kept_m3, rel=1e-3)


@pytest.mark.parametrize("name", _BODIES)
def test_nodes_with_a_capacity_never_make_the_sweep_much_stiffer(name):
    """Paths over capacity, against a whole cell's; neighbours that light nodes gave to can only be slower."""
    grid = even_grid(_BODIES[name], 0.6e-3)
    network = _network(_BODIES[name], grid)
    has_node = network.has_mould.ravel() > 0
    parted = {tuple(pair) for pair in network.link_cells}
    volumes_m3 = _mould_m3(network)
    walls_m = np.bincount(network.wall_cells, network.wall_m2 / (network.wall_mould_m + _GAP_M), grid.cells_count)
    for cell in network.near_cells:
        ways_m = walls_m[cell]
        for stride in (grid.shape[1] * grid.shape[2], grid.shape[2], 1):
            for other in (cell - stride, cell + stride):
                if has_node[other] and (min(cell, other), max(cell, other)) not in parted:
                    ways_m += grid.side_m
        assert ways_m * grid.side_m**2 < 1.0001 * LIGHT_RATIO * 6 * volumes_m3[cell]


def test_distances_to_a_flat_wall_are_the_true_ones():
    """The large faces of a turned plate, away from its edges; on the average to two hundredths."""
    mesh = tilted(solids.box(9.0, 9.0, 2.0))
    grid = even_grid(mesh, 0.4e-3)
    network = _network(mesh, grid)
    upright = Mesh(np.eye(3), np.array([[0, 1, 2]]))
    x, y, z = tilted(upright).vertices_mm @ grid.centres_m(network.wall_cells).T
    over = (np.abs(x) < 3e-3) & (np.abs(y) < 3e-3)
    gap_m = np.abs(z[over]) - 1e-3
    assert over.sum() > 200
    weights = network.wall_m2[over]
    assert np.average(network.wall_mould_m[over], weights=weights) == pytest.approx(
        np.average(gap_m, weights=weights), rel=0.02
    )
    assert network.wall_metal_m.max() <= grid.side_m


def test_a_leaf_between_the_middles_keeps_the_mould_apart():
    leaf = solids.moved(solids.box(6.0, 6.0, 0.2), (0, 0, 0.05))
    grid = even_grid(leaf, 1e-3, (0.5, 0.5, 0.85))
    network = _network(leaf, grid)
    assert len(network.link_cells) > 20
    assert np.all(network.link_shape_m == 0)
    assert network.metal_m3.sum() == pytest.approx(7.2e-9, rel=1e-9)
