"""Compiled loops over rows of the mould and their faces; readable at :mod:`pourwright.physics.freeze.exchange`.

Face f belongs to row r with ``face_first[r] <= f < face_first[r + 1]`` and leads to node ``face_node[f]``, -1 being the
air. Its ``face_kind`` is 0 for mould beside mould (``face_size`` is the shape [m]), 1 for a wall with metal behind it
(``face_size`` is an area), 2 and 3 for air at the flask's side and at its ends.

Arrays are taken out of ``rows`` and ``work`` before the loops: inside, each use would count its users.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from pourwright.physics.freeze.kernels.tables._kernels import between, held, knot_of, settled, to_air


@njit(parallel=True, cache=True, error_model="numpy")
def open_rows(start, rows, work, by_u, node_K, node_u, node_k, node_h, ambient_K, outside, step_s):
    """Work out for one step the capacity of each row, and what passes each of its faces, straight in the row's u.

    ``per_capacity`` is conductivity over heat capacity [1/m/s]; that of ``swept`` rows agrees with the sweep. ``base``
    and ``loss`` are the flow through a face at u = 0 and what it loses for each unit of u, over the conductivity;
    ``given`` and ``pull`` are their sums. ``stiff`` is what the face passes in the step for each kelvin of the node
    [J/K], less as the row warms up meanwhile.
    """
    cell, swept, mould_m3, steel_m3 = rows.cell, rows.swept, rows.mould_m3, rows.steel_m3
    first, node, kind = rows.face_first, rows.face_node, rows.face_kind
    size, metal_m, mould_m = rows.face_size, rows.face_metal_m, rows.face_mould_m
    given, pull, per_capacity, in_time = work.given, work.pull, work.per_capacity, work.in_time
    base, loss, stiff = work.base, work.loss, work.stiff_J_K
    conductivity, low, per_knot, law = by_u.conductivity_W_mK, by_u.low_K, by_u.per_K_ratio, by_u.law_m2_s
    heat, steel_heat, temp = by_u.heat_J_m3, by_u.steel_J_m3, by_u.temp_K
    for r in prange(len(cell)):
        u = np.float64(start[cell[r]])
        if swept[r]:
            row_per_capacity = (law[0] + u * (law[1] + u * (law[2] + u * law[3]))) / mould_m3[r]
        else:
            knot = knot_of(len(heat), low, per_knot, u)
            row_per_capacity = (
                conductivity / held(mould_m3[r], steel_m3[r], heat, steel_heat, low, per_knot, u, knot)[1]
            )
        per_capacity[r] = row_per_capacity
        in_time[r, 0] = 0.0
        in_time[r, 1] = 0.0
        given[r] = 0.0
        pull[r] = 0.0
        if first[r + 1] > first[r]:
            temp_K, kelvin_per_u = between(temp, low, per_knot, u)
            row_J_K = conductivity / (row_per_capacity * kelvin_per_u)
            mould_k = conductivity / kelvin_per_u
        for f in range(first[r], first[r + 1]):
            n = node[f]
            if kind[f] == 0:
                base[f] = size[f] * node_u[n]
                loss[f] = size[f]
                passes_W_K = size[f] * mould_k
            else:
                if kind[f] == 1:
                    passes_W_K = size[f] / (metal_m[f] / node_k[n] + 1.0 / node_h[n] + mould_m[f] / mould_k)
                    beyond_K = node_K[n]
                else:
                    passes_W_K = to_air(temp_K, size[f], mould_m[f] / mould_k, ambient_K, outside, kind[f] - 2)
                    beyond_K = ambient_K
                base[f] = passes_W_K * (beyond_K - temp_K + kelvin_per_u * u) / conductivity
                loss[f] = passes_W_K * kelvin_per_u / conductivity
            given[r] += base[f]
            pull[r] += loss[f]
            # A step passed to a half-space spreads with the root of time: 1 / (1 + sqrt(pi r) / 2) joins both ends.
            # Twice that, since round a small body it spreads more than into a half-space; too much is only slow.
            reach = step_s * passes_W_K / row_J_K
            stiff[f] = 2.0 * step_s * passes_W_K / (1.0 + 0.5 * np.sqrt(np.pi * reach)) if n >= 0 else 0.0


@njit(cache=True, error_model="numpy")
def close_faces(start, rows, work, conductivity, step_s, held_K, source_W, sink_W_K):
    """Hand the nodes what passed the faces during the sweeps; return the heat that went to the air [J].

    ``held_K`` are the node temperatures held during the sweeps.
    """
    cell, first, node = rows.cell, rows.face_first, rows.face_node
    base, loss, stiff, in_time = work.base, work.loss, work.stiff_J_K, work.in_time
    for n in range(len(source_W)):
        source_W[n] = 0.0
        sink_W_K[n] = 0.0
    air_J = 0.0
    for r in range(len(first) - 1):
        u = np.float64(start[cell[r]])
        for f in range(first[r], first[r + 1]):
            into_row_J = conductivity * ((base[f] - loss[f] * u) * step_s - loss[f] * in_time[r, 0])
            n = node[f]
            if n < 0:
                air_J -= into_row_J
            else:
                source_W[n] += (stiff[f] * held_K[n] - into_row_J) / step_s
                sink_W_K[n] += stiff[f] / step_s
    return air_J


@njit(parallel=True, cache=True, error_model="numpy")
def settle_rows(start, now, rows, work, by_u, mean_K, held_K):
    """Move each row to where it holds the heat it was given; swept rows are there but for what comes late.

    That is what the nodes sent beyond the temperatures that were held during the sweeps.
    """
    cell, swept, mould_m3, steel_m3 = rows.cell, rows.swept, rows.mould_m3, rows.steel_m3
    first, node = rows.face_first, rows.face_node
    per_capacity, stiff = work.per_capacity, work.stiff_J_K
    conductivity, low, per_knot = by_u.conductivity_W_mK, by_u.low_K, by_u.per_K_ratio
    heat, steel_heat = by_u.heat_J_m3, by_u.steel_J_m3
    for r in prange(len(cell)):
        late_J = 0.0
        for f in range(first[r], first[r + 1]):
            n = node[f]
            if n >= 0:
                late_J += np.float64(stiff[f]) * (mean_K[n] - held_K[n])
        if swept[r] and late_J == 0.0:
            continue
        u1 = np.float64(now[cell[r]])
        u0 = u1 if swept[r] else np.float64(start[cell[r]])
        capacity = conductivity / np.float64(per_capacity[r])
        now[cell[r]] = settled(u0, u1, capacity, mould_m3[r], steel_m3[r], heat, steel_heat, low, per_knot, late_J)


@njit(cache=True, error_model="numpy")
def rows_heat_J(start, rows, by_u):
    """Return the heat that all rows hold [J]."""
    cell, mould_m3, steel_m3 = rows.cell, rows.mould_m3, rows.steel_m3
    low, per_knot, heat, steel_heat = by_u.low_K, by_u.per_K_ratio, by_u.heat_J_m3, by_u.steel_J_m3
    total_J = 0.0
    for r in range(len(cell)):
        u = np.float64(start[cell[r]])
        knot = knot_of(len(heat), low, per_knot, u)
        total_J += held(mould_m3[r], steel_m3[r], heat, steel_heat, low, per_knot, u, knot)[0]
    return total_J


@njit(cache=True, error_model="numpy")
def hottest_skin_K(start, faces, by_u, ambient_K, outside, side):
    """Return the hottest of the flask's outer faces [K]; they lie ``faces.m`` outside the middles of ``faces.cell``."""
    cell, depth_m = faces.cell, faces.m
    conductivity, low, per_knot, temp = by_u.conductivity_W_mK, by_u.low_K, by_u.per_K_ratio, by_u.temp_K
    hottest_K = np.nan
    for f in range(len(cell)):
        temp_K, kelvin_per_u = between(temp, low, per_knot, np.float64(start[cell[f]]))
        depth_m2K_W = depth_m[f] * kelvin_per_u / conductivity
        passes = to_air(temp_K, 1.0, depth_m2K_W, ambient_K, outside, side)
        skin_K = temp_K - (temp_K - ambient_K) * passes * depth_m2K_W
        if not skin_K <= hottest_K:
            hottest_K = skin_K
    return hottest_K
