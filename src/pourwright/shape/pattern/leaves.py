"""Points grouped by nearness, for the compiled loops that look for the nearest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

_LEAF = 24  # points to a box when looking for the nearest


@dataclass(frozen=True)
class Leaves:
    """Points grouped by nearness: numbers leaf by leaf, where each leaf starts, the boxes round them."""

    rank: NDArray[np.int64]
    starts: NDArray[np.int64]
    low_mm: NDArray[np.float64]
    high_mm: NDArray[np.float64]


def leaves_of(tree: Any, points_mm: NDArray[np.float64]) -> Leaves:
    """Group points of shape (n, 3) [mm] by the k-d tree that was built on them."""
    rank = np.array(tree.indices, dtype=np.int64)
    starts = np.append(np.arange(0, len(rank), _LEAF), len(rank))
    grouped_mm = points_mm[rank]
    low_mm, high_mm = np.minimum.reduceat(grouped_mm, starts[:-1]), np.maximum.reduceat(grouped_mm, starts[:-1])
    return Leaves(rank, starts, low_mm, high_mm)
