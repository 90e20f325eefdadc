"""Thin places of a piece: patches of its hollow that are much thinner than the rest, where metal stops first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.simulate.throw_cavity import Hollow

Floats = NDArray[np.float64]

# A place is thin up to so many times the thickness that the thinnest twentieth of its piece does not exceed.
_THIN_RATIO = 1.3
_THINNEST_FRAC = 0.05
# Patches smaller than a cube as wide as they are thick are edges, not walls; one that is most of its piece is no place.
_MOST_FRAC = 0.6
_MOST_PATCHES = 3
Point = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class ThinPlace:
    """A patch of thin wall or bar.

    Parameters
    ----------
    piece : str
        Where it is.
    thickness_mm : float
        Of half of it or less [mm].
    volume_mm3 : float
        Metal in it [mm3].
    place_mm : (float, float, float)
        The middle of its metal, in the frame of the flask [mm].
    voxels : array of int, shape (p,)
        Its cubes.
    """

    piece: str
    thickness_mm: float
    volume_mm3: float
    place_mm: Point
    voxels: NDArray[np.int64]


def thin_places(hollow: Hollow, piece: str) -> tuple[ThinPlace, ...]:
    """Return the thin places of a piece, the one with most metal first.

    Parameters
    ----------
    hollow : Hollow
        The flask's hollow.
    piece : str
        One of its pieces; its gate is no part of it.
    """
    voxels = hollow.voxels
    inside = np.flatnonzero(voxels.of_part(piece))
    if not len(inside):
        return ()
    across_mm = voxels.thickness_mm[inside]
    thin = inside[across_mm <= _THIN_RATIO * _weighted(across_mm, voxels.volume_mm3[inside], _THINNEST_FRAC)]
    patches = _patches(thin, hollow)
    found = [_place(hollow, piece, one) for one in patches]
    most_mm3 = _MOST_FRAC * float(voxels.volume_mm3[inside].sum())
    whole = [one for one in found if one.thickness_mm**3 <= one.volume_mm3 <= most_mm3]
    return tuple(sorted(whole, key=lambda one: -one.volume_mm3)[:_MOST_PATCHES])


def _weighted(values: Floats, weight: Floats, share: float) -> float:
    """Return the value that a share of the weight does not exceed."""
    order = np.argsort(values)
    summed = np.cumsum(weight[order])
    return float(values[order[np.searchsorted(summed, share * summed[-1])]])


def _patches(thin: NDArray[np.int64], hollow: Hollow) -> list[NDArray[np.int64]]:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = hollow.cavity.count
    place = np.full(count, -1)
    place[thin] = np.arange(len(thin))
    beside = hollow.cavity.neighbours[thin]
    row, side = np.nonzero((beside >= 0) & (place[np.maximum(beside, 0)] >= 0))
    links = coo_matrix((np.ones(len(row)), (row, place[beside[row, side]])), shape=(len(thin), len(thin)))
    number, label = connected_components(links, directed=False)
    return [thin[label == one] for one in range(number)]


def _place(hollow: Hollow, piece: str, patch: NDArray[np.int64]) -> ThinPlace:
    voxels = hollow.voxels
    volume_mm3 = voxels.volume_mm3[patch]
    x, y, z = np.average(voxels.centre_mm[patch], axis=0, weights=volume_mm3).tolist()
    return ThinPlace(
        piece, _weighted(voxels.thickness_mm[patch], volume_mm3, 0.5), float(volume_mm3.sum()), (x, y, z), patch
    )
