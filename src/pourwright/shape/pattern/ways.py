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
    before : array, shape (n,)
        Number of the point before each on the widest way to it; negative for the start and for what has no way.
    """

    start: int
    distance_mm: NDArray[np.float64]
    before: NDArray[np.int64]


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
    from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

    first, second = _ways_on(skin)
    distance_mm = distances_mm(skin, first, second, np.array([start]))
    thickness_mm = np.minimum(skin.width_mm[first], skin.width_mm[second])
    # thickest first: a spanning tree of smallest costs then holds the widest way between any two points
    rank = np.argsort(np.argsort(-thickness_mm, kind="stable"), kind="stable")
    cost = (rank + 1).astype(np.float64)
    tree = minimum_spanning_tree(_graph(first, second, cost, skin))
    _, before = breadth_first_order(tree, start, directed=False)
    return Ways(start, distance_mm, before.astype(np.int64))


def widest_way(ways: Ways, goal: int) -> NDArray[np.int64]:
    """Return the points of the widest way from a goal back to the start; empty if there is none."""
    way = [goal]
    while way[-1] != ways.start:
        before = int(ways.before[way[-1]])
        if before < 0:
            return np.empty(0, np.int64)
        way.append(before)
    return np.array(way)


def surface_steps(skin: Skin) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the steps from each point of a skin to its neighbours, each pair of points once."""
    first = np.repeat(np.arange(len(skin.points_mm)), np.diff(skin.starts))
    return _once(np.column_stack([first, skin.neighbours]), len(skin.points_mm))


def lengths_mm(skin: Skin, first: NDArray[np.int64], second: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return how long steps between points are [mm]; never zero, which sparse solvers take for no step at all."""
    length: NDArray[np.float64] = np.linalg.norm(skin.points_mm[first] - skin.points_mm[second], axis=1)
    return np.maximum(length, 1e-9)


def _once(pairs: NDArray[np.int64], count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    number = np.unique(pairs.min(axis=1) * count + pairs.max(axis=1))
    first, second = np.divmod(number, count)
    return first[first != second], second[first != second]


def _ways_on(skin: Skin) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return all steps once each: along the surface, through the wall, and bridges between islands."""
    through = np.flatnonzero(skin.across >= 0)
    pairs = np.vstack([np.column_stack(surface_steps(skin)), np.column_stack([through, skin.across[through]])])
    pairs = np.vstack([pairs, *_bridges(pairs, skin)])
    return _once(pairs, len(skin.points_mm))


def distances_mm(
    skin: Skin, first: NDArray[np.int64], second: NDArray[np.int64], starts: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Return the shortest way over given steps to each point from the nearest start [mm], infinite without one.

    Two steps may be taken as one, straight, so that ways zigzag little: they come out some 3 % long.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra

    one = _graph(first, second, np.ones(len(first)), skin)
    both = one + one.T
    wide = coo_matrix(both @ both + both)
    nearer = wide.row < wide.col
    ends = wide.row[nearer].astype(np.int64), wide.col[nearer].astype(np.int64)
    steps = _graph(*ends, lengths_mm(skin, *ends), skin)
    found: NDArray[np.float64] = dijkstra(steps, directed=False, indices=starts, min_only=True)
    return found


def _bridges(pairs: NDArray[np.int64], skin: Skin) -> list[NDArray[np.int64]]:
    """Join each island of points to the nearest point of the largest one, if that is near."""
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    islands, found = connected_components(_graph(pairs[:, 0], pairs[:, 1], np.ones(len(pairs)), skin), directed=False)
    if islands == 1:
        return []
    label = np.asarray(found)
    main: NDArray[np.bool_] = np.asarray(label == np.argmax(np.bincount(label)), dtype=np.bool_)
    mainland, strays = np.flatnonzero(main), np.flatnonzero(~main)
    bound_mm = _BRIDGE_SPACINGS * float(np.sqrt(skin.share_mm2))
    gap_mm, near = cKDTree(skin.points_mm[mainland]).query(skin.points_mm[strays], distance_upper_bound=bound_mm)
    joined = np.isfinite(gap_mm)
    return [np.column_stack([strays[joined], mainland[np.asarray(near)[joined]]])]


def _graph(first: NDArray[np.int64], second: NDArray[np.int64], weight: NDArray[np.float64], skin: Skin) -> Any:
    from scipy.sparse import coo_matrix

    count = len(skin.points_mm)
    return coo_matrix((weight, (first, second)), shape=(count, count)).tocsr()
