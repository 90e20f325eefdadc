"""The ways of the metal through a hollow: how far each voxel is from its gate, and the sections along the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.floods import Flood
from pourwright.physics.fill.problem import SPRUE_TANK, Cavity, Floats, Gate, Whole

# Length of a section along the way in voxels: long enough that one hangs together, short enough to follow a bend.
SECTION_SIDES = 1.5


@dataclass(frozen=True, eq=False)
class TankWays:
    """The ways through one tank, its sections numbered from 0 and each after the one upstream.

    Parameters
    ----------
    seeds : array of int32, shape (s,)
        Voxels where metal comes in.
    order : array of int32, shape (r,)
        Voxels that can be reached, nearest first.
    area_m2 : array, shape (c,)
        Section of flow [m**2].
    share_frac : array, shape (c,)
        Part of the tank's flow that goes through it.
    """

    seeds: Whole
    order: Whole
    area_m2: Floats
    share_frac: Floats


@dataclass(frozen=True, eq=False)
class Ways:
    """The ways through a whole hollow.

    Parameters
    ----------
    distance_m : array, shape (n,)
        From the gate along the way; infinite where there is none [m].
    before : array of int32, shape (n,)
        Voxel that the way comes from; -1 at a gate and where there is no way.
    section : array of int32, shape (n,)
        Section of each voxel, numbered by tank; -1 where there is no way.
    tanks : tuple of TankWays
        By tank.
    known : dict
        Orders of filling worked out so far, by tank and direction of pull; they depend on nothing else.
    """

    distance_m: Floats
    before: Whole
    section: Whole
    tanks: tuple[TankWays, ...]
    known: dict[tuple[int, ...], Flood] = field(default_factory=dict)


def lay_ways(cavity: Cavity, gates: Sequence[Gate]) -> Ways:
    """Find the ways from the inlet through the sprue, and from the gates through each tank.

    Parameters
    ----------
    cavity : Cavity
        The hollow.
    gates : sequence of Gate
        Those that are shut give no way.

    Notes
    -----
    Distances by fast marching on the voxels, first order in their side. From memory (Sethian 1996).
    """
    count = cavity.count
    empty = Ways(np.full(count, np.inf), np.full(count, -1, np.int32), np.full(count, -1, np.int32), ())
    tanks = [_walk(cavity, gates, tank, cavity.tank == tank, empty) for tank in range(len(cavity.names))]
    return Ways(empty.distance_m, empty.before, empty.section, tuple(tanks))


def lay_again(ways: Ways, cavity: Cavity, gates: Sequence[Gate], is_open: NDArray[np.bool_], tanks: set[int]) -> Ways:
    """Return the ways with some tanks laid again through the voxels that are open."""
    copy = Ways(ways.distance_m.copy(), ways.before.copy(), ways.section.copy(), ())
    laid = list(ways.tanks)
    for tank in tanks:
        mine = cavity.tank == tank
        copy.distance_m[mine], copy.before[mine], copy.section[mine] = np.inf, -1, -1
        laid[tank] = _walk(cavity, gates, tank, mine & is_open, copy)
    kept = {key: one for key, one in ways.known.items() if key[0] not in tanks}
    return Ways(copy.distance_m, copy.before, copy.section, tuple(laid), kept)


def seeds_of(cavity: Cavity, gates: Sequence[Gate], tank: int) -> Whole:
    """Return the voxels of a tank where metal comes in."""
    if tank == SPRUE_TANK:
        return cavity.inlet
    found = [one.voxels for one in gates if one.tank == tank and not one.shut]
    return np.unique(np.concatenate(found)).astype(np.int32) if found else np.zeros(0, np.int32)


def _walk(cavity: Cavity, gates: Sequence[Gate], tank: int, mine: NDArray[np.bool_], out: Ways) -> TankWays:
    """Lay the ways of one tank and write them into ``out``."""
    from pourwright.physics.fill import _kernels

    seeds = seeds_of(cavity, gates, tank)
    order = np.empty(int(mine.sum()), np.int32)
    neighbours, side_m = cavity.neighbours, cavity.side_m
    reached = _kernels.walk(seeds, mine, neighbours, side_m, out.distance_m, out.before, order)
    order = order[:reached]
    width_m = SECTION_SIDES * side_m
    parent = np.full(reached, -1, np.int32)
    count = _kernels.sections(order, out.distance_m, out.before, neighbours, width_m, 0, out.section, parent)
    volume_m3, share = np.zeros(count), np.zeros(count)
    _kernels.section_sums(order, out.section, cavity.volume_m3, volume_m3)
    _kernels.section_shares(0, count, parent[:count], volume_m3, share)
    return TankWays(seeds[mine[seeds]], order, volume_m3 / width_m, share)
