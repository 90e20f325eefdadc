"""Compiled passes over the voxels of a hollow; the readable side is in :mod:`pourwright.physics.fill`.

All passes work on one tank at a time and write into arrays passed in, at the places of the tank's voxels, so that a
tank in which something froze is done again without touching the others. ``neighbours`` has two columns for each axis,
low side first; -1 is wall.
"""

from __future__ import annotations

import numpy as np
from numba import njit

# --- a heap of (key, item), smallest first ----------------------------------------------------------------------------


@njit(cache=True)
def _push(keys, items, size, key, item):
    place = size
    while place > 0:
        above = (place - 1) >> 1
        if keys[above] <= key:
            break
        keys[place], items[place] = keys[above], items[above]
        place = above
    keys[place], items[place] = key, item
    return size + 1


@njit(cache=True)
def _pop(keys, items, size):
    """Take the smallest off; it stays readable at index ``size - 1`` of the returned size plus one."""
    first_key, first_item = keys[0], items[0]
    size -= 1
    key, item = keys[size], items[size]
    place = 0
    while True:
        below = 2 * place + 1
        if below >= size:
            break
        if below + 1 < size and keys[below + 1] < keys[below]:
            below += 1
        if keys[below] >= key:
            break
        keys[place], items[place] = keys[below], items[below]
        place = below
    keys[place], items[place] = key, item
    return first_key, first_item, size


# --- the list ---------------------------------------------------------------------------------------------------------


@njit(cache=True)
def neighbours_of(cell, shape):
    """Return for each cell (n, 3), sorted or not, of a box of a shape its six neighbours (n, 6); -1 where none is."""
    place = np.full(shape[0] * shape[1] * shape[2], -1, np.int32)
    strides = (shape[1] * shape[2], shape[2], 1)
    for one in range(len(cell)):
        place[cell[one, 0] * strides[0] + cell[one, 1] * strides[1] + cell[one, 2]] = one
    found = np.full((len(cell), 6), -1, np.int32)
    for one in range(len(cell)):
        flat = cell[one, 0] * strides[0] + cell[one, 1] * strides[1] + cell[one, 2]
        for axis in range(3):
            if cell[one, axis] > 0:
                found[one, 2 * axis] = place[flat - strides[axis]]
            if cell[one, axis] + 1 < shape[axis]:
                found[one, 2 * axis + 1] = place[flat + strides[axis]]
    return found


# --- ways: distance from the gate through the metal -------------------------------------------------------------------


@njit(cache=True)
def _eikonal(low, middle, high, side):
    """Return the distance at a voxel whose nearer neighbours along the three axes are so far, ``low`` the least."""
    found = low + side
    if found > middle:
        gap = middle - low
        found = 0.5 * (low + middle + np.sqrt(2 * side * side - gap * gap))
    if found > high:
        total = low + middle + high
        squares = low * low + middle * middle + high * high
        found = (total + np.sqrt(max(total * total - 3 * (squares - side * side), 0.0))) / 3
    return found


@njit(cache=True)
def _reached(voxel, mine, neighbours, distance, side):
    """Return the distance of a voxel from what its neighbours have, and the nearest of them."""
    best = np.empty(3)
    nearest, near = -1, np.inf
    for axis in range(3):
        best[axis] = np.inf
        for end in range(2):
            other = neighbours[voxel, 2 * axis + end]
            if other >= 0 and mine[other] and distance[other] < best[axis]:
                best[axis] = distance[other]
                if distance[other] < near:
                    near, nearest = distance[other], other
    low, middle, high = min(best), 0.0, max(best)
    middle = best[0] + best[1] + best[2] - low - high if high < np.inf else _middle(best, low)
    return _eikonal(low, middle, high, side), nearest


@njit(cache=True)
def _middle(best, low):
    """Return the second smallest of three of which the largest is infinite."""
    found, seen = np.inf, False
    for one in best:
        if one == low and not seen:
            seen = True
        elif one < found:
            found = one
    return found


@njit(cache=True)
def walk(seeds, mine, neighbours, side, distance, before, order):
    """Spread from the seeds through the voxels that are ``mine``, nearest first, and return how many were reached.

    Fast marching. Written: ``distance`` (from the seeds, infinite where not reached), ``before`` (the voxel the way
    comes from, -1 at seeds), ``order`` (nearest first). ``distance`` must be infinite at all voxels that are mine.
    """
    room = 6 * (mine.sum() + len(seeds)) + 8
    keys, items, size = np.empty(room), np.empty(room, np.int32), 0
    done = np.zeros(len(distance), np.bool_)
    for seed in seeds:
        if mine[seed] and distance[seed] > 0:
            distance[seed], before[seed] = 0.0, -1
            size = _push(keys, items, size, 0.0, seed)
    count = 0
    while size > 0:
        _, voxel, size = _pop(keys, items, size)
        if done[voxel]:
            continue
        done[voxel] = True
        order[count] = voxel
        count += 1
        for side_number in range(6):
            other = neighbours[voxel, side_number]
            if other < 0 or done[other] or not mine[other]:
                continue
            near, nearest = _reached(other, mine, neighbours, distance, side)
            if near < distance[other]:
                distance[other], before[other] = near, nearest
                size = _push(keys, items, size, near, other)
    return count


@njit(cache=True)
def _root(up, one):
    while up[one] != one:
        up[one] = up[up[one]]
        one = up[one]
    return one


@njit(cache=True)
def sections(order, distance, before, neighbours, width, first, section, parent):
    """Cut the ways across into sections ``width`` long that hang together, and return how many there are.

    Written: ``section`` (number of each voxel's, from ``first``) and ``parent`` (by section, the one upstream, -1 at
    the start). A section's number is higher than its parent's, as ``order`` goes nearest first.
    """
    up = np.empty(len(section), np.int32)
    shell = np.empty(len(section), np.int32)
    for voxel in order:
        up[voxel] = voxel
        shell[voxel] = np.int32(distance[voxel] / width)
        section[voxel] = -2
    for voxel in order:
        for number in range(6):
            other = neighbours[voxel, number]
            if other >= 0 and section[other] == -2 and shell[other] == shell[voxel]:
                one, two = _root(up, voxel), _root(up, other)
                if one != two:
                    up[max(one, two)] = min(one, two)
    count = first
    number_of = np.full(len(section), -1, np.int32)
    for voxel in order:
        root = _root(up, voxel)
        if number_of[root] < 0:
            number_of[root] = count
            parent[count] = -1 if before[voxel] < 0 else section[before[voxel]]
            count += 1
        section[voxel] = number_of[root]
    return count


@njit(cache=True)
def section_sums(order, section, volume, section_volume):
    """Add up the volume of each section."""
    for voxel in order:
        section_volume[section[voxel]] += volume[voxel]


@njit(cache=True)
def section_shares(first, end, parent, section_volume, share):
    """Share the flow of a tank among sections side by side, each by the metal that lies downstream of it."""
    down = section_volume[first:end].copy()
    for one in range(end - 1, first - 1, -1):
        if parent[one] >= 0:
            down[parent[one] - first] += down[one - first]
    beyond, at_start = np.zeros(end - first), 0.0
    for one in range(first, end):
        if parent[one] >= 0:
            beyond[parent[one] - first] += down[one - first]
        else:
            at_start += down[one - first]
    for one in range(first, end):
        if parent[one] >= 0:
            share[one] = share[parent[one]] * down[one - first] / beyond[parent[one] - first]
        else:
            share[one] = down[one - first] / at_start


# --- the order of filling ---------------------------------------------------------------------------------------------


@njit(cache=True)
def flood(seeds, mine, neighbours, height, order, crest):
    """Fill from the seeds, always the lowest voxel that metal touches, and return how many were reached.

    Priority flood: what lies behind a sill fills when the level has risen to the sill. Written: ``order``, and for
    each filling ``crest``, the voxel that sets the level then, the highest passed so far.
    """
    room = mine.sum() + len(seeds) + 8
    keys, items, size = np.empty(room), np.empty(room, np.int32), 0
    seen = np.zeros(len(height), np.bool_)
    for seed in seeds:
        if mine[seed] and not seen[seed]:
            seen[seed] = True
            size = _push(keys, items, size, height[seed], seed)
    count, top, level = 0, -1, -np.inf
    while size > 0:
        key, voxel, size = _pop(keys, items, size)
        if key > level:
            level, top = key, voxel
        order[count], crest[count] = voxel, top
        count += 1
        for number in range(6):
            other = neighbours[voxel, number]
            if other >= 0 and mine[other] and not seen[other]:
                seen[other] = True
                size = _push(keys, items, size, height[other], other)
    return count


@njit(cache=True)
def shut_in(order, neighbours, height, volume, least_volume, relief, label, pockets):
    """Find the pockets of gas that metal shuts in as it fills voxels in an order; return how many there are.

    Going back in time the gas is put back voxel by voxel; where two bodies of gas meet, the smaller had been shut in
    when that voxel filled, if it holds ``least_volume`` and reaches ``relief`` above it. Written: ``label``, the
    innermost pocket of each voxel; ``pockets`` (2, m), of each the voxel that shuts it and its topmost voxel.
    """
    up = np.full(len(label), -1, np.int32)
    after = np.full(len(label), -1, np.int32)
    tail = np.empty(len(label), np.int32)
    top = np.empty(len(label), np.int32)
    held = np.zeros(len(label))
    found = 0
    for turn in range(len(order) - 1, -1, -1):
        voxel = order[turn]
        up[voxel], tail[voxel], top[voxel], held[voxel] = voxel, voxel, voxel, volume[voxel]
        for number in range(6):
            other = neighbours[voxel, number]
            if other < 0 or up[other] < 0:
                continue
            one, two = _root(up, voxel), _root(up, other)
            if one == two:
                continue
            large, small = (one, two) if held[one] >= held[two] else (two, one)
            closed = held[small] >= least_volume and height[top[small]] - height[voxel] >= relief
            if closed and held[large] >= least_volume and small != voxel and found < pockets.shape[1]:
                pockets[0, found], pockets[1, found] = voxel, top[small]
                member = small
                while member >= 0:
                    if label[member] < 0 and member != voxel:
                        label[member] = found
                    member = after[member]
                found += 1
            up[small] = large
            after[tail[large]] = small
            tail[large] = tail[small]
            held[large] += held[small]
            if height[top[small]] > height[top[large]]:
                top[large] = top[small]
    return found


# --- heat along the ways ----------------------------------------------------------------------------------------------


@njit(cache=True)
def _knot_below(knots, at):
    """Return the number of the knot below a place, that of the first or the last but one beyond the ends."""
    low, high = 0, len(knots) - 1
    while high - low > 1:
        middle = (low + high) >> 1
        if knots[middle] <= at:
            low = middle
        else:
            high = middle
    return low


@njit(cache=True)
def _on_from(knots, values, low, at):
    """Return a value in a straight line through the knot ``low`` and the next."""
    return values[low] + (values[low + 1] - values[low]) * (at - knots[low]) / (knots[low + 1] - knots[low])


@njit(cache=True)
def _along(knots, values, at):
    """Return a value between knots in a straight line, and on with the slope of the end beyond them."""
    return _on_from(knots, values, _knot_below(knots, at), at)


@njit(cache=True)
def wall_heat(root_time, contact, soak):
    """Return the heat through a square metre of wall for each kelvin, from first touch until a time (given its root).

    The wall's contact passes ``1 / contact``, the mould soaks up heat with ``soak`` times the root of time: the flux is
    ``1 / (contact + soak * sqrt(t))`` for each kelvin.
    """
    if soak <= 0.0:
        return root_time * root_time / contact
    return 2 / (soak * soak) * (soak * root_time - contact * np.log1p(soak * root_time / contact))


@njit(cache=True)
def freeze_time(heat_per_K, contact, soak):
    """Return when the wall has taken so much heat for each square metre and kelvin: :func:`wall_heat` turned round."""
    if heat_per_K <= 0.0:
        return 0.0
    if soak <= 0.0:
        return heat_per_K * contact
    root = max(np.sqrt(heat_per_K * contact), 0.5 * soak * heat_per_K)
    for _ in range(60):
        miss = wall_heat(root, contact, soak) - heat_per_K
        step = miss * (contact + soak * root) / (2 * root)
        root = max(root - step, 0.25 * root)
        if abs(step) < 1e-10 * root:
            break
    return root * root


@njit(cache=True)
def first_touch(order, before, arrival, touch):
    """Write when metal first passes each voxel: when it fills, or when the first downstream of it does."""
    for voxel in order:
        touch[voxel] = np.inf if np.isnan(arrival[voxel]) else arrival[voxel]
    for turn in range(len(order) - 1, -1, -1):
        voxel = order[turn]
        ahead = before[voxel]
        if ahead >= 0 and touch[voxel] < touch[ahead]:
            touch[ahead] = touch[voxel]


@njit(cache=True)
def march(
    order, before, distance, section, area, share, modulus, arrival, flow, touch, wall, law, heat, shut, temp, solid,
    late,
):  # fmt: skip
    """Carry the heat of the metal along the ways, and the time until the way freezes.

    ``wall`` is (contact, soak, mould temperature, liquidus, heat at the solidus), ``law`` (temperatures, heat, share of
    solid), ordered by rising heat. ``area`` is the section of flow and ``share`` its part of the tank's flow, by
    section. ``heat`` and ``shut`` (first touch and freezing time of the place upstream that closes first; an infinite
    freezing time for none) are given at the starts and written elsewhere. Written too: ``temp``, ``solid`` and
    ``late``, the time passed since that place upstream was first touched, as a share of its freezing time.
    """
    contact, soak, mould_temp, liquidus, solid_heat = wall
    temps, heats, solids = law
    age, since = np.zeros(len(heat)), np.zeros(len(heat))
    for voxel in order:
        ahead = before[voxel]
        if ahead >= 0:
            heat[voxel], shut[0, voxel], shut[1, voxel] = heat[ahead], shut[0, ahead], shut[1, ahead]
            age[voxel], since[voxel] = age[ahead], since[ahead]
        if np.isnan(arrival[voxel]):
            continue
        if ahead >= 0:
            here = section[voxel]
            run = distance[voxel] - distance[ahead]
            # No metal is older in its tank than the first that came there.
            oldest = max(arrival[voxel] - since[voxel], 0.0)
            age[voxel] = min(age[ahead] + run * area[here] / max(flow[voxel] * share[here], 1e-15), oldest)
            spent = age[voxel] - age[ahead]
            if spent > 0.0:
                # The front rolls over about once in a diameter, four moduli: so long it meets the same wall.
                stay = min(4 * modulus[voxel] * spent / run, oldest)
                driving = max(_along(heats, temps, heat[voxel]), liquidus) - mould_temp
                heat[voxel] -= driving * wall_heat(np.sqrt(stay), contact, soak) / stay * spent / modulus[voxel]
        else:
            since[voxel], age[voxel] = touch[voxel], 0.0
        knot = _knot_below(heats, heat[voxel])
        temp[voxel] = max(_on_from(heats, temps, knot, heat[voxel]), mould_temp)
        solid[voxel] = min(max(_on_from(heats, solids, knot, heat[voxel]), 0.0), 1.0)
        store = max(heat[voxel] - solid_heat, 0.0) * modulus[voxel] / (liquidus - mould_temp)
        lasting = freeze_time(store, contact, soak)
        if touch[voxel] + lasting < shut[0, voxel] + shut[1, voxel]:
            shut[0, voxel], shut[1, voxel] = touch[voxel], lasting
        late[voxel] = (arrival[voxel] - shut[0, voxel]) / max(shut[1, voxel], 1e-12)


# --- what keeps metal waiting at a place ------------------------------------------------------------------------------


@njit(cache=True)
def depth(field, place):
    return (
        field[0] * place[0]
        + field[1] * place[1]
        + field[4] * place[2]
        + 0.5 * field[2] * (place[0] * place[0] + place[1] * place[1])
        - field[3] * place[0] * place[1]
    )


@njit(cache=True)
def _row_at(times, time):
    return min(np.searchsorted(times, time), len(times) - 1)


@njit(cache=True)
def wait_for_pressure(voxels, place, need, times, fields, surface, density, arrival, pressed):
    """Put off the arrival at each voxel until the pressure there is what its narrowness needs; never is NaN.

    ``surface`` is the depth of the metal's surface at ``times``; the push is in ``fields``. Gas that goes through the
    mould gives way to metal that waits, so it is not counted here. Written: ``arrival`` and ``pressed``, the pressure
    then, or the largest there ever was.
    """
    for voxel in voxels:
        if np.isnan(arrival[voxel]):
            continue
        row = _row_at(times, arrival[voxel])
        first, largest = row, -np.inf
        while row < len(times):
            field = fields[row]
            now = density * (depth(field, place[voxel]) - surface[row]) + field[5]
            largest = max(largest, now)
            if now >= need[voxel]:
                break
            row += 1
        pressed[voxel] = largest
        if row == len(times):
            arrival[voxel] = np.nan
        elif row > first:
            arrival[voxel] = times[row]


@njit(cache=True)
def squeeze(
    voxels, shut, top, times, fields, surface, density, volume, wall, way_out, spread, ambient, arrival, held
):  # fmt: skip
    """Put off the arrival at the voxels of a pocket, in the order they fill, until its gas has gone through the mould.

    ``way_out`` is permeability times wall over thickness over viscosity by voxel, and to all sides ``spread`` times
    the root of all dry wall leaves besides. The gas, shut in at ambient pressure at time ``shut``, is isothermal and
    takes on the pressure of the metal at the pocket's ``top`` place. Written: ``arrival`` (NaN for never) and ``held``
    (put off by gas).
    """
    left, outlet, dry = 0.0, 0.0, 0.0
    for voxel in voxels:
        left += volume[voxel]
        outlet += way_out[voxel]
        dry += wall[voxel]
    amount, time, start, start_outlet, start_dry = ambient * left, shut, left, outlet, dry
    for voxel in voxels:
        left = max(left - volume[voxel], 0.0)
        row = _row_at(times, time)
        pressure = ambient
        while row < len(times):
            pressure = ambient + density * (depth(fields[row], top) - surface[row]) + fields[row, 5]
            if pressure > ambient:
                break
            row += 1
        if row == len(times):
            time = np.inf
        elif amount > pressure * left:
            leaving = (outlet + spread * np.sqrt(dry)) * (pressure * pressure - ambient * ambient) / 2
            time = max(time, times[row]) + (amount - pressure * left) / leaving if leaving > 0.0 else np.inf
            amount = pressure * left
        # A bubble clings to the wall, whatever voxel is last: it keeps half the wall of one of the same shape.
        least = 0.5 * (max(left, volume[voxel]) / start) ** (2 / 3)
        outlet, dry = max(outlet - way_out[voxel], least * start_outlet), max(dry - wall[voxel], least * start_dry)
        if time == np.inf:
            arrival[voxel], held[voxel] = np.nan, True
        elif time > arrival[voxel]:
            arrival[voxel], held[voxel] = time, True
