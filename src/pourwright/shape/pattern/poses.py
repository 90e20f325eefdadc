"""How a piece can stand: as drawn, as low as it can, and as slim as it can round the sprue's axis.

How low a body can stand is decided by its convex hull: the least height has a facet of the hull on the ground, or an
edge on the ground and another, crossing it, on top. The hull of a million triangles takes seconds, so a hull of the few
farthest points stands for it. It lies inside the true one: its least height is a lower bound, the true height of the
same way of standing an upper one, and the points that make the difference are added until both meet.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern import mass
from pourwright.shape.pattern.circles import smallest_circle
from pourwright.shape.pattern.report import Mesh, Point, Pose, Poses

# A way as drawn that is worse by no more than this is taken: it is less than the flat facets of a round body are off,
# and than anybody sets a pattern by hand. Of other ways those within the second are as good as each other.
AS_DRAWN_MM = 0.05
_ALIKE_MM = 0.001
# How near the bounds of the least height are to come; differences below it are not followed.
_NEAR_MM = 0.005
_SPREAD_COUNT = 100
# Lowest ways whose farthest points are added to the small hull each round, and rounds.
_AT_ONCE = 8
_MOST_ROUNDS = 8
# Ways whose circle is looked at, the most promising first, and the steps by which the best is bettered.
_MOST_CIRCLES = 150
_STEPS_DEG = (6.0, 3.0, 1.5, 0.75, 0.4, 0.2, 0.1, 0.05, 0.025)
_FLAT_BEND = 1e-9
# Points at once: what a processor keeps at hand for all directions.
_BLOCK = 2048
_AXES = np.array([[0.0, 0.0, -1.0], [0.0, -1.0, 0.0], [-1.0, 0.0, 0.0]])

_Floats = NDArray[np.float64]


class _Lowest(NamedTuple):
    """The lowest way to stand, a bound below which there is none, and the corners of the small hull that showed it."""

    direction: _Floats
    bound_mm: float
    corners: NDArray[np.int64]


def poses_of(mesh: Mesh, centre_mm: Point) -> Poses:
    """Find how a piece stands as drawn, lowest and slimmest.

    Heights, circles and rectangles are those of all corners of the mesh. That nothing stands lower than the lowest is
    shown but for ``stray_mm``; the slimmest is the best that a search from the hull's facets, its edges and an even
    spread of directions found. The same mesh has the same answer; of ways that are as good as each other one as
    drawn is taken, or the one turned least; so ``lowest`` may stand higher than another way by ``AS_DRAWN_MM``.

    Parameters
    ----------
    mesh : Mesh
        Closed, in mm, z upward as drawn.
    centre_mm : Point
        Its centre of mass [mm].
    """
    about_mm = mass.middle_mm(mesh)
    points_mm = np.ascontiguousarray((mesh.vertices_mm - about_mm).T)
    heavy_mm = np.asarray(centre_mm) - about_mm
    found = _lowest(points_mm)

    def standing(way: _Floats) -> Pose:
        drawn = bool(np.array_equal(np.abs(way), np.abs(_AXES[0])))
        return _pose(points_mm, _upright(way, points_mm, heavy_mm), heavy_mm, found.corners, drawn)

    lowest = standing(found.direction)
    return Poses(
        as_drawn=_pose(points_mm, _AXES[0], heavy_mm, found.corners, True),
        lowest=lowest,
        slimmest=standing(_slimmest(points_mm, found)),
        stray_mm=max(lowest.height_mm - found.bound_mm, 0.0),
    )


@lru_cache(maxsize=1)
def _spread() -> _Floats:
    """Return directions spread evenly over half a sphere, along a spiral of golden turns, shape (n, 3)."""
    rank = np.arange(_SPREAD_COUNT)
    z = (rank + 0.5) / _SPREAD_COUNT
    turn = rank * np.pi * (3.0 - 5.0**0.5)
    flat = np.sqrt(1.0 - z * z)
    return np.vstack([_AXES, np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z])])


def _along(directions: _Floats, points_mm: _Floats) -> _Floats:
    """Return how far points of shape (3, m), or (2, m), lie along directions of shape (n, 3), or (n, 2) [mm].

    Written out, as a library's product of matrices so narrow wakes threads for nothing, and its last
    digit depends on the machine.
    """
    along_mm = directions[:, 0, None] * points_mm[0]
    for axis in range(1, len(points_mm)):
        along_mm += directions[:, axis, None] * points_mm[axis]
    return np.asarray(along_mm, dtype=np.float64)


def _farthest(points_mm: _Floats, directions: _Floats) -> tuple[NDArray[np.int64], _Floats]:
    """Return the numbers of the points farthest against and along each direction, and the heights between [mm]."""
    ends = np.zeros((len(directions), 2), np.int64)
    low_mm, high_mm = np.full(len(directions), np.inf), np.full(len(directions), -np.inf)
    rows = np.arange(len(directions))
    for start in range(0, points_mm.shape[1], _BLOCK):
        along_mm = _along(directions, points_mm[:, start : start + _BLOCK])
        low, high = along_mm.argmin(axis=1), along_mm.argmax(axis=1)
        lower, higher = along_mm[rows, low] < low_mm, along_mm[rows, high] > high_mm
        ends[lower, 0], ends[higher, 1] = start + low[lower], start + high[higher]
        low_mm, high_mm = np.minimum(low_mm, along_mm[rows, low]), np.maximum(high_mm, along_mm[rows, high])
    return ends, high_mm - low_mm


def _lowest(points_mm: _Floats) -> _Lowest:
    corners = np.unique(_farthest(points_mm, _spread())[0])
    tried, true_mm, bound_mm = _AXES, _farthest(points_mm, _AXES)[1], 0.0
    for _ in range(_MOST_ROUNDS):
        hull = _hull(points_mm[:, corners].T)
        corners = corners[hull.vertices]
        ways, heights_mm = _low_ways(hull)
        bound_mm = max(bound_mm, float(heights_mm[0]))
        ends, farther_mm = _farthest(points_mm, ways)
        tried, true_mm = np.vstack([tried, ways]), np.append(true_mm, farther_mm)
        if true_mm.min() <= bound_mm + _NEAR_MM:
            break
        corners = np.unique(np.append(corners, ends))
    return _Lowest(_least(tried, true_mm), min(bound_mm, float(true_mm.min())), corners)


def _hull(points_mm: _Floats) -> Any:
    """Return the convex hull; of points all but in a plane, after moving each by less than rounding."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        return ConvexHull(points_mm)
    except QhullError:
        return ConvexHull(points_mm, qhull_options="QJ")


def _low_ways(hull: Any) -> tuple[_Floats, _Floats]:
    """Return the lowest ways that a hull can stand in, the lowest first, and its heights there [mm]."""
    ways = _once(np.vstack([hull.equations[:, :3], _edge_on_edge(hull)]))
    along_mm = _along(ways, hull.points[hull.vertices].T)
    heights_mm = along_mm.max(axis=1) - along_mm.min(axis=1)
    first = np.argsort(heights_mm, kind="stable")[:_AT_ONCE]
    return ways[first], heights_mm[first]


def _bends(hull: Any) -> tuple[_Floats, _Floats, _Floats]:
    """Return for each edge that bends: the normals of its two facets, and its direction times the bend's sine."""
    face, corner = np.nonzero(hull.neighbors > np.arange(len(hull.neighbors))[:, None])
    first, second = hull.equations[face, :3], hull.equations[hull.neighbors[face, corner], :3]
    edges = np.cross(second, first)
    bent = np.linalg.norm(edges, axis=1) > _FLAT_BEND
    return first[bent], second[bent], edges[bent]


def _edge_on_edge(hull: Any) -> _Floats:
    """Return the directions square to two edges that a pair of parallel planes can hold the hull by.

    Those are the edges whose arcs of normals, one of the two turned to its opposite, cross on the sphere: the ends of
    each lie on either side of the other's great circle, and all on the same half of the sphere.
    """
    first, second, edges = _bends(hull)
    to_first, to_second = _along(edges, first.T), _along(edges, second.T)
    parted = to_first * to_second < 0
    one, other = np.nonzero(parted & parted.T & (to_first * to_second.T < 0))
    ways = np.cross(edges[one], edges[other])
    length = np.linalg.norm(ways, axis=1, keepdims=True)
    kept = length[:, 0] > 0
    return np.asarray(ways[kept] / length[kept], dtype=np.float64)


def _once(ways: _Floats) -> _Floats:
    """Return each way once, up or down."""
    lead = np.where(np.abs(ways[:, 2]) > _FLAT_BEND, ways[:, 2], np.where(ways[:, 1] != 0, ways[:, 1], ways[:, 0]))
    downward = np.where(lead[:, None] > 0, -ways, ways)
    _, first = np.unique(np.round(downward, 9), axis=0, return_index=True)
    return np.asarray(downward[first], dtype=np.float64)


def _least(ways: _Floats, sizes_mm: _Floats) -> _Floats:
    """Return the way of the least size: an axis as drawn if one is as good, z before y before x, else the least turned.

    The first ways are to be the axes.
    """
    axes_mm = sizes_mm[: len(_AXES)]
    as_drawn = np.flatnonzero(axes_mm <= sizes_mm.min() + AS_DRAWN_MM)
    if len(as_drawn):
        return np.asarray(ways[as_drawn[0]], dtype=np.float64)
    good = ways[sizes_mm <= sizes_mm.min() + _ALIKE_MM]
    turned = np.round(np.abs(good), 6)
    order = np.lexsort((*np.round(good, 6).T, -turned[:, 0], -turned[:, 1], -turned[:, 2]))
    return np.asarray(good[order[0]], dtype=np.float64)


def _slimmest(points_mm: _Floats, found: _Lowest) -> _Floats:
    """Return the direction along which the smallest circle holds the piece's shadow, the lowest of those alike."""
    small_mm = points_mm[:, found.corners]
    hull = _hull(small_mm.T)
    edges = _bends(hull)[2]
    edges = edges / np.linalg.norm(edges, axis=1, keepdims=True)
    first = _promising(small_mm, _once(np.vstack([_AXES, found.direction, hull.equations[:, :3], edges, _spread()])))
    ways = np.vstack([_AXES, found.direction, first, _bettered(small_mm, first)])
    # the circles of all corners decide, as corners that the small hull lacks may stick out
    across_mm = np.array([smallest_circle(_along(_across(one), points_mm), found.corners) for one in ways])
    heights_mm = _farthest(points_mm, ways)[1]
    return _least(ways, np.where(across_mm <= across_mm.min() + AS_DRAWN_MM, heights_mm, np.inf))


def _promising(small_mm: _Floats, ways: _Floats) -> _Floats:
    """Return the way of the smallest circle, the lowest of those alike.

    No circle is smaller than the shadow of a chord of the body, so most ways need no circle.
    """
    ends, _ = _farthest(small_mm, _spread())
    chords_mm = small_mm[:, ends[:, 1]] - small_mm[:, ends[:, 0]]
    least_mm = np.sqrt(np.maximum((chords_mm**2).sum(axis=0) - _along(ways, chords_mm) ** 2, 0.0)).max(axis=1)
    across_mm = np.full(len(ways), np.inf)
    for one in np.argsort(least_mm, kind="stable")[:_MOST_CIRCLES]:
        if least_mm[one] > across_mm.min() + AS_DRAWN_MM:
            break
        across_mm[one] = _circle_mm(small_mm, ways[one])
    good = ways[across_mm <= across_mm.min() + AS_DRAWN_MM]
    return np.asarray(good[int(np.argmin(np.round(_farthest(small_mm, good)[1], 6)))], dtype=np.float64)


def _bettered(small_mm: _Floats, way: _Floats) -> _Floats:
    """Lean a way to four sides by ever smaller steps, as long as that makes its circle smaller."""
    best_mm = _circle_mm(small_mm, way)
    for step_deg in _STEPS_DEG:
        lean = np.tan(np.radians(step_deg))
        for side in (1.0, -1.0, 1.0, -1.0):
            for axis in _across(way):
                leant = way + side * lean * axis
                leant /= np.linalg.norm(leant)
                across_mm = _circle_mm(small_mm, leant)
                if across_mm < best_mm - _NEAR_MM / 10:
                    way, best_mm = leant, across_mm
    return way


def _across(way: _Floats) -> _Floats:
    """Return two directions square to one and to each other, shape (2, 3)."""
    side = np.cross(way, np.eye(3)[int(np.argmin(np.abs(way)))])
    side /= np.linalg.norm(side)
    return np.array([side, np.cross(way, side)])


def _circle_mm(points_mm: _Floats, way: _Floats) -> float:
    return smallest_circle(_along(_across(way), points_mm))


def _upright(way: _Floats, points_mm: _Floats, heavy_mm: _Floats) -> _Floats:
    """Return a way or its opposite: the one with the centre lower, or as drawn if both are alike."""
    along_mm = _along(way[None], points_mm)[0]
    lean_mm = float(2 * (way @ heavy_mm) - along_mm.max() - along_mm.min())
    return np.asarray(-way if lean_mm < -_NEAR_MM else way, dtype=np.float64)


def _pose(points_mm: _Floats, down: _Floats, heavy_mm: _Floats, corners: NDArray[np.int64], drawn: bool) -> Pose:
    along_mm = _along(down[None], points_mm)[0]
    x, y, z = (float(one) + 0.0 for one in down)
    flat_mm = _along(np.eye(3)[:2] if drawn else _across(down), points_mm)
    sides_mm = np.ptp(flat_mm, axis=1) if drawn else _rectangle_mm(flat_mm, corners)
    return Pose(
        down_ratio=(x, y, z),
        height_mm=float(along_mm.max() - along_mm.min()),
        footprint_mm=(float(sides_mm[0]), float(sides_mm[1])),
        across_mm=smallest_circle(flat_mm, corners),
        centre_height_mm=float(along_mm.max() - down @ heavy_mm),
    )


def _rectangle_mm(flat_mm: _Floats, likely: NDArray[np.int64]) -> _Floats:
    """Return the sides of the smallest rectangle round a shadow, the longer first; one lies along its hull."""
    small_mm = flat_mm[:, likely]
    corners = small_mm[:, _hull(small_mm.T).vertices]
    edges = np.roll(corners, -1, axis=1) - corners
    edges /= np.hypot(*edges)
    widths = np.ptp(_along(edges.T, small_mm), axis=1)
    depths = np.ptp(_along(np.array([-edges[1], edges[0]]).T, small_mm), axis=1)
    x, y = edges[:, int(np.argmin(np.round(widths * depths, 9)))]
    sides: _Floats = np.sort(np.ptp(_along(np.array([[x, y], [-y, x]]), flat_mm), axis=1))[::-1]
    return sides
