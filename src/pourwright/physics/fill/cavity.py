"""Laying a hollow out as a list: neighbours, and the voxels at a gate."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.problem import SPRUE_TANK, Cavity, Whole


def find_neighbours(cell: NDArray[np.integer]) -> Whole:
    """Return which voxels share a face.

    Parameters
    ----------
    cell : array of int, shape (n, 3)
        Places of the voxels in a grid, any order, no two alike.

    Returns
    -------
    array of int32, shape (n, 6)
        Two columns for each axis, low side first; -1 where there is none.
    """
    from pourwright.physics.fill import _kernels

    from_low = np.ascontiguousarray(cell - cell.min(axis=0), dtype=np.int64)
    found: Whole = _kernels.neighbours_of(from_low, from_low.max(axis=0) + 1)
    return found


def touching_sprue(cavity: Cavity, tank: int) -> Whole:
    """Return the voxels of a tank that share a face with the sprue: where its gate lets metal in."""
    mine = np.flatnonzero(cavity.tank == tank)
    others = cavity.neighbours[mine]
    of_sprue = (others >= 0) & (cavity.tank[np.maximum(others, 0)] == SPRUE_TANK)
    return np.asarray(mine[of_sprue.any(axis=1)], dtype=np.int32)
