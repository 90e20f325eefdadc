"""Exact cuts: sums are the mesh's own, cells close, and where the grid lies changes nothing."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.grid.bodies import area_m2, cut, even_grid, filled_m3, tilted, volume_m3

from pourwright.core.errors import MeshError
from pourwright.grid.graded import GradedGrid
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.report import Mesh

_BODIES = {
    "ball": solids.sphere(3.0, 48),
    "turned ring": tilted(solids.torus(6.0, 1.0, 48)),
    "turned rod": tilted(solids.rod(1.2, 7.0)),
    "thin plate": tilted(solids.box(6.0, 5.0, 0.3)),
    "hollow ball": solids.hollow_sphere(3.0, 2.2, 48),
}


@pytest.mark.parametrize("name", _BODIES)
@pytest.mark.parametrize("seed", range(3))
def test_cut_volumes_and_areas_add_up_to_those_of_the_mesh(name, seed):
    random = np.random.default_rng(seed)
    mesh, side_m = _BODIES[name], random.uniform(0.4e-3, 1.1e-3)
    grid = even_grid(mesh, side_m, random.uniform(0, 1, 3))
    cells = cut(mesh, grid)
    assert filled_m3(grid, cells).sum() == pytest.approx(volume_m3(mesh), rel=1e-10)
    assert cells.wall_m2.sum() == pytest.approx(area_m2(mesh), rel=1e-10)


@pytest.mark.parametrize("name", _BODIES)
def test_faces_and_wall_of_every_cut_cell_close(name):
    grid = even_grid(_BODIES[name], 0.7e-3)
    cells = cut(_BODIES[name], grid)
    gap_m2 = cells.open_m2[:, :, 1] - cells.open_m2[:, :, 0] + cells.facing_m2
    assert np.abs(gap_m2).max() < 1e-12 * grid.side_m**2
    assert cells.open_m2.min() > -1e-12 * grid.side_m**2
    assert cells.open_m2.max() < (1 + 1e-12) * grid.side_m**2


def test_neighbours_see_the_same_open_face():
    grid = even_grid(_BODIES["turned ring"], 0.7e-3)
    cells = cut(_BODIES["turned ring"], grid)
    row = {cell: number for number, cell in enumerate(cells.cells)}
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        pairs = [(row[cell], row[cell + stride]) for cell in cells.cells if cell + stride in row]
        low, high = np.array(pairs).T
        assert np.allclose(cells.open_m2[low, axis, 1], cells.open_m2[high, axis, 0], atol=1e-12 * grid.side_m**2)


def test_cells_of_an_upright_block_are_cut_as_reckoned_by_hand():
    """Twin: the share of an upright block in a cell is the product of three overlaps."""
    mesh = solids.moved(solids.box(3.0, 2.0, 1.4), (0.13, 0.21, 0.37))
    low_m, high_m = mesh.vertices_mm.min(axis=0) / 1e3, mesh.vertices_mm.max(axis=0) / 1e3
    edges_m = tuple(np.linspace(-2.5e-3, 2.7e-3, count) for count in (9, 8, 12))
    grid = GradedGrid(*edges_m, 0.5e-3)
    overlaps = [
        np.maximum(np.minimum(edge[1:], high) - np.maximum(edge[:-1], low), 0.0)
        for edge, low, high in zip(edges_m, low_m, high_m, strict=True)
    ]
    by_hand = overlaps[0][:, None, None] * overlaps[1][None, :, None] * overlaps[2][None, None, :]
    cells = cut(mesh, grid)
    assert np.allclose(filled_m3(grid, cells), by_hand, atol=1e-9 * by_hand.max())
    middles = [
        (np.minimum(edge[1:], high) + np.maximum(edge[:-1], low)) / 2
        for edge, low, high in zip(edges_m, low_m, high_m, strict=True)
    ]
    places = np.unravel_index(cells.cells, grid.shape)
    expected = np.column_stack([middle[place] for middle, place in zip(middles, places, strict=True)])
    held = cells.metal_frac > 1e-6
    assert np.allclose(cells.metal_m[held], expected[held], atol=1e-12)


def test_shares_and_centroids_agree_with_counted_points():
    """Twin: 20^3 points of the ball in each cut cell; the polyhedron of 192 segments is the ball to a thousandth."""
    mesh, radius_m = solids.sphere(2.0, 192), 2e-3
    grid = even_grid(mesh, 1e-3)
    cells = cut(mesh, grid)
    steps = (np.arange(20) + 0.5) / 20 - 0.5
    points_m = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3) * grid.side_m
    for number, middle_m in enumerate(grid.centres_m(cells.cells)):
        held = np.linalg.norm(middle_m + points_m, axis=1) < radius_m
        assert cells.metal_frac[number] == pytest.approx(held.mean(), abs=0.006)
        if 0.05 < held.mean() < 0.95:
            assert np.allclose(cells.metal_m[number], middle_m + points_m[held].mean(axis=0), atol=0.01 * grid.side_m)
            assert np.allclose(cells.mould_m[number], middle_m + points_m[~held].mean(axis=0), atol=0.01 * grid.side_m)


def test_wall_centroids_lie_on_the_wall():
    mesh = solids.sphere(3.0, 192)
    cells = cut(mesh, even_grid(mesh, 0.4e-3))
    assert np.linalg.norm(cells.wall_m, axis=1) == pytest.approx(3e-3, rel=0.01)
    outward = np.einsum("nd,nd->n", cells.wall_m, cells.facing_m2)
    assert np.all(outward > 0)


def test_mirrored_body_gives_mirrored_cells():
    mesh = tilted(solids.torus(4.0, 1.0, 48))
    mirrored = solids.flipped(Mesh(mesh.vertices_mm * [-1, 1, 1], mesh.faces))
    edge_m = np.arange(-7.3e-3, 7.4e-3, 0.73e-3)
    grid = GradedGrid(edge_m - edge_m.mean(), edge_m, edge_m, 0.73e-3)
    assert np.allclose(filled_m3(grid, cut(mesh, grid))[::-1], filled_m3(grid, cut(mirrored, grid)), atol=1e-20)


def test_faces_that_lie_in_grid_planes_lose_nothing():
    mesh = solids.box(4.0, 3.0, 2.0)
    grid = GradedGrid(*(np.arange(-4e-3, 4.1e-3, 0.5e-3),) * 3, 0.5e-3)
    cells = cut(mesh, grid)
    filled = filled_m3(grid, cells)
    assert filled.sum() == pytest.approx(24e-9, rel=1e-12)
    assert cells.wall_m2.sum() == pytest.approx(52e-6, rel=1e-12)
    assert np.all((filled < 1e-15) | (np.abs(filled - 0.125e-9) < 1e-15))


def test_walls_thinner_than_a_cell_are_told_from_sound_ones():
    thin = solids.moved(solids.box(6.0, 6.0, 0.3), (0, 0, 0.05))
    assert cut(thin, even_grid(thin, 1e-3, (0.1, 0.2, 0.31))).doubled_frac > 0.5
    thick = solids.box(6.0, 6.0, 4.0)
    assert cut(thick, even_grid(thick, 1e-3)).doubled_frac == 0.0


def test_open_or_straying_surface_is_refused():
    ball = solids.sphere(3.0, 24)
    with pytest.raises(MeshError, match="open"):
        cut(solids.without_faces(ball, [40, 41, 42, 43]), even_grid(ball, 0.5e-3))
    with pytest.raises(MeshError, match="outside"):
        cut(solids.moved(ball, (3.0, 0, 0)), even_grid(ball, 0.5e-3))
