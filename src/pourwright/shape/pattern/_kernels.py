"""Compiled loops over triangle meshes; the readable side is in the modules that call them."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from pourwright.shape.pattern.leaves import Leaves

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


@njit(cache=True)
def _doubled_normal(vertices, face):  # type: ignore[no-untyped-def]
    a, b, c = vertices[face[0]], vertices[face[1]], vertices[face[2]]
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    return uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx


@njit(cache=True)
def face_areas(vertices: NDArray[np.float64], faces: NDArray[np.int64], areas: NDArray[np.float64]) -> None:
    """Reckon the area of each triangle."""
    for row in range(len(faces)):
        x, y, z = _doubled_normal(vertices, faces[row])
        areas[row] = 0.5 * np.sqrt(x * x + y * y + z * z)


@njit(cache=True)
def sum_faces(
    vertices: NDArray[np.float64], faces: NDArray[np.int64], about: NDArray[np.float64], sums: NDArray[np.float64]
) -> None:
    """Sum volumes of the tetrahedra on a point, those times their middles from there (three sums), and areas.

    A block at a time, so that rounding stays small.
    """
    sums[:] = 0.0
    block = np.zeros(5)
    for row in range(len(faces)):
        x, y, z = _doubled_normal(vertices, faces[row])
        a, b, c = vertices[faces[row, 0]], vertices[faces[row, 1]], vertices[faces[row, 2]]
        volume = ((a[0] - about[0]) * x + (a[1] - about[1]) * y + (a[2] - about[2]) * z) / 6.0
        block[0] += volume
        for axis in range(3):
            block[1 + axis] += volume * (a[axis] + b[axis] + c[axis] - 3.0 * about[axis]) / 4.0
        block[4] += 0.5 * np.sqrt(x * x + y * y + z * z)
        if row % 1024 == 1023 or row == len(faces) - 1:
            sums += block
            block[:] = 0.0


@njit(cache=True)
def hidden_arcs(
    vertices: NDArray[np.float64], faces: NDArray[np.int64], one: NDArray[np.int64], other: NDArray[np.int64],
    low: NDArray[np.int64], high: NDArray[np.int64], forward: NDArray[np.bool_], bend_rad: float, sagitta: float,
) -> tuple[float, float]:  # fmt: skip
    """Sum the volume that edges hide if they round a surface, where it bends outward and where inward.

    Edge i runs from ``low`` to ``high`` between the triangles ``one`` and ``other``; ``forward`` says whether it does
    in ``one``. Edges that bend by ``bend_rad`` or more, or whose arc stands off by ``sagitta`` or more, are meant.
    """
    outward, inward = 0.0, 0.0
    for row in range(len(one)):
        nx, ny, nz = _doubled_normal(vertices, faces[one[row]])
        mx, my, mz = _doubled_normal(vertices, faces[other[row]])
        n, m = np.sqrt(nx * nx + ny * ny + nz * nz), np.sqrt(mx * mx + my * my + mz * mz)
        start, end = vertices[low[row]], vertices[high[row]]
        ex, ey, ez = end[0] - start[0], end[1] - start[1], end[2] - start[2]
        length = np.sqrt(ex * ex + ey * ey + ez * ez)
        if n == 0.0 or m == 0.0 or length == 0.0:
            continue
        tx, ty, tz = ny * mz - nz * my, nz * mx - nx * mz, nx * my - ny * mx
        bend = np.arctan2(np.sqrt(tx * tx + ty * ty + tz * tz), nx * mx + ny * my + nz * mz)
        reach = min(n, m) / length
        if bend >= bend_rad or bend * reach / 8.0 >= sagitta:
            continue
        hidden = length * bend * reach * reach / 12.0
        if (tx * ex + ty * ey + tz * ez > 0.0) == forward[row]:
            outward += hidden
        else:
            inward += hidden
    return outward, inward


@njit(cache=True)
def sort_sides(
    faces: NDArray[np.int64], count: int, low: NDArray[np.int64], high: NDArray[np.int64],
    forward: NDArray[np.bool_], face: NDArray[np.int64],
) -> None:  # fmt: skip
    """List the sides of all triangles by their lower vertex and then by their higher one, counting twice.

    ``count`` is the number of vertices; the four lists have three entries a triangle.
    """
    sides = 3 * len(faces)
    place = np.zeros(count + 1, np.int64)
    by_high = np.empty(sides, np.int64)
    for side in range(sides):
        one, other = _ends_of(faces, side)
        place[max(one, other) + 1] += 1
    place = np.cumsum(place)
    for side in range(sides):
        one, other = _ends_of(faces, side)
        by_high[place[max(one, other)]] = side
        place[max(one, other)] += 1
    place = np.zeros(count + 1, np.int64)
    for side in range(sides):
        one, other = _ends_of(faces, side)
        place[min(one, other) + 1] += 1
    place = np.cumsum(place)
    for rank in range(sides):
        side = by_high[rank]
        one, other = _ends_of(faces, side)
        spot = place[min(one, other)]
        place[min(one, other)] += 1
        low[spot], high[spot], forward[spot], face[spot] = min(one, other), max(one, other), one < other, side // 3


@njit(cache=True)
def _ends_of(faces, side):  # type: ignore[no-untyped-def]
    row, corner = side // 3, side % 3
    return faces[row, corner], faces[row, (corner + 1) % 3]


@njit(cache=True)
def heights_over(
    vertices: NDArray[np.float64], place: NDArray[np.float64], normal: NDArray[np.float64], heights: NDArray[np.float64]
) -> None:
    """Reckon how far each vertex lies over a plane through a place."""
    for row in range(len(vertices)):
        heights[row] = 0.0
        for axis in range(3):
            heights[row] += (vertices[row, axis] - place[axis]) * normal[axis]


@njit(cache=True)
def cut_faces(faces: NDArray[np.int64], heights: NDArray[np.float64], found: NDArray[np.int64]) -> int:
    """List the triangles with vertices on both sides of a plane; returns how many there are."""
    count = 0
    for row in range(len(faces)):
        one = heights[faces[row, 0]] > 0.0
        if one != (heights[faces[row, 1]] > 0.0) or one != (heights[faces[row, 2]] > 0.0):
            found[count] = row
            count += 1
    return count


@njit(cache=True)
def box_of(points: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]) -> None:
    """Find the box round points."""
    low[:], high[:] = points[0], points[0]
    for row in range(len(points)):
        for axis in range(3):
            low[axis], high[axis] = min(low[axis], points[row, axis]), max(high[axis], points[row, axis])
