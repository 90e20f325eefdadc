"""The compiled pass over all metal cells; the readable side is :mod:`pourwright.physics.freeze.hot_spots`."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def _root(up: NDArray[np.int32], cell: int) -> int:
    while up[cell] != cell:
        up[cell] = up[up[cell]]
        cell = up[cell]
    return cell


@njit(cache=True)
def peaks_count(level: NDArray[np.float64], neighbours: NDArray[np.int32]) -> int:
    """Return how many cells freeze no earlier than any neighbour: a bound of the pools there can be."""
    count = 0
    for cell in range(len(level)):
        highest = True
        for side in range(neighbours.shape[1]):
            other = neighbours[cell, side]
            if other >= 0 and level[other] > level[cell]:
                highest = False
                break
        if highest:
            count += 1
    return count


@njit(cache=True)
def merge(
    order: NDArray[np.int32],
    level: NDArray[np.float64],
    neighbours: NDArray[np.int32],
    feeder: NDArray[np.bool_],
    least: float,
    least_share: float,
    state: NDArray[np.int32],
    fed: NDArray[np.bool_],
    fed_until: NDArray[np.float64],
    label: NDArray[np.int32],
    pools: NDArray[np.int32],
) -> int:
    """Flood the cells from the last to freeze to the first and note every pool that closes.

    A pool is the liquid that hangs together at some time. Going back in time pools meet; where two meet, one is noted
    as cut off there: the one without feeder, else the one that froze earlier. ``state`` (5, n) is work space: root,
    next cell of the same pool, last cell of the pool, number of cells, cell that freezes last; it and ``label`` start
    at -1.

    Written: ``fed_until`` (n), when each cell lost touch with every feeder, its own level if it never did, minus
    infinity if it never had any; ``label`` (n), the innermost noted pool a cell belongs to; ``pools`` (3, m), of each
    noted pool the cell that freezes last, the cell where it closed (-1 if it always was apart), and the last cell of
    the pool that it closed from (-1 if that had a feeder). The number of pools is returned.
    """
    up, after, tail, size, top = state[0], state[1], state[2], state[3], state[4]
    count = 0
    for cell in order:
        pool = -1  # all that this cell joins
        for side in range(neighbours.shape[1] + 1):
            other = neighbours[cell, side] if side < neighbours.shape[1] else cell
            if other == cell:
                up[cell], tail[cell], size[cell], top[cell], fed[cell] = cell, cell, 1, cell, feeder[cell]
            if other < 0 or up[other] < 0:
                continue
            winner, loser = pool, _root(up, other)
            pool = loser if winner < 0 else winner
            if winner < 0 or winner == loser:
                continue
            if fed[winner] != fed[loser]:
                if fed[loser]:
                    winner, loser = loser, winner
                _lose_touch(after, fed_until, loser, level[cell])
            elif level[top[loser]] > level[top[winner]]:
                winner, loser = loser, winner
            lasting = level[top[loser]] - level[cell]
            if not fed[loser] and lasting >= max(least, least_share * level[top[loser]]):
                pools[0, count], pools[1, count] = top[loser], cell
                pools[2, count] = -1 if fed[winner] else top[winner]
                _name(after, label, loser, count)
                count += 1
            pool = _join(up, after, tail, size, winner, loser, top, fed)
        if feeder[cell] or (fed[pool] and size[pool] > 1):
            fed_until[cell] = level[cell]
    for cell in order:
        if up[cell] == cell and not fed[cell]:
            pools[0, count], pools[1, count], pools[2, count] = top[cell], -1, -1
            _name(after, label, cell, count)
            count += 1
    return count


@njit(cache=True)
def _lose_touch(after: NDArray[np.int32], fed_until: NDArray[np.float64], root: int, time: float) -> None:
    member = root
    while member >= 0:
        fed_until[member] = time
        member = after[member]


@njit(cache=True)
def _name(after: NDArray[np.int32], label: NDArray[np.int32], root: int, name: int) -> None:
    member = root
    while member >= 0:
        if label[member] < 0:
            label[member] = name
        member = after[member]


@njit(cache=True)
def _join(
    up: NDArray[np.int32],
    after: NDArray[np.int32],
    tail: NDArray[np.int32],
    size: NDArray[np.int32],
    winner: int,
    loser: int,
    top: NDArray[np.int32],
    fed: NDArray[np.bool_],
) -> int:
    """Hang the smaller pool under the larger, so that looking up stays short; the winner's last cell stays."""
    last, has_feeder = top[winner], fed[winner] or fed[loser]
    big, small = (winner, loser) if size[winner] >= size[loser] else (loser, winner)
    up[small] = big
    after[tail[big]] = small
    tail[big] = tail[small]
    size[big] += size[small]
    top[big], fed[big] = last, has_feeder
    return big
