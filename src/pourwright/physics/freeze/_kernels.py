"""Compiled loops of the freezing run; :mod:`pourwright.physics.freeze.solver` is the readable side.

Two kinds of arrays: *fields* over the whole grid with a layer of idle cells all round, and *lists*: of rows (mould
cells whose capacity or paths are not those of a whole cell among whole cells), of nodes (unknowns solved together:
metal, and mould too quick for sweeping), of links between nodes, of faces between a row and a node. Results go into
arrays passed in. Sums run in a fixed order, so a run repeats to the last bit.

``u`` is the heat-flow temperature of the mould: the integral of conductivity over temperature, divided by the
conductivity at the start, zero at the start. With it the flow between two mould cells is straight in u at any
temperature.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
from numba import get_num_threads, njit, prange, set_num_threads

# Cells from which a second thread gains more than it costs to wake.
_WORTH_THREADS = 100_000


@contextmanager
def threads_for(cells_count: int) -> Iterator[None]:
    """Keep to one thread where there are few cells, as long as the context lasts."""
    allowed = get_num_threads()
    set_num_threads(allowed if cells_count >= _WORTH_THREADS else 1)
    try:
        yield
    finally:
        set_num_threads(allowed)


# --- mould: sweeps over the whole grid --------------------------------------------------------------------------------


# The sweeps count with unsigned numbers over flat arrays: an index that might be negative keeps the compiler from
# taking several cells at once, which is several times as fast.
_ONE = np.uint64(1)


@njit(parallel=True, cache=True, error_model="numpy")
def sweep_first(start, slope, now, whole, along_x, along_y, along_z, law, step, rows):
    """First stage: keep the slope of the start, and go a little along it.

    ``whole`` is 1 for whole mould cells, 0 for all others, which stay as they are. ``along_x`` (nx + 2, 2) and its like
    hold one over side times distance to the next middle, lower side first [1/m**2]. ``law`` holds the coefficients of
    the diffusivity as a polynomial of the starting value. The fields are contiguous. ``rows`` go to
    :func:`_rows_first`, plane by plane while the plane is at hand.
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
        _rows_first(i, many_y * many_z, begun, out, np.float64(step), *rows)


@njit(parallel=True, cache=True, error_model="numpy")
def sweep_next(start, slope, last, now, whole, along_x, along_y, along_z, law, weights, rows, row_weights):
    """Any later stage: ``now`` holds the stage before the last, and the new one afterwards.

    ``weights`` are those of the last stage, the stage before it, the start, the slope here, and the slope at the start;
    ``row_weights`` the same for the rows.
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
        _rows_next(i, many_y * many_z, here, out, row_weights, *rows)


# --- mould: rows ------------------------------------------------------------------------------------------------------


@njit(inline="always")
def _of_plane(i, plane, cell):
    """Return which rows lie in plane i of the grid: the first, and the one after the last."""
    return np.searchsorted(cell, i * plane), np.searchsorted(cell, (i + 1) * plane)


@njit(error_model="numpy")
def _rows_first(
    i, plane, start, now, step, cell, first, beside, shape_m, given, pull, per_capacity, slope, in_time
):  # fmt: skip
    """First stage of the rows of a plane: their own paths, on top of the sweep.

    Row r sits in ``cell[r]``; its paths are ``first[r]`` to ``first[r + 1]`` of ``beside`` (cells) and ``shape_m``
    (conductance over conductivity [m], less what the sweep has counted). ``given`` and ``pull`` are the flow from nodes
    and air at u = 0 and its loss for each unit of u, over the conductivity. ``per_capacity`` is conductivity over heat
    capacity. ``in_time`` (rows, 3) is the integral of u over time at the last stage, the one before, and its slope.
    """
    begin, end = _of_plane(i, plane, cell)
    for r in range(begin, end):
        u = start[cell[r]]
        flow = given[r] - pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (start[beside[e]] - u)
        slope[r] = per_capacity[r] * flow
        now[cell[r]] += step * slope[r]
        in_time[r, 2] = u
        in_time[r, 1] = 0.0
        in_time[r, 0] = step * u


@njit(error_model="numpy")
def _rows_next(
    i, plane, last, now, weights, cell, first, beside, shape_m, given, pull, per_capacity, slope, in_time
):  # fmt: skip
    """Any later stage of the rows of a plane; ``weights`` as in :func:`sweep_next`."""
    of_last, of_now, of_rate, of_slope = weights[0], weights[1], weights[3], weights[4]
    begin, end = _of_plane(i, plane, cell)
    for r in range(begin, end):
        u = last[cell[r]]
        flow = given[r] - pull[r] * u
        for e in range(first[r], first[r + 1]):
            flow += shape_m[e] * (last[beside[e]] - u)
        now[cell[r]] += of_rate * per_capacity[r] * flow + of_slope * slope[r]
        newer = of_last * in_time[r, 0] + of_now * in_time[r, 1] + of_rate * u + of_slope * in_time[r, 2]
        in_time[r, 1] = in_time[r, 0]
        in_time[r, 0] = newer


# --- mould: heat held at a heat-flow temperature ----------------------------------------------------------------------


@njit(inline="always")
def _between(table, low, per_knot, at):
    """Return the value and the slope [1 / unit of ``at``] of an evenly knotted table, straight on beyond its ends."""
    place = (at - low) * per_knot
    knot = min(max(int(np.floor(place)), 0), len(table) - 2)
    rise = table[knot + 1] - table[knot]
    return table[knot] + rise * (place - knot), rise * per_knot


@njit(inline="always")
def _knot(many, low, per_knot, at):
    """Return the knot that begins the interval of an evenly knotted table which ``at`` falls in."""
    return min(max(int(np.floor((at - low) * per_knot)), 0), many - 2)


@njit(inline="always")
def _held(mould_m3, steel_m3, heat, steel_heat, low, per_knot, at, knot):
    """Return the heat held at ``at`` by the law of one interval, and its slope [1 / unit of ``at``]."""
    past = (at - low) * per_knot - knot
    rise = heat[knot + 1] - heat[knot]
    held, slope = mould_m3 * (heat[knot] + rise * past), mould_m3 * rise
    if steel_m3 > 0.0:
        steel_rise = steel_heat[knot + 1] - steel_heat[knot]
        held += steel_m3 * (steel_heat[knot] + steel_rise * past)
        slope += steel_m3 * steel_rise
    return held, slope * per_knot


@njit(inline="always")
def _settled(start, moved, capacity, mould_m3, steel_m3, heat, steel_heat, low, per_knot, extra_J):
    """Return the u at which the heat gained is what a constant ``capacity`` says for the way from start to moved.

    Newton's step is exact within an interval of the tables, so it is the last one if it does not leave it.
    """
    knot = _knot(len(heat), low, per_knot, start)
    wanted = _held(mould_m3, steel_m3, heat, steel_heat, low, per_knot, start, knot)[0]
    wanted += capacity * (moved - start) + extra_J
    u, knot = moved, _knot(len(heat), low, per_knot, moved)
    for _ in range(12):
        held, slope = _held(mould_m3, steel_m3, heat, steel_heat, low, per_knot, u, knot)
        u += (wanted - held) / slope
        tried, knot = knot, _knot(len(heat), low, per_knot, u)
        if knot == tried:
            break
    return u


@njit(parallel=True, cache=True, error_model="numpy")
def settle_cells(start, now, whole, law, conductivity, heat, low, per_knot, least):
    """Move each whole cell to where it holds the heat it was given; the sweep took its capacity as constant."""
    many_x, many_y, many_z = start.shape
    for column in prange((many_x - 2) * (many_y - 2)):
        i = column // (many_y - 2) + 1
        j = column % (many_y - 2) + 1
        for k in range(1, many_z - 1):
            u0, u1 = np.float64(start[i, j, k]), np.float64(now[i, j, k])
            if whole[i, j, k] == 1 and abs(u1 - u0) > least:
                per_capacity = law[0] + u0 * (law[1] + u0 * (law[2] + u0 * law[3]))
                capacity = conductivity / per_capacity
                now[i, j, k] = _settled(u0, u1, capacity, 1.0, 0.0, heat, heat, low, per_knot, 0.0)


@njit(parallel=True, cache=True, error_model="numpy")
def row_capacities(
    start, cell, swept, mould_m3, steel_m3, law, conductivity, heat, steel_heat, low, per_knot, per_capacity
):
    """Give conductivity over heat capacity of each row [1/m/s]; ``swept`` rows must agree with the sweep."""
    for r in prange(len(cell)):
        u = np.float64(start[cell[r]])
        if swept[r]:
            per_capacity[r] = (law[0] + u * (law[1] + u * (law[2] + u * law[3]))) / mould_m3[r]
        else:
            knot = _knot(len(heat), low, per_knot, u)
            slope = _held(mould_m3[r], steel_m3[r], heat, steel_heat, low, per_knot, u, knot)[1]
            per_capacity[r] = conductivity / slope


@njit(parallel=True, cache=True, error_model="numpy")
def settle_rows(
    start, now, cell, swept, mould_m3, steel_m3, per_capacity, conductivity, heat, steel_heat, low, per_knot, extra_J,
    heat_J
):  # fmt: skip
    """Move each row to where it holds the heat it was given; swept rows have only ``extra_J`` to take."""
    for r in prange(len(cell)):
        u1 = np.float64(now[cell[r]])
        u0 = u1 if swept[r] else np.float64(start[cell[r]])
        capacity = conductivity / per_capacity[r]
        u = _settled(u0, u1, capacity, mould_m3[r], steel_m3[r], heat, steel_heat, low, per_knot, extra_J[r])
        now[cell[r]] = u
        knot = _knot(len(heat), low, per_knot, u)
        heat_J[r] = _held(mould_m3[r], steel_m3[r], heat, steel_heat, low, per_knot, u, knot)[0]


# --- faces between rows and nodes -------------------------------------------------------------------------------------


@njit(parallel=True, cache=True, error_model="numpy")
def open_faces(
    start, cell, first, node, kind, size, metal_m, mould_m, node_K, node_u, node_k, node_h, per_capacity, temp, low,
    per_knot, conductivity, ambient_K, outside, step_s, given, pull, base, loss, stiff
):  # fmt: skip
    """Work out for one step what passes each face of the rows, straight in the row's u.

    Face f belongs to the row r with ``first[r] <= f < first[r + 1]`` and leads to ``node[f]`` (-1: air). Its ``kind``
    is 0 for mould beside mould (``size`` is the shape [m]), 1 for a wall with metal behind it (``size`` is an area), 2
    and 3 for air at the flask's side and at its ends. ``base`` and ``loss`` are the flow at u = 0 and what it loses for
    each unit of u, over the conductivity; ``stiff`` is what the face passes in the step for each kelvin of the node
    [J/K], less as the row warms up meanwhile.
    """
    for r in prange(len(cell)):
        u = np.float64(start[cell[r]])
        temp_K, kelvin_per_u = _between(temp, low, per_knot, u)
        row_J_K = conductivity / (per_capacity[r] * kelvin_per_u)
        mould_k = conductivity / kelvin_per_u
        given[r] = 0.0
        pull[r] = 0.0
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
                    passes_W_K = _to_air(temp_K, size[f], mould_m[f] / mould_k, ambient_K, outside, kind[f] - 2)
                    beyond_K = ambient_K
                base[f] = passes_W_K * (beyond_K - temp_K + kelvin_per_u * u) / conductivity
                loss[f] = passes_W_K * kelvin_per_u / conductivity
            given[r] += base[f]
            pull[r] += loss[f]
            # A step passed to a half-space spreads with the root of time: 1 / (1 + sqrt(pi r) / 2) joins both ends.
            # Twice that, since round a small body it spreads more than into a half-space; too much is only slow.
            reach = step_s * passes_W_K / row_J_K
            stiff[f] = 2.0 * step_s * passes_W_K / (1.0 + 0.5 * np.sqrt(np.pi * reach)) if n >= 0 else 0.0


@njit(inline="always")
def _to_air(temp_K, area_m2, depth_m2K_W, ambient_K, outside, side):
    """Return the conductance to the air [W/K]; ``outside`` (3, 2) has convection and emissivity times Stefan's number.

    The skin is cooler than the middle of the cell, so its radiation is found by repetition.
    """
    skin_K = temp_K
    passes = 0.0
    for _ in range(4):
        warm = skin_K * skin_K + ambient_K * ambient_K
        h = outside[side, 0] + outside[side, 1] * warm * (skin_K + ambient_K)
        if h <= 0.0:
            return 0.0
        passes = 1.0 / (1.0 / h + depth_m2K_W)
        skin_K = temp_K - (temp_K - ambient_K) * passes * depth_m2K_W
    return area_m2 * passes


@njit(cache=True, error_model="numpy")
def skins(temp_K, depth_m2K_W, ambient_K, outside, side):
    """Return the temperatures of outer faces from those of the middles of the cells behind them [K]."""
    skin_K = np.empty_like(temp_K)
    for f in range(len(temp_K)):
        passes = _to_air(temp_K[f], 1.0, depth_m2K_W[f], ambient_K, outside, side)
        skin_K[f] = temp_K[f] - (temp_K[f] - ambient_K) * passes * depth_m2K_W[f]
    return skin_K


@njit(cache=True, error_model="numpy")
def close_faces(first, node, base, loss, stiff, in_time, conductivity, step_s, held_K, source_W, sink_W_K):
    """Hand the nodes what passed the faces during the sweeps; return the heat that went to the air [J].

    ``held_K`` are the node temperatures held during the sweeps.
    """
    air_J = 0.0
    for r in range(len(first) - 1):
        for f in range(first[r], first[r + 1]):
            into_row_J = conductivity * (base[f] * step_s - loss[f] * in_time[r, 0])
            n = node[f]
            if n < 0:
                air_J -= into_row_J
            else:
                source_W[n] += (stiff[f] * held_K[n] - into_row_J) / step_s
                sink_W_K[n] += stiff[f] / step_s
    return air_J


@njit(cache=True, error_model="numpy")
def make_up_faces(first, node, stiff, mean_K, held_K, extra_J):
    """Give the rows what the nodes sent beyond the temperatures that were held during the sweeps [J]."""
    for r in range(len(first) - 1):
        extra_J[r] = 0.0
        for f in range(first[r], first[r + 1]):
            n = node[f]
            if n >= 0:
                extra_J[r] += stiff[f] * (mean_K[n] - held_K[n])


# --- nodes ------------------------------------------------------------------------------------------------------------


@njit(inline="always")
def _metal_temp(heat_J, metal_m3, other_J_K, knots_K, knots_J_m3, near):
    """Return temperature, heat capacity and knot below of a metal node that holds so much heat.

    Exact, the law being straight between knots. The search begins at the knot ``near``: nodes one after another in the
    lists are mostly between the same knots.
    """
    below = near
    while below < len(knots_K) - 2 and metal_m3 * knots_J_m3[below + 1] + other_J_K * knots_K[below + 1] <= heat_J:
        below += 1
    while below > 0 and metal_m3 * knots_J_m3[below] + other_J_K * knots_K[below] > heat_J:
        below -= 1
    wide_K = knots_K[below + 1] - knots_K[below]
    capacity = metal_m3 * (knots_J_m3[below + 1] - knots_J_m3[below]) / wide_K + other_J_K
    held = metal_m3 * knots_J_m3[below] + other_J_K * knots_K[below]
    return knots_K[below] + (heat_J - held) / capacity, capacity, below


@njit(inline="always")
def _mould_temp(heat_J, mould_m3, other_J_K, guess_K, heat, low_K, per_K):
    """Return temperature and heat capacity of a mould node that holds so much heat."""
    temp_K = guess_K
    slope = 1.0
    for _ in range(12):
        held, slope = _between(heat, low_K, per_K, temp_K)
        slope = mould_m3 * slope + other_J_K
        change = (heat_J - mould_m3 * held - other_J_K * temp_K) / slope
        temp_K += change
        if abs(change) < 1e-12 * abs(temp_K):
            break
    return temp_K, slope


@njit(inline="always")
def _node_temp(i, metals, heat_J, m3, other_J_K, guess_K, near, knots_K, knots_J_m3, heat, low_K, per_K):
    """Return temperature, heat capacity and the knot to begin at for the next node."""
    if i < metals:
        return _metal_temp(heat_J, m3[i], other_J_K[i], knots_K, knots_J_m3, near)
    if m3[i] + other_J_K[i] == 0.0:
        return guess_K, 0.0, near
    temp_K, capacity = _mould_temp(heat_J, m3[i], other_J_K[i], guess_K, heat, low_K, per_K)
    return temp_K, capacity, near


@njit(cache=True, error_model="numpy")
def node_heat(metals, temp_K, m3, other_J_K, knots_K, knots_J_m3, heat, low_K, per_K, heat_J):
    """Give the heat that nodes hold at their temperatures [J]; the first ``metals`` are metal."""
    last = len(knots_K) - 2
    for i in range(len(temp_K)):
        if i < metals:
            k = 0
            while k < last and temp_K[i] > knots_K[k + 1]:
                k += 1
            slope = (knots_J_m3[k + 1] - knots_J_m3[k]) / (knots_K[k + 1] - knots_K[k])
            held = knots_J_m3[k] + slope * (temp_K[i] - knots_K[k])
        else:
            held = _between(heat, low_K, per_K, temp_K[i])[0]
        heat_J[i] = m3[i] * held + other_J_K[i] * temp_K[i]


@njit(cache=True, error_model="numpy")
def node_temps(metals, heat_J, m3, other_J_K, knots_K, knots_J_m3, heat, low_K, per_K, temp_K, capacity_J_K):
    """Give temperature and heat capacity of nodes that hold so much heat; nodes without capacity keep theirs."""
    near = 0
    for i in range(len(temp_K)):
        temp_K[i], capacity_J_K[i], near = _node_temp(
            i, metals, heat_J[i], m3, other_J_K, temp_K[i], near, knots_K, knots_J_m3, heat, low_K, per_K
        )


@njit(inline="always")
def _along(knots, values, at):
    last = len(knots) - 1
    if at <= knots[0]:
        return values[0]
    if at >= knots[last]:
        return values[last]
    below, above = 0, last
    while above - below > 1:
        middle = (below + above) // 2
        if knots[middle] <= at:
            below = middle
        else:
            above = middle
    return values[below] + (values[above] - values[below]) * (at - knots[below]) / (knots[above] - knots[below])


@njit(cache=True, error_model="numpy")
def node_laws(
    metals, temp_K, knots_K, knots_solid, knots_k, contact_solid, contact_h, conduction, flow_u, low_K, per_K, node_k,
    node_h, node_u, held_K
):  # fmt: skip
    """Give conductivity of all nodes, contact of metal nodes, and u of mould nodes at the temperature held."""
    for i in range(len(temp_K)):
        if i < metals:
            node_k[i] = _along(knots_K, knots_k, temp_K[i])
            node_h[i] = _along(contact_solid, contact_h, _along(knots_K, knots_solid, temp_K[i]))
        else:
            node_k[i] = _between(conduction, low_K, per_K, temp_K[i])[0]
            node_u[i] = _between(flow_u, low_K, per_K, held_K[i])[0]


@njit(cache=True, error_model="numpy")
def link_values(one, other, kind, size, one_m, other_m, node_k, node_h, passes_W_K):
    """Give what each link between nodes passes [W/K]: kind 0 one material, 1 a wall (metal first), 2 never changes."""
    for link in range(len(one)):
        a, b = one[link], other[link]
        if kind[link] == 0:
            passes_W_K[link] = size[link] * 0.5 * (node_k[a] + node_k[b])
        else:
            passes_W_K[link] = size[link] / (one_m[link] / node_k[a] + 1.0 / node_h[a] + other_m[link] / node_k[b])


@njit(cache=True, error_model="numpy")
def air_of_nodes(node, area_m2, depth_m, temp_K, node_k, ambient_K, outside, side, passes_W_K):
    """Give what each bare face of a node passes to the air [W/K]."""
    for f in range(len(node)):
        n = node[f]
        passes_W_K[f] = _to_air(temp_K[n], area_m2[f], depth_m[f] / node_k[n], ambient_K, outside, side[f])


# --- nodes: multigrid -------------------------------------------------------------------------------------------------
# All levels stand one after another in one list: level l has the places level[l] to level[l + 1]. ``first``, ``beside``
# and ``link`` list the neighbours of each place; ``passes`` and ``parent_link`` run over the links of all levels.

_DAMPING = 0.75
_LARGE = 24000  # places from which a second thread gains more than it costs to wake


@njit(cache=True, error_model="numpy")
def spread_paths(links, passes_W_K, parent_link, first, link, value, leaving):
    """Add the links of one level up to those of the next at half strength, and enter all in the neighbour lists.

    Constant steps over lumps of two cells are too stiff by about two; halving makes the coarse levels fit.
    """
    for one in range(links, len(parent_link)):
        passes_W_K[one] = 0.0
    for one in range(len(parent_link)):
        if parent_link[one] >= 0:
            passes_W_K[parent_link[one]] += 0.5 * passes_W_K[one]
    for i in range(len(first) - 1):
        total = 0.0
        for e in range(first[i], first[i + 1]):
            value[e] = passes_W_K[link[e]]
            total += value[e]
        leaving[i] = total


@njit(cache=True, error_model="numpy")
def spread_mass(level, lump, leaving, mass, diagonal, inverse, first, beside, value, factor):
    """Add capacities up over all levels, and factor the last level for its direct solution."""
    for i in range(level[1], len(leaving)):
        mass[i] = 0.0
    for i in range(level[len(level) - 2]):
        mass[lump[i]] += mass[i]
    for i in range(len(leaving)):
        diagonal[i] = mass[i] + leaving[i]
        inverse[i] = 1.0 / diagonal[i]
    begin = level[len(level) - 2]
    many = level[len(level) - 1] - begin
    for i in range(many):
        for j in range(i + 1):
            factor[i, j] = 0.0
        factor[i, i] = diagonal[begin + i]
        for e in range(first[begin + i], first[begin + i + 1]):
            if beside[e] < begin + i:
                factor[i, beside[e] - begin] -= value[e]
    for j in range(many):
        for k in range(j):
            for i in range(j, many):
                factor[i, j] -= factor[i, k] * factor[j, k]
        root = np.sqrt(max(factor[j, j], 1e-300))
        for i in range(j, many):
            factor[i, j] /= root


@njit(inline="always")
def _miss(i, first, beside, value, diagonal, x, wanted):
    total = wanted - diagonal[i] * x[i]
    for e in range(first[i], first[i + 1]):
        total += value[e] * x[beside[e]]
    return total


@njit(inline="always")
def _lump_miss(lump, child_first, child, first, beside, value, inverse, given):
    """Return what is missed in a lump after one damped sweep from zero over its members."""
    total = 0.0
    for c in range(child_first[lump], child_first[lump + 1]):
        i = child[c]
        total += (1.0 - _DAMPING) * given[i]
        for e in range(first[i], first[i + 1]):
            total += _DAMPING * value[e] * given[beside[e]] * inverse[beside[e]]
    return total


@njit(cache=True, error_model="numpy")
def _go_up(low, high, lump, first, beside, value, inverse, given, x):
    """Sweep once through the members in order, from zero, and give their lumps what is then still missed."""
    for i in range(low, high):
        total = given[i]
        for e in range(first[i], first[i + 1]):  # neighbours stand in order
            if beside[e] > i:
                break
            total += value[e] * x[beside[e]]
        x[i] = total * inverse[i]
    for i in range(low, high):
        missed = 0.0
        e = first[i + 1]
        while e > first[i] and beside[e - _ONE] > i:
            e -= _ONE
            missed += value[e] * x[beside[e]]
        given[lump[i]] += missed


@njit(parallel=True, cache=True, error_model="numpy")
def _gather_wide(low, high, child_first, child, first, beside, value, inverse, given):
    for lump in prange(low, high):
        given[lump] = _lump_miss(lump, child_first, child, first, beside, value, inverse, given)


@njit(cache=True, error_model="numpy")
def _come_down(low, high, lump, first, beside, value, inverse, given, x):
    """Add what the lumps found, and sweep once through the members in the opposite order."""
    for i in range(low, high):
        x[i] += x[lump[i]]
    for i in range(high - 1, low - 1, -1):
        total = given[i]
        for e in range(first[i], first[i + 1]):
            total += value[e] * x[beside[e]]
        x[i] = total * inverse[i]


@njit(parallel=True, cache=True, error_model="numpy")
def _smooth_wide(low, high, first, beside, value, diagonal, inverse, given, lump, x, work):
    for i in prange(low, high):
        work[i] = _DAMPING * inverse[i] * given[i] + x[lump[i]]
    for i in prange(low, high):
        x[i] = work[i] + _DAMPING * inverse[i] * _miss(i, first, beside, value, diagonal, work, given[i])


@njit(cache=True, error_model="numpy")
def _last_level(begin, many, factor, given, x):
    for i in range(many):
        total = given[begin + i]
        for j in range(i):
            total -= factor[i, j] * x[begin + j]
        x[begin + i] = total / factor[i, i]
    for i in range(many - 1, -1, -1):
        total = x[begin + i]
        for j in range(i + 1, many):
            total -= factor[j, i] * x[begin + j]
        x[begin + i] = total / factor[i, i]


@njit(cache=True, error_model="numpy")
def _cycle(level, lump, child_first, child, first, beside, value, diagonal, inverse, factor, given, x, work):
    """One V-cycle from zero: a sweep on the way up and its mirror on the way down.

    Large levels take damped sweeps of all places at once, for two threads; others go through their places in order.
    """
    depth = len(level) - 2
    for above in range(depth):
        if level[above + 1] - level[above] > _LARGE:
            _gather_wide(level[above + 1], level[above + 2], child_first, child, first, beside, value, inverse, given)
        else:
            given[level[above + 1] : level[above + 2]] = 0.0
            _go_up(level[above], level[above + 1], lump, first, beside, value, inverse, given, x)
    _last_level(level[depth], level[depth + 1] - level[depth], factor, given, x)
    for above in range(depth - 1, -1, -1):
        if level[above + 1] - level[above] > _LARGE:
            _smooth_wide(level[above], level[above + 1], first, beside, value, diagonal, inverse, given, lump, x, work)
        else:
            _come_down(level[above], level[above + 1], lump, first, beside, value, inverse, given, x)


@njit(cache=True, error_model="numpy")
def _apply(many, first, beside, value, diagonal, x, out):
    for i in range(many):
        out[i] = -_miss(i, first, beside, value, diagonal, x, 0.0)


@njit(parallel=True, cache=True, error_model="numpy")
def _apply_wide(many, first, beside, value, diagonal, x, out):
    for i in prange(many):
        out[i] = -_miss(i, first, beside, value, diagonal, x, 0.0)


@njit(cache=True, error_model="numpy")
def conjugate_gradients(
    level,
    lump,
    child_first,
    child,
    first,
    beside,
    value,
    diagonal,
    inverse,
    factor,
    miss,
    x,
    z,
    p,
    q,
    work,
    tolerance_K,
    most,
):
    """Solve for the change of temperature until a cycle would change it by less than the tolerance; return the count.

    ``miss`` holds the right-hand side and loses it; ``x`` is the answer on the first level. All are as long as all
    levels together.
    """
    many = level[1]
    for i in range(many):
        x[i] = 0.0
        p[i] = 0.0
    before = 1.0
    for count in range(most):
        _cycle(level, lump, child_first, child, first, beside, value, diagonal, inverse, factor, miss, z, work)
        now, largest = 0.0, 0.0
        for i in range(many):
            now += miss[i] * z[i]
            largest = max(largest, abs(z[i]))
        if largest < tolerance_K or now <= 0.0:
            for i in range(many):
                x[i] += z[i]
            return count + 1
        keep = now / before if count > 0 else 0.0
        for i in range(many):
            p[i] = z[i] + keep * p[i]
        if many > _LARGE:
            _apply_wide(many, first, beside, value, diagonal, p, q)
        else:
            _apply(many, first, beside, value, diagonal, p, q)
        total = 0.0
        for i in range(many):
            total += p[i] * q[i]
        along = now / total
        for i in range(many):
            x[i] += along * p[i]
            miss[i] -= along * q[i]
        before = now
    return most


# --- nodes: one step --------------------------------------------------------------------------------------------------


@njit(inline="always")
def _imbalance(i, first, beside, value, temp_K, source_W, sink_W_K, gained_J, step_s):
    total = source_W[i] - sink_W_K[i] * temp_K[i] - gained_J / step_s
    for e in range(first[i], first[i + 1]):
        total += value[e] * (temp_K[beside[e]] - temp_K[i])
    return total


@njit(parallel=True, cache=True, error_model="numpy")
def _imbalances_wide(first, beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, miss):
    for i in prange(len(temp_K)):
        miss[i] = _imbalance(i, first, beside, value, temp_K, source_W, sink_W_K, heat_J[i] - begun_J[i], step_s)


@njit(cache=True, error_model="numpy")
def _imbalances(first, beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, miss):
    if len(temp_K) > _LARGE:
        _imbalances_wide(first, beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, miss)
    else:
        for i in range(len(temp_K)):
            miss[i] = _imbalance(i, first, beside, value, temp_K, source_W, sink_W_K, heat_J[i] - begun_J[i], step_s)


@njit(cache=True, error_model="numpy")
def step_nodes(
    metals, begun_J, heat_J, temp_K, m3, other_J_K, heir, knots_K, knots_J_m3, heat, low_K, per_K, source_W, sink_W_K,
    step_s, level, lump, child_first, child, first, beside, value, leaving, mass, diagonal, inverse, factor, miss, x, z,
    p, q, work, capacity_J_K, settled_K, tolerance_K, most, counts
):  # fmt: skip
    """Take all nodes one implicit step; ``heat_J`` comes as a guess and goes as the answer.

    Each correction solves the balance with the capacities at hand and then looks up the temperatures that belong to the
    heats; it is the last when no temperature comes out other than foreseen. What imbalance is left is added to the
    heats in the end, so the books close whatever the tolerances. ``settled_K`` are the temperatures at which all flows
    of the step are booked.
    """
    many = len(temp_K)
    node_temps(metals, heat_J, m3, other_J_K, knots_K, knots_J_m3, heat, low_K, per_K, temp_K, capacity_J_K)
    largest = 1e300
    for correction in range(most + 1):
        _imbalances(first, beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, miss)
        if largest < tolerance_K or correction == most:
            break
        for i in range(many):
            mass[i] = capacity_J_K[i] / step_s + sink_W_K[i]
        spread_mass(level, lump, leaving, mass, diagonal, inverse, first, beside, value, factor)
        counts[1] += conjugate_gradients(
            level, lump, child_first, child, first, beside, value, diagonal, inverse, factor, miss, x, z, p, q, work,
            tolerance_K, 60
        )  # fmt: skip
        counts[0] += 1
        largest, near = 0.0, 0
        for i in range(many):
            straight_K = temp_K[i] + x[i]
            heat_J[i] += capacity_J_K[i] * x[i]
            temp_K[i], capacity_J_K[i], near = _node_temp(
                i, metals, heat_J[i], m3, other_J_K, straight_K, near, knots_K, knots_J_m3, heat, low_K, per_K
            )
            largest = max(largest, abs(temp_K[i] - straight_K))
    for i in range(many):
        settled_K[i] = temp_K[i]
        heat_J[heir[i]] += step_s * miss[i]
    node_temps(metals, heat_J, m3, other_J_K, knots_K, knots_J_m3, heat, low_K, per_K, temp_K, capacity_J_K)
    return largest


# --- nodes: what is kept ----------------------------------------------------------------------------------------------


@njit(cache=True, error_model="numpy")
def mark_crossings(metals, earlier_J, begun_J, heat_J, crossing_J, step_from_s, step_s, last_step_s, crossed_s):
    """Enter when each metal node fell through each of some heats, shape (marks, metals).

    A node that has finished a jump of heat waits for its neighbours, so a straight line over the step would be late;
    the moment is taken from the rate of the step before if that is sooner.
    """
    for mark in range(len(crossing_J)):
        for i in range(metals):
            mark_J = crossing_J[mark, i]
            if heat_J[i] < mark_J <= begun_J[i]:
                over_J = begun_J[i] - mark_J
                passed_s = step_s * over_J / (begun_J[i] - heat_J[i])
                if earlier_J[i] > begun_J[i]:
                    passed_s = min(passed_s, last_step_s * over_J / (earlier_J[i] - begun_J[i]))
                crossed_s[mark, i] = step_from_s + passed_s
            elif begun_J[i] < mark_J and np.isnan(crossed_s[mark, i]):
                crossed_s[mark, i] = step_from_s


@njit(cache=True, error_model="numpy")
def mark_slopes(
    metals, crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s
):
    """Enter slope and cooling rate of metal nodes that crossed in this step.

    The slope is the least-squares plane through the neighbours at the moment of crossing; where they lie in a line or
    a plane, the slope is that along it.
    """
    for i in range(metals):
        if not (step_from_s <= crossed_s[i] < step_from_s + step_s) or not np.isnan(rate_K_s[i]):
            continue
        share = (crossed_s[i] - step_from_s) / step_s
        here = before_K[i] + share * (after_K[i] - before_K[i])
        rate_K_s[i] = max(before_K[i] - after_K[i], 0.0) / step_s
        xx = xy = xz = yy = yz = zz = bx = by = bz = 0.0
        for e in range(first[i], first[i + 1]):
            n = beside[e]
            if n >= metals:
                continue
            dx = centre_m[n, 0] - centre_m[i, 0]
            dy = centre_m[n, 1] - centre_m[i, 1]
            dz = centre_m[n, 2] - centre_m[i, 2]
            rise = before_K[n] + share * (after_K[n] - before_K[n]) - here
            weight = 1.0 / (dx * dx + dy * dy + dz * dz)
            xx += weight * dx * dx
            xy += weight * dx * dy
            xz += weight * dx * dz
            yy += weight * dy * dy
            yz += weight * dy * dz
            zz += weight * dz * dz
            bx += weight * dx * rise
            by += weight * dy * rise
            bz += weight * dz * rise
        ridge = 1e-6 * (xx + yy + zz) + 1e-30
        xx, yy, zz = xx + ridge, yy + ridge, zz + ridge
        cxx, cxy, cxz = yy * zz - yz * yz, xz * yz - xy * zz, xy * yz - xz * yy
        cyy, cyz, czz = xx * zz - xz * xz, xy * xz - xx * yz, xx * yy - xy * xy
        size = xx * cxx + xy * cxy + xz * cxz
        gx = (cxx * bx + cxy * by + cxz * bz) / size
        gy = (cxy * bx + cyy * by + cyz * bz) / size
        gz = (cxz * bx + cyz * by + czz * bz) / size
        gradient_K_m[i] = np.sqrt(gx * gx + gy * gy + gz * gz)
