"""Compiled loops that measure walls by the largest balls inside."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from pourwright.shape.pattern.kernels.joining._kernels import root_of
from pourwright.shape.pattern.leaves import Leaves


@njit(cache=True)
def _gap2(low, high, place, point):  # type: ignore[no-untyped-def]
    """Square of how far a point lies outside a box."""
    gap = 0.0
    for axis in range(3):
        outside = max(low[place, axis] - point[axis], point[axis] - high[place, axis], 0.0)
        gap += outside * outside
    return gap


@njit(cache=True)
def _distance2(one, other):  # type: ignore[no-untyped-def]
    return (one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2 + (one[2] - other[2]) ** 2


@njit(cache=True)
def shrink_balls(
    points: NDArray[np.float64], inward: NDArray[np.float64], levels: tuple[Leaves, ...], coarse: NDArray[np.float64],
    slack: float, radii: NDArray[np.float64],
) -> None:  # fmt: skip
    """Shrink the ball that touches each point from inside until no obstacle lies deeper in it than slack.

    ``levels`` holds the obstacles, all of them first, then fewer and fewer: a level will do for balls from radius
    ``coarse`` up.
    """
    centre = np.empty(3)
    for row in range(len(points)):
        while True:
            for axis in range(3):
                centre[axis] = points[row, axis] + inward[row, axis] * radii[row]
            level = 0
            while level + 1 < len(coarse) and radii[row] >= coarse[level + 1]:
                level += 1
            obstacles = levels[level]
            other = _nearest_within(centre, obstacles, radii[row] * (1.0 - slack))
            if other < 0:
                break
            chord, depth = 0.0, 0.0
            for axis in range(3):
                step = obstacles.points_mm[other, axis] - points[row, axis]
                chord += step * step
                depth += step * inward[row, axis]
            radii[row] = min(0.5 * chord / max(depth, 1e-300), radii[row] * (1.0 - 0.5 * slack))


@njit(cache=True)
def _nearest_within(centre, leaves, bound):  # type: ignore[no-untyped-def]
    best, found = bound * bound, -1
    for branch in range(len(leaves.branch_low_mm)):
        if _gap2(leaves.branch_low_mm, leaves.branch_high_mm, branch, centre) >= best:
            continue
        for leaf in range(leaves.branches[branch], leaves.branches[branch + 1]):
            if _gap2(leaves.low_mm, leaves.high_mm, leaf, centre) >= best:
                continue
            for point in range(leaves.starts[leaf], leaves.starts[leaf + 1]):
                distance = _distance2(leaves.points_mm[point], centre)
                if distance < best:
                    best, found = distance, point
    return found


@njit(cache=True)
def largest_cover(
    points: NDArray[np.float64], radii: NDArray[np.float64], ratio: float, extra: float, balls: Leaves,
    widest: NDArray[np.float64], owner: NDArray[np.int64],
) -> None:  # fmt: skip
    """Give each point the largest ball that reaches it; ball i touches point i, so there is always one.

    A ball reaches ``ratio`` times its radius and ``extra`` more. ``balls`` groups the middles, ``widest`` is the
    largest radius in each leaf.
    """
    branch_widest = np.zeros(len(balls.branch_low_mm))
    for branch in range(len(branch_widest)):
        branch_widest[branch] = widest[balls.branches[branch] : balls.branches[branch + 1]].max()
    for row in range(len(points)):
        best = row
        for branch in range(len(branch_widest)):
            if branch_widest[branch] <= radii[best]:
                continue
            reach = ratio * branch_widest[branch] + extra
            if _gap2(balls.branch_low_mm, balls.branch_high_mm, branch, points[row]) > reach * reach:
                continue
            for leaf in range(balls.branches[branch], balls.branches[branch + 1]):
                best = _larger_cover(points[row], best, leaf, radii, ratio, extra, balls, widest)
        owner[row] = best


@njit(cache=True)
def _larger_cover(point, best, leaf, radii, ratio, extra, balls, widest):  # type: ignore[no-untyped-def]
    reach = ratio * widest[leaf] + extra
    if widest[leaf] <= radii[best] or _gap2(balls.low_mm, balls.high_mm, leaf, point) > reach * reach:
        return best
    for place in range(balls.starts[leaf], balls.starts[leaf + 1]):
        ball = balls.rank[place]
        reach = ratio * radii[ball] + extra
        if radii[ball] > radii[best] and _distance2(balls.points_mm[place], point) <= reach * reach:
            best = ball
    return best


@njit(cache=True)
def mark_even(
    normals: NDArray[np.float64], width: NDArray[np.float64], radius: NDArray[np.float64], leaves: Leaves,
    growth: float, facing: float, even: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Mark points round which, within their radius and on their skin, the width grows to at most ``growth`` times."""
    for place in range(len(leaves.rank)):
        row = leaves.rank[place]
        even[row] = _is_even(row, leaves.points_mm[place], normals, width, radius[row], leaves, growth, facing)


@njit(cache=True)
def _is_even(row, point, normals, width, radius, leaves, growth, facing):  # type: ignore[no-untyped-def]
    for branch in range(len(leaves.branch_low_mm)):
        if _gap2(leaves.branch_low_mm, leaves.branch_high_mm, branch, point) > radius * radius:
            continue
        for leaf in range(leaves.branches[branch], leaves.branches[branch + 1]):
            if _gap2(leaves.low_mm, leaves.high_mm, leaf, point) > radius * radius:
                continue
            for place in range(leaves.starts[leaf], leaves.starts[leaf + 1]):
                other = leaves.rank[place]
                if width[other] <= growth * width[row] or _distance2(leaves.points_mm[place], point) > radius * radius:
                    continue
                turn = 0.0
                for axis in range(3):
                    turn += normals[other, axis] * normals[row, axis]
                if turn > facing:
                    return False
    return True


@njit(cache=True)
def first_patch(
    order: NDArray[np.int64], width: NDArray[np.float64], starts: NDArray[np.int64], neighbours: NDArray[np.int64],
    share: float, fewest: int, label: NDArray[np.int64],
) -> int:  # fmt: skip
    """Add points from thin to thick until a connected patch is larger than its wall squared; return its number.

    ``order`` may leave out points that are to be no part of a patch. ``label`` starts at the point's own number and
    ends as the patch each added point belongs to, -1 for the others.
    """
    size = np.zeros(len(label), np.int64)
    for place in range(len(order)):
        point = order[place]
        size[point] = 1
        root = point
        for near in range(starts[point], starts[point + 1]):
            other = neighbours[near]
            if size[other] == 0:
                continue
            a, b = root_of(label, root), root_of(label, other)
            if a != b:
                label[max(a, b)] = min(a, b)
                size[min(a, b)] += size[max(a, b)]
            root = min(a, b)
        root = root_of(label, root)
        if size[root] >= fewest and size[root] * share > width[point] * width[point]:
            for one in range(len(label)):
                label[one] = root_of(label, one) if size[one] > 0 else -1
            return root
    return -1
