"""Levels for the nodes: lumps of 2 x 2 x 2 cells, lumps of lumps, and so on down to a few."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.network import Nodes
from pourwright.physics.freeze.problem import Floats

# So few unknowns are solved directly.
_FEW = 48

Ints = NDArray[np.int32]
# Unsigned, so that the loops need not ask whether a place counts from the end.
Places = NDArray[np.uint32]


@dataclass(frozen=True, eq=False)
class Levels:
    """All levels one after another in one list of places.

    Parameters
    ----------
    level : array, shape (levels + 1,)
        Where each level begins.
    lump : array, shape (places,)
        Place of the lump that a place belongs to; unused on the last level.
    child_first, child : arrays
        Members of lump i: those from ``child_first[i]`` to ``child_first[i + 1]``.
    first, beside, link : arrays
        Neighbours of each place, and the link to each.
    parent_link : array, shape (links,)
        Link between lumps that a link is part of; -1 within a lump and on the last level.
    links_count : int
        Links of the first level.
    """

    level: NDArray[np.int64]
    lump: Places
    child_first: Places
    child: Places
    first: Places
    beside: Places
    link: Places
    parent_link: Ints
    links_count: int

    @property
    def places_count(self) -> int:
        """Places of all levels together."""
        return len(self.lump)


def lay_levels(nodes: Nodes) -> Levels:
    """Lump nodes by where they are, metal and mould apart, until few are left."""
    one, other = nodes.one.astype(np.int64), nodes.other.astype(np.int64)
    block = np.column_stack((nodes.cell, np.arange(len(nodes.m3)) >= nodes.metals_count)).astype(np.int64)
    ones, others, lumps, parents = [one], [other], [], []
    begin, link_begin = 0, 0
    while len(block) > _FEW:
        block[:, :3] //= 2
        lumped, lump = np.unique(block, axis=0, return_inverse=True)
        lump = lump.ravel()
        if len(lumped) > 0.95 * len(block):
            lumped, lump = _by_number(lumped, lump)
        lumps.append(begin + len(block) + lump)
        one, other, parent = _lumped_links(lump, one, other)
        parents.append(np.where(parent >= 0, link_begin + len(parent) + parent, -1))
        begin, link_begin, block = begin + len(block), link_begin + len(parent), lumped
        ones.append(begin + one)
        others.append(begin + other)
    lumps.append(np.zeros(len(block), np.int64))
    parents.append(np.full(len(one), -1))
    level = np.concatenate(([0], np.cumsum([len(part) for part in lumps])))
    lump, parent, one, other = (np.concatenate(part) for part in (lumps, parents, ones, others))
    return _linked(level, lump, parent, one, other, len(ones[0]))


def _by_number(block: NDArray[np.int64], lump: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Join pairs by their order where places lie too far apart to be lumped."""
    pair = np.arange(len(block)) // 2
    return block[::2], pair[lump]


def _lumped_links(
    lump: NDArray[np.int64], one: NDArray[np.int64], other: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return links between lumps, and which of them each link is part of."""
    low, high = np.minimum(lump[one], lump[other]), np.maximum(lump[one], lump[other])
    parent = np.full(len(one), -1)
    between = low != high
    key, place = np.unique(low[between] * (lump.max(initial=0) + 1) + high[between], return_inverse=True)
    parent[between] = place
    return key // (lump.max(initial=0) + 1), key % (lump.max(initial=0) + 1), parent


def _linked(
    level: NDArray[np.int64],
    lump: NDArray[np.int64],
    parent: NDArray[np.int64],
    one: NDArray[np.int64],
    other: NDArray[np.int64],
    links: int,
) -> Levels:
    many = len(lump)
    ends, far = np.concatenate((one, other)), np.concatenate((other, one))
    link = np.tile(np.arange(len(one)), 2)
    order = np.lexsort((far, ends))
    members = np.argsort(lump[: level[-2]], kind="stable")
    small = np.uint32
    return Levels(
        level, lump.astype(small), _starts(lump[: level[-2]], many), members.astype(small), _starts(ends, many),
        far[order].astype(small), link[order].astype(small), parent.astype(np.int32), links,
    )  # fmt: skip


def _starts(owner: NDArray[np.int64], many: int) -> Places:
    return np.concatenate(([0], np.cumsum(np.bincount(owner, minlength=many)))).astype(np.uint32)


@dataclass(eq=False)
class Workspace:
    """Arrays that the solution on the levels fills anew each time; all over all places but ``factor``."""

    passes_W_K: Floats
    value_W_K: Floats
    leaving_W_K: Floats
    mass_W_K: Floats
    diagonal_W_K: Floats
    inverse_K_W: Floats
    factor_W_K: Floats
    miss_W: Floats
    change_K: Floats
    cycle_K: Floats
    search_K: Floats
    along_W: Floats
    work_K: Floats


def make_workspace(levels: Levels) -> Workspace:
    """Return arrays of the right sizes."""
    many, few = levels.places_count, int(levels.level[-1] - levels.level[-2])
    place = np.zeros(many)
    return Workspace(
        np.zeros(len(levels.parent_link)), np.zeros(len(levels.beside)), place, place.copy(), place.copy(),
        place.copy(), np.zeros((few, few)), place.copy(), place.copy(), place.copy(), place.copy(), place.copy(),
        place.copy(),
    )  # fmt: skip
