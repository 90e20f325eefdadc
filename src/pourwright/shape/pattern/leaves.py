"""Points grouped by nearness, for the compiled loops that look for the nearest."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

# Points to a leaf, and leaves to a branch.
_LEAF = 16
_BRANCH = 24


class Leaves(NamedTuple):
    """Points grouped by nearness in leaves, and leaves in branches, with the boxes round both.

    ``rank`` holds the points' numbers leaf by leaf, ``points_mm`` the points in that order; leaf i is
    ``starts[i]`` to ``starts[i + 1]`` of them, branch j the leaves ``branches[j]`` to ``branches[j + 1]``.
    """

    rank: NDArray[np.int64]
    points_mm: NDArray[np.float64]
    starts: NDArray[np.int64]
    low_mm: NDArray[np.float64]
    high_mm: NDArray[np.float64]
    branches: NDArray[np.int64]
    branch_low_mm: NDArray[np.float64]
    branch_high_mm: NDArray[np.float64]


def leaves_of(tree: Any, points_mm: NDArray[np.float64]) -> Leaves:
    """Group points of shape (n, 3) [mm] by the k-d tree that was built on them."""
    rank = np.array(tree.indices, dtype=np.int64)
    grouped_mm = np.ascontiguousarray(points_mm[rank])
    starts, low_mm, high_mm = _boxed(grouped_mm, grouped_mm, _LEAF)
    branches, branch_low_mm, branch_high_mm = _boxed(low_mm, high_mm, _BRANCH)
    return Leaves(rank, grouped_mm, starts, low_mm, high_mm, branches, branch_low_mm, branch_high_mm)


def _boxed(
    low_mm: NDArray[np.float64], high_mm: NDArray[np.float64], together: int
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    starts = np.append(np.arange(0, len(low_mm), together), len(low_mm))
    return starts, np.minimum.reduceat(low_mm, starts[:-1]), np.maximum.reduceat(high_mm, starts[:-1])
