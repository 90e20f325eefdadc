"""Packs items into the fewest bins, exactly, with an outside judge of what fits together.

A first packing puts the heaviest items first, each into the first bin that takes it. If it uses no more bins than the
weights alone ask for, it is proven; otherwise every other way is tried, item by item, leaving out those that cannot
use fewer bins. A group that does not fit is never added to: it is taken for granted that it stays unfit. With more
than ten items the search gives up after so many steps, the same number everywhere, so that the answer does not depend
on the computer's speed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, inf

Judge = Callable[[frozenset[int], int], bool]
Packed = Mapping[int, frozenset[int]]

_ALWAYS_ENDED_COUNT = 10
_MOST_STEPS_COUNT = 4000
_DUST_G = 1e-6


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
    conflicts : sequence of frozenset of int
        For each item those it must not share a bin with.
    fits : callable
        The judge: whether these items together fit that bin.
    item_kinds, bin_kinds : sequence of hashable
        Items, and bins, with the same kind are as good as each other to the judge.
    roomy_first : sequence of int
        All bins, in the order in which to open them.
    """

    weights_g: Sequence[float]
    limits_g: Sequence[float]
    allowed: Sequence[frozenset[int]]
    conflicts: Sequence[frozenset[int]]
    fits: Judge
    item_kinds: Sequence[object]
    bin_kinds: Sequence[object]
    roomy_first: Sequence[int]


@dataclass(frozen=True)
class Packing:
    """Bins with their items, and how few bins could possibly do.

    ``bins`` is None if no packing was found; ``proven`` then says that there is none, otherwise that there is no
    packing with fewer.
    """

    bins: Packed | None
    fewest_count: int
    proven: bool


@dataclass
class _Search:
    task: Task
    order: Sequence[int]
    fewest_count: int
    best: Packed | None
    left_g: Sequence[float]
    steps_left_count: float

    @property
    def limit_count(self) -> int:
        """A packing must use fewer bins than this to be of interest."""
        return len(self.task.limits_g) + 1 if self.best is None else len(self.best)

    @property
    def over(self) -> bool:
        """Whether there is nothing more to find, or no patience left."""
        return self.steps_left_count <= 0 or self.limit_count <= self.fewest_count


def pack(task: Task) -> Packing:
    """Return the fewest bins, proven if the search comes to an end.

    Parameters
    ----------
    task : Task
        Items, bins and the judge.
    """
    order = _hardest_first(task)
    left_g = [sum(task.weights_g[item] for item in order[start:]) for start in range(len(order) + 1)]
    steps_count = inf if len(order) <= _ALWAYS_ENDED_COUNT else _MOST_STEPS_COUNT
    search = _Search(task, order, fewest_count(task), first_fit(task), left_g, steps_count)
    _descend(search, 0, {})
    if search.steps_left_count > 0 and search.best is not None:
        return Packing(search.best, len(search.best), True)
    return Packing(search.best, search.fewest_count, search.steps_left_count > 0)


def first_fit(task: Task) -> Packed | None:
    """Put the hardest items first, each into the first bin that takes it, or return None if one finds no place."""
    bins: dict[int, frozenset[int]] = {}
    for item in _hardest_first(task):
        number = next((one for one in _choices(task, item, bins) if _takes(task, item, one, bins)), None)
        if number is None:
            return None
        bins[number] = bins.get(number, frozenset()) | {item}
    return bins


def fewest_count(task: Task) -> int:
    """Return how many bins the weights ask for at least, were all bins as large as the largest.

    Items over half a bin need one each. For each dividing size, the items at least so large and at most half a bin
    fill the room that the large ones leave, and then bins of their own.
    """
    limit_g = max(task.limits_g)
    return max(_count_above(task.weights_g, limit_g, size) for size in {0.0, *task.weights_g} if size <= limit_g / 2)


def _count_above(weights_g: Sequence[float], limit_g: float, size_g: float) -> int:
    alone = [one for one in weights_g if one > limit_g - size_g + _DUST_G]
    large = [one for one in weights_g if limit_g / 2 < one <= limit_g - size_g + _DUST_G]
    small_g = sum(one for one in weights_g if size_g <= one <= limit_g / 2)
    room_g = sum(limit_g - one for one in large)
    return len(alone) + len(large) + max(ceil((small_g - room_g - _DUST_G) / limit_g), 0)


def _hardest_first(task: Task) -> list[int]:
    """Return the items with the fewest bins first, then the heaviest; equal ones stand together."""
    return sorted(range(len(task.weights_g)), key=lambda one: (len(task.allowed[one]), -task.weights_g[one], one))


def _choices(task: Task, item: int, bins: Packed) -> list[int]:
    """Return the open bins, then one unopened bin of each kind."""
    fresh: dict[object, int] = {}
    for number in task.roomy_first:
        if number not in bins and number in task.allowed[item]:
            fresh.setdefault(task.bin_kinds[number], number)
    return [*bins, *fresh.values()]


def _takes(task: Task, item: int, number: int, bins: Packed) -> bool:
    group = bins.get(number, frozenset())
    if number not in task.allowed[item] or group & task.conflicts[item]:
        return False
    if sum(task.weights_g[one] for one in group) + task.weights_g[item] > task.limits_g[number] + _DUST_G:
        return False
    return task.fits(group | {item}, number)


def _descend(search: _Search, position: int, bins: dict[int, frozenset[int]]) -> None:
    """Place the items from a position on in every way that could use fewer bins than the best packing."""
    task = search.task
    if position == len(search.order):
        search.best = bins
        return
    item = search.order[position]
    for number in _without_twins(search, position, bins):
        if search.over or not _takes(task, item, number, bins):
            continue
        grown = bins | {number: bins.get(number, frozenset()) | {item}}
        search.steps_left_count -= 1
        if len(grown) + _more_count(search, position + 1, grown) < search.limit_count:
            _descend(search, position + 1, grown)


def _without_twins(search: _Search, position: int, bins: Packed) -> list[int]:
    """Return the bins to try; of two equal items in a row the second never goes into an earlier bin."""
    task, item = search.task, search.order[position]
    choices = _choices(task, item, bins)
    before = search.order[position - 1] if position else item
    if before == item or task.item_kinds[before] != task.item_kinds[item]:
        return choices
    return choices[next(index for index, number in enumerate(bins) if before in bins[number]) :]


def _more_count(search: _Search, position: int, bins: Packed) -> int:
    """Return how many more bins the remaining weight asks for at least."""
    task = search.task
    room_g = sum(task.limits_g[number] - sum(task.weights_g[one] for one in group) for number, group in bins.items())
    return max(ceil((search.left_g[position] - room_g - _DUST_G) / max(task.limits_g)), 0)
