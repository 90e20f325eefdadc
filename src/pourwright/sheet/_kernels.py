"""Loops that draw triangles: a depth buffer with normals, and the dark lines found in it."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@njit(cache=True)  # type: ignore[untyped-decorator, unused-ignore]
def corner_normals(
    faces: IntArray, crosses: FloatArray, starts: IntArray, members: IntArray, crease_ratio: float, out: FloatArray
) -> None:
    """Average at each corner the normals of the faces round it that turn less than the crease.

    Parameters
    ----------
    faces : array, shape (m, 3)
        Vertex numbers.
    crosses : array, shape (m, 3)
        Cross product of two edges of each face: its direction the normal, its length twice the area.
    starts, members : arrays, shape (n + 1,) and (3 m,)
        Faces round vertex ``v`` are ``members[starts[v]:starts[v + 1]]``.
    crease_ratio : float
        Cosine of the angle over which an edge stays sharp.
    out : array, shape (m, 3, 3)
        Receives a unit normal for each corner of each face.
    """
    for face in range(faces.shape[0]):
        cx, cy, cz = crosses[face]
        length = math.sqrt(cx * cx + cy * cy + cz * cz)
        for corner in range(3):
            vertex = faces[face, corner]
            sx, sy, sz = 0.0, 0.0, 0.0
            for place in range(starts[vertex], starts[vertex + 1]):
                ox, oy, oz = crosses[members[place]]
                other = math.sqrt(ox * ox + oy * oy + oz * oz)
                if cx * ox + cy * oy + cz * oz >= crease_ratio * length * other:
                    sx += ox
                    sy += oy
                    sz += oz
            total = math.sqrt(sx * sx + sy * sy + sz * sz)
            if total > 0.0:
                out[face, corner, 0] = sx / total
                out[face, corner, 1] = sy / total
                out[face, corner, 2] = sz / total


@njit(cache=True)  # type: ignore[untyped-decorator, unused-ignore]
def draw_triangles(
    points_px: FloatArray, faces: IntArray, normals: FloatArray, depth_px: FloatArray, seen: FloatArray
) -> None:
    """Draw triangles into a depth buffer; the nearest wins, its normal is kept.

    Parameters
    ----------
    points_px : array, shape (n, 3)
        Right, down and towards the viewer [px].
    faces : array, shape (m, 3)
        Vertex numbers.
    normals : array, shape (m, 3, 3)
        Unit normal (right, down, towards) at each corner of each face.
    depth_px : array, shape (height, width)
        Starts at minus infinity; receives the nearest depth [px].
    seen : array, shape (height, width, 3)
        Receives the normal seen at each pixel.
    """
    height, width = depth_px.shape
    for face in range(faces.shape[0]):
        a, b, c = faces[face, 0], faces[face, 1], faces[face, 2]
        ax, ay, az = points_px[a, 0], points_px[a, 1], points_px[a, 2]
        bx, by, bz = points_px[b, 0], points_px[b, 1], points_px[b, 2]
        cx, cy, cz = points_px[c, 0], points_px[c, 1], points_px[c, 2]
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if area == 0.0:
            continue
        left = max(0, math.ceil(min(ax, bx, cx) - 0.5))
        right = min(width - 1, math.floor(max(ax, bx, cx) - 0.5))
        top = max(0, math.ceil(min(ay, by, cy) - 0.5))
        bottom = min(height - 1, math.floor(max(ay, by, cy) - 0.5))
        for row in range(top, bottom + 1):
            y = row + 0.5
            for column in range(left, right + 1):
                x = column + 0.5
                share_b = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / area
                share_c = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / area
                share_a = 1.0 - share_b - share_c
                if share_a < 0.0 or share_b < 0.0 or share_c < 0.0:
                    continue
                near = share_a * az + share_b * bz + share_c * cz
                if near <= depth_px[row, column]:
                    continue
                depth_px[row, column] = near
                for axis in range(3):
                    seen[row, column, axis] = (
                        share_a * normals[face, 0, axis]
                        + share_b * normals[face, 1, axis]
                        + share_c * normals[face, 2, axis]
                    )


@njit(cache=True)  # type: ignore[untyped-decorator, unused-ignore]
def _slope(seen: FloatArray, row: int, column: int, axis: int) -> float:
    """Steepness of the surface at a pixel along right (0) or down (1), in depth per pixel."""
    steepness: float = abs(seen[row, column, axis]) / max(abs(seen[row, column, 2]), 0.05)
    return steepness


@njit(cache=True)  # type: ignore[untyped-decorator, unused-ignore]
def _edge_kind(
    depth_px: FloatArray, seen: FloatArray, row: int, column: int, step: int, jump_px: float, crease_ratio: float
) -> int:
    """Return 2 for an outline, 1 for a crease, 0 for none, between a pixel and its right or lower neighbour."""
    row2, column2 = (row, column + 1) if step == 0 else (row + 1, column)
    one, two = depth_px[row, column], depth_px[row2, column2]
    if math.isinf(one) or math.isinf(two):
        return 0 if math.isinf(one) and math.isinf(two) else 2
    steep = max(_slope(seen, row, column, step), _slope(seen, row2, column2, step))
    if abs(one - two) > jump_px + 2.0 * steep:
        return 2
    dot, first, second = 0.0, 0.0, 0.0
    for axis in range(3):
        dot += seen[row, column, axis] * seen[row2, column2, axis]
        first += seen[row, column, axis] ** 2
        second += seen[row2, column2, axis] ** 2
    return 1 if dot < crease_ratio * math.sqrt(first * second) else 0


@njit(cache=True)  # type: ignore[untyped-decorator, unused-ignore]
def draw_lines(
    depth_px: FloatArray,
    seen: FloatArray,
    jump_px: float,
    crease_ratio: float,
    outline_px: float,
    crease_px: float,
    ink: NDArray[np.uint8],
) -> None:
    """Mark with ink every pixel near an outline (a jump in depth) or a crease (a turn of the surface).

    Parameters
    ----------
    depth_px, seen : arrays
        As made by :func:`draw_triangles`; depth [px].
    jump_px : float
        Jump in depth that counts as an outline [px].
    crease_ratio : float
        Cosine of the turn that counts as a crease.
    outline_px, crease_px : float
        Half widths of the two kinds of line [px].
    ink : array of uint8, shape (height, width)
        Receives 1 where a line runs.
    """
    height, width = depth_px.shape
    for row in range(height - 1):
        for column in range(width - 1):
            kind = max(
                _edge_kind(depth_px, seen, row, column, 0, jump_px, crease_ratio),
                _edge_kind(depth_px, seen, row, column, 1, jump_px, crease_ratio),
            )
            if kind == 0:
                continue
            radius = outline_px if kind == 2 else crease_px
            reach = math.ceil(radius)
            for down in range(max(0, row - reach), min(height, row + reach + 1)):
                for across in range(max(0, column - reach), min(width, column + reach + 1)):
                    if (down - row) ** 2 + (across - column) ** 2 <= radius * radius:
                        ink[down, across] = 1
