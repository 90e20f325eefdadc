"""Reading tables of laws inside compiled loops."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(inline="always")
def between(table, low, per_knot, at):
    """Return the value and the slope [1 / unit of ``at``] of an evenly knotted table, straight on beyond its ends."""
    place = (at - low) * per_knot
    knot = min(max(int(np.floor(place)), 0), len(table) - 2)
    rise = table[knot + 1] - table[knot]
    return table[knot] + rise * (place - knot), rise * per_knot


@njit(inline="always")
def along(knots, values, at):
    """Return the value of a table with uneven knots, flat beyond its ends."""
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


@njit(inline="always")
def to_air(temp_K, area_m2, depth_m2K_W, ambient_K, outside, side):
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


@njit(inline="always")
def knot_of(many, low, per_knot, at):
    """Return the knot that begins the interval of an evenly knotted table which ``at`` falls in."""
    return min(max(int(np.floor((at - low) * per_knot)), 0), many - 2)


@njit(inline="always")
def held(mould_m3, steel_m3, heat, steel_heat, low, per_knot, at, knot):
    """Return the heat held at ``at`` by the law of one interval, and its slope [1 / unit of ``at``]."""
    past = (at - low) * per_knot - knot
    rise = heat[knot + 1] - heat[knot]
    holds, slope = mould_m3 * (heat[knot] + rise * past), mould_m3 * rise
    if steel_m3 > 0.0:
        steel_rise = steel_heat[knot + 1] - steel_heat[knot]
        holds += steel_m3 * (steel_heat[knot] + steel_rise * past)
        slope += steel_m3 * steel_rise
    return holds, slope * per_knot


@njit(inline="always")
def settled(start, moved, capacity, mould_m3, steel_m3, heat, steel_heat, low, per_knot, extra_J):
    """Return the u at which the heat gained is what a constant ``capacity`` says for the way from start to moved.

    Newton's step is exact within an interval of the tables, so it is the last one if it does not leave it.
    """
    knot = knot_of(len(heat), low, per_knot, start)
    wanted = held(mould_m3, steel_m3, heat, steel_heat, low, per_knot, start, knot)[0]
    wanted += capacity * (moved - start) + extra_J
    u, knot = moved, knot_of(len(heat), low, per_knot, moved)
    for _ in range(12):
        holds, slope = held(mould_m3, steel_m3, heat, steel_heat, low, per_knot, u, knot)
        u += (wanted - holds) / slope
        tried, knot = knot, knot_of(len(heat), low, per_knot, u)
        if knot == tried:
            break
    return u
