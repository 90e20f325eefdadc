"""Paths past sharp edges: joined better beside an edge, left alone beside even and round walls."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import cut, even_grid, tilted

from pourwright.grid.edges import _MOST_GAIN_RATIO, _edge, _gains
from pourwright.grid.graded import GradedGrid
from pourwright.grid.network import lay_network
from pourwright.shape.pattern import solids


def _network(mesh, grid):
    return lay_network(grid, cut(mesh, grid), mesh.vertices_mm / 1e3, mesh.faces, 0.15e-3)


def _steady_fall(out, up):
    """Return the steady temperature round a right edge: angle from one face to the other 270 degrees."""
    angle = np.pi - np.arctan2(up, out)
    return np.hypot(out, up) ** (2 / 3) * np.sin(2 / 3 * angle)


@pytest.mark.parametrize(
    ("thick_mm", "wide_mm"), [(5.6, 6.6), (5.6, 5.8), (5.0, 5.0), (4.2, 4.8), (5.8, 4.4), (4.1, 5.9)]
)
def test_nodes_beside_a_right_edge_are_in_balance_under_the_steady_heat_that_crowds_there(thick_mm, wide_mm):
    """The nodes over the face and past the edge, with the temperatures of the exact solution, keep none of the heat."""
    side_m = 1e-3
    edge_m = np.arange(-8.5e-3, 8.6e-3, side_m)
    grid = GradedGrid(edge_m, edge_m, edge_m, side_m)
    network = _network(solids.box(wide_mm, 9.0, thick_mm), grid)
    number = np.arange(grid.cells_count).reshape(grid.shape)
    middles_mm = 1e3 * grid.middles_m[0]
    fall = _steady_fall(middles_mm[:, None] - wide_mm / 2, middles_mm[None, :] - thick_mm / 2)
    past_x, past_z = (int(np.flatnonzero(middles_mm > size / 2 + 1e-6)[0]) for size in (wide_mm, thick_mm))
    shapes = {tuple(pair): shape for pair, shape in zip(network.link_cells, network.link_shape_m, strict=True)}

    def arriving(i, k):
        here, y = number[i, 8, k], 8
        total = 0.0
        for other_i, other_k in ((i - 1, k), (i + 1, k), (i, k - 1), (i, k + 1)):
            other = number[other_i, y, other_k]
            if network.has_mould.ravel()[other]:
                shape = shapes.get((min(here, other), max(here, other)), side_m)
                total += shape * (fall[other_i, other_k] - fall[i, k])
        ways = network.wall_cells == here
        return total - (network.wall_m2[ways] / network.wall_mould_m[ways]).sum() * fall[i, k]

    for node in ((past_x, past_z), (past_x - 1, past_z), (past_x, past_z - 1)):
        assert arriving(*node) == pytest.approx(0.0, abs=1e-3 * side_m)


def test_edge_half_a_side_from_its_nodes_by_hand():
    """c at 45 degrees and 0.7071 sides from the edge, c' at 135: falls 0.7937 / 2 and 0.7937; both gains are 1.258."""
    gain, way_gain = _gains(np.array([0.5]), np.array([0.5]))
    assert gain == pytest.approx(1.258, abs=5e-4)
    assert way_gain == pytest.approx(1.258, abs=5e-4)


@pytest.mark.parametrize("tilt_deg", [0.0, 20.0, 30.0])
def test_right_edge_is_found_where_it_is_however_its_walls_are_tilted(tilt_deg):
    """By hand: an edge 0.4 of a side under node c and 0.5 of a side before c', whichever way its two walls run."""
    up, out = np.cos(np.radians(tilt_deg)), np.sin(np.radians(tilt_deg))
    normals = np.array([[-out, 0.0, up], [up, 0.0, out]])
    ways_frac = np.array([0.4 + 0.5 * out / up, 0.5 - 0.6 * out / up])
    sharp, height, reach = _edge(normals, ways_frac, np.array([0]), np.array([1]), 4, 1)
    assert (sharp[0], height[0], reach[0]) == pytest.approx((1.0, 0.4, 0.5))


def test_walls_that_turn_by_sixty_degrees_count_half_and_one_even_wall_not_at_all():
    """By hand: 1 - cos 60 degrees; the slanting wall reaches the height of the level one 0.8 / tan 60 further in."""
    level, slant = [0.0, 0.0, 1.0], [np.sqrt(0.75), 0.0, 0.5]
    ways_frac = np.array([0.2, 0.3])
    sharp, height, reach = _edge(np.array([level, slant]), ways_frac, np.array([0]), np.array([1]), 4, 1)
    assert (sharp[0], height[0], reach[0]) == pytest.approx((0.5, 0.2, 0.3 + 0.8 / np.tan(np.pi / 3)))
    assert _edge(np.array([slant, slant]), ways_frac, np.array([0]), np.array([1]), 4, 1)[0] == pytest.approx(0.0)


def test_edge_that_runs_aslant_counts_whole():
    """An upright wall that faces between both level axes ends a level face as sharply as one that faces along one."""
    normals = np.array([[0.0, 0.0, 1.0], [np.sqrt(0.5), np.sqrt(0.5), 0.0]])
    found = _edge(normals, np.array([0.2, 0.7]), np.array([0]), np.array([1]), 4, 1)
    assert [float(one[0]) for one in found] == pytest.approx([1.0, 0.2, 0.7])


def test_round_walls_keep_their_whole_faces_to_the_second_order_of_the_side():
    """A tenth of the radius from crossing to crossing turns the normal by 0.1: that is an edge of 0.1^2 / 2."""
    mesh = solids.sphere(4.0, 192)
    network = _network(mesh, even_grid(mesh, 0.4e-3))
    longest_turn = 0.4 * np.sqrt(2.0) / 4.0
    assert 0.0 < network.link_shape_m.max() / 0.4e-3 <= 1.0 + longest_turn**2 / 2 * (_MOST_GAIN_RATIO - 1.0)


def test_no_path_past_an_edge_leads_through_metal_or_is_listed_twice():
    mesh = tilted(solids.box(6.0, 5.0, 1.5), 12.0)
    network = _network(mesh, even_grid(mesh, 0.7e-3))
    assert (network.link_shape_m > 0).any()
    assert len(np.unique(network.link_cells, axis=0)) == len(network.link_cells)
    assert np.all(network.has_mould.ravel()[network.link_cells] > 0)
