"""Compiled sweeps through the mould; :mod:`pourwright.physics.freeze.mould` is the readable side.

*Fields* run over the whole grid with a layer of idle cells all round; *rows* are mould cells whose capacity or paths
are not those of a whole cell among whole cells. ``u`` is the heat-flow temperature: the integral of conductivity over
temperature, divided by the conductivity at the start, zero at the start. With it the flow between two mould cells is
straight in u at any temperature, and within a step so is the slope of u in time. The stages of a step can therefore
work on the *change* of u since the start of the step, which takes fewer fields: the slope at the start, the change at
the last stage, and the change at the stage before, on which the new one is written.

``whole`` is 1 for whole mould cells, 0 for all others, which stay as they are. ``along`` holds for each axis one over
side times distance to the next middle, lower side first [1/m**2], shapes (nx + 2, 2) and so on. ``law`` holds the
coefficients of the diffusivity as a polynomial of the starting value. Fields are contiguous. Rows follow plane by plane
while the plane is at hand.

Arrays are taken out of ``rows`` and ``work`` before the loops: inside, each use would count its users.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from pourwright.physics.freeze.kernels.tables._kernels import settled

# The sweeps count with unsigned numbers over flat arrays: an index that might be negative keeps the compiler from
# taking several cells at once, which is several times as fast.
_ONE = np.uint64(1)


@njit(inline="always")
def _flow(field, c, row, plane, west, east, south, north, down, up):
    """Return what flows into a cell from the six beside it."""
    u = field[c]
    return (
        west * (field[c - plane] - u)
        + east * (field[c + plane] - u)
        + south * (field[c - row] - u)
        + north * (field[c + row] - u)
        + down * (field[c - _ONE] - u)
        + up * (field[c + _ONE] - u)
    )


@njit(parallel=True, cache=True, error_model="numpy")
def sweep_slope(start, slope, whole, along, law, rows, work):
    """Give the slope in time at the start of the step."""
    many_x, many_y, many_z = start.shape
    begun, rise, on = start.reshape(-1), slope.reshape(-1), whole.reshape(-1)
    a0, a1, a2, a3 = law[0], law[1], law[2], law[3]
    along_x, along_y = along[0], along[1]
    down, up = along[2][:, 0].copy(), along[2][:, 1].copy()
    end, row, plane = np.uint64(many_z - 1), np.uint64(many_z), np.uint64(many_y * many_z)
    for i in prange(1, many_x - 1):
        west, east = along_x[i, 0], along_x[i, 1]
        for j in range(1, many_y - 1):
            south, north = along_y[j, 0], along_y[j, 1]
            column = np.uint64((i * many_y + j) * many_z)
            for k in range(_ONE, end):
                c, u = column + k, begun[column + k]
                flow = _flow(begun, c, row, plane, west, east, south, north, down[k], up[k])
                rise[c] = np.float32(on[c]) * (a0 + u * (a1 + u * (a2 + u * a3))) * flow
        _rows_slope(rows.plane_first[i], rows.plane_first[i + 1], begun, rise, rows, work)


@njit(cache=True, error_model="numpy")
def _rows_slope(begin, end, start, slope, rows, work):
    """Add what some rows gain over their own paths to the slope.

    Row r sits in ``cell[r]``; its paths are ``first[r]`` to ``first[r + 1]`` of ``beside`` (cells) and ``shape_m``
    (conductance over conductivity [m], less what the sweep has counted). ``given`` and ``pull`` are the flow from nodes
    and air at u = 0 and its loss for each unit of u, over the conductivity. ``per_capacity`` is conductivity over heat
    capacity.
    """
    cell, first, beside, shape_m = rows.cell, rows.first, rows.beside, rows.shape_m
    given, pull, per_capacity = work.given, work.pull, work.per_capacity
    for r in range(begin, end):
        u = start[cell[r]]
        flow = given[r] - pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (start[beside[e]] - u)
        slope[cell[r]] += per_capacity[r] * flow


def _stage(curved, second, third, last):
    """Make the kernel of a later stage: whether the diffusivity changes with u, and which stage it is."""

    @njit(parallel=True, cache=True, error_model="numpy")
    def sweep(start, slope, change, now, whole, along, law, weights, rows, work):
        """Give the change at a stage in ``now``, which held that at the stage before the last; at the last stage, u.

        ``weights`` are those of the last stage, the stage before it, the slope there, and the slope at the start. The
        change at the first stage is the slope itself but for a factor, which the weights hold.
        """
        many_x, many_y, many_z = start.shape
        begun, rise, on = start.reshape(-1), slope.reshape(-1), whole.reshape(-1)
        here, out = change.reshape(-1), now.reshape(-1)
        a0, a1, a2, a3 = law[0], law[1], law[2], law[3]
        of_last, of_now, of_rate, of_slope = weights[0], weights[1], weights[2], weights[3]
        along_x, along_y = along[0], along[1]
        down, up = along[2][:, 0].copy(), along[2][:, 1].copy()
        end, row, plane = np.uint64(many_z - 1), np.uint64(many_z), np.uint64(many_y * many_z)
        for i in prange(1, many_x - 1):
            west, east = along_x[i, 0], along_x[i, 1]
            for j in range(1, many_y - 1):
                south, north = along_y[j, 0], along_y[j, 1]
                column = np.uint64((i * many_y + j) * many_z)
                for k in range(_ONE, end):
                    c = column + k
                    rate = np.float32(on[c]) * _flow(here, c, row, plane, west, east, south, north, down[k], up[k])
                    if curved:
                        u = begun[c]
                        rate *= a0 + u * (a1 + u * (a2 + u * a3))
                    else:
                        rate *= a0
                    new = of_last * here[c] + of_rate * rate
                    if not second:
                        new += of_slope * rise[c]
                    if not second and not third:
                        new += of_now * out[c]
                    out[c] = begun[c] + new if last else new
            _rows_stage(rows.plane_first[i], rows.plane_first[i + 1], here, out, weights, rows, work)

    return sweep


@njit(cache=True, error_model="numpy")
def _rows_stage(begin, end, change, now, weights, rows, work):
    """Add what some rows gain over their own paths to a later stage, and take their time integrals through it.

    ``in_time`` (rows, 2) is the integral over time of the change at the last stage and at the one before.
    """
    cell, first, beside, shape_m = rows.cell, rows.first, rows.beside, rows.shape_m
    pull, per_capacity, in_time = work.pull, work.per_capacity, work.in_time
    of_rate = weights[2]
    time_last, time_now, time_rate = weights[4], weights[5], weights[6]
    for r in range(begin, end):
        u = change[cell[r]]
        flow = -pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (change[beside[e]] - u)
        now[cell[r]] += of_rate * per_capacity[r] * flow
        newer = time_last * in_time[r, 0] + time_now * in_time[r, 1] + time_rate * np.float64(u)
        in_time[r, 1] = in_time[r, 0]
        in_time[r, 0] = newer


# By whether the law is curved: the second stage, the third, the third if it is the last, any other, any other if last.
_STAGES = tuple(
    tuple(
        _stage(curved, *which)
        for which in (
            (True, False, False), (False, True, False), (False, True, True), (False, False, False), (False, False, True)
        )
    )
    for curved in (False, True)
)  # fmt: skip


def sweep_stage(number, last, curved, *fields):
    """Take the mould through stage ``number`` of a step (2, 3, ...), ``last`` saying whether it is the last."""
    which = 0 if number == 2 else min(number, 4) * 2 - 5 + bool(last)
    _STAGES[bool(curved)][which](*fields)


@njit(parallel=True, cache=True, error_model="numpy")
def settle_cells(start, now, whole, by_u, least):
    """Move each whole cell to where it holds the heat it was given; the sweep took its capacity as constant."""
    many_x, many_y, many_z = start.shape
    conductivity, low, per_knot = by_u.conductivity_W_mK, by_u.low_K, by_u.per_K_ratio
    heat, law = by_u.heat_J_m3, by_u.law_m2_s
    for column in prange((many_x - 2) * (many_y - 2)):
        i = column // (many_y - 2) + 1
        j = column % (many_y - 2) + 1
        for k in range(1, many_z - 1):
            u0, u1 = np.float64(start[i, j, k]), np.float64(now[i, j, k])
            if whole[i, j, k] == 1 and abs(u1 - u0) > least:
                per_capacity = law[0] + u0 * (law[1] + u0 * (law[2] + u0 * law[3]))
                capacity = conductivity / per_capacity
                now[i, j, k] = settled(u0, u1, capacity, 1.0, 0.0, heat, heat, low, per_knot, 0.0)
