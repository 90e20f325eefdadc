"""The network as a whole: mirrored bodies, bare faces in the air, and steady heat."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import cg
from tests.unit.grid.bodies import cut, tilted

from pourwright.grid.graded import Flask, GradedGrid, Part, flask_cells, lay_grid
from pourwright.grid.network import lay_network
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.report import Mesh


def _laid(mesh, grid, gap_m=0.15e-3, flask=None):
    return lay_network(grid, cut(mesh, grid), mesh.vertices_mm / 1e3, mesh.faces, gap_m, flask)


def test_mirrored_body_gives_the_mirrored_network():
    mesh = tilted(solids.torus(4.0, 1.0, 48))
    mirrored = solids.flipped(Mesh(mesh.vertices_mm * [-1, 1, 1], mesh.faces))
    edge_m = np.arange(-8.03e-3, 8.1e-3, 0.73e-3)
    grid = GradedGrid(edge_m - edge_m.mean(), edge_m, edge_m, 0.73e-3)
    one, other = _laid(mesh, grid), _laid(mirrored, grid)
    assert np.array_equal(one.has_mould[::-1], other.has_mould)
    volumes = []
    for network in (one, other):
        volumes_m3 = np.zeros(grid.cells_count)
        volumes_m3[network.near_cells] = network.near_m3
        volumes.append(volumes_m3.reshape(grid.shape))
    assert np.allclose(volumes[0][::-1], volumes[1], atol=1e-5 * grid.side_m**3)
    assert one.skin_m3.sum() == pytest.approx(other.skin_m3.sum(), rel=1e-5)


def test_a_bare_face_at_the_mouth_meets_air_and_takes_no_skin():
    """Walls of the button's face lead to cells outside; the mould beside the air is whole."""
    flask = Flask(0.015, 0.03, 0.0)
    mesh = solids.moved(solids.rod(5.0, 6.0), (0, 0, 3.0))
    low_m, high_m = mesh.vertices_mm.min(axis=0) / 1e3, mesh.vertices_mm.max(axis=0) / 1e3
    grid = lay_grid(low_m, high_m, flask, 1e-3, (0.2, 0.3, 0.4), (0.006,))
    cells = flask_cells(grid, flask)
    network = _laid(mesh, grid, flask=cells)
    in_air = (cells.part == Part.OUTSIDE).ravel()
    bare_m2 = network.wall_m2[in_air[network.wall_cells]].sum()
    assert bare_m2 == pytest.approx(np.pi * 25e-6, rel=0.03)
    assert not in_air[network.near_cells].any()
    assert not in_air[network.light_cells].any()
    ways_m = network.wall_mould_m[in_air[network.wall_cells]]
    assert np.median(ways_m) == pytest.approx(grid.sides_m[2][0] / 2, rel=0.05)


def _steady_W_K(network, reach_m):
    """Heat from a wall one kelvin warmer than a distant sphere of cells, for a conductivity of one."""
    grid, nodes = network.grid, network.has_mould.ravel() > 0
    cold = np.linalg.norm(grid.centres_m(np.arange(grid.cells_count)), axis=1) > reach_m
    changed = dict(zip(map(tuple, network.link_cells), network.link_shape_m, strict=True))
    number = np.arange(grid.cells_count).reshape(grid.shape)
    ones, others = [], []
    for axis in range(3):
        ones.append(np.take(number, range(grid.shape[axis] - 1), axis).ravel())
        others.append(np.take(number, range(1, grid.shape[axis]), axis).ravel())
    one, other = np.concatenate(ones), np.concatenate(others)
    both = nodes[one] & nodes[other]
    one, other = one[both], other[both]
    way_m = np.array([changed.get(pair, grid.side_m) for pair in zip(one.tolist(), other.tolist(), strict=True)])
    wall_m = np.bincount(network.wall_cells, network.wall_m2 / network.wall_mould_m, grid.cells_count)
    total_m = np.bincount(one, way_m, grid.cells_count) + np.bincount(other, way_m, grid.cells_count) + wall_m
    free = nodes & ~cold
    place = np.cumsum(free) - 1
    kept = free[one] & free[other]
    rows = np.concatenate([place[one[kept]], place[other[kept]], np.arange(free.sum())])
    columns = np.concatenate([place[other[kept]], place[one[kept]], np.arange(free.sum())])
    values = np.concatenate([-way_m[kept], -way_m[kept], total_m[free]])
    temp_K, failed = cg(coo_matrix((values, (rows, columns))).tocsr(), wall_m[free], rtol=1e-7)
    assert not failed
    return float((wall_m[free] * (1 - temp_K)).sum())


@pytest.mark.parametrize("side_m", [1.0e-3, 0.6e-3])
def test_steady_heat_from_a_ball_converges_to_the_exact_value(side_m):
    """4 pi R / (1 - R/reach) to the ball of cold cells; error of second order in side over radius.

    Source: conduction between concentric spheres. Tolerance: 0.12 (side / R)^2, twice what was measured, besides the
    staircase of the cold cells, which moves their mean radius by less than a tenth of a side.
    """
    radius_m, reach_m = 3e-3, 9e-3
    edge_m = np.arange(-11e-3, 11.1e-3, side_m)
    grid = GradedGrid(edge_m + 0.21 * side_m, edge_m + 0.37 * side_m, edge_m - 0.11 * side_m, side_m)
    network = _laid(solids.sphere(3.0, 128), grid, gap_m=1e-9)
    exact_m = 4 * np.pi * radius_m / (1 - radius_m / reach_m)
    assert _steady_W_K(network, reach_m) == pytest.approx(exact_m, rel=0.12 * (side_m / radius_m) ** 2 + 0.015)
