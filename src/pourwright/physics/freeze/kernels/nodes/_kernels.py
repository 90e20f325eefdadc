"""Compiled loops over the nodes; :mod:`pourwright.physics.freeze.metal` is the readable side.

``laws`` are :class:`~pourwright.physics.freeze.metal.Laws`, ``lists`` the links of all levels
(:class:`~pourwright.physics.freeze.multigrid.Lists`), ``work`` the arrays filled anew in each step.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from pourwright.physics.freeze.kernels.levels._kernels import conjugate_gradients, spread_mass
from pourwright.physics.freeze.kernels.tables._kernels import along, between, to_air

_PART = 4096  # nodes of a part; sums are taken part by part, so that they do not depend on the number of threads
_LARGE = 16384  # nodes from which a second thread gains more than it costs to wake
_SIX = np.uint64(6)
_SHARP_FRAC = 0.05  # how sharply a correction is solved, as a share of the surprise that will follow
_BEHIND_K = 0.1  # how far below the end of a jump a node is guessed at most


# --- laws -------------------------------------------------------------------------------------------------------------


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
        held, slope = between(heat, low_K, per_K, temp_K)
        slope = mould_m3 * slope + other_J_K
        change = (heat_J - mould_m3 * held - other_J_K * temp_K) / slope
        temp_K += change
        if abs(change) < 1e-12 * abs(temp_K):
            break
    return temp_K, slope


@njit(cache=True, error_model="numpy")
def node_heat(laws, temp_K, other_J_K, heat_J):
    """Give the heat that nodes hold at their temperatures [J], with ``other_J_K`` besides their law."""
    knots_K, knots_J_m3 = laws.knots_K, laws.heat_J_m3
    last = len(knots_K) - 2
    for i in range(len(temp_K)):
        if i < laws.metals_count:
            k = 0
            while k < last and temp_K[i] > knots_K[k + 1]:
                k += 1
            slope = (knots_J_m3[k + 1] - knots_J_m3[k]) / (knots_K[k + 1] - knots_K[k])
            held = knots_J_m3[k] + slope * (temp_K[i] - knots_K[k])
        else:
            held = between(laws.mould_J_m3, laws.low_K, laws.per_K_ratio, temp_K[i])[0]
        heat_J[i] = laws.m3[i] * held + other_J_K[i] * temp_K[i]


@njit(cache=True, error_model="numpy")
def _temps(low, high, laws, heat_J, guess_K, temp_K, capacity_J_K):
    """Look up the temperatures that belong to heats; return how far the furthest is from its guess [K].

    Arrays are taken out of ``laws`` before the loops: inside, each use would count its users.
    """
    m3, other_J_K, knots_K, knots_J_m3 = laws.m3, laws.other_J_K, laws.knots_K, laws.heat_J_m3
    mould_J_m3, low_K, per_K = laws.mould_J_m3, laws.low_K, laws.per_K_ratio
    largest, near = 0.0, 0
    for i in range(low, min(high, laws.metals_count)):
        found_K, capacity_J_K[i], near = _metal_temp(heat_J[i], m3[i], other_J_K[i], knots_K, knots_J_m3, near)
        largest = max(largest, abs(found_K - guess_K[i]))
        temp_K[i] = found_K
    for i in range(max(low, laws.metals_count), high):
        capacity_J_K[i] = 0.0
        if m3[i] + other_J_K[i] > 0.0:
            found_K, capacity_J_K[i] = _mould_temp(
                heat_J[i], m3[i], other_J_K[i], guess_K[i], mould_J_m3, low_K, per_K
            )  # fmt: skip
            largest = max(largest, abs(found_K - guess_K[i]))
            temp_K[i] = found_K
        else:
            temp_K[i] = guess_K[i]
    return largest


@njit(parallel=True, cache=True, error_model="numpy")
def _temps_wide(laws, heat_J, temp_K, capacity_J_K):
    many = len(temp_K)
    for part in prange((many + _PART - 1) // _PART):
        _temps(part * _PART, min((part + 1) * _PART, many), laws, heat_J, temp_K, temp_K, capacity_J_K)


@njit(cache=True, error_model="numpy")
def node_temps(laws, heat_J, temp_K, capacity_J_K):
    """Give temperature and heat capacity of nodes that hold so much heat; nodes without capacity keep theirs."""
    if len(temp_K) > _LARGE:
        _temps_wide(laws, heat_J, temp_K, capacity_J_K)
    else:
        _temps(0, len(temp_K), laws, heat_J, temp_K, temp_K, capacity_J_K)


@njit(parallel=True, cache=True, error_model="numpy")
def node_laws(laws, temp_K, before_K, ratio, held_K, node_k, node_h, node_u):
    """Give the temperature at which nodes are held during the sweeps, and the laws there.

    It lies ahead on the straight line through the last two, by ``ratio`` of the way between them. The laws are
    conductivity of all nodes, contact of metal nodes, and u of mould nodes.
    """
    knots_K, knots_k, knots_solid = laws.knots_K, laws.k_W_mK, laws.solid_frac
    contact_solid, contact_h = laws.contact_frac, laws.contact_W_m2K
    mould_k, mould_u, low_K, per_K = laws.mould_W_mK, laws.mould_u_K, laws.low_K, laws.per_K_ratio
    for i in prange(laws.metals_count):
        held_K[i] = temp_K[i] + (temp_K[i] - before_K[i]) * ratio
        node_k[i] = along(knots_K, knots_k, held_K[i])
        node_h[i] = along(contact_solid, contact_h, along(knots_K, knots_solid, held_K[i]))
    for i in range(laws.metals_count, len(held_K)):
        held_K[i] = temp_K[i] + (temp_K[i] - before_K[i]) * ratio
        node_k[i] = between(mould_k, low_K, per_K, held_K[i])[0]
        node_u[i] = between(mould_u, low_K, per_K, held_K[i])[0]


@njit(parallel=True, cache=True, error_model="numpy")
def link_values(links, node_k, node_h, passes_W_K):
    """Give what each link between nodes passes [W/K]: kind 0 one material, 1 a wall (metal first)."""
    one, other, kind, size, one_m, other_m = links.one, links.other, links.kind, links.size, links.one_m, links.other_m
    for link in prange(len(one)):
        a, b = one[link], other[link]
        if kind[link] == 0:
            passes_W_K[link] = size[link] * 0.5 * (node_k[a] + node_k[b])
        else:
            passes_W_K[link] = size[link] / (one_m[link] / node_k[a] + 1.0 / node_h[a] + other_m[link] / node_k[b])


@njit(cache=True, error_model="numpy")
def air_of_nodes(air, temp_K, node_k, ambient_K, outside, passes_W_K, source_W, sink_W_K):
    """Give what each bare face of a node passes to the air [W/K], and add it to the nodes."""
    for f in range(len(air.node)):
        n = air.node[f]
        passes_W_K[f] = to_air(temp_K[n], air.m2[f], air.m[f] / node_k[n], ambient_K, outside, air.side[f])
        source_W[n] += passes_W_K[f] * ambient_K
        sink_W_K[n] += passes_W_K[f]


@njit(cache=True, error_model="numpy")
def _guess(low, high, laws, begun_J, begun_K, from_J, from_K, to_J, to_K, ratio, heat_J, temp_K):
    m3, other_J_K, knots_K, knots_J_m3 = laws.m3, laws.other_J_K, laws.knots_K, laws.heat_J_m3
    metals, near = laws.metals_count, 0
    for i in range(low, high):
        way_K = (to_K[i] - from_K[i]) * ratio
        heat_J[i] = begun_J[i] + (to_J[i] - from_J[i]) * ratio
        temp_K[i] = begun_K[i] + way_K
        if i < metals and heat_J[i] < begun_J[i]:
            _, capacity, near = _metal_temp(begun_J[i], m3[i], other_J_K[i], knots_K, knots_J_m3, near)
            heat_J[i] = max(heat_J[i], begun_J[i] + min(way_K, 0.0) * capacity)
            knot_J = m3[i] * knots_J_m3[near] + other_J_K[i] * knots_K[near]
            if heat_J[i] < knot_J and near > 0:
                below = (m3[i] * (knots_J_m3[near] - knots_J_m3[near - 1])) / (knots_K[near] - knots_K[near - 1])
                below += other_J_K[i]
                if below < 0.5 * capacity:
                    heat_J[i] = max(heat_J[i], knot_J - _BEHIND_K * below)


@njit(parallel=True, cache=True, error_model="numpy")
def guess_nodes(laws, begun_J, begun_K, from_J, from_K, to_J, to_K, ratio, heat_J, temp_K):
    """Guess heats and temperatures: what they went from one moment to another, times a ratio, they go on.

    No metal is guessed far beyond the end of a jump: a node that has given off all its heat of fusion is held back by
    its neighbours. ``heat_J`` and ``temp_K`` may be ``to_J`` and ``to_K``.
    """
    many = len(begun_J)
    for part in prange((many + _PART - 1) // _PART):
        _guess(
            part * _PART, min((part + 1) * _PART, many), laws, begun_J, begun_K, from_J, from_K, to_J, to_K, ratio,
            heat_J, temp_K,
        )  # fmt: skip


# --- one step ---------------------------------------------------------------------------------------------------------


@njit(cache=True, error_model="numpy")
def _imbalances(low, high, beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, wrong_W):
    for i in range(low, high):
        here = temp_K[i]
        total = source_W[i] - sink_W_K[i] * here - (heat_J[i] - begun_J[i]) / step_s
        s = np.uint64(i) * _SIX
        for slot in range(6):
            at = s + np.uint64(slot)
            total += value[at] * (temp_K[beside[at]] - here)
        wrong_W[i] = total


@njit(parallel=True, cache=True, error_model="numpy")
def _imbalances_wide(beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, wrong_W):
    many = len(temp_K)
    for part in prange((many + _PART - 1) // _PART):
        _imbalances(
            part * _PART, min((part + 1) * _PART, many), beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J,
            step_s, wrong_W,
        )  # fmt: skip


@njit(cache=True, error_model="numpy")
def _all_imbalances(lists, beside, value, odd_W_K, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, wrong_W):
    """Give what each node gets beyond what it has gained [W]."""
    if len(temp_K) > _LARGE:
        _imbalances_wide(beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, wrong_W)
    else:
        _imbalances(
            0, len(temp_K), beside, value, temp_K, source_W, sink_W_K, heat_J, begun_J, step_s, wrong_W
        )  # fmt: skip
    for e in range(lists.extra_first[1]):
        a, b = lists.extra_one[e], lists.extra_other[e]
        flow_W = odd_W_K[e] * (temp_K[b] - temp_K[a])
        wrong_W[a] += flow_W
        wrong_W[b] -= flow_W


@njit(cache=True, error_model="numpy")
def _corrected(low, high, laws, x, heat_J, temp_K, capacity_J_K):
    """Correct heats and look up the temperatures that belong to them; return the largest surprise [K]."""
    for i in range(low, high):
        heat_J[i] += capacity_J_K[i] * x[i]
        temp_K[i] += x[i]
    return _temps(low, high, laws, heat_J, temp_K, temp_K, capacity_J_K)


@njit(parallel=True, cache=True, error_model="numpy")
def _corrected_wide(laws, x, heat_J, temp_K, capacity_J_K):
    many = len(temp_K)
    parts = (many + _PART - 1) // _PART
    largest = np.zeros(parts)
    for part in prange(parts):
        largest[part] = _corrected(
            part * _PART, min((part + 1) * _PART, many), laws, x, heat_J, temp_K, capacity_J_K
        )  # fmt: skip
    return largest.max()


@njit(cache=True, error_model="numpy")
def step_nodes(
    laws, lists, work, begun_J, heat_J, temp_K, field, step_s, tolerance_K, most, surprise_K, counts
):  # fmt: skip
    """Take all nodes one implicit step; ``heat_J`` comes as a guess and goes as the answer.

    Each correction solves the balance with the capacities at hand and then looks up the temperatures that belong to the
    heats; it is the last when no temperature comes out other than foreseen. What imbalance is left is added to the
    heats in the end, so the books close whatever the tolerances. ``field.settled_K`` are the temperatures at which all
    flows of the step are booked.

    ``surprise_K`` holds how far temperatures came out from those foreseen after each correction of the step before: it
    would be a waste to solve a correction much more sharply than that. It goes as found now.
    """
    many = len(temp_K)
    beside, value = lists.beside.reshape(-1), work.value_W_K.reshape(-1)
    capacity_J_K, wrong_W, sink_W_K = field.capacity_J_K, work.wrong_W, field.sink_W_K
    node_temps(laws, heat_J, temp_K, capacity_J_K)
    largest, inner_K = 1e300, tolerance_K
    for correction in range(most + 1):
        _all_imbalances(
            lists, beside, value, work.odd_W_K, temp_K, field.source_W, sink_W_K, heat_J, begun_J, step_s, wrong_W
        )  # fmt: skip
        if (largest < tolerance_K and inner_K <= tolerance_K) or correction == most:
            break
        known = correction < len(surprise_K)
        inner_K = max(tolerance_K, _SHARP_FRAC * surprise_K[correction]) if known else tolerance_K
        for i in range(many):
            work.miss_W[i] = wrong_W[i]
            work.mass_W_K[i] = capacity_J_K[i] / step_s + sink_W_K[i]
        spread_mass(
            lists, work.passes_W_K, work.leaving_W_K, work.mass_W_K, work.diagonal_W_K, work.inverse_K_W,
            work.value_W_K, work.factor_W_K,
        )  # fmt: skip
        counts[1] += conjugate_gradients(
            lists, beside, value, work.diagonal_W_K, work.inverse_K_W, work.factor_W_K, work.odd_W_K, work.kept_W,
            work.miss_W, work.change_K, work.cycle_K, work.cycle_W, work.search_K, work.search_W, inner_K, 60,
        )  # fmt: skip
        counts[0] += 1
        if many > _LARGE:
            largest = _corrected_wide(laws, work.change_K, heat_J, temp_K, capacity_J_K)
        else:
            largest = _corrected(0, many, laws, work.change_K, heat_J, temp_K, capacity_J_K)
        if known:
            surprise_K[correction] = largest
    for later in range(correction, len(surprise_K)):
        surprise_K[later] = 0.0
    for i in range(many):
        field.settled_K[i] = temp_K[i]
        heat_J[laws.heir[i]] += step_s * wrong_W[i]
    node_temps(laws, heat_J, temp_K, capacity_J_K)
    return largest
