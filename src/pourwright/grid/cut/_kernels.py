"""Compiled loops that clip triangles to cells; the readable side is :mod:`pourwright.grid.cut_cells`."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

# A triangle clipped by the six planes of a cell has at most nine corners.
_CORNERS = 12
# Sums kept for a cell: wall area, area vector (3), first moments of the wall area about the cell's corner (3), then the
# volume under the surface within the cell and its first moments (4), then first moments of the area facing up (2).
SUMS = 13


@njit(cache=True)
def cell_of(edges: NDArray[np.float64], place: float) -> int:
    """Return the number of the cell that holds a place; the nearest cell for places outside."""
    low, high = 0, len(edges) - 2
    while low < high:
        middle = (low + high + 1) // 2
        if edges[middle] <= place:
            low = middle
        else:
            high = middle - 1
    return low


@njit(cache=True)
def _split(
    polygon: NDArray[np.float64],
    count: int,
    axis: int,
    level: float,
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> tuple[int, int]:
    """Split a convex polygon at a plane across an axis; both parts get the very same points on the plane."""
    below, above = 0, 0
    for corner in range(count):
        after = corner + 1 if corner + 1 < count else 0
        here, there = polygon[corner, axis] - level, polygon[after, axis] - level
        if here <= 0.0:
            low[below] = polygon[corner]
            below += 1
        if here >= 0.0:
            high[above] = polygon[corner]
            above += 1
        if (here < 0.0 < there) or (there < 0.0 < here):
            share = here / (here - there)
            for other in range(3):
                value = polygon[corner, other] + share * (polygon[after, other] - polygon[corner, other])
                low[below, other] = value
                high[above, other] = value
            low[below, axis] = level
            high[above, axis] = level
            below += 1
            above += 1
    return below, above


@njit(cache=True)
def _add_piece(
    polygon: NDArray[np.float64], count: int, x: float, y: float, z: float, ux: float, uy: float, uz: float,
    sums: NDArray[np.float64],
) -> None:  # fmt: skip
    """Add a clipped piece of a triangle with the unit normal u to the sums of its cell, whose low corner is (x, y, z).

    Integrals of second order over each triangle of the fan: exact by its three edge middles.
    """
    ax, ay, az = polygon[0, 0] - x, polygon[0, 1] - y, polygon[0, 2] - z
    for corner in range(1, count - 1):
        bx, by, bz = polygon[corner, 0] - x, polygon[corner, 1] - y, polygon[corner, 2] - z
        cx, cy, cz = polygon[corner + 1, 0] - x, polygon[corner + 1, 1] - y, polygon[corner + 1, 2] - z
        vx = (by - ay) * (cz - az) - (bz - az) * (cy - ay)
        vy = (bz - az) * (cx - ax) - (bx - ax) * (cz - az)
        vz = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        area = 0.5 * (vx * ux + vy * uy + vz * uz)
        up = area * uz
        sums[0] += area
        sums[1] += area * ux
        sums[2] += area * uy
        sums[3] += up
        mx, my, mz = (ax + bx + cx) / 3.0, (ay + by + cy) / 3.0, (az + bz + cz) / 3.0
        sums[4] += area * mx
        sums[5] += area * my
        sums[6] += area * mz
        sums[7] += up * mz
        hx, hy, hz = (ax + bx) / 2.0, (ay + by) / 2.0, (az + bz) / 2.0
        ix, iy, iz = (bx + cx) / 2.0, (by + cy) / 2.0, (bz + cz) / 2.0
        jx, jy, jz = (cx + ax) / 2.0, (cy + ay) / 2.0, (cz + az) / 2.0
        sums[8] += up / 3.0 * (hx * hz + ix * iz + jx * jz)
        sums[9] += up / 3.0 * (hy * hz + iy * iz + jy * jz)
        sums[10] += up / 6.0 * (hz * hz + iz * iz + jz * jz)
        sums[11] += up * mx
        sums[12] += up * my


@njit(cache=True)
def _span(polygon: NDArray[np.float64], count: int, axis: int, edges: NDArray[np.float64]) -> tuple[int, int]:
    """Return the first and last cell along an axis that a polygon touches."""
    low, high = polygon[0, axis], polygon[0, axis]
    for corner in range(1, count):
        low, high = min(low, polygon[corner, axis]), max(high, polygon[corner, axis])
    return cell_of(edges, low), cell_of(edges, high)


@njit(cache=True)
def _next_part(
    work: NDArray[np.float64], axis: int, left: int, count: int, upper: float, is_last: bool
) -> tuple[int, int, int]:  # fmt: skip
    """Cut the part below ``upper`` off the polygon in ``work[axis, left]`` and lay it down for the next axis.

    Returns the corners of the part, the buffer that holds what is left, and its corners.
    """
    if not is_last:
        part, rest = _split(work[axis, left], count, axis, upper, work[axis + 1, 0], work[axis, 1 - left])
        return part, 1 - left, rest
    for corner in range(count):
        work[axis + 1, 0, corner] = work[axis, left, corner]
    return count, left, 0


@njit(cache=True)
def _clip_column(
    work: NDArray[np.float64], count: int, i: int, j: int, low: tuple[float, float], unit: tuple[float, float, float],
    z: NDArray[np.float64], slots: NDArray[np.int32], sums: NDArray[np.float64], used: int,
) -> int:  # fmt: skip
    """Share a polygon out to the cells of column (i, j); returns the rows of ``sums`` used, -1 when too few."""
    first, last = _span(work[2, 0], count, 2, z)
    left = 0
    for k in range(first, last + 1):
        part, left, count = _next_part(work, 2, left, count, z[k + 1], k == last)
        if part < 3:
            continue
        if slots[i, j, k] < 0:
            if used == len(sums):
                return -1
            slots[i, j, k] = used
            used += 1
        _add_piece(work[3, 0], part, low[0], low[1], z[k], unit[0], unit[1], unit[2], sums[slots[i, j, k]])
    return used


@njit(cache=True)
def _unit_normal(corners: NDArray[np.float64]) -> tuple[float, float, float]:
    ax, ay, az = corners[1, 0] - corners[0, 0], corners[1, 1] - corners[0, 1], corners[1, 2] - corners[0, 2]
    bx, by, bz = corners[2, 0] - corners[0, 0], corners[2, 1] - corners[0, 1], corners[2, 2] - corners[0, 2]
    x, y, z = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    length = np.sqrt(x * x + y * y + z * z)
    if length == 0.0:
        return 0.0, 0.0, 0.0
    return x / length, y / length, z / length


@njit(cache=True)
def clip_triangles(
    corners: NDArray[np.float64], x: NDArray[np.float64], y: NDArray[np.float64], z: NDArray[np.float64],
    slots: NDArray[np.int32], sums: NDArray[np.float64],
) -> int:  # fmt: skip
    """Clip triangles (n, 3, 3) to the cells between edges and add each piece to the sums of its cell.

    ``slots`` (nx, ny, nz) starts at -1 and gets the row in ``sums`` of every cell touched. Returns the rows used, or
    -1 when ``sums`` has too few.
    """
    used = 0
    work = np.empty((4, 2, _CORNERS, 3))
    for face in range(len(corners)):
        unit = _unit_normal(corners[face])
        if unit[0] == 0.0 and unit[1] == 0.0 and unit[2] == 0.0:
            continue
        work[0, 0, :3] = corners[face]
        first_i, last_i = _span(work[0, 0], 3, 0, x)
        in_x, left_x = 3, 0
        for i in range(first_i, last_i + 1):
            in_y, left_x, in_x = _next_part(work, 0, left_x, in_x, x[i + 1], i == last_i)
            if in_y < 3:
                continue
            left_y = 0
            first_j, last_j = _span(work[1, 0], in_y, 1, y)
            for j in range(first_j, last_j + 1):
                part, left_y, in_y = _next_part(work, 1, left_y, in_y, y[j + 1], j == last_j)
                if part >= 3:
                    used = _clip_column(work, part, i, j, (x[i], y[j]), unit, z, slots, sums, used)
                if used < 0:
                    return -1
    return used


@njit(cache=True)
def fill_columns(
    x: NDArray[np.float64], y: NDArray[np.float64], z: NDArray[np.float64], slots: NDArray[np.int32],
    sums: NDArray[np.float64], inside: NDArray[np.float32], parts: NDArray[np.float64],
) -> float:  # fmt: skip
    """Add up the surface from the top of each column down: what the body fills of every cell.

    ``inside`` gets the share of every cell, ``parts`` (n, 4) the volume and its first moments about the low corner
    of each cell that the surface touches. Returns the largest share of a whole cell by which the surface fails to
    close.
    """
    worst = 0.0
    for i in range(len(x) - 1):
        for j in range(len(y) - 1):
            area = (x[i + 1] - x[i]) * (y[j + 1] - y[j])
            over, over_x, over_y = 0.0, 0.0, 0.0
            for k in range(len(z) - 2, -1, -1):
                slot, high = slots[i, j, k], z[k + 1] - z[k]
                if slot < 0:
                    share = over / area
                    whole = 1.0 if share > 0.5 else 0.0
                    worst = max(worst, abs(share - whole))
                    inside[i, j, k] = whole
                    continue
                parts[slot, 0] = sums[slot, 7] + high * over
                parts[slot, 1] = sums[slot, 8] + high * over_x
                parts[slot, 2] = sums[slot, 9] + high * over_y
                parts[slot, 3] = sums[slot, 10] + 0.5 * high * high * over
                inside[i, j, k] = parts[slot, 0] / (area * high)
                over += sums[slot, 3]
                over_x += sums[slot, 11]
                over_y += sums[slot, 12]
    return worst


@njit(cache=True)
def open_faces(
    slots: NDArray[np.int32], facing: NDArray[np.float64], faces: tuple[NDArray[np.float64], NDArray[np.float64]],
    open_m2: NDArray[np.float64],
) -> None:  # fmt: skip
    """Add up the area vector along the lines of the last axis: the filled area of the faces of each cell touched.

    ``slots`` is turned so that the axis comes last; ``facing`` (n,) is the component along it; ``faces`` are the sides
    of the cells along the other two axes. ``open_m2`` (n, 2) gets the low and the high face. A closed part of the body
    has filled faces and wall that add up to nothing.
    """
    for i in range(slots.shape[0]):
        for j in range(slots.shape[1]):
            area = faces[0][i] * faces[1][j]
            filled = 0.0
            for k in range(slots.shape[2]):
                slot = slots[i, j, k]
                if slot < 0:
                    filled = area if filled > 0.5 * area else 0.0
                    continue
                open_m2[slot, 0] = filled
                filled -= facing[slot]
                open_m2[slot, 1] = filled


@njit(cache=True)
def bend_walls(
    rows: NDArray[np.int32], places: NDArray[np.int64], wall: NDArray[np.float64], facing: NDArray[np.float64],
    middle: NDArray[np.float64], bend: NDArray[np.float64],
) -> None:  # fmt: skip
    """Find the mean of the two main curvatures of the wall round each cut cell, convex metal counting above zero.

    The slope of the normal over place in the tangent plane, fitted to the walls of the 27 cells round about that face
    the same way.
    ``rows`` (nx, ny, nz) numbers the cut cells, ``places`` (n, 3) are theirs; ``wall`` (n,), ``facing`` (n, 3) and
    ``middle`` (n, 3) are area, area vector and centroid of the wall in each.
    """
    for row in range(len(places)):
        length = np.sqrt(facing[row, 0] ** 2 + facing[row, 1] ** 2 + facing[row, 2] ** 2)
        if length == 0.0:
            continue
        ux, uy, uz = facing[row, 0] / length, facing[row, 1] / length, facing[row, 2] / length
        area, turn, spread = 0.0, 0.0, 0.0
        fx, fy, fz, wx, wy, wz = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        for neighbour in range(27):
            i = places[row, 0] + neighbour // 9 - 1
            j = places[row, 1] + neighbour // 3 % 3 - 1
            k = places[row, 2] + neighbour % 3 - 1
            if min(i, j, k) < 0 or i >= rows.shape[0] or j >= rows.shape[1] or k >= rows.shape[2]:
                continue
            other = rows[i, j, k]
            if other < 0:
                continue
            gx, gy, gz, held = facing[other, 0], facing[other, 1], facing[other, 2], wall[other]
            if gx * ux + gy * uy + gz * uz <= 0.0:
                continue
            x, y, z = (
                middle[other, 0] - middle[row, 0],
                middle[other, 1] - middle[row, 1],
                middle[other, 2] - middle[row, 2],
            )
            along = x * ux + y * uy + z * uz
            x, y, z = x - along * ux, y - along * uy, z - along * uz
            area += held
            turn += gx * x + gy * y + gz * z
            spread += held * (x * x + y * y + z * z)
            fx, fy, fz = fx + gx, fy + gy, fz + gz
            wx, wy, wz = wx + held * x, wy + held * y, wz + held * z
        turn -= (fx * wx + fy * wy + fz * wz) / area
        spread -= (wx * wx + wy * wy + wz * wz) / area
        if spread > 0.0:
            bend[row] = turn / spread


@njit(cache=True)
def _left_of(ax: float, ay: float, bx: float, by: float, x: float, y: float) -> bool:
    """Whether a point lies left of the line a-b; reckoned in one order of the ends, so neighbours always agree."""
    if ax < bx or (ax == bx and ay < by):
        return (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0.0
    return (ax - bx) * (y - by) - (ay - by) * (x - bx) < 0.0


@njit(cache=True)
def _lines_between(middles: NDArray[np.float64], low: float, high: float) -> tuple[int, int]:
    """Return the first line at or above ``low`` and one past the last at or below ``high``."""
    return int(np.searchsorted(middles, low, side="left")), int(np.searchsorted(middles, high, side="right"))


@njit(cache=True)
def cross_lines(
    corners: NDArray[np.float64], across: int, deep: int, along: int,
    middles: tuple[NDArray[np.float64], NDArray[np.float64]],
    lines: NDArray[np.int64], crossings: NDArray[np.float64],
) -> int:  # fmt: skip
    """Find where lines along an axis, through the middles of the cells across it, cross the triangles (n, 3, 3).

    ``lines`` (c,) gets the line, (place across) * (lines deep) + (place deep); ``crossings`` (c, 4) the place along the
    line and the outward normal. Returns the number found, which may be more than there is room for.
    """
    found = 0
    for face in range(len(corners)):
        ax, ay, az = corners[face, 0, across], corners[face, 0, deep], corners[face, 0, along]
        bx, by, bz = corners[face, 1, across], corners[face, 1, deep], corners[face, 1, along]
        cx, cy, cz = corners[face, 2, across], corners[face, 2, deep], corners[face, 2, along]
        first_i, end_i = _lines_between(middles[0], min(ax, bx, cx), max(ax, bx, cx))
        first_j, end_j = _lines_between(middles[1], min(ay, by, cy), max(ay, by, cy))
        turn = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if turn == 0.0 or first_i == end_i or first_j == end_j:
            continue
        slope_x = (by - ay) * (cz - az) - (bz - az) * (cy - ay)
        slope_y = (bz - az) * (cx - ax) - (bx - ax) * (cz - az)
        length = np.sqrt(turn * turn + slope_x * slope_x + slope_y * slope_y)
        if turn < 0.0:
            bx, by, bz, cx, cy, cz = cx, cy, cz, bx, by, bz
        for i in range(first_i, end_i):
            x = middles[0][i]
            for j in range(first_j, end_j):
                y = middles[1][j]
                if not (
                    _left_of(ax, ay, bx, by, x, y) and _left_of(bx, by, cx, cy, x, y) and _left_of(cx, cy, ax, ay, x, y)
                ):
                    continue
                if found < len(lines):
                    to_b = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / abs(turn)
                    to_c = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / abs(turn)
                    lines[found] = i * len(middles[1]) + j
                    crossings[found, 0] = az + to_b * (bz - az) + to_c * (cz - az)
                    crossings[found, 1 + across] = slope_x / length
                    crossings[found, 1 + deep] = slope_y / length
                    crossings[found, 1 + along] = turn / length
                found += 1
    return found
