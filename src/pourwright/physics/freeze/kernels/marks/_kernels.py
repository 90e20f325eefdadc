"""Compiled loops that keep what a freezing run has passed through."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def mark_crossings(earlier_J, begun_J, heat_J, crossing_J, step_from_s, step_s, last_step_s, crossed_s):
    """Enter when each metal node fell through each of some heats, shape (marks, metals).

    A node that has finished a jump of heat waits for its neighbours, so a straight line over the step would be late;
    the moment is taken from the rate of the step before if that is sooner.
    """
    for mark in range(crossing_J.shape[0]):
        for i in range(crossing_J.shape[1]):
            mark_J = crossing_J[mark, i]
            if heat_J[i] < mark_J <= begun_J[i]:
                over_J = begun_J[i] - mark_J
                passed_s = step_s * over_J / (begun_J[i] - heat_J[i])
                if earlier_J[i] > begun_J[i]:
                    passed_s = min(passed_s, last_step_s * over_J / (earlier_J[i] - begun_J[i]))
                crossed_s[mark, i] = step_from_s + passed_s
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
def mark_slopes(crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s):
    """Enter slope and cooling rate of metal nodes that crossed in this step.

    The slope is the least-squares plane through the neighbours at the moment of crossing; where they lie in a line or
    a plane, the slope is that along it. Node i has the metal nodes ``beside[first[i]]`` to ``beside[first[i + 1] - 1]``
    beside it.
    """
    for i in range(len(crossed_s)):
        if not (step_from_s <= crossed_s[i] < step_from_s + step_s) or not np.isnan(rate_K_s[i]):
            continue
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
