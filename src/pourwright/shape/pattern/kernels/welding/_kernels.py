"""Compiled loops that tell which corners of a mesh are one."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

_MIX_1, _MIX_2, _MIX_3 = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F), np.uint64(0x165667B19E3779F9)
_FOLD = np.uint64(29)


@njit(cache=True)
def _slot(a, b, c, mask):  # type: ignore[no-untyped-def]
    mixed = np.uint64(a) * _MIX_1 ^ np.uint64(b) * _MIX_2 ^ np.uint64(c) * _MIX_3
    mixed ^= mixed >> _FOLD
    mixed *= _MIX_1
    return np.int64((mixed >> _FOLD) & np.uint64(mask))


@njit(cache=True)
def weld_exact(keys: NDArray[np.int64], table: NDArray[np.int64], label: NDArray[np.int64]) -> int:
    """Number equal rows of keys (n, 3) alike, in order of first appearance; table starts at -1, a power of two long."""
    mask = len(table) - 1
    first = np.empty(len(keys), np.int64)
    count = 0
    for row in range(len(keys)):
        a, b, c = keys[row, 0], keys[row, 1], keys[row, 2]
        place = _slot(a, b, c, mask)
        while table[place] >= 0:
            other = first[table[place]]
            if keys[other, 0] == a and keys[other, 1] == b and keys[other, 2] == c:
                break
            place = (place + 1) & mask
        if table[place] < 0:
            table[place] = count
            first[count] = row
            count += 1
        label[row] = table[place]
    return count


@njit(cache=True)
def weld_near(
    points: NDArray[np.float64],
    cells: NDArray[np.int64],
    reach: float,
    heads: NDArray[np.int64],
    label: NDArray[np.int64],
) -> None:
    """Give each point the number of the first earlier kept point within reach, or keep it.

    ``cells`` (n, 3) are the points' cells of side ``reach``; ``heads`` starts at -1. Work is bounded: kept points
    lie more than ``reach`` apart, so a cell holds only a few.
    """
    mask = len(heads) - 1
    following = np.full(len(points), -1, np.int64)
    for row in range(len(points)):
        label[row] = _kept_near(points, cells, reach, heads, following, row, mask)
        if label[row] == row:
            place = _slot(cells[row, 0], cells[row, 1], cells[row, 2], mask)
            following[row] = heads[place]
            heads[place] = row


@njit(cache=True)
def _kept_near(points, cells, reach, heads, following, row, mask):  # type: ignore[no-untyped-def]
    for step in range(27):
        x = cells[row, 0] + step // 9 - 1
        y = cells[row, 1] + step // 3 % 3 - 1
        z = cells[row, 2] + step % 3 - 1
        other = heads[_slot(x, y, z, mask)]
        while other >= 0:
            gap = 0.0
            for axis in range(3):
                gap += (points[row, axis] - points[other, axis]) ** 2
            if gap <= reach * reach:
                return other
            other = following[other]
    return row
