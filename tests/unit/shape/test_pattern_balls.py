"""Balls, covers and votes: the compiled loops against plain ones."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.balls import obstacles_of, shrunk_mm
from pourwright.shape.pattern.kernels.sections._kernels import vote_cuts
from pourwright.shape.pattern.kernels.walls._kernels import largest_cover
from pourwright.shape.pattern.leaves import leaves_of
from pourwright.shape.pattern.rays import directions
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.slices import slice_modulus_mm
from pourwright.shape.pattern.spread import Spread
from pourwright.shape.pattern.topology import edges_of


def _plain_radius(point, inward, obstacles, radius, slack):
    while True:
        away = np.linalg.norm(obstacles - (point + radius * inward), axis=1)
        if away.min() >= radius * (1 - slack):
            return radius
        chord = obstacles[away.argmin()] - point
        radius = min(0.5 * (chord @ chord) / max(chord @ inward, 1e-300), radius * (1 - 0.5 * slack))


def test_balls_shrink_as_far_as_plain_ones():
    points, outward = Spread(solids.cube_with_fin()).points(1500)
    chosen = slice(0, 1500, 40)
    found = shrunk_mm(points[chosen], -outward[chosen], obstacles_of(points, 0.6), np.full(38, 6.0), 0.004)
    plain = [_plain_radius(p, -n, points, 6.0, 0.004) for p, n in zip(points[chosen], outward[chosen], strict=True)]
    assert found == pytest.approx(plain, rel=0.01)


def test_the_largest_ball_that_reaches_a_point_is_found():
    generator = np.random.default_rng(3)
    middles, radii = generator.normal(size=(400, 3)), generator.uniform(0.05, 0.5, 400)
    points = middles + np.array([1.0, 0, 0]) * radii[:, None]
    balls = leaves_of(cKDTree(middles), middles)
    owner = np.empty(400, np.int64)
    widest = np.maximum.reduceat(radii[balls.rank], balls.starts[:-1])
    largest_cover(points, radii, 1.45, 0.02, balls, widest, owner)
    away = np.linalg.norm(points[:, None] - middles[None], axis=2)
    plain = np.where(away <= 1.45 * radii + 0.02, radii, 0.0).max(axis=1)
    assert radii[owner] == pytest.approx(plain, rel=1e-12)


def test_points_are_spread_evenly_and_so_is_each_fourth():
    points, outward = Spread(solids.box(10, 10, 2)).points(4000)
    for chosen in (points, points[::4]):
        top = (chosen[:, 2] > 0.999).mean()
        assert top == pytest.approx(100 / 280, abs=0.01)
    assert np.allclose(np.linalg.norm(outward, axis=1), 1.0)


def test_directions_have_length_one_and_no_preference():
    found = directions(200)
    assert np.allclose(np.linalg.norm(found, axis=1), 1.0)
    assert np.abs(found.mean(axis=0)).max() < 0.02


def test_eighths_of_voxels_in_a_straight_bar_are_parted_where_its_surface_is():
    filled, skin = np.zeros((5, 5, 12)), np.full((5, 5, 12), -1, np.int32)
    filled[1:4, 1:4, 1:11] = 1.0
    border = filled.astype(bool)
    border[2, 2, 2:10] = False
    skin[border] = 0
    skin[:, :, 6:][border[:, :, 6:]] = 1
    owner = np.where(filled > 0, 0, -1).astype(np.int32)
    owner[:, :, 8:][filled[:, :, 8:] > 0] = 1  # a first guess that is off by two voxels
    voxels, labels = np.empty(800, np.int64), np.empty(800, np.int32)
    count = vote_cuts(filled, skin, owner, directions(64), 100, voxels, labels)
    height = np.array(np.unravel_index(voxels[:count], filled.shape))[2]
    assert (labels[:count][height < 5] == 0).all()
    assert (labels[:count][height > 6] == 1).all()
    assert (owner[1:4, 1:4, 7] == 1).all()


def test_the_sides_of_triangles_stand_sorted_by_edge():
    edges = edges_of(solids.torus(9.5, 1.25, 12, 6))
    order = np.lexsort([edges.high, edges.low])
    assert (order == np.arange(len(order))).all()
    assert (edges.counts == 2).all()


def test_a_plane_beside_the_body_cuts_nothing():
    ball = solids.sphere(2.0, 16)
    assert slice_modulus_mm(Mesh(ball.vertices_mm, ball.faces), np.array([0, 0, 9.0]), np.array([0, 0, 1.0])) is None
