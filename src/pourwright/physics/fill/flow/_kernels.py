"""The compiled flow between crucible, sprue and tanks; its readable side is the module ``network`` beside it.

``field`` holds the force at a moment: along and across at the hinge (weight with it), speed of turning squared, growth
of that speed, weight upward, push, the time. ``depth`` of a place is the work that this force does on a kilogram of
metal on its way there, along the middle of the arm first and then across. ``hold`` is what is known of the tanks: full
volumes (k), and by tank at even steps of volume the place that sets the level (k, b, 3), the way out for gas, the same
for a mould a metre thick, what leaves besides to all sides, and the pressure that holds the metal off (k, b). ``gas``
is density of the metal, ambient pressure, the square of the depth that gas soaks to in a second, and when gas was first
driven out of each tank. ``out`` is written: flow into each tank, head at its gates, gas pressure in it.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from pourwright.physics.fill._kernels import depth

# Halvings of a pressure: down to a millionth of a pascal from ten bar.
_HALVINGS = 40
_MOST_CORRECTIONS = 60
# The sprue counts as full, and one with the crucible, from this share of it, metal on its way counted in.
_BRIM = 0.999
# What clings to the crucible at last goes with the rest.
_DREGS = 1e-6


@njit(cache=True)
def field_at(time, times, table, gravity, field):
    """Write the field at a time; straight between samples, flat beyond them."""
    after = np.searchsorted(times, time)
    if after <= 0:
        low, high, share = 0, 0, 0.0
    elif after >= len(times):
        low, high, share = len(times) - 1, len(times) - 1, 0.0
    else:
        low, high = after - 1, after
        share = (time - times[low]) / (times[high] - times[low])
    now = np.empty(5)
    for column in range(5):
        now[column] = table[low, column] + share * (table[high, column] - table[low, column])
    field[0], field[1] = now[0] + gravity[0], now[1] + gravity[1]
    field[2], field[3], field[4], field[5], field[6] = now[2] * now[2], now[3], gravity[2], now[4], time


@njit(cache=True)
def _share(volume, full, tank):
    return volume[tank] / full[tank] if full[tank] > 0.0 else 1.0


@njit(cache=True)
def _between(edges, share, found):
    """Write the place between evenly spaced ones (b, 3) at a share of the whole."""
    spot = min(max(share, 0.0), 1.0) * (len(edges) - 1)
    low = min(int(spot), len(edges) - 2)
    part = spot - low
    for axis in range(3):
        found[axis] = edges[low, axis] + part * (edges[low + 1, axis] - edges[low, axis])


@njit(cache=True)
def _value_between(edges, share):
    spot = min(max(share, 0.0), 1.0) * (len(edges) - 1)
    low = min(int(spot), len(edges) - 2)
    return edges[low] + (spot - low) * (edges[low + 1] - edges[low])


@njit(cache=True)
def gas_pressure(flow, outlet, ambient):
    """Return the pressure over ambient of gas that is driven out at a flow, isothermal and steady.

    ``outlet`` is permeability times dry wall over its thickness, over the viscosity of the gas [m**3/s/Pa]: with
    ``c = 2 * flow / outlet`` the absolute pressure solves ``p**2 - c * p - ambient**2 = 0``.
    """
    if flow <= 0.0:
        return 0.0
    if outlet <= 0.0:
        return np.inf
    doubled = 2 * flow / outlet
    return 0.5 * (doubled + np.sqrt(doubled * doubled + 4 * ambient * ambient)) - ambient


@njit(cache=True)
def _tank_flow(tank, gate_tank, drive, conduct, gas, density):
    """Return the flow through all gates of a tank at a gas pressure in it."""
    total = 0.0
    for gate in range(len(gate_tank)):
        if gate_tank[gate] == tank and drive[gate] > gas:
            total += conduct[gate] * np.sqrt(2 * (drive[gate] - gas) / density)
    return total


@njit(cache=True)
def _way_out(outlet, dry, spread, share, soaked):
    """Return what gas leaves for each pascal at a share of a tank; ``soaked`` is how deep gas has gone, squared.

    Before the gas has gone through the mould it fills the pores near by: the way is as short as it has soaked, and
    widens to all sides.
    """
    if outlet[0] == np.inf:
        return np.inf
    steady = _value_between(outlet, share)
    if soaked <= 0.0:
        return np.inf if soaked == 0.0 else steady
    return max(steady, _value_between(dry, share) / np.sqrt(soaked)) + _value_between(spread, share)


@njit(cache=True)
def _flow_of_one(drive, conduct, outlet, ambient, density):
    """Return the flow through a lone gate: what the speed takes of the drive, and the gas.

    Newton from above on a rising convex sum of pressures, so it comes down without ever passing the answer.
    """
    free = conduct * np.sqrt(2 * drive / density)
    if outlet == np.inf or free <= 0.0:
        return free
    if outlet <= 0.0:
        return 0.0
    flow, inertia = free, density / (2 * conduct * conduct)
    for _ in range(_MOST_CORRECTIONS):
        doubled = 2 * flow / outlet
        root = np.sqrt(doubled * doubled + 4 * ambient * ambient)
        miss = inertia * flow * flow + 0.5 * (doubled + root) - ambient - drive
        step = miss / (2 * inertia * flow + (1 + doubled / root) / outlet)
        flow -= step
        if step <= 1e-8 * free:
            break
    return max(flow, 0.0)


@njit(cache=True)
def _settled_gas(tank, gate_tank, drive, conduct, outlet, ambient, density, largest):
    """Return the gas pressure at which the gates let in as fast as the mould lets the gas out."""
    if outlet == np.inf:
        return 0.0
    low, high = 0.0, largest
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if gas_pressure(_tank_flow(tank, gate_tank, drive, conduct, middle, density), outlet, ambient) > middle:
            low = middle
        else:
            high = middle
    return high


@njit(cache=True)
def _share_by_sprue(sprue, open_conduct, run):
    """Return the share of the ideal flow that is left when the sprue takes its part of the head."""
    area, entry, friction_per_m = sprue
    if area <= 0.0:
        return 1.0
    loss = entry + friction_per_m * run
    return 1 / np.sqrt(1 + loss * (open_conduct / area) ** 2)


@njit(cache=True)
def _gate_flows(extra, field, surface, surface_place, volume, hold, gates, sprue, gas, out):
    """Write flow into, head at and gas pressure in each tank; return the flow through all gates together.

    ``extra`` is pressure on the sprue's metal from a crucible that stands full above it.
    """
    full, crest, outlet, dry, spread, shy = hold
    into, head, air = out
    gate_tank, gate_place, gate_conduct, gate_shy = gates
    density, ambient, soak, opened = gas
    drive, conduct = np.zeros(len(gate_tank)), np.zeros(len(gate_tank))
    level = np.empty(3)
    open_conduct, run = 0.0, 0.0
    into[:], head[:], air[:] = 0.0, 0.0, 0.0
    for gate in range(len(gate_tank)):
        tank = gate_tank[gate]
        below = depth(field, gate_place[gate]) - surface
        if below <= 0.0:
            continue
        _between(crest[tank], _share(volume, full, tank), level)
        pressed = density * min(below, depth(field, level) - surface) + extra + field[5]
        head[tank] = max(head[tank], pressed)
        needed = max(gate_shy[gate], _value_between(shy[tank], _share(volume, full, tank)))
        if volume[tank] >= full[tank] or pressed <= needed:
            continue
        drive[gate], conduct[gate] = pressed - needed, gate_conduct[gate]
        open_conduct += conduct[gate]
        run = max(run, abs(gate_place[gate, 0] - surface_place[0]))
    left = _share_by_sprue(sprue, open_conduct, run)
    total = 0.0
    for tank in range(1, len(full)):
        largest, count, lone = 0.0, 0, -1
        for gate in range(len(gate_tank)):
            if gate_tank[gate] == tank and drive[gate] > 0.0:
                largest, count, lone = max(largest, drive[gate]), count + 1, gate
        if count == 0:
            continue
        soaked = soak * (field[6] - opened[tank])
        way_out = _way_out(outlet[tank], dry[tank], spread[tank], _share(volume, full, tank), soaked)
        if count == 1:
            into[tank] = _flow_of_one(largest, left * conduct[lone], way_out, ambient, density)
            air[tank] = 0.0 if way_out == np.inf else min(gas_pressure(into[tank], way_out, ambient), largest)
        else:
            air[tank] = _settled_gas(tank, gate_tank, drive, left * conduct, way_out, ambient, density, largest)
            into[tank] = _tank_flow(tank, gate_tank, drive, left * conduct, air[tank], density)
        total += into[tank]
    return total


@njit(cache=True)
def _rates(field, crucible, flying, volume, hold, gates, sprue, gas, supply, running, out):
    """Return the steady flow out of the mouth and the sprue's surface; write the flows into the tanks."""
    full, crest = hold[0], hold[1]
    start, at_full, at_empty, mouth, mouth_conduct = supply
    density = gas[0]
    pool, top = np.empty(3), np.empty(3)
    _between(crest[0], _share(volume, full, 0), pool)
    for axis in range(3):
        top[axis] = at_empty[axis] + crucible / start * (at_full[axis] - at_empty[axis])
    surface, upper = depth(field, pool), depth(field, top)
    total = _gate_flows(0.0, field, surface, pool, volume, hold, gates, sprue, gas, out)
    free = 0.0
    if running and crucible > 0.0:
        free = mouth_conduct * np.sqrt(2 * max(depth(field, mouth) - upper, 0.0))
    if volume[0] + flying < _BRIM * full[0] or crucible <= 0.0 or not running:
        return free, surface
    # The sprue is full: crucible, mouth and gates are one column, and the pressure at the sprue's top settles.
    above = density * (surface - upper)
    if above <= 0.0:
        return min(free, total), surface
    short = total - mouth_conduct * np.sqrt(2 * above / density)
    if short >= 0.0:
        return free, surface
    low, high = 0.0, above
    over = _gate_flows(high, field, surface, pool, volume, hold, gates, sprue, gas, out)
    for turn in range(_MOST_CORRECTIONS):
        # False position, and a halving every third time: never worse than three times as slow as halving.
        middle = 0.5 * (low + high) if turn % 3 == 2 else low - short * (high - low) / (over - short)
        total = _gate_flows(middle, field, surface, pool, volume, hold, gates, sprue, gas, out)
        miss = total - mouth_conduct * np.sqrt(2 * (above - middle) / density)
        if abs(miss) <= 1e-6 * max(total, 1e-15):
            break
        if miss < 0.0:
            low, short = middle, miss
        else:
            high, over = middle, miss
    return total, surface


@njit(cache=True)
def _fall(parcels, count, field, step, goal, room):
    """Move the metal on its way from the mouth, let in what has arrived, and return it with the parcels left.

    ``parcels`` (3, p): volume, place along, speed along. What finds no room waits.
    """
    got, kept = 0.0, 0
    for one in range(count):
        push = field[0] + field[2] * parcels[1, one]
        where = parcels[1, one] + step * parcels[2, one] + 0.5 * step * step * push
        speed = parcels[2, one] + step * push
        held = parcels[0, one]
        if where >= goal:
            taken = min(held, room - got)
            got += taken
            held -= taken
            where = goal
        if held > 0.0:
            parcels[0, kept], parcels[1, kept], parcels[2, kept] = held, where, max(speed, 0.0)
            kept += 1
    return got, kept


@njit(cache=True)
def run(times, table, gravity, hold, gates, sprue, gas, supply, inertia, lip, control, rows, by_tank):
    """Run the flow until it ends; return the number of rows written and the metal still on its way.

    Written: ``rows`` (5, m): time, metal in the crucible, flow from the mouth, depth of the sprue's surface, place of
    that surface along the arm; ``by_tank`` (3, m, k): metal, head, gas.
    """
    start, _, _, mouth, mouth_conduct = supply
    full, crest = hold[0], hold[1]
    step_max, share_max, limit, patience, at_speed = control
    opened, tanks = gas[3], len(full)
    crucible, flow, time, idle, flying = start, 0.0, 0.0, 0.0, 0.0
    volume, half = np.zeros(tanks), np.zeros(tanks)
    into, head, air = np.zeros(tanks), np.zeros(tanks), np.zeros(tanks)
    out = (into, head, air)
    field, pool = np.empty(7), np.empty(3)
    parcels, count = np.empty((3, 4096)), 0
    running = False
    last = rows.shape[1] - 1
    for row in range(rows.shape[1]):
        field_at(time, times, table, gravity, field)
        seat = field[0] + field[2] * supply[1][0]
        running = running or (seat > 0.0 and (lip <= 0.0 or seat > lip * abs(field[4])))
        steady, surface = _rates(field, crucible, flying, volume, hold, gates, sprue, gas, supply, running, out)
        flow = steady if inertia <= 0.0 else flow
        for tank in range(tanks):
            if into[tank] > 0.0:
                opened[tank] = min(opened[tank], time)
        _between(crest[0], _share(volume, full, 0), pool)
        rows[0, row], rows[1, row], rows[2, row] = time, crucible, flow
        rows[3, row], rows[4, row] = surface, pool[0]
        by_tank[0, row, :], by_tank[1, row, :], by_tank[2, row, :] = volume, head, air
        quiet = into.sum() <= 0.0 and (volume[0] >= full[0] or crucible + flying <= 0.0)
        if time >= limit or row == last or (quiet and idle >= patience and time >= at_speed):
            return row + 1, flying
        step = _step(full, volume, into, flow, step_max, share_max, time, limit)
        # Half a step with the rates of its start, then the whole one with those of its middle.
        for tank in range(tanks):
            half[tank] = volume[tank] + 0.5 * min(step * into[tank], full[tank] - volume[tank])
        half[0] = max(min(volume[0] - 0.5 * step * into.sum(), full[0]), 0.0)
        half_crucible = max(crucible - 0.5 * step * flow, 0.0)
        field_at(time + 0.5 * step, times, table, gravity, field)
        steady, _ = _rates(field, half_crucible, flying, half, hold, gates, sprue, gas, supply, running, out)
        # A column takes time to speed up, but stops at once where it strikes metal that stands.
        flow = steady if inertia <= 0.0 or steady <= flow else _sped_up(flow, steady, step, inertia, mouth_conduct)
        left = min(step * flow, crucible)
        crucible -= left
        if crucible < _DREGS * start:
            left, crucible = left + crucible, 0.0
        if left > 0.0 and count < parcels.shape[1]:
            parcels[0, count], parcels[1, count], parcels[2, count] = left, mouth[0], flow / max(mouth_conduct, 1e-30)
            count += 1
        elif left > 0.0:
            parcels[0, count - 1] += left
        gone = _take(volume, full, into, step)
        room = full[0] - volume[0]
        got, count = _fall(parcels, count, field, step, pool[0], room)
        volume[0] = full[0] if got >= room else volume[0] + got
        flying = parcels[0, :count].sum()
        time += step
        idle = 0.0 if gone > 0.0 or got > 0.0 or left > 0.0 else idle + step
    return rows.shape[1], flying


@njit(cache=True)
def _step(full, volume, into, flow, step_max, share_max, time, limit):
    """Return a step in which no tank fills too much."""
    step = max(step_max, 0.005 * time)
    for tank in range(1, len(full)):
        if into[tank] > 0.0:
            step = min(step, share_max * full[tank] / into[tank])
    if flow > 0.0 and volume[0] < full[0]:
        step = min(step, share_max * full[0] / flow)
    return min(max(step, 0.02 * step_max), max(limit - time, 1e-9))


@njit(cache=True)
def _sped_up(flow, steady, step, inertia, mouth_conduct):
    """Return the flow after a step in which the head speeds a column up: ``dQ/dt = (steady**2 - Q**2) / (...)``.

    With column length ``l`` and discharge area ``a`` the flow obeys ``dQ/dt = (Q_s**2 - Q**2) / (2 l a)``; one implicit
    step of it is a quadratic.
    """
    rate = step / (2 * inertia * mouth_conduct)
    return (np.sqrt(1 + 4 * rate * (flow + rate * steady * steady)) - 1) / (2 * rate)


@njit(cache=True)
def _take(volume, full, into, step):
    """Move metal from the sprue into the tanks, no more than there is and than fits; return how much."""
    wanted = 0.0
    for tank in range(1, len(full)):
        into[tank] = min(step * into[tank], full[tank] - volume[tank])
        wanted += into[tank]
    cut = 1.0 if wanted <= volume[0] else volume[0] / wanted
    gone = 0.0
    for tank in range(1, len(full)):
        moved = cut * into[tank]
        volume[tank] = full[tank] if moved >= full[tank] - volume[tank] else volume[tank] + moved
        gone += moved
    volume[0] = max(volume[0] - gone, 0.0)
    return gone
