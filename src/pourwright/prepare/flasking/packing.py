"""Packs items into the fewest bins, exactly, with an outside judge of what fits together.

Weights, conflicts and places are put to an integer program. What only the judge knows (do these pieces make a tree
that fits this flask?) is learned: a group that the judge refuses is reduced to the few items that already do not fit,
and the program is solved again without that combination. It takes for granted that a group stays unfit when it grows.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil
from typing import Any

Judge = Callable[[frozenset[int], int], bool]
Packed = Mapping[int, frozenset[int]]

# Enough for every studio day tried; past it the answer is still good, but not proven.
_MOST_ROUNDS = 80
_MOST_NODES = 20_000
_WHOLE = 1e-6


@dataclass(frozen=True)
class Task:
    """Items by number, and the bins they may go into.

    Parameters
    ----------
    weights_g : sequence of float
        Of each item [g].
    limits_g : sequence of float
        What each bin takes [g].
    allowed : sequence of frozenset of int
        The bins each item may go into.
    conflicts : frozenset of (int, int)
        Items that must not share a bin, smaller number first.
    fits : callable
        The judge: whether these items together fit that bin.
    heavier : sequence of frozenset of int
        For each item those that fit nowhere that it does not fit (itself included).
    smaller : sequence of frozenset of int
        For each bin those that hold nothing that it does not hold (itself included).
    """

    weights_g: Sequence[float]
    limits_g: Sequence[float]
    allowed: Sequence[frozenset[int]]
    conflicts: frozenset[tuple[int, int]]
    fits: Judge
    heavier: Sequence[frozenset[int]]
    smaller: Sequence[frozenset[int]]


@dataclass(frozen=True)
class Packing:
    """Bins with their items (None: no way was found), and how few bins could possibly do."""

    bins: Packed | None
    fewest_count: int
    proven: bool


@dataclass(frozen=True)
class _Cut:
    """No more than ``most_count`` of these items may share any of these bins."""

    items: frozenset[int]
    bins: frozenset[int]
    most_count: int


@dataclass
class _Search:
    best: Packed | None
    fewest_count: int = 0
    cuts: list[_Cut] = field(default_factory=list)


def pack(task: Task) -> Packing:
    """Return the fewest bins, proven if at all possible.

    Parameters
    ----------
    task : Task
        Items, bins and the judge.

    Returns
    -------
    Packing
        ``bins`` is None with ``proven`` true if no packing exists.
    """
    search = _Search(first_fit(task))
    for _ in range(_MOST_ROUNDS):
        answer = _solve(task, search.cuts)
        if answer is None:
            return Packing(search.best, search.fewest_count, search.best is None)
        packed, bound_count = answer
        search.fewest_count = max(search.fewest_count, bound_count)
        if search.best is not None and len(search.best) <= search.fewest_count:
            return Packing(search.best, search.fewest_count, True)
        refused = [] if packed is None else [(b, items) for b, items in packed.items() if not task.fits(items, b)]
        if packed is None or not refused:
            return _ended(search, packed)
        search.cuts += [_cut(task, items, number) for number, items in refused]
    return Packing(search.best, search.fewest_count, False)


def _ended(search: _Search, packed: Packed | None) -> Packing:
    found = [one for one in (packed, search.best) if one is not None]
    best = min(found, key=len, default=None)
    return Packing(best, search.fewest_count, best is not None and len(best) <= search.fewest_count)


def first_fit(task: Task) -> Packed | None:
    """Put the heaviest items first, each into the first bin that takes it, or return None if one finds no place."""
    bins: dict[int, frozenset[int]] = {}
    roomy = sorted(range(len(task.limits_g)), key=lambda number: (-len(task.smaller[number]), number))
    for item in sorted(range(len(task.weights_g)), key=lambda one: (len(task.allowed[one]), -task.weights_g[one], one)):
        tried = [*bins, *(number for number in roomy if number not in bins)]
        for number in tried:
            group = bins.get(number, frozenset()) | {item}
            if number in task.allowed[item] and _agree(task, group) and task.fits(group, number):
                bins[number] = group
                break
        else:
            return None
    return bins


def _agree(task: Task, group: frozenset[int]) -> bool:
    return not any(first in group and second in group for first, second in task.conflicts)


def _cut(task: Task, items: frozenset[int], number: int) -> _Cut:
    """Reduce a refused group to a part that is still refused; the same holds for items and bins that are no better."""
    core = items
    for item in sorted(items, key=lambda one: (task.weights_g[one], one)):
        if len(core) > 1 and not task.fits(core - {item}, number):
            core -= {item}
    no_better = frozenset.intersection(*(task.heavier[item] for item in core))
    return _Cut(core | no_better, task.smaller[number], len(core) - 1)


def _solve(task: Task, cuts: Sequence[_Cut]) -> tuple[Packed | None, int] | None:
    """Solve the integer program: (packing or None, bound on the count), or None if it has no solution."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    pairs = [(item, number) for item in range(len(task.weights_g)) for number in sorted(task.allowed[item])]
    column = {pair: index for index, pair in enumerate(pairs)}
    count = len(pairs) + len(task.limits_g)
    rows, most = _rows(task, cuts, column, count)
    one_each = np.zeros((len(task.weights_g), count))
    for (item, _), index in column.items():
        one_each[item, index] = 1
    cost = np.concatenate([np.zeros(len(pairs)), np.ones(len(task.limits_g))])
    result: Any = milp(
        cost,
        integrality=np.ones(count, dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(one_each, 1, 1), LinearConstraint(rows, -np.inf, most)],
        options={"node_limit": _MOST_NODES},
    )
    if result.status == 2:  # no solution
        return None
    bound_count = max(ceil((result.mip_dual_bound or 0.0) - _WHOLE), 0)
    return (None if result.x is None else _bins(column, result.x)), bound_count


def _bins(column: Mapping[tuple[int, int], int], chosen: Sequence[float]) -> Packed:
    bins: dict[int, frozenset[int]] = {}
    for (item, number), index in column.items():
        if chosen[index] > 0.5:
            bins[number] = bins.get(number, frozenset()) | {item}
    return bins


def _rows(task: Task, cuts: Sequence[_Cut], column: Mapping[tuple[int, int], int], count: int) -> tuple[Any, Any]:
    """Return the rows ``row @ x <= most``: weights, conflicts, what the judge refused, and one order of equal bins."""
    import numpy as np

    used = len(column)  # the columns of "this bin is used" start here
    rows: list[tuple[dict[int, float], float]] = []
    for number, limit_g in enumerate(task.limits_g):
        inside = {item: column[item, number] for item in range(len(task.weights_g)) if (item, number) in column}
        empty = {used + number: -1.0}
        rows.append(
            ({index: task.weights_g[item] for item, index in inside.items()} | {used + number: -limit_g}, _WHOLE)
        )
        rows += [({index: 1.0} | empty, 0.0) for index in inside.values()]
        both = [pair for pair in sorted(task.conflicts) if inside.keys() >= set(pair)]
        rows += [(dict.fromkeys((inside[one], inside[other]), 1.0) | empty, 0.0) for one, other in both]
    for cut in cuts:
        for number in sorted(cut.bins):
            some = [column[item, number] for item in sorted(cut.items) if (item, number) in column]
            rows.append((dict.fromkeys(some, 1.0), float(cut.most_count)))
    rows += [({used + later: 1.0, used + sooner: -1.0}, 0.0) for sooner, later in _equal_bins(task)]
    matrix, most = np.zeros((len(rows), count)), np.array([limit for _, limit in rows])
    for row, (entries, _) in enumerate(rows):
        matrix[row, list(entries)] = list(entries.values())
    return matrix, most


def _equal_bins(task: Task) -> list[tuple[int, int]]:
    """Return pairs of bins that nothing tells apart, each with the next of its kind: the first is used first."""
    kinds: dict[tuple[frozenset[int], frozenset[int]], int] = {}
    pairs = []
    for number, smaller in enumerate(task.smaller):
        alike = frozenset(other for other in smaller if number in task.smaller[other])
        kind = alike, frozenset(item for item, bins in enumerate(task.allowed) if number in bins)
        if kind in kinds:
            pairs.append((kinds[kind], number))
        kinds[kind] = number
    return pairs
