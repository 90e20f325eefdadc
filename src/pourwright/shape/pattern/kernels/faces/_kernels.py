"""Compiled sums over faces, and cuts through them."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def _doubled_normal(vertices, face):  # type: ignore[no-untyped-def]
    a, b, c = vertices[face[0]], vertices[face[1]], vertices[face[2]]
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    return uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx


@njit(cache=True)
def face_areas(vertices: NDArray[np.float64], faces: NDArray[np.int64], areas: NDArray[np.float64]) -> None:
    """Reckon the area of each triangle."""
    for row in range(len(faces)):
        x, y, z = _doubled_normal(vertices, faces[row])
        areas[row] = 0.5 * np.sqrt(x * x + y * y + z * z)


@njit(cache=True)
def sum_faces(
    vertices: NDArray[np.float64], faces: NDArray[np.int64], about: NDArray[np.float64], sums: NDArray[np.float64]
) -> None:
    """Sum volumes of the tetrahedra on a point, those times their middles from there (three sums), and areas.

    A block at a time, so that rounding stays small.
    """
    sums[:] = 0.0
    block = np.zeros(5)
    for row in range(len(faces)):
        x, y, z = _doubled_normal(vertices, faces[row])
        a, b, c = vertices[faces[row, 0]], vertices[faces[row, 1]], vertices[faces[row, 2]]
        volume = ((a[0] - about[0]) * x + (a[1] - about[1]) * y + (a[2] - about[2]) * z) / 6.0
        block[0] += volume
        for axis in range(3):
            block[1 + axis] += volume * (a[axis] + b[axis] + c[axis] - 3.0 * about[axis]) / 4.0
        block[4] += 0.5 * np.sqrt(x * x + y * y + z * z)
        if row % 1024 == 1023 or row == len(faces) - 1:
            sums += block
            block[:] = 0.0


@njit(cache=True)
def hidden_arcs(
    vertices: NDArray[np.float64], faces: NDArray[np.int64], one: NDArray[np.int64], other: NDArray[np.int64],
    low: NDArray[np.int64], high: NDArray[np.int64], forward: NDArray[np.bool_], bend_rad: float, sagitta: float,
) -> tuple[float, float]:  # fmt: skip
    """Sum the volume that edges hide if they round a surface, where it bends outward and where inward.

    Edge i runs from ``low`` to ``high`` between the triangles ``one`` and ``other``; ``forward`` says whether it does
    in ``one``. Edges that bend by ``bend_rad`` or more, or whose arc stands off by ``sagitta`` or more, are meant.
    """
    outward, inward = 0.0, 0.0
    for row in range(len(one)):
        nx, ny, nz = _doubled_normal(vertices, faces[one[row]])
        mx, my, mz = _doubled_normal(vertices, faces[other[row]])
        n, m = np.sqrt(nx * nx + ny * ny + nz * nz), np.sqrt(mx * mx + my * my + mz * mz)
        start, end = vertices[low[row]], vertices[high[row]]
        ex, ey, ez = end[0] - start[0], end[1] - start[1], end[2] - start[2]
        length = np.sqrt(ex * ex + ey * ey + ez * ez)
        if n == 0.0 or m == 0.0 or length == 0.0:
            continue
        tx, ty, tz = ny * mz - nz * my, nz * mx - nx * mz, nx * my - ny * mx
        bend = np.arctan2(np.sqrt(tx * tx + ty * ty + tz * tz), nx * mx + ny * my + nz * mz)
        reach = min(n, m) / length
        if bend >= bend_rad or bend * reach / 8.0 >= sagitta:
            continue
        hidden = length * bend * reach * reach / 12.0
        if (tx * ex + ty * ey + tz * ez > 0.0) == forward[row]:
            outward += hidden
        else:
            inward += hidden
    return outward, inward


@njit(cache=True)
def heights_over(
    vertices: NDArray[np.float64], place: NDArray[np.float64], normal: NDArray[np.float64], heights: NDArray[np.float64]
) -> None:
    """Reckon how far each vertex lies over a plane through a place."""
    for row in range(len(vertices)):
        heights[row] = 0.0
        for axis in range(3):
            heights[row] += (vertices[row, axis] - place[axis]) * normal[axis]


@njit(cache=True)
def cut_faces(faces: NDArray[np.int64], heights: NDArray[np.float64], found: NDArray[np.int64]) -> int:
    """List the triangles with vertices on both sides of a plane; returns how many there are."""
    count = 0
    for row in range(len(faces)):
        one = heights[faces[row, 0]] > 0.0
        if one != (heights[faces[row, 1]] > 0.0) or one != (heights[faces[row, 2]] > 0.0):
            found[count] = row
            count += 1
    return count


@njit(cache=True)
def box_of(points: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]) -> None:
    """Find the box round points."""
    low[:], high[:] = points[0], points[0]
    for row in range(len(points)):
        for axis in range(3):
            low[axis], high[axis] = min(low[axis], points[row, axis]), max(high[axis], points[row, axis])
