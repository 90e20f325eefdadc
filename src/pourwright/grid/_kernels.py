"""Compiled loops over voxel columns; the readable side is :mod:`pourwright.grid.fractions`."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def _left_of(ax: float, ay: float, bx: float, by: float, x: float, y: float) -> bool:
    """Whether a point lies left of the line a-b; reckoned in one order of the ends, so neighbours always agree."""
    if ax < bx or (ax == bx and ay < by):
        return (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0.0
    return (ax - bx) * (y - by) - (ay - by) * (x - bx) < 0.0


@njit(cache=True)
def add_columns(corners: NDArray[np.float64], per_side: int, steps: NDArray[np.float64]) -> None:
    """Send every triangle's crossings down the sub-columns of a grid.

    ``corners`` (n, 3, 3) are in voxel sides from the grid's corner. ``steps`` (nx, ny, nz) starts at zero; its sum
    from the top down to a voxel is the filled share of that voxel afterwards. Each voxel has ``per_side`` squared
    sub-columns; a crossing is exact along the column. A surface facing up fills below it, one facing down empties.
    """
    nx, ny, _ = steps.shape
    weight = 1.0 / (per_side * per_side)
    for face in range(len(corners)):
        ax, ay, az = corners[face, 0, 0], corners[face, 0, 1], corners[face, 0, 2]
        bx, by, bz = corners[face, 1, 0], corners[face, 1, 1], corners[face, 1, 2]
        cx, cy, cz = corners[face, 2, 0], corners[face, 2, 1], corners[face, 2, 2]
        turn = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if turn == 0.0:
            continue
        if turn < 0.0:
            bx, by, bz, cx, cy, cz = cx, cy, cz, bx, by, bz
        sense = weight if turn > 0.0 else -weight
        area = abs(turn)
        first_x = max(0, int(np.floor(min(ax, bx, cx) * per_side - 0.5)))
        last_x = min(nx * per_side - 1, int(np.ceil(max(ax, bx, cx) * per_side - 0.5)))
        first_y = max(0, int(np.floor(min(ay, by, cy) * per_side - 0.5)))
        last_y = min(ny * per_side - 1, int(np.ceil(max(ay, by, cy) * per_side - 0.5)))
        for column_x in range(first_x, last_x + 1):
            x = (column_x + 0.5) / per_side
            for column_y in range(first_y, last_y + 1):
                y = (column_y + 0.5) / per_side
                if not (
                    _left_of(ax, ay, bx, by, x, y) and _left_of(bx, by, cx, cy, x, y) and _left_of(cx, cy, ax, ay, x, y)
                ):
                    continue
                to_b = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area
                to_c = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area
                height = az + to_b * (bz - az) + to_c * (cz - az)
                _fill_below(steps, column_x // per_side, column_y // per_side, height, sense)


@njit(cache=True)
def _fill_below(steps: NDArray[np.float64], x: int, y: int, height: float, weight: float) -> None:
    top = steps.shape[2] - 1
    voxel = min(max(int(np.floor(height)), 0), top)
    part = min(max(height - voxel, 0.0), 1.0)
    steps[x, y, voxel] += weight * part
    if voxel > 0:
        steps[x, y, voxel - 1] += weight * (1.0 - part)


@njit(cache=True)
def sum_down(steps: NDArray[np.float64]) -> None:
    """Replace every entry by the sum from the top of its column down to it."""
    nx, ny, nz = steps.shape
    for x in range(nx):
        for y in range(ny):
            for z in range(nz - 2, -1, -1):
                steps[x, y, z] += steps[x, y, z + 1]


@njit(cache=True)
def flat_boxes(vertices: NDArray[np.float64], faces: NDArray[np.int64]) -> float:
    """Sum the areas, seen from above, of the boxes round all triangles."""
    total = 0.0
    for row in range(len(faces)):
        a, b, c = vertices[faces[row, 0]], vertices[faces[row, 1]], vertices[faces[row, 2]]
        wide = max(a[0], b[0], c[0]) - min(a[0], b[0], c[0])
        total += wide * (max(a[1], b[1], c[1]) - min(a[1], b[1], c[1]))
    return total
