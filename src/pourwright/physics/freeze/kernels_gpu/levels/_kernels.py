"""One implicit step of the nodes on the card; ``kernels/levels`` and ``kernels/nodes`` say what it reckons.

The whole step, corrections and cycles and all, is one launch: thousands of small loops follow each other, and a launch
for each would take longer than its work. So all blocks stay on the card to the end and wait for each other between two
loops (:func:`_wait`); there is one block for each of the card's processors, which is what makes that safe. Sums are
taken thread by thread, then in a tree within the block, then block by block: always in the same order.

Links that find no slot are listed at both their ends (*odd*), so that each place adds up its own, link after link.
Within a cycle they lag: what they brought in on the way down lies in ``lagged``. The last level is solved with its
inverse, which one block works out.

All device functions stand in this one module: numba's simulator needs that.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numba
import numpy as np
from numba import cuda

from pourwright.physics.freeze.kernels_gpu.arrays._kernels import SIMULATED, empty, fetch, grouped, kept, put, spread
from pourwright.physics.freeze.kernels_gpu.nodes._kernels import LOOKED_UP

# Threads of a block of the one launch; a power of two, for the tree of sums.
_CREW = 2 if SIMULATED else 512
# A thread's share of a processor's 65,536 registers; the simulator knows none.
_LIMITS = {} if SIMULATED else {"max_registers": 128}
_SHARP_FRAC = 0.05  # as on the processor
_MOST_CYCLES = 60  # as on the processor
_LARGEST, _MISSED, _TURNED, _SURPRISE = range(4)


class _Odd(NamedTuple):
    """Links without a slot, place by place: ``first``, the place at the far end, and the number of the link."""

    first: Any
    far: Any
    number: Any


class _Room(NamedTuple):
    """Room on the card that outlasts a launch."""

    lagged_W: Any
    parts: Any
    tickets: Any
    found: Any


def _odd_of(lists):
    def make():
        one, other = fetch(lists.extra_one).astype(np.int64), fetch(lists.extra_other).astype(np.int64)
        end, far, number = np.r_[one, other], np.r_[other, one], np.tile(np.arange(len(one)), 2)
        order = np.argsort(end, kind="stable")
        first = np.concatenate(([0], np.cumsum(np.bincount(end, minlength=len(lists.lump)))))
        return _Odd(*(put(one.astype(np.uint32)) for one in (first, far[order], number[order])))

    return kept(lists.extra_one, "odd", make)


def _blocks():
    return 1 if SIMULATED else int(cuda.get_current_device().MULTIPROCESSOR_COUNT)


def _room_of(lists, kind):
    def make():
        return _Room(
            put(np.zeros(len(lists.lump), kind)), put(np.zeros((4, _blocks()))), put(np.zeros(1, np.int32)),
            empty(3, np.float64),
        )  # fmt: skip

    return kept(lists.lump, "room", make)


# --- paths of all levels ----------------------------------------------------------------------------------------------


@cuda.jit
def _add_up(begin, end, first, member, passes_W_K):
    for link in range(begin + cuda.grid(1), end, cuda.gridsize(1)):
        total = 0.0
        for place in range(first[link], first[link + 1]):
            total += 0.5 * passes_W_K[member[place]]
        passes_W_K[link] = total


@cuda.jit
def _enter(passes_W_K, link, odd, extra_link, value, leaving):
    for i in range(cuda.grid(1), len(leaving), cuda.gridsize(1)):
        total = 0.0
        for slot in range(6):
            passes = passes_W_K[link[i, slot]]
            value[i, slot] = passes
            total += passes
        for place in range(odd.first[i], odd.first[i + 1]):
            total += passes_W_K[extra_link[odd.number[place]]]
        leaving[i] = total


@cuda.jit
def _enter_odd(passes_W_K, extra_link, odd_W_K):
    for e in range(cuda.grid(1), len(extra_link), cuda.gridsize(1)):
        odd_W_K[e] = passes_W_K[extra_link[e]]


def _link_begins(lists, links):
    """Return where the links of each level begin, from which links are part of which."""

    def make():
        parent, begins = fetch(lists.parent_link), [0, links]
        while begins[-1] < len(parent):
            begins.append(int(parent[begins[-2] : begins[-1]].max()) + 1)
        return begins

    return kept(lists.parent_link, "begins", make)


def spread_paths(links, passes_W_K, lists, work):
    """Add the links of one level up to those of the next at half strength, and enter all in slots."""
    many = len(lists.parent_link)
    begins, members = _link_begins(lists, links), grouped(lists.parent_link, many + 1)
    for begin, end in zip(begins[1:], [*begins[2:], many + 1], strict=True):
        spread(_add_up, end - begin, begin, end, *members, passes_W_K)
    odd = _odd_of(lists)
    spread(_enter, len(lists.lump), passes_W_K, lists.link, odd, lists.extra_link, work.value_W_K, work.leaving_W_K)
    spread(_enter_odd, len(lists.extra_link), passes_W_K, lists.extra_link, work.odd_W_K)


# --- waiting and adding up --------------------------------------------------------------------------------------------


@cuda.jit(device=True)
def _wait(tickets):
    """Wait until the threads of all blocks are here, and see what they wrote."""
    cuda.syncthreads()
    blocks = cuda.gridDim.x
    if blocks > 1:
        if cuda.threadIdx.x == 0:
            cuda.threadfence()
            full = (cuda.atomic.add(tickets, 0, 1) // blocks + 1) * blocks
            while cuda.atomic.add(tickets, 0, 0) < full:
                pass
            cuda.threadfence()
        cuda.syncthreads()


@cuda.jit(device=True)
def _joined(mine, largest, row, room):
    """Return the sum, or the largest, of one number from each thread."""
    lane = cuda.threadIdx.x
    desk = cuda.shared.array(_CREW, numba.float64)
    desk[lane] = mine
    wide = _CREW // 2
    while wide > 0:
        cuda.syncthreads()
        if lane < wide:
            other = desk[lane + wide]
            desk[lane] = max(desk[lane], other) if largest else desk[lane] + other
        wide //= 2
    if lane == 0:
        room.parts[row, cuda.blockIdx.x] = desk[0]
    _wait(room.tickets)
    total = room.parts[row, 0]
    for block in range(1, cuda.gridDim.x):
        total = max(total, room.parts[row, block]) if largest else total + room.parts[row, block]
    return total


@cuda.jit(device=True)
def _six(i, beside, value, x):
    """Return what the slots of a place bring in."""
    a = value[i, 0] * x[beside[i, 0]] + value[i, 1] * x[beside[i, 1]]
    b = value[i, 2] * x[beside[i, 2]] + value[i, 3] * x[beside[i, 3]]
    c = value[i, 4] * x[beside[i, 4]] + value[i, 5] * x[beside[i, 5]]
    return a + b + c


@cuda.jit(device=True)
def _others(i, odd, odd_W_K, x):
    """Return what the links without a slot bring in."""
    total = 0.0
    for place in range(odd.first[i], odd.first[i + 1]):
        total += odd_W_K[odd.number[place]] * x[odd.far[place]]
    return total


# --- masses and the last level ----------------------------------------------------------------------------------------


@cuda.jit(device=True)
def _spread_mass(lists, odd, work, room):
    """Add capacities up over all levels, and invert the last level for its direct solution."""
    me, crew = cuda.grid(1), cuda.gridsize(1)
    runs, mass = lists.runs, work.mass_W_K
    for level in range(1, len(runs)):
        for lump in range(runs[level, 0] + me, runs[level, 4], crew):
            total = 0.0
            for place in range(lists.child_first[lump], lists.child_first[lump + 1]):
                total += mass[lists.child[place]]
            mass[lump] = total
        _wait(room.tickets)
    for i in range(me, len(mass), crew):
        both = mass[i] + work.leaving_W_K[i]
        work.diagonal_W_K[i] = both
        work.inverse_K_W[i] = 1.0 / both
    _wait(room.tickets)
    if cuda.blockIdx.x == 0:
        _enter_last(lists, odd, work)
        _invert(work.factor_W_K, runs[len(runs) - 1, 4] - runs[len(runs) - 1, 0])
    _wait(room.tickets)


@cuda.jit(device=True)
def _enter_last(lists, odd, work):
    begin, end, table = lists.runs[len(lists.runs) - 1, 0], lists.runs[len(lists.runs) - 1, 4], work.factor_W_K
    for i in range(begin + cuda.threadIdx.x, end, cuda.blockDim.x):
        for j in range(end - begin):
            table[i - begin, j] = 0.0
        table[i - begin, i - begin] = work.diagonal_W_K[i]
        for slot in range(6):
            if work.value_W_K[i, slot] != 0.0:
                table[i - begin, lists.beside[i, slot] - begin] -= work.value_W_K[i, slot]
        for place in range(odd.first[i], odd.first[i + 1]):
            table[i - begin, odd.far[place] - begin] -= work.odd_W_K[odd.number[place]]
    cuda.syncthreads()


@cuda.jit(device=True)
def _invert(table, many):
    """Turn a symmetric, definite table into its inverse, column after column, a thread for each row."""
    me, crew = cuda.threadIdx.x, cuda.blockDim.x
    for p in range(many):
        pivot = 1.0 / max(table[p, p], 1e-300)
        for i in range(me, many, crew):
            if i != p:
                share = table[i, p] * pivot
                for j in range(many):
                    table[i, j] -= share * table[p, j]
                table[i, p] = -share
        cuda.syncthreads()
        for j in range(me, many, crew):
            table[p, j] = pivot if j == p else table[p, j] * pivot
        cuda.syncthreads()


# --- one cycle --------------------------------------------------------------------------------------------------------


@cuda.jit(device=True)
def _relax(level, first, lists, work, room, given, x, lagging):
    """Sweep the places of one colour, of metal and of mould."""
    me, crew = cuda.grid(1), cuda.gridsize(1)
    for turn in range(first, 4, 2):
        for i in range(lists.runs[level, turn] + me, lists.runs[level, turn + 1], crew):
            known = given[i] + room.lagged_W[i] if lagging else given[i]
            x[i] = work.inverse_K_W[i] * (known + _six(i, lists.beside, work.value_W_K, x))
    _wait(room.tickets)


@cuda.jit(device=True)
def _up(level, lists, odd, work, room, given, x):
    """Sweep from nothing, red then black, and give the lumps what is then still missed."""
    me, crew = cuda.grid(1), cuda.gridsize(1)
    runs, child, child_first = lists.runs, lists.child, lists.child_first
    for red in range(0, 4, 2):
        for i in range(runs[level, red] + me, runs[level, red + 1], crew):
            x[i] = work.inverse_K_W[i] * given[i]
    _wait(room.tickets)
    _relax(level, 1, lists, work, room, given, x, False)
    for lump in range(runs[level + 1, 0] + me, runs[level + 1, 4], crew):
        total = 0.0
        for place in range(child_first[lump], lists.child_black[lump]):
            total += _six(child[place], lists.beside, work.value_W_K, x)
        for place in range(child_first[lump], child_first[lump + 1]):
            total += _others(child[place], odd, work.odd_W_K, x)
        given[lump] = total
    _wait(room.tickets)


@cuda.jit(device=True)
def _down(level, lists, odd, work, room, given, x):
    """Add what the lumps found, and sweep black then red; links without a slot bring in what they did before."""
    me, crew = cuda.grid(1), cuda.gridsize(1)
    begin, end = lists.runs[level, 0], lists.runs[level, 4]
    for i in range(begin + me, end, crew):
        x[i] += x[lists.lump[i]]
    _wait(room.tickets)
    lagging = lists.extra_first[level + 1] > lists.extra_first[level]
    if lagging:
        for i in range(begin + me, end, crew):
            room.lagged_W[i] = _others(i, odd, work.odd_W_K, x)
        _wait(room.tickets)
    _relax(level, 1, lists, work, room, given, x, lagging)
    _relax(level, 0, lists, work, room, given, x, lagging)


@cuda.jit(device=True)
def _cycle(lists, odd, work, room):
    """One V-cycle from nothing, its way down the mirror of its way up."""
    depth, given, x, table = len(lists.runs) - 1, work.miss_W, work.cycle_K, work.factor_W_K
    for level in range(depth):
        _up(level, lists, odd, work, room, given, x)
    begin, end = lists.runs[depth, 0], lists.runs[depth, 4]
    for i in range(begin + cuda.grid(1), end, cuda.gridsize(1)):
        total = 0.0
        for j in range(end - begin):
            total += table[i - begin, j] * given[begin + j]
        x[i] = total
    _wait(room.tickets)
    for back in range(depth):
        _down(depth - 1 - back, lists, odd, work, room, given, x)


# --- conjugate gradients ----------------------------------------------------------------------------------------------


@cuda.jit(device=True)
def _passed(lists, odd, work, room):
    """Give what a cycle's answer passes: at red places, swept last, that is what was given there."""
    me, crew = cuda.grid(1), cuda.gridsize(1)
    runs, z, az = lists.runs, work.cycle_K, work.cycle_W
    deep = len(runs) > 1
    for turn in range(4):
        for i in range(runs[0, turn] + me, runs[0, turn + 1], crew):
            if not deep:
                az[i] = work.miss_W[i]
            elif turn % 2 == 0:
                az[i] = work.miss_W[i] + room.lagged_W[i] - _others(i, odd, work.odd_W_K, z)
            else:
                passes = work.diagonal_W_K[i] * z[i] - _six(i, lists.beside, work.value_W_K, z)
                az[i] = passes - _others(i, odd, work.odd_W_K, z)


@cuda.jit(device=True)
def _solve(lists, odd, work, room, tolerance_K):
    """Solve for the change of temperature until a cycle would change it by less than the tolerance; return the count.

    ``miss_W`` holds the right-hand side and loses it; ``change_K`` is the answer.
    """
    me, crew = cuda.grid(1), cuda.gridsize(1)
    many, miss, x, z = lists.runs[0, 4], work.miss_W, work.change_K, work.cycle_K
    p, q = work.search_K, work.search_W
    for i in range(me, many, crew):
        x[i] = 0.0
        p[i] = 0.0
        q[i] = 0.0
    before = 1.0
    for count in range(_MOST_CYCLES):
        _cycle(lists, odd, work, room)
        _passed(lists, odd, work, room)
        mine, far = 0.0, 0.0
        for i in range(me, many, crew):
            mine += np.float64(miss[i] * z[i])
            far = max(far, np.float64(abs(z[i])))
        far = _joined(far, True, _LARGEST, room)
        now = _joined(mine, False, _MISSED, room)
        if far < tolerance_K or now <= 0.0:
            for i in range(me, many, crew):
                x[i] += z[i]
            return count + 1
        keep, mine = now / before if count > 0 else 0.0, 0.0
        for i in range(me, many, crew):
            p[i] = z[i] + keep * p[i]
            q[i] = work.cycle_W[i] + keep * q[i]
            mine += np.float64(p[i] * q[i])
        along = now / _joined(mine, False, _TURNED, room)
        for i in range(me, many, crew):
            x[i] += along * p[i]
            miss[i] -= along * q[i]
        before = now
        _wait(room.tickets)
    return _MOST_CYCLES


# --- one step ---------------------------------------------------------------------------------------------------------


@cuda.jit(device=True)
def _imbalances(lists, odd, work, temp_K, flows, heat_J, begun_J, step_s):
    """Give what each node gets beyond what it has gained [W]."""
    beside, value = lists.beside, work.value_W_K
    for i in range(cuda.grid(1), len(temp_K), cuda.gridsize(1)):
        here = temp_K[i]
        total = flows.source_W[i] - flows.sink_W_K[i] * here - (heat_J[i] - begun_J[i]) / step_s
        for slot in range(6):
            total += value[i, slot] * (temp_K[beside[i, slot]] - here)
        for place in range(odd.first[i], odd.first[i + 1]):
            total += work.odd_W_K[odd.number[place]] * (temp_K[odd.far[place]] - here)
        work.wrong_W[i] = total


@cuda.jit(device=True)
def _correct(laws, work, room, heat_J, temp_K, capacity_J_K):
    """Correct heats and look up the temperatures that belong to them; return the largest surprise [K]."""
    far = 0.0
    for i in range(cuda.grid(1), len(temp_K), cuda.gridsize(1)):
        heat_J[i] += capacity_J_K[i] * work.change_K[i]
        temp_K[i] += work.change_K[i]
        far = max(far, LOOKED_UP(i, i + 1, laws, heat_J, temp_K, temp_K, capacity_J_K))
    return _joined(far, True, _SURPRISE, room)


@cuda.jit(**_LIMITS)
def _step(
    laws, lists, odd, work, room, givers, begun_J, heat_J, temp_K, flows, step_s, tolerance_K, most, surprise_K
):  # fmt: skip
    me, crew = cuda.grid(1), cuda.gridsize(1)
    many, capacity_J_K = len(temp_K), flows.capacity_J_K
    for i in range(me, many, crew):
        LOOKED_UP(i, i + 1, laws, heat_J, temp_K, temp_K, capacity_J_K)
    _wait(room.tickets)
    largest, inner_K, cycles, correction = 1e300, tolerance_K, 0, 0
    while True:
        _imbalances(lists, odd, work, temp_K, flows, heat_J, begun_J, step_s)
        if (largest < tolerance_K and inner_K <= tolerance_K) or correction == most:
            break
        known = correction < len(surprise_K)
        inner_K = tolerance_K
        if known:
            inner_K = max(tolerance_K, _SHARP_FRAC * surprise_K[correction])
        for i in range(me, many, crew):
            work.miss_W[i] = work.wrong_W[i]
            work.mass_W_K[i] = capacity_J_K[i] / step_s + flows.sink_W_K[i]
        _wait(room.tickets)
        _spread_mass(lists, odd, work, room)
        cycles += _solve(lists, odd, work, room, inner_K)
        largest = _correct(laws, work, room, heat_J, temp_K, capacity_J_K)
        if known and me == 0:
            surprise_K[correction] = largest
        correction += 1
    _wait(room.tickets)
    if me == 0:
        for later in range(correction, len(surprise_K)):
            surprise_K[later] = 0.0
        room.found[0] = largest
        room.found[1] = correction
        room.found[2] = cycles
    first, giver = givers
    for i in range(me, many, crew):
        flows.settled_K[i] = temp_K[i]
        for place in range(first[i], first[i + 1]):
            heat_J[i] += step_s * work.wrong_W[giver[place]]
        LOOKED_UP(i, i + 1, laws, heat_J, temp_K, temp_K, capacity_J_K)


def step_nodes(laws, lists, work, begun_J, heat_J, temp_K, field, step_s, tolerance_K, most, surprise_K, counts):
    """Take all nodes one implicit step; ``heat_J`` comes as a guess and goes as the answer."""
    room, blocks = _room_of(lists, work.miss_W.dtype), _blocks()
    spread(
        _step, blocks * _CREW, laws, lists, _odd_of(lists), work, room, grouped(laws.heir, len(temp_K)), begun_J,
        heat_J, temp_K, field, float(step_s), float(tolerance_K), int(most), surprise_K, blocks=blocks, threads=_CREW,
    )  # fmt: skip
    largest, corrections, cycles = fetch(room.found)
    counts[0] += int(corrections)
    counts[1] += int(cycles)
    return largest
