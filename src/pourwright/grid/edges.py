"""Paths of mould nodes past a sharp edge of the metal.

A node close over a flat face is nearly as warm as the face. The path from it to the node beyond the edge is a whole
side long, but the face ends nearer: from there on the heat falls. The nearer the node to its face, and the nearer the
edge to the node beyond, the better they are joined; without it the heat that crowds at edges is missed on coarse grids
(``docs/decisions/0013-cut-cells.md``).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.crossings import WallPaths
from pourwright.grid.graded import GradedGrid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# A way shorter than this share of a side counts as that long.
_LEAST_WAY_FRAC = 0.25
# Sum of the squares of two normals' components from which on, and to which, two walls count as an edge more and more.
_EVEN_RATIO, _EDGE_RATIO = 1.25, 2.0


def edge_links(grid: GradedGrid, paths: WallPaths) -> tuple[Ints, Floats]:
    """Return pairs of mould nodes whose path leads past an edge, shape (n, 2), and how much better they are joined.

    Node c has the wall below it, its neighbour c' has none; the node below c' has the wall beside it. Both walls belong
    to one even surface when the squares of their normals' components add up to one, to a right edge at two.
    """
    strides = (grid.shape[1] * grid.shape[2], grid.shape[2], 1)
    theta = np.clip(paths.mould_m / (np.maximum(paths.facing_ratio, 1e-9) * grid.side_m), 0.0, 1.0)
    number = paths.way * grid.cells_count + paths.mould
    order = np.argsort(number)
    pairs, ratios = [], []
    for below in range(6):
        chosen = np.flatnonzero(paths.way == below)
        down = strides[below // 2] * (1 if below % 2 else -1)
        for beside in range(6):
            if beside // 2 == below // 2:
                continue
            across = strides[beside // 2] * (1 if beside % 2 else -1)
            node, other = paths.mould[chosen], paths.mould[chosen] + across
            wanted = (beside ^ 1) * grid.cells_count + other + down
            place = order[np.minimum(np.searchsorted(number, wanted, sorter=order), len(order) - 1)]
            found = number[place] == wanted
            here, there = chosen[found], place[found]
            squares = paths.facing_ratio[here] ** 2 + paths.facing_ratio[there] ** 2
            sharp = np.clip((squares - _EVEN_RATIO) / (_EDGE_RATIO - _EVEN_RATIO), 0.0, 1.0)
            gain = sharp * (1.0 - theta[here]) * (1.0 / np.maximum(theta[there], _LEAST_WAY_FRAC) - 1.0)
            pairs.append(np.sort(np.column_stack([node[found], other[found]]), axis=1))
            ratios.append(1.0 + gain)
    return _largest(np.concatenate(pairs), np.concatenate(ratios), grid.cells_count)


def _largest(pairs: Ints, ratio: Floats, count: int) -> tuple[Ints, Floats]:
    """Keep the largest ratio of each pair that has one over 1."""
    pairs, ratio = pairs[ratio > 1.001], ratio[ratio > 1.001]
    keys, place = np.unique(pairs[:, 0] * count + pairs[:, 1], return_inverse=True)
    largest = np.ones(len(keys))
    np.maximum.at(largest, place, ratio)
    return np.column_stack([keys // count, keys % count]), largest
