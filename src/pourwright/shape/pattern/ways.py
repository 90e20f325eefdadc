"""Ways through a body, point by point over its measured surface: how far, and how narrow at the narrowest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Point, Skin

# A step between two points longer than this many spacings is no step along the surface; it only joins what else
# would be islands.
_BRIDGE_SPACINGS = 4.0


@dataclass(frozen=True, eq=False)
class Ways:
    """From one point of the surface to all others.

    Parameters
    ----------
    start : int
        Number of the point.
    distance_mm : array, shape (n,)
        Length of the shortest way along the body [mm].
    narrowest : array, shape (n,)
        Number of the thinnest point on the widest way, the start's own at least as good as the goal's.
    """

    start: int
    distance_mm: NDArray[np.float64]
    narrowest: NDArray[np.int64]


def nearest_point(skin: Skin, place_mm: Point) -> tuple[int, float]:
    """Return the number of the surface point nearest to a place, and how far off it is [mm]."""
    gaps_mm = np.linalg.norm(skin.points_mm - np.asarray(place_mm), axis=1)
    found = int(np.argmin(gaps_mm))
    return found, float(gaps_mm[found])


def find_ways(skin: Skin, start: int) -> Ways:
    """Find the shortest and the widest way from a point to every other.

    Ways run over the surface and straight through the wall from one side to the other. The widest way is the one
    whose thinnest point is as thick as can be: metal that feeds a section from the start passes no better one.

    Parameters
    ----------
    skin : Skin
        Of a measured pattern.
    start : int
        Number of a point.
    """
    from scipy.sparse.csgraph import breadth_first_order, dijkstra, minimum_spanning_tree

    first, second, length_mm = _steps(skin)
    distance_mm = dijkstra(_graph(first, second, length_mm, skin), directed=False, indices=start)
    thickness_mm = np.minimum(skin.width_mm[first], skin.width_mm[second])
    # thickest first: a spanning tree of smallest costs then holds the widest way between any two points
    cost = 1.0 + np.argsort(np.argsort(-thickness_mm, kind="stable"), kind="stable")
    tree = minimum_spanning_tree(_graph(first, second, cost, skin))
    order, before = breadth_first_order(tree, start, directed=False)
    return Ways(start, distance_mm, _narrowest(order, before, skin.width_mm))


def _steps(skin: Skin) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Return all steps once each: along the surface, through the wall, and bridges between islands."""
    count = len(skin.points_mm)
    first = np.repeat(np.arange(count), np.diff(skin.starts))
    through = np.flatnonzero(skin.across >= 0)
    pairs = np.vstack([np.column_stack([first, skin.neighbours]), np.column_stack([through, skin.across[through]])])
    number = np.unique(pairs.min(axis=1) * count + pairs.max(axis=1))
    pairs = np.column_stack(np.divmod(number, count))
    pairs = np.vstack([pairs[pairs[:, 0] != pairs[:, 1]], *_bridges(pairs, skin)])
    length_mm = np.linalg.norm(skin.points_mm[pairs[:, 0]] - skin.points_mm[pairs[:, 1]], axis=1)
    return pairs[:, 0], pairs[:, 1], np.maximum(length_mm, 1e-9)


def _bridges(pairs: NDArray[np.int64], skin: Skin) -> list[NDArray[np.int64]]:
    """Join each island of points to the nearest point of the largest one, if that is near."""
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    islands, label = connected_components(_graph(pairs[:, 0], pairs[:, 1], np.ones(len(pairs)), skin), directed=False)
    if islands == 1:
        return []
    main = label == np.argmax(np.bincount(label))
    mainland, strays = np.flatnonzero(main), np.flatnonzero(~main)
    bound_mm = _BRIDGE_SPACINGS * float(np.sqrt(skin.share_mm2))
    gap_mm, near = cKDTree(skin.points_mm[mainland]).query(skin.points_mm[strays], distance_upper_bound=bound_mm)
    joined = np.isfinite(gap_mm)
    return [np.column_stack([strays[joined], mainland[near[joined]]])]


def _graph(first: NDArray[np.int64], second: NDArray[np.int64], weight: NDArray[np.float64], skin: Skin) -> Any:
    from scipy.sparse import coo_matrix

    count = len(skin.points_mm)
    return coo_matrix((weight, (first, second)), shape=(count, count)).tocsr()


def _narrowest(order: NDArray[np.int32], before: NDArray[np.int32], width_mm: NDArray[np.float64]) -> NDArray[np.int64]:
    """Carry the thinnest point met along the tree; points that cannot be reached are their own, with no way."""
    narrowest = np.full(len(width_mm), -1)
    narrowest[order[0]] = order[0]
    for point in order[1:].tolist():
        so_far = narrowest[before[point]]
        narrowest[point] = point if width_mm[point] < width_mm[so_far] else so_far
    return narrowest
