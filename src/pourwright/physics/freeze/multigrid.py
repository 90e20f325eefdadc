"""Levels for the nodes: lumps of 2 x 2 x 2 cells, lumps of lumps, and so on down to a few.

Places of each level stand in *turns*: red metal, black metal, red mould, black mould, coloured as on a chess board,
mould the other way round, so that a wall through a cell joins two colours. Links join red to black nearly always.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.lists import Nodes, turns_of
from pourwright.physics.freeze.problem import Floats

# So few unknowns are solved directly.
_FEW = 48
# Slots for links to the other colour at each place.
_SLOTS = 6

Longs = NDArray[np.int64]
Ints = NDArray[np.int32]
# Unsigned, so that the loops need not ask whether a place counts from the end.
Places = NDArray[np.uint32]


class Lists(NamedTuple):
    """All levels one after another in one list of places, and in one list of links.

    Parameters
    ----------
    runs : array, shape (levels, 5)
        Where red metal, black metal, red mould and black mould of each level begin, and where the level ends.
    lump : array, shape (places,)
        Place of the lump that a place belongs to; unused on the last level.
    child_first, child_black, child : arrays
        Members of lump i: those from ``child_first[i]`` to ``child_first[i + 1]``, black ones from ``child_black[i]``.
    beside, link : arrays, shape (places, 6)
        Places of the other colour beside each place, and the link to each; empty slots hold the place itself and the
        number of links.
    parent_link : array, shape (links,)
        Link between lumps that a link is part of; -1 within a lump and on the last level.
    extra_first, extra_one, extra_other, extra_link : arrays
        Links without a slot, and where those of each level begin.
    """

    runs: Longs
    lump: Places
    child_first: Places
    child_black: Places
    child: Places
    beside: Places
    link: Places
    parent_link: Ints
    extra_first: Longs
    extra_one: Places
    extra_other: Places
    extra_link: Places


@dataclass(frozen=True, eq=False)
class Levels:
    """The levels, and the metal beside metal.

    Parameters
    ----------
    lists : Lists
        For the solution.
    first, beside : arrays
        Metal nodes beside metal node i: those from ``first[i]`` to ``first[i + 1]``.
    """

    lists: Lists
    first: Places
    beside: Places

    @property
    def places_count(self) -> int:
        """Places of all levels together."""
        return len(self.lists.lump)


@dataclass(frozen=True, eq=False)
class _Level:
    """One level while it is laid: blocks (i, j, k, is mould), their turns, links, and what they become part of."""

    block: Longs
    turn: Longs
    one: Longs
    other: Longs
    lump: Longs
    parent: Longs


def lay_levels(nodes: Nodes) -> Levels:
    """Lump nodes by where they are, metal and mould apart, until few are left."""
    block = np.column_stack((nodes.cell, np.arange(len(nodes.m3)) >= nodes.metals_count)).astype(np.int64)
    one, other = nodes.one.astype(np.int64), nodes.other.astype(np.int64)
    levels = []
    while True:
        turn = turns_of(block)
        if len(block) <= _FEW:
            levels.append(_Level(block, turn, one, other, np.zeros(len(block), np.int64), np.full(len(one), -1)))
            break
        lumped, lump = _lumps(block)
        more_one, more_other, parent = _lumped_links(lump, one, other)
        levels.append(_Level(block, turn, one, other, lump, parent))
        block, one, other = lumped, more_one, more_other
    return Levels(_joined(levels), *_metal_beside(nodes))


def _lumps(block: Longs) -> tuple[Longs, Longs]:
    """Return the lumps of blocks in their turns, and which each block is part of."""
    halved = block.copy()
    halved[:, :3] //= 2
    lumped, lump = np.unique(_keys(halved), return_inverse=True)
    found = np.empty((len(lumped), 4), np.int64)
    found[lump] = halved
    if len(lumped) > 0.95 * len(block):
        found, lump = found[::2], (np.arange(len(found)) // 2)[lump]
    order = np.argsort(turns_of(found), kind="stable")
    place = np.empty(len(order), np.int64)
    place[order] = np.arange(len(order))
    return found[order], place[lump]


def _keys(block: Longs) -> Longs:
    """Return one number for each place on the grid and material."""
    wide = block.max(axis=0) + 1
    return np.asarray(((block[:, 3] * wide[0] + block[:, 0]) * wide[1] + block[:, 1]) * wide[2] + block[:, 2])


def _lumped_links(lump: Longs, one: Longs, other: Longs) -> tuple[Longs, Longs, Longs]:
    """Return links between lumps, and which of them each link is part of."""
    many = int(lump.max(initial=0)) + 1
    low, high = np.minimum(lump[one], lump[other]), np.maximum(lump[one], lump[other])
    parent = np.full(len(one), -1)
    between = low != high
    key, place = np.unique(low[between] * many + high[between], return_inverse=True)
    parent[between] = place
    return key // many, key % many, parent


def _joined(levels: list[_Level]) -> Lists:
    """Put the levels one after another."""
    begins = np.concatenate(([0], np.cumsum([len(one.turn) for one in levels])))
    link_begins = np.concatenate(([0], np.cumsum([len(one.one) for one in levels])))
    runs = np.array(
        [begin + np.searchsorted(one.turn, np.arange(5)) for begin, one in zip(begins, levels, strict=False)]
    )
    lump = np.concatenate([one.lump + begin for one, begin in zip(levels, begins[1:], strict=True)])
    parent = np.concatenate(
        [np.where(one.parent >= 0, one.parent + begin, -1) for one, begin in zip(levels, link_begins[1:], strict=True)]
    )
    turn = np.concatenate([one.turn for one in levels])
    one = np.concatenate([one.one + begin for one, begin in zip(levels, begins, strict=False)])
    other = np.concatenate([one.other + begin for one, begin in zip(levels, begins, strict=False)])
    beside, link, extra = _slots(turn % 2, one, other)
    extra_first = np.searchsorted(extra, link_begins)
    small = np.uint32
    return Lists(
        runs, lump.astype(small), *_children(lump[: begins[-2]], turn % 2, len(lump)), beside, link,
        parent.astype(np.int32), extra_first, one[extra].astype(small), other[extra].astype(small), extra.astype(small),
    )  # fmt: skip


def _slots(colour: Longs, one: Longs, other: Longs) -> tuple[Places, Places, Longs]:
    """Return what stands beside each place and over which link, slot by slot, and the links that find no slot."""
    fits = colour[one] != colour[other]
    number = np.flatnonzero(fits)
    crowded = _rank(np.concatenate((one[number], other[number]))).reshape(2, -1).max(axis=0) >= _SLOTS
    fits[number[crowded]] = False
    number = np.flatnonzero(fits)
    here, there = np.concatenate((one[number], other[number])), np.concatenate((other[number], one[number]))
    slot = _rank(here)
    beside = np.repeat(np.arange(len(colour), dtype=np.uint32)[:, None], _SLOTS, axis=1)
    link = np.full((len(colour), _SLOTS), len(one), np.uint32)
    beside[here, slot], link[here, slot] = there, np.tile(number, 2)
    return beside, link, np.flatnonzero(~fits)


def _rank(end: Longs) -> Longs:
    """Return for each entry how many equal ones come before it."""
    order = np.argsort(end, kind="stable")
    ordered = end[order]
    begins = np.searchsorted(ordered, ordered)
    rank = np.empty(len(end), np.int64)
    rank[order] = np.arange(len(end)) - begins
    return rank


def _children(lump: Longs, colour: Longs, many: int) -> tuple[Places, Places, Places]:
    """Return where the members of each place begin, where its black ones do, and the members, red ones first."""
    key = 2 * lump + colour[: len(lump)]
    count = np.bincount(key, minlength=2 * many)
    ends = np.concatenate(([0], np.cumsum(count))).astype(np.uint32)
    return (
        np.ascontiguousarray(ends[::2]),
        np.ascontiguousarray(ends[1::2]),
        np.argsort(key, kind="stable").astype(np.uint32),
    )


def _metal_beside(nodes: Nodes) -> tuple[Places, Places]:
    metals = nodes.metals_count
    both = (nodes.one < metals) & (nodes.other < metals)
    ends = np.concatenate((nodes.one[both], nodes.other[both]))
    far = np.concatenate((nodes.other[both], nodes.one[both]))
    order = np.lexsort((far, ends))
    first = np.concatenate(([0], np.cumsum(np.bincount(ends, minlength=metals)))).astype(np.uint32)
    return first, far[order].astype(np.uint32)


class Workspace(NamedTuple):
    """Arrays that the solution on the levels fills anew each time; over all places but where it says.

    Parameters
    ----------
    passes_W_K : array, shape (links + 1,)
        What each link passes; the last entry is nothing.
    value_W_K : array, shape (places, 6)
        The same in the slots.
    odd_W_K, kept_W : arrays, shapes (extras,) and (extras, 2)
        What the links without a slot pass, and room for what they bring in.
    leaving_W_K, mass_W_K, diagonal_W_K, inverse_K_W : arrays
        Sum of the links, capacity over the step, both together, and one over that.
    factor_W_K : array, shape (few, few)
        Of the last level.
    wrong_W : array, shape (nodes,)
        What each node gets beyond what it has gained.
    air_W_K : array, shape (bare faces,)
        What each bare face passes to the air.
    miss_W, change_K, cycle_K, cycle_W, search_K, search_W : arrays
        Of the conjugate gradients; all but the first hold their answer on the first level.
    """

    passes_W_K: Floats
    value_W_K: NDArray[Any]
    odd_W_K: NDArray[Any]
    kept_W: NDArray[Any]
    leaving_W_K: Floats
    mass_W_K: Floats
    diagonal_W_K: NDArray[Any]
    inverse_K_W: NDArray[Any]
    factor_W_K: Floats
    wrong_W: Floats
    air_W_K: Floats
    miss_W: NDArray[Any]
    change_K: NDArray[Any]
    cycle_K: NDArray[Any]
    cycle_W: NDArray[Any]
    search_K: NDArray[Any]
    search_W: NDArray[Any]


def make_workspace(levels: Levels, bare_count: int, double: bool) -> Workspace:
    """Return arrays of the right sizes; corrections are reckoned in single precision unless ``double``."""
    lists = levels.lists
    many, nodes, few = levels.places_count, int(lists.runs[0, 4]), int(lists.runs[-1, 4] - lists.runs[-1, 0])
    kind = np.float64 if double else np.float32
    place, node = np.zeros(many, kind), np.zeros(nodes, kind)
    return Workspace(
        passes_W_K=np.zeros(len(lists.parent_link) + 1),
        value_W_K=np.zeros((many, _SLOTS), kind),
        odd_W_K=np.zeros(len(lists.extra_link), kind),
        kept_W=np.zeros((len(lists.extra_link), 2), kind),
        leaving_W_K=np.zeros(many),
        mass_W_K=np.zeros(many),
        diagonal_W_K=place,
        inverse_K_W=place.copy(),
        factor_W_K=np.zeros((few, few)),
        wrong_W=np.zeros(nodes),
        air_W_K=np.zeros(bare_count),
        miss_W=place.copy(),
        change_K=node,
        cycle_K=place.copy(),
        cycle_W=node.copy(),
        search_K=node.copy(),
        search_W=node.copy(),
    )
