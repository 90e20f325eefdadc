"""What freezing means for each heavy section: fed to the end, or cut off, when, where, and how much it lacks.

Shrinkage only: a section that is fed can still hold pores of gas or oxide, and every sentence made here says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.physics.freeze.hot_spots import HotSpot, HotSpots, feeder_closes_s, niyama_rank_frac
from pourwright.physics.freeze.results import FreezeResult

Cells = NDArray[np.int64]
Point = tuple[float, float, float]

# A smaller void is a hole under half a millimetre wide, in the middle of metal; as in the rules of castability.
# Common practice, no source.
SMALL_VOID_M3 = 0.15e-9
_HARDEST_FRAC = 0.05
_MM3_M3, _MM_M = 1e9, 1e3


@dataclass(frozen=True, eq=False)
class SectionCells:
    """A section of a piece as cells: ``cells`` are numbers in the list of metal cells; modulus as measured [mm]."""

    piece: str
    section: int
    modulus_mm: float
    heavy: bool
    cells: Cells


@dataclass(frozen=True)
class Feeding:
    """How a section was fed while it froze; of shrinkage only.

    Parameters
    ----------
    piece, section : str, int
        Which one; sections are counted from the heaviest.
    modulus_mm : float
        Volume over cooling surface, as measured [mm].
    place_m : (float, float, float)
        Where it froze last [m].
    closed_s : float
        When the last of it reached the critical share of solid, past which feed metal hardly flows [s].
    last_freezing_s : float
        When all of it was solid [s].
    cut_off_s : float or None
        When it lost touch with feed metal [s]; None if it was fed to the end.
    neck : str
        Part of the tree in which the way closed: ``button``, ``sprue``, ``gate:PIECE`` or a piece; empty if fed.
    neck_m : (float, float, float) or None
        Where [m].
    feed_open_s : float
        Until when its piece could draw metal through the tree, had the piece itself stayed open [s].
    liquid_m3 : float
        What was still liquid when it was cut off [m**3].
    liquid_frac : float
        The same as a share of the pool.
    void_m3 : Interval
        Room that this leaves [m**3]; zero if fed.
    hardest_frac : float
        Niyama-type rank of its worst twentieth among all metal of the flask: near 0 is the hardest to feed.
    """

    piece: str
    section: int
    modulus_mm: float
    place_m: Point
    closed_s: float
    last_freezing_s: float
    cut_off_s: float | None
    neck: str
    neck_m: Point | None
    feed_open_s: float
    liquid_m3: float
    liquid_frac: float
    void_m3: Interval
    hardest_frac: float

    @property
    def fed(self) -> bool:
        """Whether it drew metal until it froze, but for a void too small to matter."""
        return self.cut_off_s is None or self.void_m3.best < SMALL_VOID_M3

    @property
    def words(self) -> str:
        """The verdict as a caster reads it."""
        return _words(self)


def judge_feeding(
    result: FreezeResult,
    found: HotSpots,
    sections: Sequence[SectionCells],
    region: NDArray[np.int32],
    names: Sequence[str],
    feeder: NDArray[np.bool_],
    neighbours: NDArray[np.int32] | None = None,
) -> tuple[Feeding, ...]:
    """Judge the heavy sections of each piece, in the order given.

    Parameters
    ----------
    result : FreezeResult
        All metal frozen.
    found : HotSpots
        Of the same run.
    sections : sequence of SectionCells
        All sections; those that are not heavy are left out, but for hot spots in them.
    region : array of int32, shape (n,)
        Part of the tree that each metal cell belongs to, as a place in ``names``.
    names : sequence of str
        ``button``, ``sprue``, ``gate:PIECE`` and pieces.
    feeder : array of bool, shape (n,)
        The cells that count as feed metal.
    neighbours : array of int32, shape (n, k), optional
        Cells that each hangs together with; the cells beside it in the grid unless given.
    """
    rank = niyama_rank_frac(result)
    open_s = {
        name: feeder_closes_s(result, feeder, region == number, neighbours)
        for number, name in enumerate(names)
        if name in {one.piece for one in sections}
    }
    verdicts = []
    for one in sections:
        inside = [spot for spot in found.spots if spot.cell in set(one.cells.tolist())]
        if len(one.cells) and (one.heavy or any(spot.void_m3.best >= SMALL_VOID_M3 for spot in inside)):
            verdicts.append(_feeding(result, found, one, inside, region, names, rank, open_s[one.piece]))
    return tuple(verdicts)


def _feeding(
    result: FreezeResult,
    found: HotSpots,
    one: SectionCells,
    inside: Sequence[HotSpot],
    region: NDArray[np.int32],
    names: Sequence[str],
    rank: NDArray[np.float64],
    feed_open_s: float,
) -> Feeding:
    last = one.cells[np.argmax(result.freeze_s[one.cells])]
    worst = max(inside, key=lambda spot: spot.void_m3.best, default=None)
    outer = worst and _outermost(worst, found)
    x, y, z = result.centre_m[worst.cell if worst else last].tolist()
    return Feeding(
        piece=one.piece,
        section=one.section,
        modulus_mm=one.modulus_mm,
        place_m=(x, y, z),
        closed_s=float(result.critical_s[one.cells].max()),
        last_freezing_s=float(result.freeze_s[one.cells].max()),
        cut_off_s=outer.cut_off_s if outer else None,
        neck=names[region[outer.neck_cell]] if outer and outer.neck_cell >= 0 else "",
        neck_m=outer.neck_m if outer else None,
        feed_open_s=feed_open_s,
        liquid_m3=sum(spot.liquid_m3 for spot in inside if spot.inside < 0 or found.spots[spot.inside] not in inside),
        liquid_frac=worst.liquid_frac if worst else 0.0,
        void_m3=_added([spot.void_m3 for spot in inside]),
        hardest_frac=float(np.quantile(rank[one.cells], _HARDEST_FRAC)),
    )


def _outermost(spot: HotSpot, found: HotSpots) -> HotSpot:
    """Return the pool that lost the feed metal, of which a spot is the last or a part."""
    while spot.inside >= 0:
        spot = found.spots[spot.inside]
    return spot


def _added(voids_m3: Sequence[Interval]) -> Interval:
    low, best, high = (sum(getattr(one, end) for one in voids_m3) for end in ("low", "best", "high"))
    return Interval(low, best, high, "m3", sources=voids_m3[0].sources if voids_m3 else ())


def _words(one: Feeding) -> str:
    params = {
        "section": one.section + 1,
        "modulus": show(one.modulus_mm, "mm", 2),
        "closed": show(one.closed_s, "s", 1),
        "until": show(one.last_freezing_s, "s", 1),
        "open": show(one.feed_open_s, "s", 1),
    }
    if one.cut_off_s is None:
        return say("physics.feeding-fed", **params)
    params |= {
        "cut": show(one.cut_off_s, "s", 1),
        "neck": neck_words(one.neck, one.piece),
        "liquid": show(one.liquid_m3 * _MM3_M3, "mm3"),
        "share": show(100 * one.liquid_frac, "percent", 0),
        "void": void_words(one.void_m3),
    }
    if one.fed:
        return say("physics.feeding-barely", **params)
    return say("physics.feeding-never" if one.neck_m is None else "physics.feeding-cut-off", **params)


def neck_words(neck: str, piece: str) -> str:
    """Return where the way to feed metal closed, in words; ``piece`` is the one that wanted it."""
    if neck == piece:
        return say("physics.neck-in-piece")
    if neck.startswith("gate:"):
        return say("physics.neck-in-gate")
    if neck in ("button", "sprue"):
        return say("physics.neck-in-sprue" if neck == "sprue" else "physics.neck-in-button")
    return say("physics.neck-elsewhere", part=neck)


def void_words(void_m3: Interval) -> str:
    """Return a void's range in mm3 and how wide a single round hole of its best volume would be."""
    best_mm3 = void_m3.best * _MM3_M3
    across_mm = (6 * best_mm3 / pi) ** (1 / 3)
    digits = 1 if best_mm3 >= 1 else 2
    return say(
        "physics.void",
        low=f"{void_m3.low * _MM3_M3:.{digits}f}",
        high=show(void_m3.high * _MM3_M3, "mm3", digits),
        across=show(across_mm, "mm"),
    )
