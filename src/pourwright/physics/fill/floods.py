"""The order in which a tank fills: always the place farthest along the pull that metal can reach.

The order depends on the direction of the pull only, not on its size: a tank is flooded once for each direction, and
every question about turns, temperatures or gas is answered from that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.problem import SPRUE_TANK, Cavity, Floats, Whole

# Steps of volume in the tables that the flow reads: a level is then within 1 % of a tank.
STEPS_COUNT = 128
# Directions of pull closer than this are one: 1.7 degrees, a third of what gravity tilts a level at 10 g. Under it the
# same order comes out for neighbouring questions, and need not be worked out again.
_DIRECTION_STEP_FRAC = 0.03
# Steps of the share by which the pull grows over a metre along the arm.
_BEND_STEP_PER_M = 0.5
# A pocket of gas counts from this many voxels, and from this many sides above the sill that shuts it in.
_POCKET_VOXELS, _POCKET_SIDES = 20, 2.0
_MOST_POCKETS = 4096


@dataclass(frozen=True)
class Pull:
    """A direction of pull, in whole steps so that it can be a key.

    Parameters
    ----------
    steps : tuple of int
        Along, across, up, in :data:`_DIRECTION_STEP_FRAC`; and how the pull grows outward, in
        :data:`_BEND_STEP_PER_M`.
    """

    steps: tuple[int, int, int, int]

    @property
    def direction(self) -> Floats:
        """Unit vector along, across, up."""
        vector = np.array(self.steps[:3], dtype=np.float64)
        return np.asarray(vector / np.linalg.norm(vector))

    @property
    def bend_per_m(self) -> float:
        """Growth of the pull over its size, outward [1/m]."""
        return self.steps[3] * _BEND_STEP_PER_M


@dataclass(frozen=True, eq=False)
class Flood:
    """How one tank fills.

    Parameters
    ----------
    order : array of int32, shape (r,)
        Its voxels as they fill.
    filled_m3 : array, shape (r,)
        Metal in the tank when half of each has filled [m**3].
    full_m3 : float
        Metal in it when all have [m**3].
    crest_m : array, shape (b + 1, 3)
        The place that sets the level, at even steps of volume [m].
    outlet_m : array, shape (b + 1,)
        Dry wall over the thickness of mould behind it, at the same steps [m].
    dry_m2 : array, shape (b + 1,)
        Dry wall, at the same steps [m**2].
    narrow_per_m : array, shape (b + 1,)
        Wall over volume of the section that fills, the mean between the steps [1/m]: surface tension times this holds
        the metal off.
    pocket : array of int32, shape (r,)
        Number of the pocket that each voxel of ``order`` lies in; -1 in none.
    pocket_shut : array of int32, shape (p,)
        Place in ``order`` of the voxel that shuts each pocket in.
    pocket_top : array of int32, shape (p,)
        Voxel to which its gas is driven.
    """

    order: Whole
    filled_m3: Floats
    full_m3: float
    crest_m: Floats
    outlet_m: Floats
    dry_m2: Floats
    narrow_per_m: Floats
    pocket: Whole
    pocket_shut: Whole
    pocket_top: Whole


def pull_at(force_m_s2: Floats, turning_rad_s: float) -> Pull:
    """Return the pull where the force per mass [m/s**2], shape (3,), acts, on a part turning so fast [rad/s].

    Without any force the pull is taken to be along the arm.
    """
    size_m_s2 = float(np.linalg.norm(force_m_s2))
    if size_m_s2 == 0:
        return Pull((round(1 / _DIRECTION_STEP_FRAC), 0, 0, 0))
    unit = np.rint(force_m_s2 / size_m_s2 / _DIRECTION_STEP_FRAC).astype(int)
    bend = round(turning_rad_s**2 / size_m_s2 / _BEND_STEP_PER_M)
    return Pull((int(unit[0]), int(unit[1]), int(unit[2]), bend))


def flood_tank(cavity: Cavity, tank: int, seeds: Whole, reached: Whole, pull: Pull) -> Flood:
    """Fill a tank.

    The sprue fills from its outermost place, where the stream falls to; another tank from its gate.

    Parameters
    ----------
    cavity : Cavity
        The hollow.
    tank : int
        Which.
    seeds : array of int32, shape (s,)
        Voxels where metal comes in.
    reached : array of int32, shape (r,)
        Voxels of the tank that metal can reach.
    pull : Pull
        Direction.
    """
    from pourwright.physics.fill import _kernels

    if not len(reached):
        return _dry(cavity, seeds)
    height_m = _height_m(cavity, reached, pull)
    mine = np.zeros(cavity.count, np.bool_)
    mine[reached] = True
    starts = reached[[np.argmin(height_m[reached])]] if tank == SPRUE_TANK else seeds
    order, crest = np.empty(len(reached), np.int32), np.empty(len(reached), np.int32)
    count = _kernels.flood(starts, mine, cavity.neighbours, height_m, order, crest)
    order, crest = order[:count], crest[:count]
    volume_m3 = cavity.volume_m3[order]
    total_m3 = np.cumsum(volume_m3)
    steps = np.searchsorted(total_m3, np.linspace(0, total_m3[-1], STEPS_COUNT + 1)[1:-1])
    steps = np.concatenate([[0], np.minimum(steps, count - 1), [count - 1]])
    wall_m2 = cavity.wall_m2[order]
    return Flood(
        order, total_m3 - volume_m3 / 2, float(total_m3[-1]), cavity.place_m[crest[steps]],
        _left(wall_m2 / cavity.vent_m[order], steps), _left(wall_m2, steps), _narrow_per_m(cavity, order, steps),
        *_pockets(cavity, tank, order, height_m),
    )  # fmt: skip


def _dry(cavity: Cavity, seeds: Whole) -> Flood:
    nothing, none = np.zeros(0), np.zeros(0, np.int32)
    place_m = cavity.place_m[seeds].mean(axis=0) if len(seeds) else np.zeros(3)
    return Flood(none, nothing, 0.0, np.tile(place_m, (STEPS_COUNT + 1, 1)), np.zeros(STEPS_COUNT + 1),
                 np.zeros(STEPS_COUNT + 1), np.zeros(STEPS_COUNT + 1), none, none, none)  # fmt: skip


def _height_m(cavity: Cavity, reached: Whole, pull: Pull) -> Floats:
    """Return how far each voxel lies against the pull [m], from the middle of those reached."""
    middle_m = cavity.place_m[reached].mean(axis=0)
    from_middle_m = cavity.place_m - middle_m
    out_m2 = (from_middle_m[:, :2] ** 2).sum(axis=1)
    return np.asarray(-(from_middle_m @ pull.direction) - pull.bend_per_m / 2 * out_m2)


def _left(each_m2: Floats, steps: NDArray[np.int64]) -> Floats:
    """Return the sum over voxels still dry at the steps; the last bit of gas keeps half of what the one before had."""
    left_m2 = np.append(np.cumsum(each_m2[::-1])[::-1], 0.0)[steps]
    left_m2[-1] = left_m2[-2] / 2
    return np.asarray(left_m2)


def _narrow_per_m(cavity: Cavity, order: Whole, steps: NDArray[np.int64]) -> Floats:
    """Return the mean of one over the modulus between the steps [1/m]."""
    narrow_per_m = 1 / cavity.modulus_m[order]
    starts = np.minimum(steps, len(order) - 1)
    counts = np.maximum(np.diff(np.append(starts, len(order))), 1)
    return np.asarray(np.add.reduceat(narrow_per_m, starts) / counts)


def _pockets(cavity: Cavity, tank: int, order: Whole, height_m: Floats) -> tuple[Whole, Whole, Whole]:
    from pourwright.physics.fill import _kernels

    none = np.zeros(0, np.int32)
    if tank == SPRUE_TANK:
        return np.full(len(order), -1, np.int32), none, none
    label = np.full(cavity.count, -1, np.int32)
    found = np.empty((2, _MOST_POCKETS), np.int32)
    least_m3 = _POCKET_VOXELS * cavity.side_m**3
    count = _kernels.shut_in(order, cavity.neighbours, height_m, cavity.volume_m3, least_m3,
                             _POCKET_SIDES * cavity.side_m, label, found)  # fmt: skip
    kept = [number for number in range(count) if not _opens_to_sprue(cavity, np.flatnonzero(label == number))]
    renamed = np.full(count + 1, -1, np.int32)
    renamed[kept] = np.arange(len(kept), dtype=np.int32)
    place = np.empty(cavity.count, np.int32)
    place[order] = np.arange(len(order), dtype=np.int32)
    return renamed[label[order]], place[found[0, kept]], found[1, kept].copy()


def _opens_to_sprue(cavity: Cavity, voxels: NDArray[np.int64]) -> bool:
    """Return whether voxels border on the sprue: gas there rises into it as bubbles and is not shut in."""
    beside = cavity.neighbours[voxels]
    return bool(np.any(cavity.tank[beside[beside >= 0]] == SPRUE_TANK))
