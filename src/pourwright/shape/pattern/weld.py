"""Corners of separate triangles joined into one mesh."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh

# Corners closer than this share of the box's diagonal may be one corner, if joining them closes the mesh.
NEAR_SHARE = 1e-5


def weld_corners(corners_mm: NDArray[np.float64]) -> Mesh:
    """Join corners whose coordinates are equal bit for bit, and drop triangles that have lost a side by it.

    Parameters
    ----------
    corners_mm : array, shape (n, 3, 3)
        Triangle by triangle [mm].
    """
    from pourwright.shape.pattern.kernels.welding import _kernels

    points_mm = np.ascontiguousarray(corners_mm.reshape(-1, 3)) + 0.0  # +0.0 makes one of the two zeros
    label = np.empty(len(points_mm), np.int64)
    table = np.full(_table_length(len(points_mm)), -1, np.int64)
    count = _kernels.weld_exact(points_mm.view(np.int64), table, label)
    vertices_mm = np.empty((count, 3))
    vertices_mm[label] = points_mm
    return Mesh(vertices_mm, _whole(label.reshape(-1, 3)))


def weld_near(mesh: Mesh, loose: NDArray[np.int64]) -> Mesh:
    """Join those of the ``loose`` vertices that nearly coincide (within :data:`NEAR_SHARE` of the diagonal)."""
    from pourwright.shape.pattern.kernels.welding import _kernels

    points_mm = np.ascontiguousarray(mesh.vertices_mm[loose])
    reach_mm = NEAR_SHARE * float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0)))
    if reach_mm == 0 or not len(loose):
        return mesh
    cells = np.floor(points_mm / reach_mm).astype(np.int64)
    label = np.empty(len(loose), np.int64)
    heads = np.full(_table_length(len(loose)), -1, np.int64)
    _kernels.weld_near(points_mm, cells, reach_mm, heads, label)
    renumber = np.arange(len(mesh.vertices_mm))
    renumber[loose] = loose[label]
    return Mesh(mesh.vertices_mm, _whole(renumber[mesh.faces]))


def _table_length(count: int) -> int:
    return 1 << max(4, int(np.ceil(np.log2(2 * count + 1))))


def _whole(faces: NDArray[np.int64]) -> NDArray[np.int64]:
    a, b, c = faces.T
    return np.ascontiguousarray(faces[(a != b) & (b != c) & (c != a)])
