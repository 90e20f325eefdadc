"""Sweeps through the mould on the card, one thread a cell and then one a row.

What each does is said at the ones for the processor, ``kernels/sweep/_kernels.py``.
"""

from __future__ import annotations

import numpy as np
from numba import cuda

from pourwright.physics.freeze.kernels.tables import _kernels as tables
from pourwright.physics.freeze.kernels_gpu.arrays._kernels import spread, twin

_KNOT_OF, _HELD = twin(tables.knot_of), twin(tables.held)
_SETTLED = twin(tables.settled, knot_of=_KNOT_OF, held=_HELD)


@cuda.jit(device=True)
def _flow(field, c, i, j, k, row, plane, along):
    """Return what flows into a cell from the six beside it."""
    u = field[c]
    x, y, z = along
    return (
        x[i, 0] * (field[c - plane] - u)
        + x[i, 1] * (field[c + plane] - u)
        + y[j, 0] * (field[c - row] - u)
        + y[j, 1] * (field[c + row] - u)
        + z[k, 0] * (field[c - 1] - u)
        + z[k, 1] * (field[c + 1] - u)
    )


@cuda.jit
def _slope(start, slope, whole, along, law, many_y, many_z):
    plane = many_y * many_z
    for c in range(plane + cuda.grid(1), len(start) - plane, cuda.gridsize(1)):
        if whole[c] == 1:
            i, j, k = c // plane, c // many_z % many_y, c % many_z
            u = start[c]
            rate = law[0] + u * (law[1] + u * (law[2] + u * law[3]))
            slope[c] = rate * _flow(start, c, i, j, k, many_z, plane, along)
        else:
            slope[c] = 0.0


@cuda.jit
def _rows_slope(start, slope, rows, work):
    cell, first, beside, shape_m = rows.cell, rows.first, rows.beside, rows.shape_m
    for r in range(cuda.grid(1), len(cell), cuda.gridsize(1)):
        u = start[cell[r]]
        flow = work.given[r] - work.pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (start[beside[e]] - u)
        slope[cell[r]] += work.per_capacity[r] * flow


def sweep_slope(start, slope, whole, along, law, rows, work):
    """Give the slope in time at the start of the step."""
    _, many_y, many_z = start.shape
    begun, rise = start.reshape(-1), slope.reshape(-1)
    spread(_slope, start.size, begun, rise, whole.reshape(-1), along, law, many_y, many_z)
    spread(_rows_slope, len(rows.cell), begun, rise, rows, work)


@cuda.jit
def _stage(start, slope, change, now, whole, along, law, weights, curved, number, last, many_y, many_z):
    plane = many_y * many_z
    of_last, of_now, of_rate, of_slope = weights
    for c in range(plane + cuda.grid(1), len(start) - plane, cuda.gridsize(1)):
        here = change[c]
        new = of_last * here
        if whole[c] == 1:
            i, j, k = c // plane, c // many_z % many_y, c % many_z
            rate = law[0]
            if curved:
                u = start[c]
                rate += u * (law[1] + u * (law[2] + u * law[3]))
            new += of_rate * (rate * _flow(change, c, i, j, k, many_z, plane, along))
        if number > 2:
            new += of_slope * slope[c]
        if number > 3:
            new += of_now * now[c]
        now[c] = start[c] + new if last else new


@cuda.jit
def _rows_stage(change, now, of_rate, times, rows, work):
    cell, first, beside, shape_m = rows.cell, rows.first, rows.beside, rows.shape_m
    in_time = work.in_time
    time_last, time_now, time_rate = times
    for r in range(cuda.grid(1), len(cell), cuda.gridsize(1)):
        u = change[cell[r]]
        flow = -work.pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (change[beside[e]] - u)
        now[cell[r]] += of_rate * work.per_capacity[r] * flow
        newer = time_last * in_time[r, 0] + time_now * in_time[r, 1] + time_rate * u
        in_time[r, 1] = in_time[r, 0]
        in_time[r, 0] = newer


def sweep_stage(number, last, curved, start, slope, change, now, whole, along, law, weights, rows, work):
    """Take the mould through stage ``number`` of a step (2, 3, ...), ``last`` saying whether it is the last."""
    _, many_y, many_z = start.shape
    begun, rise, here, out = (one.reshape(-1) for one in (start, slope, change, now))
    spread(
        _stage, start.size, begun, rise, here, out, whole.reshape(-1), along, law, weights[:4], bool(curved),
        int(number), bool(last), many_y, many_z,
    )  # fmt: skip
    spread(_rows_stage, len(rows.cell), here, out, weights[2], weights[4:], rows, work)


@cuda.jit
def _settle(start, now, whole, by_u, least):
    conductivity, low, per_knot = by_u.conductivity_W_mK, by_u.low_K, by_u.per_K_ratio
    heat, law = by_u.heat_J_m3, by_u.law_m2_s
    for c in range(cuda.grid(1), len(start), cuda.gridsize(1)):
        u0, u1 = np.float64(start[c]), np.float64(now[c])
        if whole[c] == 1 and abs(u1 - u0) > least:
            capacity = conductivity / (law[0] + u0 * (law[1] + u0 * (law[2] + u0 * law[3])))
            now[c] = _SETTLED(u0, u1, capacity, 1.0, 0.0, heat, heat, low, per_knot, 0.0)


def settle_cells(start, now, whole, by_u, least):
    """Move each whole cell to where it holds the heat it was given."""
    spread(_settle, start.size, start.reshape(-1), now.reshape(-1), whole.reshape(-1), by_u, float(least))
