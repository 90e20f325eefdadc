"""Pockets that hold air: places nearer to the button than all round them, with no way on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Point, Skin
from pourwright.shape.pattern.ways import surface_steps


@dataclass(frozen=True)
class Pocket:
    """A pocket by its end and how far back from it the next way out lies."""

    place_mm: Point
    depth_mm: float


def find_pockets(skin: Skin, rises_ratio: NDArray[np.float64], outlet: int, least_mm: float) -> tuple[Pocket, ...]:
    """Return pockets at least so deep, the deepest first.

    Parameters
    ----------
    skin : Skin
        Of a measured pattern.
    rises_ratio : array, shape (3,)
        Direction in which air is pushed: against the pull on the metal.
    outlet : int
        Point where air can leave, such as the gate.
    least_mm : float
        Depth from which a pocket counts [mm].
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import minimum_spanning_tree

    height_mm = skin.points_mm @ (rises_ratio / np.linalg.norm(rises_ratio))
    level_mm = height_mm.copy()
    level_mm[outlet] = np.inf
    count = len(height_mm)
    first, second = surface_steps(skin)
    sill_mm = np.minimum(height_mm[first], height_mm[second])
    # the spanning tree over the highest sills; costs must be positive for the sparse solver
    cost = height_mm.max() - sill_mm + 1.0
    tree = minimum_spanning_tree(coo_matrix((cost, (first, second)), shape=(count, count)).tocsr()).tocoo()
    order = np.argsort(tree.data, kind="stable")
    ends = zip(tree.row[order].tolist(), tree.col[order].tolist(), strict=True)
    found = _drowned(list(ends), height_mm, level_mm, least_mm)
    return tuple(sorted((_pocket(skin, *one) for one in found), key=lambda one: -one.depth_mm))


def _drowned(
    steps: list[tuple[int, int]], height_mm: NDArray[np.float64], level_mm: NDArray[np.float64], least_mm: float
) -> list[tuple[int, float]]:
    """Let the level fall: where two hills meet, the lower one's top is a pocket as deep as its fall to there."""
    top = list(range(len(height_mm)))
    found = []

    def root(one: int) -> int:
        while top[one] != one:
            top[one] = top[top[one]]
            one = top[one]
        return one

    for one, other in steps:
        high, low = root(one), root(other)
        if high == low:
            continue
        if level_mm[high] < level_mm[low]:
            high, low = low, high
        depth_mm = float(height_mm[low] - min(height_mm[one], height_mm[other]))
        if depth_mm >= least_mm:
            found.append((low, depth_mm))
        top[low] = high
    return found


def _pocket(skin: Skin, point: int, depth_mm: float) -> Pocket:
    x, y, z = skin.points_mm[point]
    return Pocket((float(x), float(y), float(z)), depth_mm)
