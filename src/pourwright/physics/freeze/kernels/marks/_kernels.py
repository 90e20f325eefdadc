"""Compiled loops that keep what a freezing run has passed through."""

from __future__ import annotations

import numpy as np
from numba import njit, prange


@njit(inline="always")
def _passed(mark_J, from_J, to_J, wide_s, rate_W):
    """Return when heat fell to a mark, given that it does on the way [s].

    A node that has finished a jump of heat waits for its neighbours, so a straight line would be late; the moment is
    taken from the rate before if that is sooner.
    """
    over_J = from_J - mark_J
    passed_s = wide_s * over_J / (from_J - to_J)
    if rate_W > 0.0:
        passed_s = min(passed_s, over_J / rate_W)
    return passed_s


@njit(parallel=True, cache=True, error_model="numpy")
def mark_crossings(
    earlier_J, begun_J, lead_J, heat_J, crossing_J, step_from_s, step_s, last_step_s, part_ratio, crossed_s
):  # fmt: skip
    """Enter when each metal node fell through each of some heats, shape (marks, metals).

    A step has two parts; the first ends at its share ``part_ratio`` of the step, where the heat was such that the same
    rate leads to ``lead_J`` after one minus that share.
    """
    part_s = part_ratio * step_s
    share = part_ratio / (1.0 - part_ratio)
    for i in prange(crossing_J.shape[1]):
        part_J = begun_J[i] + (lead_J[i] - begun_J[i]) * share
        before_W, first_W = (earlier_J[i] - begun_J[i]) / last_step_s, (begun_J[i] - part_J) / part_s
        for mark in range(crossing_J.shape[0]):
            mark_J = crossing_J[mark, i]
            if part_J < mark_J <= begun_J[i]:
                crossed_s[mark, i] = step_from_s + _passed(mark_J, begun_J[i], part_J, part_s, before_W)
            elif heat_J[i] < mark_J <= part_J:
                passed_s = _passed(mark_J, part_J, heat_J[i], step_s - part_s, first_W)
                crossed_s[mark, i] = step_from_s + part_s + passed_s
            elif begun_J[i] < mark_J and np.isnan(crossed_s[mark, i]):
                crossed_s[mark, i] = step_from_s


@njit(inline="always")
def _solved(xx, xy, xz, yy, yz, zz, bx, by, bz):
    """Return the length of the slope that fits best."""
    ridge = 1e-6 * (xx + yy + zz) + 1e-30
    xx, yy, zz = xx + ridge, yy + ridge, zz + ridge
    cxx, cxy, cxz = yy * zz - yz * yz, xz * yz - xy * zz, xy * yz - xz * yy
    cyy, cyz, czz = xx * zz - xz * xz, xy * xz - xx * yz, xx * yy - xy * xy
    size = xx * cxx + xy * cxy + xz * cxz
    gx = (cxx * bx + cxy * by + cxz * bz) / size
    gy = (cxy * bx + cyy * by + cyz * bz) / size
    gz = (cxz * bx + cyz * by + czz * bz) / size
    return np.sqrt(gx * gx + gy * gy + gz * gz)


@njit(cache=True, error_model="numpy")
def _mark_slope(
    i, crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s
):  # fmt: skip
    if not (step_from_s <= crossed_s[i] < step_from_s + step_s) or not np.isnan(rate_K_s[i]):
        return
    share = (crossed_s[i] - step_from_s) / step_s
    here = before_K[i] + share * (after_K[i] - before_K[i])
    rate_K_s[i] = max(before_K[i] - after_K[i], 0.0) / step_s
    xx = xy = xz = yy = yz = zz = bx = by = bz = 0.0
    for e in range(first[i], first[i + 1]):
        n = beside[e]
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
    gradient_K_m[i] = _solved(xx, xy, xz, yy, yz, zz, bx, by, bz)


@njit(cache=True, error_model="numpy")
def mark_slopes(crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s):
    """Enter slope and cooling rate of metal nodes that crossed in this step.

    The slope is the least-squares plane through the neighbours at the moment of crossing; where they lie in a line or
    a plane, the slope is that along it. Node i has the metal nodes ``beside[first[i]]`` to ``beside[first[i + 1] - 1]``
    beside it.
    """
    for i in range(len(crossed_s)):
        _mark_slope(
            i, crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s
        )  # fmt: skip


@njit(cache=True, error_model="numpy")
def look(heat_J, temp_K, begun_K, before_K, ratio, solid_J):
    """Look over the nodes after a step; the first ``len(solid_J)`` are metal.

    Returns how far metal came out from a straight line through the last two steps [K], the hottest metal [K], its heat
    above being solid [J], and all heat [J], which is no number if any is none.
    """
    far_K, hottest_K, over_J, all_J = 0.0, -np.inf, 0.0, 0.0
    for i in range(len(solid_J)):
        straight_K = begun_K[i] + (begun_K[i] - before_K[i]) * ratio
        far_K = max(far_K, abs(temp_K[i] - straight_K))
        hottest_K = max(hottest_K, temp_K[i])
        over_J += max(heat_J[i] - solid_J[i], 0.0)
    for i in range(len(heat_J)):
        all_J += heat_J[i]
    return far_K, hottest_K, over_J, all_J
