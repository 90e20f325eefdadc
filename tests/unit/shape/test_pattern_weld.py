"""Corners joined into a mesh."""

from __future__ import annotations

import numpy as np

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.topology import edges_of, open_edges
from pourwright.shape.pattern.weld import NEAR_SHARE, weld_corners, weld_near


def test_equal_corners_become_one_vertex_and_triangles_keep_their_place():
    ring = solids.torus(9.5, 1.25, 24)
    corners = ring.vertices_mm[ring.faces]
    mesh = weld_corners(corners)
    assert len(mesh.vertices_mm) == len(ring.vertices_mm)
    assert np.array_equal(mesh.vertices_mm[mesh.faces], corners)


def test_agrees_with_sorting_the_corners():
    generator = np.random.default_rng(1)
    corners = generator.integers(0, 4, (500, 3, 3)).astype(float)
    mesh = weld_corners(corners)
    distinct = np.unique(corners.reshape(-1, 3), axis=0)
    assert np.array_equal(np.unique(mesh.vertices_mm, axis=0), distinct)
    assert len(mesh.vertices_mm) == len(distinct)


def test_minus_zero_is_zero():
    corners = np.zeros((2, 3, 3))
    corners[:, 1] = [1, 0, 0]
    corners[:, 2] = [0, 1, 0]
    corners[1, 0] = [-0.0, 0.0, -0.0]
    assert len(weld_corners(corners).vertices_mm) == 3


def test_a_triangle_with_two_equal_corners_goes():
    corners = np.array([[[0, 0, 0], [0, 0, 0], [1, 0, 0]], [[0, 0, 0], [1, 0, 0], [0, 1, 0]]], dtype=float)
    assert len(weld_corners(corners).faces) == 1


def test_corners_that_nearly_meet_are_joined_and_others_are_not():
    ring = solids.torus(9.5, 1.25, 24)
    corners = ring.vertices_mm[ring.faces]
    jitter = np.random.default_rng(2).uniform(-2e-6, 2e-6, corners.shape)
    loose = weld_corners(corners + jitter)
    assert len(loose.vertices_mm) == 3 * len(ring.faces)
    joined = weld_near(loose, np.arange(len(loose.vertices_mm)))
    assert not len(open_edges(edges_of(joined)))
    assert len(np.unique(joined.faces)) == len(ring.vertices_mm)
    apart = 3 * NEAR_SHARE * np.linalg.norm(np.ptp(ring.vertices_mm, axis=0))
    wide = weld_corners(corners + np.random.default_rng(3).choice([-apart, apart], corners.shape))
    assert len(open_edges(edges_of(weld_near(wide, np.arange(len(wide.vertices_mm))))))
