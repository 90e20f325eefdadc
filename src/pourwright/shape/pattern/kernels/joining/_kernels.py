"""Compiled loops over the sides of faces: what hangs together, which way it is turned, what lies round a point."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def root_of(parent: NDArray[np.int64], one: int) -> int:
    while parent[one] != one:
        parent[one] = parent[parent[one]]
        one = parent[one]
    return one


@njit(cache=True)
def join(parent: NDArray[np.int64], first: NDArray[np.int64], second: NDArray[np.int64]) -> None:
    """Unite the sets that first[i] and second[i] belong to, then point every member at its set's smallest member."""
    for pair in range(len(first)):
        a, b = root_of(parent, first[pair]), root_of(parent, second[pair])
        if a != b:
            parent[max(a, b)] = min(a, b)
    for one in range(len(parent)):
        parent[one] = root_of(parent, one)


@njit(cache=True)
def spread_flips(
    starts: NDArray[np.int64], neighbours: NDArray[np.int64], differs: NDArray[np.bool_], flip: NDArray[np.int8]
) -> None:
    """Walk from face to face over shared edges and mark which to flip; flip starts at -1 (not visited)."""
    stack = np.empty(len(flip), np.int64)
    for seed in range(len(flip)):
        if flip[seed] >= 0:
            continue
        flip[seed] = 0
        stack[0] = seed
        depth = 1
        while depth > 0:
            depth -= 1
            face = stack[depth]
            for place in range(starts[face], starts[face + 1]):
                other = neighbours[place]
                if flip[other] < 0:
                    flip[other] = flip[face] ^ np.int8(differs[place])
                    stack[depth] = other
                    depth += 1


@njit(cache=True)
def winding(points: NDArray[np.float64], corners: NDArray[np.float64], turns: NDArray[np.float64]) -> None:
    """How often the surface of corners (m, 3, 3) winds round each point: 1 inside, 0 outside (solid angles summed)."""
    for row in range(len(points)):
        total = 0.0
        for face in range(len(corners)):
            total += _solid_angle(points[row], corners[face])
        turns[row] = total / (4.0 * np.pi)


@njit(cache=True)
def _solid_angle(point, corner):  # type: ignore[no-untyped-def]
    ax, ay, az = corner[0, 0] - point[0], corner[0, 1] - point[1], corner[0, 2] - point[2]
    bx, by, bz = corner[1, 0] - point[0], corner[1, 1] - point[1], corner[1, 2] - point[2]
    cx, cy, cz = corner[2, 0] - point[0], corner[2, 1] - point[1], corner[2, 2] - point[2]
    a = np.sqrt(ax * ax + ay * ay + az * az)
    b = np.sqrt(bx * bx + by * by + bz * bz)
    c = np.sqrt(cx * cx + cy * cy + cz * cz)
    triple = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    ab, bc, ca = ax * bx + ay * by + az * bz, bx * cx + by * cy + bz * cz, cx * ax + cy * ay + cz * az
    return 2.0 * np.arctan2(triple, a * b * c + ab * c + bc * a + ca * b)


@njit(cache=True)
def sort_sides(
    faces: NDArray[np.int64], count: int, low: NDArray[np.int64], high: NDArray[np.int64],
    forward: NDArray[np.bool_], face: NDArray[np.int64],
) -> None:  # fmt: skip
    """List the sides of all triangles by their lower vertex and then by their higher one, counting twice.

    ``count`` is the number of vertices; the four lists have three entries a triangle.
    """
    sides = 3 * len(faces)
    place = np.zeros(count + 1, np.int64)
    by_high = np.empty(sides, np.int64)
    for side in range(sides):
        one, other = _ends_of(faces, side)
        place[max(one, other) + 1] += 1
    place = np.cumsum(place)
    for side in range(sides):
        one, other = _ends_of(faces, side)
        by_high[place[max(one, other)]] = side
        place[max(one, other)] += 1
    place = np.zeros(count + 1, np.int64)
    for side in range(sides):
        one, other = _ends_of(faces, side)
        place[min(one, other) + 1] += 1
    place = np.cumsum(place)
    for rank in range(sides):
        side = by_high[rank]
        one, other = _ends_of(faces, side)
        spot = place[min(one, other)]
        place[min(one, other)] += 1
        low[spot], high[spot], forward[spot], face[spot] = min(one, other), max(one, other), one < other, side // 3


@njit(cache=True)
def _ends_of(faces, side):  # type: ignore[no-untyped-def]
    row, corner = side // 3, side % 3
    return faces[row, corner], faces[row, (corner + 1) % 3]
