"""Compiled loops over the levels of the nodes; :mod:`pourwright.physics.freeze.multigrid` is the readable side.

All levels stand one after another in one list of places. Places of a level are *red* or *black*, as on a chess board,
metal before mould: ``runs`` says where red metal, black metal, red mould and black mould begin, and where the level
ends. Each place has six slots for links to places of the other colour (an empty slot passes nothing); the few links
that find no slot are *extra*. So all places of a colour can be worked on at once.

A wide loop is cut into parts that do not depend on the number of threads, and sums are taken part by part: a run
repeats to the last bit on any number.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

_PART = 4096  # places of a part
_PART_OF_LUMPS = 512  # lumps of a part
_LARGE = 16384  # places from which a second thread gains more than it costs to wake
_SIX = np.uint64(6)


@njit(parallel=True, cache=True, error_model="numpy")
def _enter(passes_W_K, link, value, leaving):
    for i in prange(len(leaving)):
        s = np.uint64(i) * _SIX
        leaving[i] = 0.0
        for slot in range(6):
            at = s + np.uint64(slot)
            passes = passes_W_K[link[at]]
            value[at] = passes
            leaving[i] += passes


@njit(cache=True, error_model="numpy")
def spread_paths(links, passes_W_K, lists, work):
    """Add the links of one level up to those of the next at half strength, and enter all in slots.

    Constant steps over lumps of two cells are too stiff by about two; halving makes the coarse levels fit. The last
    entry of ``passes_W_K`` is nothing: empty slots point there.
    """
    parent_link, link = lists.parent_link, lists.link
    value, odd, leaving = work.value_W_K, work.odd_W_K, work.leaving_W_K
    many = len(parent_link)
    for one in range(links, many + 1):
        passes_W_K[one] = 0.0
    for one in range(many):
        if parent_link[one] >= 0:
            passes_W_K[parent_link[one]] += 0.5 * passes_W_K[one]
    _enter(passes_W_K, link.reshape(-1), value.reshape(-1), leaving)
    for e in range(len(lists.extra_link)):
        passes = passes_W_K[lists.extra_link[e]]
        odd[e] = passes
        leaving[lists.extra_one[e]] += passes
        leaving[lists.extra_other[e]] += passes


@njit(cache=True, error_model="numpy")
def _factor(last, lists, passes_W_K, diagonal, value, factor):
    """Factor the last level."""
    begin, many = lists.runs[last, 0], lists.runs[last, 4] - lists.runs[last, 0]
    for i in range(many):
        for j in range(many):
            factor[i, j] = 0.0
        factor[i, i] = diagonal[begin + i]
    for i in range(many):
        for slot in range(6):
            if value[begin + i, slot] != 0.0:
                factor[i, lists.beside[begin + i, slot] - begin] -= value[begin + i, slot]
    for e in range(lists.extra_first[last], lists.extra_first[last + 1]):
        i, j = lists.extra_one[e] - begin, lists.extra_other[e] - begin
        factor[i, j] -= passes_W_K[lists.extra_link[e]]
        factor[j, i] -= passes_W_K[lists.extra_link[e]]
    for j in range(many):
        for k in range(j):
            for i in range(j, many):
                factor[i, j] -= factor[i, k] * factor[j, k]
        root = np.sqrt(max(factor[j, j], 1e-300))
        for i in range(j, many):
            factor[i, j] /= root


@njit(cache=True, error_model="numpy")
def spread_mass(lists, passes_W_K, leaving, mass, diagonal, inverse, value, factor):
    """Add capacities up over all levels, and factor the last level for its direct solution."""
    runs, last = lists.runs, len(lists.runs) - 1
    for i in range(runs[0, 4], len(leaving)):
        mass[i] = 0.0
    for i in range(runs[last, 0]):
        mass[lists.lump[i]] += mass[i]
    for i in range(len(leaving)):
        diagonal[i] = mass[i] + leaving[i]
        inverse[i] = 1.0 / (mass[i] + leaving[i])
    _factor(last, lists, passes_W_K, diagonal, value, factor)


@njit(inline="always")
def six(i, beside, value, x):
    """Return what the six slots of a place bring in; ``beside`` and ``value`` are flat."""
    s = np.uint64(i) * _SIX
    a = value[s] * x[beside[s]] + value[s + np.uint64(1)] * x[beside[s + np.uint64(1)]]
    b = value[s + np.uint64(2)] * x[beside[s + np.uint64(2)]] + value[s + np.uint64(3)] * x[beside[s + np.uint64(3)]]
    c = value[s + np.uint64(4)] * x[beside[s + np.uint64(4)]] + value[s + np.uint64(5)] * x[beside[s + np.uint64(5)]]
    return a + b + c


# --- one colour, from one place to another, and the same on all threads -----------------------------------------------


@njit(cache=True, error_model="numpy")
def _relax(low, high, beside, value, inverse, given, x):
    for i in range(low, high):
        x[i] = inverse[i] * (given[i] + six(i, beside, value, x))


@njit(cache=True, error_model="numpy")
def _gather(low, high, child_first, child_black, child, beside, value, x, given):
    """Give lumps what is still missed at their red members; at black ones nothing is."""
    for lump in range(low, high):
        total = given.dtype.type(0.0)
        for c in range(child_first[lump], child_black[lump]):
            total += six(child[c], beside, value, x)
        given[lump] = total


@njit(inline="always")
def parts_of(low, high):
    """Return into how many parts a loop is cut."""
    return (high - low + _PART - 1) // _PART


@njit(parallel=True, cache=True, error_model="numpy")
def _alone_wide(low, high, inverse, given, x):
    for i in prange(low, high):
        x[i] = inverse[i] * given[i]


@njit(parallel=True, cache=True, error_model="numpy")
def _relax_wide(low, high, beside, value, inverse, given, x):
    for part in prange(parts_of(low, high)):
        begin = low + part * _PART
        _relax(begin, min(begin + _PART, high), beside, value, inverse, given, x)


@njit(parallel=True, cache=True, error_model="numpy")
def _gather_wide(low, high, child_first, child_black, child, beside, value, x, given):
    for part in prange((high - low + _PART_OF_LUMPS - 1) // _PART_OF_LUMPS):
        begin = low + part * _PART_OF_LUMPS
        _gather(begin, min(begin + _PART_OF_LUMPS, high), child_first, child_black, child, beside, value, x, given)


@njit(parallel=True, cache=True, error_model="numpy")
def _add_lump_wide(low, high, lump, x):
    for i in prange(low, high):
        x[i] += x[lump[i]]


# --- one cycle --------------------------------------------------------------------------------------------------------


@njit(cache=True, error_model="numpy")
def _up(level, lists, beside, value, inverse, given, x, passes):
    """Sweep from nothing, red then black, and give the lumps what is then still missed."""
    runs = lists.runs
    low, high = runs[level + 1, 0], runs[level + 1, 4]
    if runs[level, 4] - runs[level, 0] > _LARGE:
        _alone_wide(runs[level, 0], runs[level, 1], inverse, given, x)
        _alone_wide(runs[level, 2], runs[level, 3], inverse, given, x)
        _relax_wide(runs[level, 1], runs[level, 2], beside, value, inverse, given, x)
        _relax(runs[level, 3], runs[level, 4], beside, value, inverse, given, x)
        _gather_wide(low, high, lists.child_first, lists.child_black, lists.child, beside, value, x, given)
    else:
        for red in (0, 2):
            for i in range(runs[level, red], runs[level, red + 1]):
                x[i] = inverse[i] * given[i]
        for black in (1, 3):
            _relax(runs[level, black], runs[level, black + 1], beside, value, inverse, given, x)
        _gather(low, high, lists.child_first, lists.child_black, lists.child, beside, value, x, given)
    for e in range(lists.extra_first[level], lists.extra_first[level + 1]):
        a, b = lists.extra_one[e], lists.extra_other[e]
        given[lists.lump[a]] += passes[e] * x[b]
        given[lists.lump[b]] += passes[e] * x[a]


@njit(cache=True, error_model="numpy")
def _down(level, lists, beside, value, inverse, given, x, passes, kept):
    """Add what the lumps found, and sweep black then red; extra links bring in what they did before.

    What those bring in stays in ``given``; ``kept`` holds what was there before.
    """
    runs, lump = lists.runs, lists.lump
    wide = runs[level, 4] - runs[level, 0] > _LARGE
    if wide:
        _add_lump_wide(runs[level, 0], runs[level, 4], lump, x)
    else:
        for i in range(runs[level, 0], runs[level, 4]):
            x[i] += x[lump[i]]
    for e in range(lists.extra_first[level], lists.extra_first[level + 1]):
        a, b = lists.extra_one[e], lists.extra_other[e]
        kept[e, 0] = given[a]
        given[a] += passes[e] * x[b]
        kept[e, 1] = given[b]
        given[b] += passes[e] * x[a]
    for turn in (1, 3, 0, 2):
        if wide and turn < 2:
            _relax_wide(runs[level, turn], runs[level, turn + 1], beside, value, inverse, given, x)
        else:
            _relax(runs[level, turn], runs[level, turn + 1], beside, value, inverse, given, x)


@njit(cache=True, error_model="numpy")
def _put_back(level, lists, given, kept):
    for back in range(lists.extra_first[level + 1] - lists.extra_first[level]):
        e = lists.extra_first[level + 1] - 1 - back
        given[lists.extra_other[e]] = kept[e, 1]
        given[lists.extra_one[e]] = kept[e, 0]


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
def _cycle(lists, beside, value, inverse, factor, passes, kept, given, x):
    """One V-cycle from nothing, its way down the mirror of its way up.

    On the first level ``given`` is left with what its extra links brought in: red places came last, so what ``x``
    passes there is that, but for the extra links now.
    """
    runs, depth = lists.runs, len(lists.runs) - 1
    for level in range(depth):
        _up(level, lists, beside, value, inverse, given, x, passes)
    _last_level(runs[depth, 0], runs[depth, 4] - runs[depth, 0], factor, given, x)
    for level in range(depth - 1, -1, -1):
        _down(level, lists, beside, value, inverse, given, x, passes, kept)
        if level > 0:
            _put_back(level, lists, given, kept)


# --- conjugate gradients ----------------------------------------------------------------------------------------------


@njit(cache=True, error_model="numpy", fastmath={"reassoc", "contract", "nsz"})
def _measure(low, high, miss, z):
    """Return the product of what is missed with what a cycle made of it, and the largest size of the latter."""
    total, largest = 0.0, 0.0
    for i in range(low, high):
        total += np.float64(miss[i] * z[i])
        largest = max(largest, np.float64(abs(z[i])))
    return total, largest


@njit(cache=True, error_model="numpy")
def _passes_black(low, high, beside, value, diagonal, z, az):
    for i in range(low, high):
        az[i] = diagonal[i] * z[i] - six(i, beside, value, z)


@njit(parallel=True, cache=True, error_model="numpy")
def _passes_wide(low, high, beside, value, diagonal, z, az):
    for part in prange(parts_of(low, high)):
        begin = low + part * _PART
        _passes_black(begin, min(begin + _PART, high), beside, value, diagonal, z, az)


@njit(cache=True, error_model="numpy")
def _passed(lists, beside, value, diagonal, passes, kept, miss, z, az):
    """Give what a cycle's answer passes, and put back what is missed."""
    runs = lists.runs
    if len(runs) == 1:
        az[:] = miss[: len(az)]
        return
    for red in (0, 2):
        az[runs[0, red] : runs[0, red + 1]] = miss[runs[0, red] : runs[0, red + 1]]
    if runs[0, 4] > _LARGE:
        _passes_wide(runs[0, 1], runs[0, 2], beside, value, diagonal, z, az)
    else:
        _passes_black(runs[0, 1], runs[0, 2], beside, value, diagonal, z, az)
    _passes_black(runs[0, 3], runs[0, 4], beside, value, diagonal, z, az)
    for e in range(lists.extra_first[0], lists.extra_first[1]):
        a, b = lists.extra_one[e], lists.extra_other[e]
        az[a] -= passes[e] * z[b]
        az[b] -= passes[e] * z[a]
    _put_back(0, lists, miss, kept)


@njit(parallel=True, cache=True, error_model="numpy")
def _measure_wide(many, miss, z):
    parts = parts_of(0, many)
    totals, largest = np.zeros(parts), np.zeros(parts)
    for part in prange(parts):
        totals[part], largest[part] = _measure(part * _PART, min((part + 1) * _PART, many), miss, z)
    return totals.sum(), largest.max()


@njit(cache=True, error_model="numpy", fastmath={"reassoc", "contract", "nsz"})
def _turn(low, high, keep, z, az, p, q):
    """Turn the direction and what it passes; return their product."""
    total = 0.0
    for i in range(low, high):
        p[i] = z[i] + keep * p[i]
        q[i] = az[i] + keep * q[i]
        total += np.float64(p[i] * q[i])
    return total


@njit(parallel=True, cache=True, error_model="numpy")
def _turn_wide(many, keep, z, az, p, q):
    parts = parts_of(0, many)
    totals = np.zeros(parts)
    for part in prange(parts):
        totals[part] = _turn(part * _PART, min((part + 1) * _PART, many), keep, z, az, p, q)
    return totals.sum()


@njit(cache=True, error_model="numpy")
def _go(low, high, along, p, q, x, miss):
    for i in range(low, high):
        x[i] += along * p[i]
        miss[i] -= along * q[i]


@njit(parallel=True, cache=True, error_model="numpy")
def _go_wide(many, along, p, q, x, miss):
    for part in prange(parts_of(0, many)):
        _go(part * _PART, min((part + 1) * _PART, many), along, p, q, x, miss)


@njit(cache=True, error_model="numpy")
def conjugate_gradients(
    lists, beside, value, diagonal, inverse, factor, passes, kept, miss, x, z, az, p, q, tolerance_K, most
):
    """Solve for the change of temperature until a cycle would change it by less than the tolerance; return the count.

    ``miss`` holds the right-hand side and loses it; ``x`` is the answer on the first level.
    """
    many = lists.runs[0, 4]
    kind, wide = miss.dtype.type, many > _LARGE
    x[:] = 0.0
    p[:] = 0.0
    q[:] = 0.0
    before = 1.0
    for count in range(most):
        _cycle(lists, beside, value, inverse, factor, passes, kept, miss, z)
        _passed(lists, beside, value, diagonal, passes, kept, miss, z, az)
        now, largest = _measure_wide(many, miss, z) if wide else _measure(0, many, miss, z)
        if largest < tolerance_K or now <= 0.0:
            for i in range(many):
                x[i] += z[i]
            return count + 1
        keep = kind(now / before if count > 0 else 0.0)
        total = _turn_wide(many, keep, z, az, p, q) if wide else _turn(0, many, keep, z, az, p, q)
        if wide:
            _go_wide(many, kind(now / total), p, q, x, miss)
        else:
            _go(0, many, kind(now / total), p, q, x, miss)
        before = now
    return most
