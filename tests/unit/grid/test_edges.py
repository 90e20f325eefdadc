"""Paths past sharp edges: joined better beside an edge, left alone beside even and round walls."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import cut, even_grid, tilted

from pourwright.grid.graded import GradedGrid
from pourwright.grid.network import lay_network
from pourwright.shape.pattern import solids


def _network(mesh, grid):
    return lay_network(grid, cut(mesh, grid), mesh.vertices_mm / 1e3, mesh.faces, 0.15e-3)


def test_nodes_close_over_a_face_are_joined_to_those_past_its_edge_by_where_it_ends():
    """By hand: faces 0.2 of a side below the nodes over them, edges 0.7 of a side before the nodes past them.

    A node over the face lacks 0.8 of a side to where the path would start at the face itself: 1 + 0.8 (1 / 0.7 - 1).
    """
    side_m = 1e-3
    edge_m = np.arange(-7.5e-3, 7.6e-3, side_m)
    grid = GradedGrid(edge_m, edge_m, edge_m, side_m)
    network = _network(solids.box(6.6, 6.6, 5.6), grid)
    middle = int(np.argmin(np.abs(grid.middles_m[1])))
    over = np.ravel_multi_index((10, middle, 10), grid.shape)
    past = np.ravel_multi_index((11, middle, 10), grid.shape)
    found = np.flatnonzero((network.link_cells[:, 0] == over) & (network.link_cells[:, 1] == past))
    assert len(found) == 1
    by_hand = side_m * (1.0 + 0.8 * (1 / 0.7 - 1))
    assert network.link_shape_m[found[0]] == pytest.approx(by_hand, rel=1e-4)


def test_round_walls_keep_their_whole_faces():
    mesh = solids.sphere(4.0, 96)
    network = _network(mesh, even_grid(mesh, 0.4e-3))
    assert np.all(network.link_shape_m == 0)


def test_no_path_past_an_edge_leads_through_metal_or_is_listed_twice():
    mesh = tilted(solids.box(6.0, 5.0, 1.5), 12.0)
    network = _network(mesh, even_grid(mesh, 0.7e-3))
    assert (network.link_shape_m > 0).any()
    assert len(np.unique(network.link_cells, axis=0)) == len(network.link_cells)
    assert np.all(network.has_mould.ravel()[network.link_cells] > 0)
