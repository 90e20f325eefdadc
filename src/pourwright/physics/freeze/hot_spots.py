"""Hot spots: the last liquid in each part of a casting, cut off from feed metal before it froze.

Liquid metal can follow its own shrinking only as long as it hangs together with a feeder (the button). Cells are taken
in the order in which they stop passing feed metal, the last first: pools of liquid appear, grow and meet. Read forward
in time, each meeting is the moment at which a pool was cut off. One pass finds every pool, however short it lived;
looking at snapshots would miss those that live between two of them.

This says where shrinkage gathers. Gas, oxide and turbulence make pores of their own, and nothing here knows of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pourwright.core.interval import Interval
from pourwright.physics.freeze.results import FreezeResult

Floats = NDArray[np.float64]
Point = tuple[float, float, float]

# A pool that lives shorter than this, or than this share of its freezing time, is rounding: freezing times on one
# grid are good to about a hundredth (docs/explanation/freeze.md).
LEAST_LASTING_S = 0.02
LEAST_LASTING_FRAC = 0.01
_SIDES = ((0, -1), (0, 1), (1, -1), (1, 1), (2, -1), (2, 1))


@dataclass(frozen=True)
class HotSpot:
    """A pool of liquid that lost touch with feed metal before it froze.

    Parameters
    ----------
    place_m : (float, float, float)
        Where its last metal froze [m].
    cell : int
        The same place as a number in the list of metal cells.
    cut_off_s : float
        When it lost touch [s]; 0 if it never had any.
    last_freezing_s : float
        When its last metal was solid [s].
    neck_m : (float, float, float) or None
        Where the way to feed metal closed [m]; None if there never was one.
    neck_cell : int
        The same as a number, or -1.
    inside : int
        Number of the hot spot from which it split off later, or -1 if it split off from fed metal.
    pool_m3 : float
        Metal in the pool when it was cut off [m**3].
    liquid_m3 : float
        Of that, what was still liquid [m**3].
    void_m3 : Interval
        Room that this liquid leaves when it freezes [m**3], without the share of pools that split off from it.
    """

    place_m: Point
    cell: int
    cut_off_s: float
    last_freezing_s: float
    neck_m: Point | None
    neck_cell: int
    inside: int
    pool_m3: float
    liquid_m3: float
    void_m3: Interval

    @property
    def liquid_frac(self) -> float:
        """Liquid share of the pool when it was cut off."""
        return self.liquid_m3 / self.pool_m3

    @property
    def lasting_s(self) -> float:
        """Time from the cutting off until the last metal was solid [s]."""
        return self.last_freezing_s - self.cut_off_s


@dataclass(frozen=True, eq=False)
class HotSpots:
    """All hot spots, the one with the largest void first, and what every metal cell has to do with them.

    ``spot`` (n,) is the number of the innermost hot spot that a cell belongs to, or -1; ``fed_until_s`` (n,) when the
    cell lost touch with feed metal: its own time if it never did [s].
    """

    spots: tuple[HotSpot, ...]
    spot: NDArray[np.int32]
    fed_until_s: Floats


def neighbours_of(cell: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return for each cell of a list the numbers of its six neighbours in the list, -1 where there is none.

    Parameters
    ----------
    cell : array of int32, shape (n, 3)
        Places in a grid, each once.

    Returns
    -------
    array of int32, shape (n, 6)
        Below and above along each axis in turn.
    """
    shape = cell.max(axis=0) + 3
    number = np.full(tuple(shape), -1, dtype=np.int32)
    x, y, z = (cell + 1).T
    number[x, y, z] = np.arange(len(cell), dtype=np.int32)
    found = np.empty((len(cell), 6), dtype=np.int32)
    for side, (axis, step) in enumerate(_SIDES):
        place = [x, y, z]
        place[axis] = place[axis] + step
        found[:, side] = number[tuple(place)]
    return found


def linked(links: NDArray[np.int32], count: int) -> NDArray[np.int32]:
    """Return for each of a number of cells the cells it is linked to, shape (n, most), filled up with -1.

    Parameters
    ----------
    links : array of int, shape (p, 2)
        Pairs of cells, each once.
    count : int
        How many cells there are.
    """
    both = np.concatenate([links, links[:, ::-1]]).astype(np.int32)
    both = both[np.lexsort((both[:, 1], both[:, 0]))]
    degree = np.bincount(both[:, 0], minlength=count)
    place = np.arange(len(both)) - np.repeat(np.cumsum(degree) - degree, degree)
    found = np.full((count, max(int(degree.max(initial=0)), 1)), -1, dtype=np.int32)
    found[both[:, 0], place] = both[:, 1]
    return found


def find_hot_spots(
    result: FreezeResult,
    feeder: NDArray[np.bool_],
    shrinkage_frac: Interval,
    critical_frac: float,
    level_s: Floats | None = None,
    least_s: float = LEAST_LASTING_S,
    neighbours: NDArray[np.int32] | None = None,
) -> HotSpots:
    """Find every pool that was cut off from feed metal.

    Parameters
    ----------
    result : FreezeResult
        All metal frozen.
    feeder : array of bool, shape (n,)
        The cells that count as feed metal: the button. Without any, every pool that splits off from the one that
        freezes last is noted, and that one too.
    shrinkage_frac : Interval
        Share of its volume that the alloy loses on freezing.
    critical_frac : float
        Share of solid at which feed metal hardly flows any more, as in the metal's law.
    level_s : array, shape (n,), optional
        When each cell stops passing feed metal [s]; unless given, when it reached the critical share of solid.
    least_s : float
        Pools that lived shorter are taken for rounding [s].
    neighbours : array of int32, shape (n, k), optional
        Cells that each hangs together with, -1 where there are fewer; the cells beside it in the grid unless given.

    Returns
    -------
    HotSpots
        Of metal that hangs together with a feeder to the last nothing is said.

    Raises
    ------
    ValueError
        Some metal has no freezing time.
    """
    passing_s = result.critical_s if level_s is None else level_s
    if not (np.isfinite(passing_s).all() and np.isfinite(result.freeze_s).all()):
        raise ValueError("hot spots want a run in which all metal froze")
    beside = neighbours_of(result.cell) if neighbours is None else neighbours
    spot, fed_until_s, pools = _merged(passing_s, beside, feeder, least_s)
    inside = np.where(pools[2] >= 0, spot[pools[2]], -1)
    liquid = _Liquid(result, critical_frac)
    found = [_spot(number, result, passing_s, liquid, spot, pools, inside) for number in range(pools.shape[1])]
    own = _own_liquid_m3([one.liquid_m3 for one in found], inside)
    spots = [_with_void(one, own_m3, shrinkage_frac) for one, own_m3 in zip(found, own, strict=True)]
    return _largest_first(spots, spot, fed_until_s)


def feeder_closes_s(
    result: FreezeResult,
    feeder: NDArray[np.bool_],
    wanted: NDArray[np.bool_],
    neighbours: NDArray[np.int32] | None = None,
) -> float:
    """Return until when a part could draw feed metal if the part itself stayed liquid [s].

    Parameters
    ----------
    result : FreezeResult
        All metal frozen.
    feeder, wanted : array of bool, shape (n,)
        Cells of feed metal, and cells of the part.
    neighbours : array of int32, shape (n, k), optional
        As in :func:`find_hot_spots`.

    Returns
    -------
    float
        When the best way between them closed [s]; 0 if there is none.
    """
    if not wanted.any() or not feeder.any():
        return 0.0
    stays_s = np.where(wanted, result.critical_s.max() + 1.0, result.critical_s)
    beside = neighbours_of(result.cell) if neighbours is None else neighbours
    _, fed_until_s, _ = _merged(stays_s, beside, feeder & ~wanted, 0.0)
    # cells at the far end of a part in two pieces may be worse off; the part is as well off as its best cell
    return float(max(fed_until_s[wanted].max(), 0.0))


def _merged(
    passing_s: Floats, neighbours: NDArray[np.int32], feeder: NDArray[np.bool_], least_s: float
) -> tuple[NDArray[np.int32], Floats, NDArray[np.int32]]:
    from pourwright.physics.freeze.merge_tree import _kernels

    count = len(passing_s)
    level = np.ascontiguousarray(passing_s, dtype=np.float64)
    order = np.argsort(-level, kind="stable").astype(np.int32)
    state = np.full((5, count), -1, dtype=np.int32)
    label = np.full(count, -1, dtype=np.int32)
    fed_until_s = np.full(count, -np.inf)
    pools = np.full((3, 2 * _kernels.peaks_count(level, neighbours)), -1, dtype=np.int32)
    noted = _kernels.merge(
        order, level, neighbours, np.ascontiguousarray(feeder), least_s, LEAST_LASTING_FRAC,
        state, np.zeros(count, dtype=np.bool_), fed_until_s, label, pools,
    )  # fmt: skip
    return label, fed_until_s, pools[:, :noted]


class _Liquid:
    """Share of liquid in each cell at a time, straight between the three times that a run keeps."""

    def __init__(self, result: FreezeResult, critical_frac: float) -> None:
        self._times_s = result.liquidus_s, result.critical_s, result.freeze_s
        self._critical_frac = critical_frac

    def frac(self, cells: NDArray[np.int64], time_s: float) -> Floats:
        start, critical, end = (one[cells] for one in self._times_s)
        early = (time_s - start) / np.maximum(critical - start, 1e-12)
        late = (time_s - critical) / np.maximum(end - critical, 1e-12)
        solid = self._critical_frac * np.clip(early, 0, 1) + (1 - self._critical_frac) * np.clip(late, 0, 1)
        return np.asarray(1.0 - solid)


def _spot(
    number: int,
    result: FreezeResult,
    passing_s: Floats,
    liquid: _Liquid,
    spot: NDArray[np.int32],
    pools: NDArray[np.int32],
    inside: NDArray[np.int32],
) -> HotSpot:
    top, neck = int(pools[0, number]), int(pools[1, number])
    cells = np.flatnonzero(np.isin(spot, _below(number, inside)))
    cut_off_s = float(passing_s[neck]) if neck >= 0 else 0.0
    metal_m3 = result.metal_m3[cells]
    return HotSpot(
        place_m=_point(result.centre_m[top]),
        cell=top,
        cut_off_s=cut_off_s,
        last_freezing_s=float(result.freeze_s[cells].max()),
        neck_m=_point(result.centre_m[neck]) if neck >= 0 else None,
        neck_cell=neck,
        inside=int(inside[number]),
        pool_m3=float(metal_m3.sum()),
        liquid_m3=float(metal_m3 @ liquid.frac(cells, cut_off_s)),
        void_m3=Interval.exact(0.0, "m3"),
    )


def _point(place_m: Floats) -> Point:
    x, y, z = place_m.tolist()
    return (x, y, z)


def _below(number: int, inside: NDArray[np.int32]) -> list[int]:
    """Return a pool and all that split off from it."""
    found = [number]
    for one in found:
        found.extend(np.flatnonzero(inside == one).tolist())
    return found


def _own_liquid_m3(liquid_m3: list[float], inside: NDArray[np.int32]) -> list[float]:
    """Take from each pool's liquid what went with the pools that split off from it."""
    own = list(liquid_m3)
    for number, holder in enumerate(inside.tolist()):
        if holder >= 0:
            own[holder] -= liquid_m3[number]
    return [max(one, 0.0) for one in own]


def _with_void(one: HotSpot, own_m3: float, shrinkage_frac: Interval) -> HotSpot:
    return replace(one, void_m3=shrinkage_frac.scaled(own_m3, "m3"))


def _largest_first(spots: list[HotSpot], spot: NDArray[np.int32], fed_until_s: Floats) -> HotSpots:
    order = sorted(range(len(spots)), key=lambda number: _rank(spots[number]))
    place = np.full(len(spots) + 1, -1, dtype=np.int32)  # the last entry serves cells and pools inside none
    place[order] = np.arange(len(spots), dtype=np.int32)
    moved = [replace(spots[number], inside=int(place[spots[number].inside])) for number in order]
    return HotSpots(tuple(moved), place[spot], fed_until_s)


def _rank(one: HotSpot) -> tuple[float, float, int]:
    return -one.void_m3.best, -one.last_freezing_s, one.cell


def niyama_rank_frac(result: FreezeResult) -> Floats:
    """Return for each cell the share of metal with a smaller Niyama number, shape (n,): near 0 is hardest to feed.

    The number falls with flat temperatures and fast cooling, where feed metal has far to go through mush. In a small
    casting gradients are so flat that only the order of places means something, not the number itself.
    """
    order = np.argsort(result.niyama_sqrtKs_m, kind="stable")
    below_m3 = np.cumsum(result.metal_m3[order]) - result.metal_m3[order] / 2
    rank = np.empty(len(order))
    rank[order] = below_m3 / result.metal_m3.sum()
    return rank
