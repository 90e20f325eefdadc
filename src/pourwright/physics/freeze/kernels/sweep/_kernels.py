"""Compiled sweeps through the mould; :mod:`pourwright.physics.freeze.mould` is the readable side.

*Fields* run over the whole grid with a layer of idle cells all round; *rows* are mould cells whose capacity or paths
are not those of a whole cell among whole cells. ``u`` is the heat-flow temperature: the integral of conductivity over
temperature, divided by the conductivity at the start, zero at the start. With it the flow between two mould cells is
straight in u at any temperature.

Arrays are taken out of ``rows`` and ``work`` before the loops: inside, each use would count its users.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from pourwright.physics.freeze.kernels.tables._kernels import settled

# The sweeps count with unsigned numbers over flat arrays: an index that might be negative keeps the compiler from
# taking several cells at once, which is several times as fast.
_ONE = np.uint64(1)


@njit(parallel=True, cache=True, error_model="numpy")
def sweep_first(start, slope, now, whole, along_x, along_y, along_z, law, step, rows, work):
    """First stage: keep the slope of the start, and go a little along it.

    ``whole`` is 1 for whole mould cells, 0 for all others, which stay as they are. ``along_x`` (nx + 2, 2) and its like
    hold one over side times distance to the next middle, lower side first [1/m**2]. ``law`` holds the coefficients of
    the diffusivity as a polynomial of the starting value. The fields are contiguous. Rows follow plane by plane while
    the plane is at hand.
    """
    many_x, many_y, many_z = start.shape
    begun, rise, out, on = start.reshape(-1), slope.reshape(-1), now.reshape(-1), whole.reshape(-1)
    a0, a1, a2, a3 = law[0], law[1], law[2], law[3]
    down, up = along_z[:, 0].copy(), along_z[:, 1].copy()
    end, row, plane = np.uint64(many_z - 1), np.uint64(many_z), np.uint64(many_y * many_z)
    for i in prange(1, many_x - 1):
        to_west, to_east = along_x[i, 0], along_x[i, 1]
        for j in range(1, many_y - 1):
            to_south, to_north = along_y[j, 0], along_y[j, 1]
            column = np.uint64((i * many_y + j) * many_z)
            for k in range(_ONE, end):
                c = column + k
                u = begun[c]
                flow = (
                    to_west * (begun[c - plane] - u)
                    + to_east * (begun[c + plane] - u)
                    + to_south * (begun[c - row] - u)
                    + to_north * (begun[c + row] - u)
                    + down[k] * (begun[c - _ONE] - u)
                    + up[k] * (begun[c + _ONE] - u)
                )
                rate = np.float32(on[c]) * (a0 + u * (a1 + u * (a2 + u * a3))) * flow
                rise[c] = rate
                out[c] = u + step * rate
        _rows_first(rows.plane_first[i], rows.plane_first[i + 1], begun, out, step, rows, work)


@njit(parallel=True, cache=True, error_model="numpy")
def sweep_next(start, slope, last, now, whole, along_x, along_y, along_z, law, weights, rows, work):
    """Any later stage: ``now`` holds the stage before the last, and the new one afterwards.

    ``weights`` are those of the last stage, the stage before it, the start, the slope here, and the slope at the start.
    """
    many_x, many_y, many_z = start.shape
    begun, rise, here = start.reshape(-1), slope.reshape(-1), last.reshape(-1)
    out, on = now.reshape(-1), whole.reshape(-1)
    a0, a1, a2, a3 = law[0], law[1], law[2], law[3]
    of_last, of_now, of_start, of_rate, of_slope = weights[0], weights[1], weights[2], weights[3], weights[4]
    down, up = along_z[:, 0].copy(), along_z[:, 1].copy()
    end, row, plane = np.uint64(many_z - 1), np.uint64(many_z), np.uint64(many_y * many_z)
    for i in prange(1, many_x - 1):
        to_west, to_east = along_x[i, 0], along_x[i, 1]
        for j in range(1, many_y - 1):
            to_south, to_north = along_y[j, 0], along_y[j, 1]
            column = np.uint64((i * many_y + j) * many_z)
            for k in range(_ONE, end):
                c = column + k
                u, u0 = here[c], begun[c]
                flow = (
                    to_west * (here[c - plane] - u)
                    + to_east * (here[c + plane] - u)
                    + to_south * (here[c - row] - u)
                    + to_north * (here[c + row] - u)
                    + down[k] * (here[c - _ONE] - u)
                    + up[k] * (here[c + _ONE] - u)
                )
                rate = np.float32(on[c]) * (a0 + u0 * (a1 + u0 * (a2 + u0 * a3))) * flow
                out[c] = of_last * u + of_now * out[c] + of_start * u0 + of_rate * rate + of_slope * rise[c]
        _rows_next(rows.plane_first[i], rows.plane_first[i + 1], here, out, weights, rows, work)


@njit(cache=True, error_model="numpy")
def _rows_first(begin, end, start, now, step, rows, work):
    """First stage of some rows: their own paths, on top of the sweep.

    Row r sits in ``cell[r]``; its paths are ``first[r]`` to ``first[r + 1]`` of ``beside`` (cells) and ``shape_m``
    (conductance over conductivity [m], less what the sweep has counted). ``given`` and ``pull`` are the flow from nodes
    and air at u = 0 and its loss for each unit of u, over the conductivity. ``per_capacity`` is conductivity over heat
    capacity. ``in_time`` (rows, 3) is the integral of u over time at the last stage, the one before, and its slope.
    """
    cell, first, beside, shape_m = rows.cell, rows.first, rows.beside, rows.shape_m
    given, pull, per_capacity, slope, in_time = work.given, work.pull, work.per_capacity, work.slope, work.in_time
    for r in range(begin, end):
        u = start[cell[r]]
        flow = given[r] - pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (start[beside[e]] - u)
        slope[r] = per_capacity[r] * flow
        now[cell[r]] += step * slope[r]
        in_time[r, 2] = u
        in_time[r, 1] = 0.0
        in_time[r, 0] = np.float64(step) * u


@njit(cache=True, error_model="numpy")
def _rows_next(begin, end, last, now, weights, rows, work):
    """Any later stage of some rows; ``weights`` as in :func:`sweep_next`."""
    cell, first, beside, shape_m = rows.cell, rows.first, rows.beside, rows.shape_m
    given, pull, per_capacity, slope, in_time = work.given, work.pull, work.per_capacity, work.slope, work.in_time
    of_last, of_now, of_rate, of_slope = weights[0], weights[1], weights[3], weights[4]
    for r in range(begin, end):
        u = last[cell[r]]
        flow = given[r] - pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (last[beside[e]] - u)
        now[cell[r]] += of_rate * per_capacity[r] * flow + of_slope * slope[r]
        newer = of_last * in_time[r, 0] + of_now * in_time[r, 1] + of_rate * np.float64(u) + of_slope * in_time[r, 2]
        in_time[r, 1] = in_time[r, 0]
        in_time[r, 0] = newer


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
