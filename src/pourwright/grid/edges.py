"""Nodes beside a sharp edge of the metal: how much better they are joined to each other and to the wall.

Heat crowds at edges within less than a cell. Beside an edge the temperature falls as the known steady solution round a
right edge does; paths past the edge and ways to its faces carry so much that the nodes hold that solution exactly
(``docs/decisions/0013-cut-cells.md``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.crossings import WallPaths
from pourwright.grid.graded import GradedGrid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# A way shorter than this share of a side counts as that long.
_LEAST_WAY_FRAC = 0.05
# A path that changes by less keeps its whole face.
_LEAST_CHANGE_RATIO = 1e-3
# Planes that turn by less do not meet where it matters.
_LEAST_TURN_RATIO = 1e-3
# Bounds of what an edge does to a path or a way.
_LEAST_GAIN_RATIO, _MOST_GAIN_RATIO = 0.5, 5.0


@dataclass(frozen=True, eq=False)
class Edges:
    """What sharp edges do to paths and to ways.

    Parameters
    ----------
    pairs : array, shape (n, 2)
        Pairs of mould nodes whose path leads past an edge, lower flat number first.
    gain_ratio : array, shape (n,)
        How much better they are joined than by the whole face.
    sharp_ratio : array, shape (ways to the wall,)
        How far the wall that each way leads to ends at an edge: 0 not at all, 1 at a right edge.
    way_gain_ratio : array, shape (ways to the wall,)
        How much better the node of each way is joined to the wall than by its way alone.
    """

    pairs: Ints
    gain_ratio: Floats
    sharp_ratio: Floats
    way_gain_ratio: Floats


def find_edges(grid: GradedGrid, paths: WallPaths, is_air: NDArray[np.bool_]) -> Edges:
    """Return what sharp edges do to the paths of mould nodes past them and to the ways beside them.

    Node c has the wall below it, its neighbour c' has none; the node below c' has the wall beside it. How far both
    walls make an edge is one less the product of their normals; where it lies is where their planes meet in the plane
    of the three nodes. Where one of them lies in air, shape (nx * ny * nz,), nothing crowds.
    """
    strides = (grid.shape[1] * grid.shape[2], grid.shape[2], 1)
    theta = np.clip(paths.mould_m / (np.maximum(paths.facing_ratio, 1e-9) * grid.side_m), 0.0, 1.0)
    number = paths.way * grid.cells_count + paths.mould
    order = np.argsort(number)
    sharp_ratio, way_gain_ratio = np.zeros(len(number)), np.ones(len(number))
    pairs, ratios = [np.empty((0, 2), np.int64)], [np.empty(0)]
    for below in range(6):
        chosen = np.flatnonzero(paths.way == below)
        down = strides[below // 2] * (1 if below % 2 else -1)
        for beside in (way for way in range(6) if way // 2 != below // 2):
            across = strides[beside // 2] * (1 if beside % 2 else -1)
            wanted = (beside ^ 1) * grid.cells_count + paths.mould[chosen] + across + down
            place = order[np.minimum(np.searchsorted(number, wanted, sorter=order), len(order) - 1)]
            found = number[place] == wanted
            here, there = chosen[found], place[found]
            node, other = paths.mould[here], paths.mould[here] + across
            in_mould = ~(is_air[node] | is_air[other] | is_air[other + down])
            here, there, node, other = here[in_mould], there[in_mould], node[in_mould], other[in_mould]
            sharp, height, reach = _edge(paths.normal_ratio, theta, here, there, below, beside)
            gain, way_gain = _gains(height, reach)
            sharp_ratio[here] = np.maximum(sharp_ratio[here], sharp)
            way_gain_ratio[here] += sharp * (way_gain - 1.0)
            pairs.append(np.sort(np.column_stack([node, other]), axis=1))
            ratios.append(1.0 + sharp * (gain - 1.0))
    return Edges(
        *_foremost(np.concatenate(pairs), np.concatenate(ratios), grid.cells_count), sharp_ratio, way_gain_ratio
    )


def _edge(
    normal_ratio: Floats, theta: Floats, here: Ints, there: Ints, below: int, beside: int
) -> tuple[Floats, Floats, Floats]:
    """Return how sharp edges are, and how far c lies over and c' past the place where the walls' planes meet [sides].

    In the plane of the nodes, from c and in sides: n1 (0, -height) and n2 (1 - reach, -1) are in the two planes.
    """
    up, out = (1.0 if below % 2 == 0 else -1.0), (1.0 if beside % 2 else -1.0)
    one, two = normal_ratio[here], normal_ratio[there]
    one_up, one_out, two_up, two_out = (
        up * one[:, below // 2], out * one[:, beside // 2], up * two[:, below // 2], out * two[:, beside // 2],
    )  # fmt: skip
    sharp = np.clip(1.0 - np.einsum("nd,nd->n", one, two), 0.0, 1.0)
    turn = np.maximum(one_up * two_out - one_out * two_up, _LEAST_TURN_RATIO)
    far = two_out * (1.0 - theta[there]) - two_up
    height = (one_up * two_out * theta[here] + one_out * far) / turn
    reach = 1.0 - one_up * (far + two_up * theta[here]) / turn
    return sharp, np.clip(height, 0.0, 1.0), np.clip(reach, 0.0, 1.0)


def _gains(height: Floats, reach: Floats) -> tuple[Floats, Floats]:
    """Return the gains of path and way that make the nodes beside a right edge hold the steady heat that crowds there.

    Node c lies ``height`` over the one face and its neighbour c' ``reach`` past the other, both in sides. The balance
    of c' gives the gain of its two paths, then the balance of c that of its way.
    """
    height, reach = np.maximum(height, _LEAST_WAY_FRAC), np.maximum(reach, _LEAST_WAY_FRAC)
    past, over, low = (_crowded(reach + i, height + j) for i, j in ((0, 0), (-1, 0), (0, -1)))
    outward = _crowded(reach + 1, height) + _crowded(reach, height + 1) - 2 * past
    gain = np.clip(outward / (2 * past - over - low), _LEAST_GAIN_RATIO, _MOST_GAIN_RATIO)
    arriving = _crowded(reach - 2, height) + _crowded(reach - 1, height + 1) - 2 * over + gain * (past - over)
    return gain, np.clip(arriving * height / over, _LEAST_GAIN_RATIO, _MOST_GAIN_RATIO)


def _crowded(out: Floats, up: Floats) -> Floats:
    """Return the steady fall of temperature round a right edge at 0, metal being where both places are below."""
    angle = np.pi - np.arctan2(up, out)
    return np.asarray(np.hypot(out, up) ** (2.0 / 3.0) * np.sin(2.0 / 3.0 * angle))


def _foremost(pairs: Ints, ratio: Floats, count: int) -> tuple[Ints, Floats]:
    """Keep each pair once, with the ratio that is furthest from 1."""
    order = np.argsort(-np.abs(ratio - 1.0), kind="stable")
    order = order[np.abs(ratio[order] - 1.0) > _LEAST_CHANGE_RATIO]
    keys, first = np.unique(pairs[order, 0] * count + pairs[order, 1], return_index=True)
    return np.column_stack([keys // count, keys % count]), ratio[order[first]]
