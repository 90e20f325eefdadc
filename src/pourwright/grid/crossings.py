"""Where lines through the middles of cells cross the surface: middles in metal, and how far the wall is from others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import GradedGrid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# The surface is moved by these shares of a side before lines cross it, so that flat faces do not lie on middles.
_NUDGE_FRAC = (1.4142e-7, 1.7321e-7, 2.2361e-7)


@dataclass(frozen=True, eq=False)
class Crossings:
    """Crossings of the lines along one axis, sorted along each line; all shapes (n,) but for ``normal_ratio``.

    Parameters
    ----------
    low : array
        Flat number of the last cell of the line whose middle lies below the crossing.
    place_m : array
        Where on the line [m].
    normal_ratio : array, shape (n, 3)
        The surface's outward unit normal.
    is_first, is_last : array
        Whether it is the first, or the last, between two middles.
    """

    axis: int
    low: Ints
    place_m: Floats
    normal_ratio: Floats
    is_first: NDArray[np.bool_]
    is_last: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class WallPaths:
    """Ways from mould nodes straight to the wall along an axis; all shapes (n,) unless given.

    Parameters
    ----------
    mould : array
        Flat number of the cell with the mould node.
    behind : array, shape (n, 2)
        Flat numbers of the cell in which the wall is crossed and of the cell behind it.
    raw_m2 : array
        Area of wall that the line stands for: the cell's face times the normal's component [m2].
    mould_m : array
        Distance from the node to the wall along the wall's normal [m].
    facing_ratio : array
        The normal's component along the axis, without its sign.
    normal_ratio : array, shape (n, 3)
        The whole outward unit normal.
    way : array
        Which way the wall lies: 2 * axis, and one more where it is above.
    """

    mould: Ints
    behind: Ints
    raw_m2: Floats
    mould_m: Floats
    facing_ratio: Floats
    normal_ratio: Floats
    way: Ints


def nudged(grid: GradedGrid, corners_m: Floats) -> Floats:
    """Return triangles moved by next to nothing, to where no model has its flat faces; the same for all three axes."""
    return np.asarray(corners_m + grid.side_m * np.array(_NUDGE_FRAC))


def find_crossings(grid: GradedGrid, corners_m: Floats, axis: int) -> Crossings:
    """Return all crossings of triangles, shape (m, 3, 3) and :func:`nudged` [m], with the lines along an axis."""
    from pourwright.grid.cut import _kernels

    across, deep = (axis + 1) % 3, (axis + 2) % 3
    middles_m = grid.middles_m[across], grid.middles_m[deep]
    room = 2 * len(middles_m[0]) * len(middles_m[1])
    while True:
        lines, crossings = np.empty(room, np.int64), np.empty((room, 4))
        found = _kernels.cross_lines(corners_m, across, deep, axis, middles_m, lines, crossings)
        if found <= room:
            break
        room = found
    lines, crossings = lines[:found], crossings[:found]
    order = np.lexsort((crossings[:, 0], lines))
    lines, place_m = lines[order], crossings[order, 0]
    below = np.searchsorted(grid.middles_m[axis], place_m) - 1
    strides = _strides(grid)
    low = (lines // len(middles_m[1])) * strides[across] + (lines % len(middles_m[1])) * strides[deep]
    low += below * strides[axis]
    changes = np.flatnonzero(low[1:] != low[:-1]) + 1
    is_first, is_last = np.zeros(found, bool), np.zeros(found, bool)
    if found:
        is_first[np.concatenate([[0], changes])] = True
        is_last[np.concatenate([changes - 1, [found - 1]])] = True
    return Crossings(axis, low, place_m, crossings[order, 1:], is_first, is_last)


def _strides(grid: GradedGrid) -> tuple[int, int, int]:
    return grid.shape[1] * grid.shape[2], grid.shape[2], 1


def middles_in_metal(grid: GradedGrid, upright: Crossings) -> NDArray[np.bool_]:
    """Return whether each cell's middle lies in metal, shape (nx, ny, nz), from the crossings along the last axis."""
    turns = np.zeros(grid.cells_count, np.int8)
    np.add.at(turns, upright.low, np.where(upright.normal_ratio[:, 2] > 0, 1, -1).astype(np.int8))
    turns = turns.reshape(grid.shape)
    np.cumsum(turns[:, :, ::-1], axis=2, out=turns[:, :, ::-1])
    return np.asarray(turns > 0)


def wall_paths(grid: GradedGrid, crossings: Crossings, in_metal: NDArray[np.bool_]) -> tuple[WallPaths, Ints]:
    """Return ways to the wall along one axis, and low cells of pairs of mould nodes that metal comes between."""
    stride = _strides(grid)[crossings.axis]
    is_metal = in_metal.ravel()
    low = crossings.low
    below = _paths(grid, crossings, crossings.is_first & ~is_metal[low], -1)
    above = _paths(grid, crossings, crossings.is_last & ~is_metal[low + stride], 1)
    missed = _missed(grid, crossings, in_metal)
    parted = low[crossings.is_first & ~is_metal[low] & ~is_metal[low + stride]]
    joined = (
        np.concatenate([getattr(one, name) for one in (below, above, missed)]) for name in WallPaths.__annotations__
    )
    return WallPaths(*joined), parted


def _paths(grid: GradedGrid, crossings: Crossings, chosen: NDArray[np.bool_], side: int) -> WallPaths:
    """Return ways to the wall for the nodes below (-1) or above (1) the chosen crossings."""
    axis, stride = crossings.axis, _strides(grid)[crossings.axis]
    low, place_m = crossings.low[chosen], crossings.place_m[chosen]
    node, other = (low, low + stride) if side < 0 else (low + stride, low)
    along = np.unravel_index(node, grid.shape)[axis]
    normal_ratio = crossings.normal_ratio[chosen]
    facing_ratio = np.abs(normal_ratio[:, axis])
    mould_m = np.abs(place_m - grid.middles_m[axis][along]) * facing_ratio
    edge_m = grid.edges_m[axis][along if side > 0 else along + 1]
    in_own = (place_m >= edge_m) if side > 0 else (place_m < edge_m)
    behind = np.where(in_own[:, None], np.column_stack([node, other]), np.column_stack([other, node]))
    way = np.full(len(node), 2 * axis + (side < 0))
    return WallPaths(node, behind, _face_m2(grid, axis, node) * facing_ratio, mould_m, facing_ratio, normal_ratio, way)


def _face_m2(grid: GradedGrid, axis: int, cells: Ints) -> Floats:
    places = np.unravel_index(cells, grid.shape)
    across, deep = (axis + 1) % 3, (axis + 2) % 3
    return np.asarray(grid.sides_m[across][places[across]] * grid.sides_m[deep][places[deep]])


def _missed(grid: GradedGrid, crossings: Crossings, in_metal: NDArray[np.bool_]) -> WallPaths:
    """Return ways between a middle in metal and one in mould where rounding hid the crossing on their line.

    That happens only where the surface passes through a middle; the wall is taken half way.
    """
    axis, stride = crossings.axis, _strides(grid)[crossings.axis]
    before, after = (np.take(in_metal, range(*ends), axis) for ends in ((grid.shape[axis] - 1,), (1, grid.shape[axis])))
    low = np.ravel_multi_index(np.nonzero(before != after), grid.shape)
    low = np.setdiff1d(low, crossings.low[crossings.is_first])
    node = np.where(in_metal.ravel()[low], low + stride, low)
    other = 2 * low + stride - node
    side_m = grid.sides_m[axis][np.unravel_index(node, grid.shape)[axis]]
    face_m2 = _face_m2(grid, axis, node)
    above = node == low
    normal_ratio = np.zeros((len(node), 3))
    normal_ratio[:, axis] = np.where(above, -1.0, 1.0)
    pair = np.column_stack([other, node])
    return WallPaths(node, pair, face_m2, side_m / 2, np.ones(len(node)), normal_ratio, 2 * axis + above)
