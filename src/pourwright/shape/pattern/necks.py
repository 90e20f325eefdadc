"""Necks on a way through a body: where it narrows, and with which modulus."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh, Point, Skin
from pourwright.shape.pattern.slices import neck_modulus_mm

# The way narrows anew where it is thinner than this share of the thinnest place before.
_STEP_RATIO = 0.85
# Along a stretch of even thickness, places this little thicker than the thinnest are as narrow.
_EVEN_RATIO = 1.03
# The direction of the way is taken over so many points to either side.
_ALONG_POINTS = 3


@dataclass(frozen=True)
class Neck:
    """A narrow place: modulus (cross-section over outline), thickness, and a point of the surface there."""

    modulus_mm: float
    width_mm: float
    place_mm: Point


def first_neck(mesh: Mesh, skin: Skin, way: NDArray[np.int64], below_mm: float) -> Neck | None:
    """Return the first neck on a way whose modulus is below a limit, or None.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    skin : Skin
        Of the mesh.
    way : array, shape (n,)
        Points of the skin in order.
    below_mm : float
        A neck counts if its modulus is less [mm].
    """
    for stretch in _narrowing(skin.width_mm[way]):
        place = int(stretch[0] + np.median(_narrowest(skin.width_mm[way[stretch]])))
        neck = _neck(mesh, skin, way, place)
        if neck.modulus_mm < below_mm:
            return neck
    return None


def _narrowing(width_mm: NDArray[np.float64]) -> list[NDArray[np.int64]]:
    """Cut a way where it first gets clearly thinner than anywhere before."""
    starts, thinnest_mm = [0], float(width_mm[0]) if len(width_mm) else 0.0
    for place, one in enumerate(width_mm.tolist()):
        if one < _STEP_RATIO * thinnest_mm:
            starts.append(place)
            thinnest_mm = one
    return [one for one in np.split(np.arange(len(width_mm)), starts[1:]) if len(one)]


def _narrowest(width_mm: NDArray[np.float64]) -> NDArray[np.int64]:
    return np.flatnonzero(width_mm <= _EVEN_RATIO * width_mm.min())


def _neck(mesh: Mesh, skin: Skin, way: NDArray[np.int64], place: int) -> Neck:
    point = way[place]
    width_mm = float(skin.width_mm[point])
    middles_mm = skin.points_mm[way] - skin.outward_ratio[way] * skin.width_mm[way, None] / 2.0
    ends = middles_mm[[max(0, place - _ALONG_POINTS), min(len(way) - 1, place + _ALONG_POINTS)]]
    along = ends[1] - ends[0] if np.linalg.norm(ends[1] - ends[0]) > 0 else None
    modulus_mm = neck_modulus_mm(mesh, middles_mm[place], along)
    # a slice that holds a disc of the neck's width has at least a quarter of it; a plate has half
    known_mm = width_mm / 2.0 if modulus_mm is None else max(modulus_mm, width_mm / 4.0)
    x, y, z = skin.points_mm[point]
    return Neck(known_mm, width_mm, (float(x), float(y), float(z)))
