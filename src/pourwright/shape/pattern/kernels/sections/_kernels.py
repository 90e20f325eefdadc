"""Compiled loops that part a body into its sections."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from pourwright.shape.pattern.kernels.joining._kernels import root_of


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
        label[one] = root_of(parent, label[one])


@njit(cache=True)
def _label_point(point, width, starts, neighbours, neck, shoulder, blur, parent, label):  # type: ignore[no-untyped-def]
    joined = -1
    for near in range(starts[point], starts[point + 1]):
        if label[neighbours[near]] < 0:
            continue
        other = root_of(parent, label[neighbours[near]])
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


@njit(cache=True)
def vote_cuts(
    filled: NDArray[np.float64], skin: NDArray[np.int32], owner: NDArray[np.int32], directions: NDArray[np.float64],
    most: int, voxels: NDArray[np.int64], labels: NDArray[np.int32],
) -> int:  # fmt: skip
    """Let eighths of the voxels where sections meet vote for the section whose surface they see most of.

    ``filled`` (nx, ny, nz) is the grid, ``skin`` the section of the surface in or next to a voxel or -1, ``owner`` a
    first guess for each voxel that holds material, -1 elsewhere. Where a vote overturns the guess the neighbours vote
    too, until ``most`` have. ``voxels`` (room for 8 ``most``) gets the flat numbers of those that voted, eight times
    each, ``labels`` what each eighth voted for, ``owner`` what most of them did; returns how many entries there are.
    """
    nx, ny, nz = filled.shape
    stack = np.empty(nx * ny * nz + 6 * most, np.int64)
    depth = 0
    flat_owner = owner.ravel()
    for voxel in range(nx * ny * nz):
        if flat_owner[voxel] >= 0 and _at_border(owner, voxel):
            stack[depth] = voxel
            depth += 1
    voted = np.zeros(nx * ny * nz, np.bool_)
    counts = np.zeros(owner.max() + 1, np.int64)
    used = 0
    while depth > 0 and used < 8 * most:
        depth -= 1
        voxel = stack[depth]
        if voted[voxel]:
            continue
        voted[voxel] = True
        against = 0
        for part in range(8):
            labels[used] = _vote(filled, skin, voxel, part, flat_owner[voxel], directions, counts)
            voxels[used] = voxel
            against += labels[used] != flat_owner[voxel]
            used += 1
        if against > 4:
            flat_owner[voxel] = _most_common(labels[used - 8 : used])
        if against > 0:
            depth = _push_neighbours(owner, voxel, voted, stack, depth)
    return used


@njit(cache=True)
def _most_common(labels):  # type: ignore[no-untyped-def]
    best, most = labels[0], 0
    for one in labels:
        times = (labels == one).sum()
        if times > most:
            best, most = one, times
    return best


@njit(cache=True)
def _beside(shape, voxel, side):  # type: ignore[no-untyped-def]
    """Return the flat number of the neighbour over one of six sides, or -1 outside."""
    nx, ny, nz = shape
    x, y, z = voxel // (ny * nz), voxel // nz % ny, voxel % nz
    step = 2 * (side % 2) - 1
    if side < 2:
        x += step
    elif side < 4:
        y += step
    else:
        z += step
    if x < 0 or y < 0 or z < 0 or x >= nx or y >= ny or z >= nz:
        return -1
    return (x * ny + y) * nz + z


@njit(cache=True)
def _at_border(owner, voxel):  # type: ignore[no-untyped-def]
    flat = owner.ravel()
    for side in range(6):
        other = _beside(owner.shape, voxel, side)
        if other >= 0 and flat[other] >= 0 and flat[other] != flat[voxel]:
            return True
    return False


@njit(cache=True)
def _push_neighbours(owner, voxel, voted, stack, depth):  # type: ignore[no-untyped-def]
    flat = owner.ravel()
    for side in range(6):
        other = _beside(owner.shape, voxel, side)
        if other >= 0 and flat[other] >= 0 and not voted[other] and depth < len(stack):
            stack[depth] = other
            depth += 1
    return depth


@njit(cache=True)
def _vote(filled, skin, voxel, part, guess, directions, counts):  # type: ignore[no-untyped-def]
    _, ny, nz = filled.shape
    x = voxel // (ny * nz) + 0.25 + 0.5 * (part // 4)
    y = voxel // nz % ny + 0.25 + 0.5 * (part // 2 % 2)
    z = voxel % nz + 0.25 + 0.5 * (part % 2)
    own = skin.ravel()[voxel]
    if filled.ravel()[voxel] < 0.5 and own >= 0:
        return own
    counts[:] = 0
    for ray in range(len(directions)):
        label = _seen(filled, skin, x, y, z, directions[ray])
        if label >= 0:
            counts[label] += 1
    best = guess
    for label in range(len(counts)):
        if counts[label] > counts[best]:
            best = label
    return best


@njit(cache=True)
def _seen(filled, skin, x, y, z, direction):  # type: ignore[no-untyped-def]
    """Return the section of the surface that a ray comes to, in half voxels; -1 if it has none."""
    nx, ny, nz = filled.shape
    last = -1
    for step in range(2 * (nx + ny + nz)):
        i = int(np.floor(x + 0.5 * step * direction[0]))
        j = int(np.floor(y + 0.5 * step * direction[1]))
        k = int(np.floor(z + 0.5 * step * direction[2]))
        if i < 0 or j < 0 or k < 0 or i >= nx or j >= ny or k >= nz:
            return last
        if skin[i, j, k] >= 0:
            last = skin[i, j, k]
        if filled[i, j, k] < 0.5:
            return last
    return last
