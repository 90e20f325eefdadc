"""Compiled loops over triangle meshes; the readable side is in the modules that call them."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

_MIX_1, _MIX_2, _MIX_3 = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F), np.uint64(0x165667B19E3779F9)
_FOLD = np.uint64(29)


@njit(cache=True)
def _slot(a, b, c, mask):  # type: ignore[no-untyped-def]
    mixed = np.uint64(a) * _MIX_1 ^ np.uint64(b) * _MIX_2 ^ np.uint64(c) * _MIX_3
    mixed ^= mixed >> _FOLD
    mixed *= _MIX_1
    return np.int64((mixed >> _FOLD) & np.uint64(mask))


@njit(cache=True)
def weld_exact(keys: NDArray[np.int64], table: NDArray[np.int64], label: NDArray[np.int64]) -> int:
    """Number equal rows of keys (n, 3) alike, in order of first appearance; table starts at -1, a power of two long."""
    mask = len(table) - 1
    first = np.empty(len(keys), np.int64)
    count = 0
    for row in range(len(keys)):
        a, b, c = keys[row, 0], keys[row, 1], keys[row, 2]
        place = _slot(a, b, c, mask)
        while table[place] >= 0:
            other = first[table[place]]
            if keys[other, 0] == a and keys[other, 1] == b and keys[other, 2] == c:
                break
            place = (place + 1) & mask
        if table[place] < 0:
            table[place] = count
            first[count] = row
            count += 1
        label[row] = table[place]
    return count


@njit(cache=True)
def weld_near(
    points: NDArray[np.float64],
    cells: NDArray[np.int64],
    reach: float,
    heads: NDArray[np.int64],
    label: NDArray[np.int64],
) -> None:
    """Give each point the number of the first earlier kept point within reach, or keep it.

    ``cells`` (n, 3) are the points' cells of side ``reach``; ``heads`` starts at -1. Work is bounded: kept points
    lie more than ``reach`` apart, so a cell holds only a few.
    """
    mask = len(heads) - 1
    following = np.full(len(points), -1, np.int64)
    for row in range(len(points)):
        label[row] = _kept_near(points, cells, reach, heads, following, row, mask)
        if label[row] == row:
            place = _slot(cells[row, 0], cells[row, 1], cells[row, 2], mask)
            following[row] = heads[place]
            heads[place] = row


@njit(cache=True)
def _kept_near(points, cells, reach, heads, following, row, mask):  # type: ignore[no-untyped-def]
    for step in range(27):
        x = cells[row, 0] + step // 9 - 1
        y = cells[row, 1] + step // 3 % 3 - 1
        z = cells[row, 2] + step % 3 - 1
        other = heads[_slot(x, y, z, mask)]
        while other >= 0:
            gap = 0.0
            for axis in range(3):
                gap += (points[row, axis] - points[other, axis]) ** 2
            if gap <= reach * reach:
                return other
            other = following[other]
    return row


@njit(cache=True)
def _root(parent: NDArray[np.int64], one: int) -> int:
    while parent[one] != one:
        parent[one] = parent[parent[one]]
        one = parent[one]
    return one


@njit(cache=True)
def join(parent: NDArray[np.int64], first: NDArray[np.int64], second: NDArray[np.int64]) -> None:
    """Unite the sets that first[i] and second[i] belong to, then point every member at its set's smallest member."""
    for pair in range(len(first)):
        a, b = _root(parent, first[pair]), _root(parent, second[pair])
        if a != b:
            parent[max(a, b)] = min(a, b)
    for one in range(len(parent)):
        parent[one] = _root(parent, one)


@njit(cache=True)
def spread_flips(
    starts: NDArray[np.int64], neighbours: NDArray[np.int64], differs: NDArray[np.bool_], flip: NDArray[np.int8]
) -> None:
    """Walk from face to face over shared edges and mark which to flip; flip starts at -1 (not visited)."""
    stack = np.empty(len(flip), np.int64)
    for seed in range(len(flip)):
        if flip[seed] >= 0:
            continue
        flip[seed] = 0
        stack[0] = seed
        depth = 1
        while depth > 0:
            depth -= 1
            face = stack[depth]
            for place in range(starts[face], starts[face + 1]):
                other = neighbours[place]
                if flip[other] < 0:
                    flip[other] = flip[face] ^ np.int8(differs[place])
                    stack[depth] = other
                    depth += 1


@njit(cache=True)
def winding(points: NDArray[np.float64], corners: NDArray[np.float64], turns: NDArray[np.float64]) -> None:
    """How often the surface of corners (m, 3, 3) winds round each point: 1 inside, 0 outside (solid angles summed)."""
    for row in range(len(points)):
        total = 0.0
        for face in range(len(corners)):
            total += _solid_angle(points[row], corners[face])
        turns[row] = total / (4.0 * np.pi)


@njit(cache=True)
def _solid_angle(point, corner):  # type: ignore[no-untyped-def]
    ax, ay, az = corner[0, 0] - point[0], corner[0, 1] - point[1], corner[0, 2] - point[2]
    bx, by, bz = corner[1, 0] - point[0], corner[1, 1] - point[1], corner[1, 2] - point[2]
    cx, cy, cz = corner[2, 0] - point[0], corner[2, 1] - point[1], corner[2, 2] - point[2]
    a = np.sqrt(ax * ax + ay * ay + az * az)
    b = np.sqrt(bx * bx + by * by + bz * bz)
    c = np.sqrt(cx * cx + cy * cy + cz * cz)
    triple = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    ab, bc, ca = ax * bx + ay * by + az * bz, bx * cx + by * cy + bz * cz, cx * ax + cy * ay + cz * az
    return 2.0 * np.arctan2(triple, a * b * c + ab * c + bc * a + ca * b)


@njit(cache=True)
def shrink_balls(
    points: NDArray[np.float64], normals: NDArray[np.float64], grouped: NDArray[np.float64],
    leaves: NDArray[np.int64], low: NDArray[np.float64], high: NDArray[np.float64], slack: float,
    radii: NDArray[np.float64],
) -> None:  # fmt: skip
    """Shrink the ball that touches each point from inside until no point of ``grouped`` lies deeper in it than slack.

    ``grouped`` holds the points leaf by leaf, ``low`` and ``high`` the boxes of the leaves.
    """
    centre = np.empty(3)
    for row in range(len(points)):
        while True:
            for axis in range(3):
                centre[axis] = points[row, axis] - normals[row, axis] * radii[row]
            other = _nearest_within(centre, grouped, leaves, low, high, radii[row] * (1.0 - slack))
            if other < 0:
                break
            chord, depth = 0.0, 0.0
            for axis in range(3):
                step = grouped[other, axis] - points[row, axis]
                chord += step * step
                depth -= step * normals[row, axis]
            radii[row] = min(0.5 * chord / max(depth, 1e-300), radii[row] * (1.0 - 0.5 * slack))


@njit(cache=True)
def _nearest_within(centre, grouped, leaves, low, high, bound):  # type: ignore[no-untyped-def]
    best, found = bound * bound, -1
    for leaf in range(len(low)):
        gap = 0.0
        for axis in range(3):
            outside = max(low[leaf, axis] - centre[axis], centre[axis] - high[leaf, axis], 0.0)
            gap += outside * outside
        if gap >= best:
            continue
        for point in range(leaves[leaf], leaves[leaf + 1]):
            dx, dy, dz = grouped[point, 0] - centre[0], grouped[point, 1] - centre[1], grouped[point, 2] - centre[2]
            distance = dx * dx + dy * dy + dz * dz
            if distance < best:
                best, found = distance, point
    return found


@njit(cache=True)
def covering_width(
    points: NDArray[np.float64], centres: NDArray[np.float64], radii: NDArray[np.float64], reach: NDArray[np.float64],
    cap: NDArray[np.float64], width: NDArray[np.float64],
) -> None:  # fmt: skip
    """Give each point the diameter of the largest ball that reaches it, at most the point's cap.

    ``radii`` fall; the search ends at the first ball that covers the point.
    """
    for row in range(len(points)):
        width[row] = 0.0
        for ball in range(len(radii)):
            dx = points[row, 0] - centres[ball, 0]
            dy = points[row, 1] - centres[ball, 1]
            dz = points[row, 2] - centres[ball, 2]
            if dx * dx + dy * dy + dz * dz <= reach[ball] * reach[ball]:
                width[row] = min(cap[row], 2.0 * radii[ball])
                break


@njit(cache=True)
def mark_even(
    points: NDArray[np.float64], normals: NDArray[np.float64], width: NDArray[np.float64], radius: NDArray[np.float64],
    rank: NDArray[np.int64], leaves: NDArray[np.int64], low: NDArray[np.float64], high: NDArray[np.float64],
    growth: float, facing: float, even: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Mark points round which, within their radius and on their skin, the width grows to at most ``growth`` times.

    ``rank`` lists the points leaf by leaf, ``low`` and ``high`` are the boxes of the leaves.
    """
    for row in range(len(points)):
        even[row] = _is_even(row, points, normals, width, radius[row], rank, leaves, low, high, growth, facing)


@njit(cache=True)
def _is_even(row, points, normals, width, radius, rank, leaves, low, high, growth, facing):  # type: ignore[no-untyped-def]
    for leaf in range(len(low)):
        gap = 0.0
        for axis in range(3):
            outside = max(low[leaf, axis] - points[row, axis], points[row, axis] - high[leaf, axis], 0.0)
            gap += outside * outside
        if gap > radius * radius:
            continue
        for place in range(leaves[leaf], leaves[leaf + 1]):
            other = rank[place]
            if width[other] <= growth * width[row]:
                continue
            distance, turn = 0.0, 0.0
            for axis in range(3):
                distance += (points[other, axis] - points[row, axis]) ** 2
                turn += normals[other, axis] * normals[row, axis]
            if distance <= radius * radius and turn > facing:
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
            a, b = _root(label, root), _root(label, other)
            if a != b:
                label[max(a, b)] = min(a, b)
                size[min(a, b)] += size[max(a, b)]
            root = min(a, b)
        root = _root(label, root)
        if size[root] >= fewest and size[root] * share > width[point] * width[point]:
            for one in range(len(label)):
                label[one] = _root(label, one) if size[one] > 0 else -1
            return root
    return -1


@njit(cache=True)
def flood_sections(
    order: NDArray[np.int64], level: NDArray[np.int64], width: NDArray[np.float64], starts: NDArray[np.int64],
    neighbours: NDArray[np.int64], neck: float, shoulder: float, blur: float, label: NDArray[np.int64],
) -> None:  # fmt: skip
    """Flood the surface from its thickest points down and label sections (by the number of their first point).

    ``order`` sorts the points by falling ``level``; within a level the flood spreads evenly from where it stands. A
    point joins a section it touches if it is over ``shoulder`` times as thick as the section's first point; two
    sections that meet there become one if the meeting point is also over ``neck`` times the smaller's first, or
    thinner than that by no more than ``blur``, which the points cannot resolve. ``label`` starts at -1.
    """
    parent = np.arange(len(label))
    queue = np.empty(len(order), np.int64)
    waiting = np.zeros(len(order), np.bool_)
    first = 0
    while first < len(order):
        last = first
        while last < len(order) and level[order[last]] == level[order[first]]:
            last += 1
        head, tail = 0, 0
        for place in range(first, last):
            point = order[place]
            for near in range(starts[point], starts[point + 1]):
                if label[neighbours[near]] >= 0:
                    queue[tail] = point
                    waiting[point] = True
                    tail += 1
                    break
        place = first
        while head < tail or place < last:
            if head == tail:  # nothing left to spread: a new place of this level
                if waiting[order[place]]:
                    place += 1
                    continue
                queue[tail] = order[place]
                waiting[order[place]] = True
                tail += 1
            point = queue[head]
            head += 1
            _label_point(point, width, starts, neighbours, neck, shoulder, blur, parent, label)
            for near in range(starts[point], starts[point + 1]):
                other = neighbours[near]
                if not waiting[other] and level[other] == level[point]:
                    waiting[other] = True
                    queue[tail] = other
                    tail += 1
        first = last
    for one in range(len(label)):
        label[one] = _root(parent, label[one])


@njit(cache=True)
def _label_point(point, width, starts, neighbours, neck, shoulder, blur, parent, label):  # type: ignore[no-untyped-def]
    joined = -1
    for near in range(starts[point], starts[point + 1]):
        if label[neighbours[near]] < 0:
            continue
        other = _root(parent, label[neighbours[near]])
        if width[point] < shoulder * width[other]:
            continue
        if joined < 0:
            joined = other
        elif other != joined:
            smaller, larger = (other, joined) if width[other] < width[joined] else (joined, other)
            if width[point] > min(neck * width[smaller], width[smaller] - blur):
                parent[smaller] = larger
                joined = larger
    label[point] = point if joined < 0 else joined


@njit(cache=True)
def deepest_ball(
    points: NDArray[np.float64], centres: NDArray[np.float64], radii: NDArray[np.float64], leaves: NDArray[np.int64],
    low: NDArray[np.float64], high: NDArray[np.float64], largest: NDArray[np.float64], found: NDArray[np.int64],
) -> None:  # fmt: skip
    """Give each point the ball with the smallest power distance (distance squared less radius squared).

    The balls stand leaf by leaf; ``low`` and ``high`` are the boxes of their centres, ``largest`` their radii.
    """
    last = 0
    for row in range(len(points)):
        # the neighbour's ball is a good first guess: most leaves are then too far to beat it
        best = -radii[last] * radii[last]
        for axis in range(3):
            best += (points[row, axis] - centres[last, axis]) ** 2
        found[row] = last
        for leaf in range(len(low)):
            gap = -largest[leaf] * largest[leaf]
            for axis in range(3):
                outside = max(low[leaf, axis] - points[row, axis], points[row, axis] - high[leaf, axis], 0.0)
                gap += outside * outside
            if gap >= best:
                continue
            for ball in range(leaves[leaf], leaves[leaf + 1]):
                power = -radii[ball] * radii[ball]
                for axis in range(3):
                    power += (points[row, axis] - centres[ball, axis]) ** 2
                if power < best:
                    best, found[row] = power, ball
        last = found[row]
