"""Each drawing loop against a slow twin in plain numpy."""

from __future__ import annotations

import math

import numpy as np
from tests.unit.sheet.sample_plan import block, torus

from pourwright.sheet import _kernels


def _twin_triangles(points, faces, shape):
    """Depth by barycentric coordinates from a matrix inverse, pixel by pixel."""
    depth = np.full(shape, -np.inf)
    for face in faces:
        corners = points[face]
        matrix = np.vstack((corners[:, :2].T, np.ones(3)))
        if abs(np.linalg.det(matrix)) < 1e-12:
            continue
        inverse = np.linalg.inv(matrix)
        for row in range(shape[0]):
            for column in range(shape[1]):
                shares = inverse @ np.array([column + 0.5, row + 0.5, 1.0])
                if (shares >= 0).all():
                    depth[row, column] = max(depth[row, column], shares @ corners[:, 2])
    return depth


def test_triangles_are_drawn_as_by_the_slow_twin():
    rng = np.random.default_rng(7)
    points = rng.uniform(-3, 27, (18, 3))
    faces = np.arange(18).reshape(6, 3)
    depth, seen = np.full((24, 20), -np.inf), np.zeros((24, 20, 3))
    _kernels.draw_triangles(points, faces, np.zeros((6, 3, 3)), depth, seen)
    twin = _twin_triangles(points, faces, depth.shape)
    assert np.isfinite(depth).sum() > 50
    np.testing.assert_allclose(depth, twin, atol=1e-9)


def test_nearer_triangle_hides_the_one_behind():
    points = np.array([[0, 0, 1], [9, 0, 1], [0, 9, 1], [0, 0, 5], [9, 0, 5], [0, 9, 5]], dtype=float)
    normals = np.zeros((2, 3, 3))
    normals[0, :, 0], normals[1, :, 1] = 1.0, 1.0
    for order in ([0, 1], [1, 0]):
        faces = np.array([[0, 1, 2], [3, 4, 5]])[order]
        depth, seen = np.full((10, 10), -np.inf), np.zeros((10, 10, 3))
        _kernels.draw_triangles(points, faces, normals[order], depth, seen)
        assert depth[2, 2] == 5
        assert list(seen[2, 2]) == [0, 1, 0]


def _corner_normals(mesh, crease_ratio):
    first, second, third = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    crosses = np.cross(second - first, third - first)
    order = np.argsort(mesh.faces.ravel(), kind="stable")
    starts = np.concatenate(([0], np.cumsum(np.bincount(mesh.faces.ravel())))).astype(np.int64)
    out = np.zeros((len(mesh.faces), 3, 3))
    _kernels.corner_normals(mesh.faces, crosses, starts, (order // 3).astype(np.int64), crease_ratio, out)
    return crosses, out


def test_sharp_edges_of_a_block_stay_sharp():
    crosses, normals = _corner_normals(block(4, 5, 6), math.cos(math.radians(40)))
    faces = crosses / np.linalg.norm(crosses, axis=1)[:, None]
    np.testing.assert_allclose(normals, np.repeat(faces[:, None], 3, axis=1), atol=1e-12)


def test_normals_of_a_round_body_point_away_from_its_core():
    mesh = torus(9.5, 1.25)
    _, normals = _corner_normals(mesh, math.cos(math.radians(40)))
    places = mesh.vertices_mm[mesh.faces]
    core = places * np.array([1, 1, 0])
    core *= 9.5 / np.linalg.norm(core, axis=2)[..., None]
    outward = (places - core) / np.linalg.norm(places - core, axis=2)[..., None]
    assert np.einsum("fca,fca->fc", normals, outward).min() > 0.99


def test_lines_run_where_depth_jumps_and_where_the_surface_turns():
    depth, seen = np.full((9, 12), -np.inf), np.zeros((9, 12, 3))
    depth[:, 2:], seen[:, 2:, 2] = 0.0, 1.0
    depth[:, 5:] = 40.0
    seen[:, 9:] = (0.8, 0.0, 0.6)
    ink = np.zeros(depth.shape, dtype=np.uint8)
    _kernels.draw_lines(depth, seen, 5.0, math.cos(math.radians(30)), 0.0, 0.0, ink)
    assert [column for column in range(12) if ink[4, column]] == [1, 4, 8]
