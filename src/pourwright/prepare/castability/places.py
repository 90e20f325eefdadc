"""Places on a body in words: in the axes of its file, by side, and from the gate."""

from __future__ import annotations

import numpy as np

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.prepare.castability.body import Body
from pourwright.shape.pattern.report import Point
from pourwright.shape.pattern.ways import nearest_point

_SIDES = (
    ("prepare.place-left", "prepare.place-right"),
    ("prepare.place-front", "prepare.place-back"),
    ("prepare.place-bottom", "prepare.place-top"),
)
# Beyond this share of the half box a place is at that side; along a side shorter than the second share of the
# longest nothing is said of sides.
_SIDE_FRAC = 0.5
_FLAT_FRAC = 0.25
# Up to this share of the longest way along the body a place is near the gate, from the second share on far from it.
_NEAR_FRAC = 0.15
_FAR_FRAC = 0.6


def place_words(body: Body, place_mm: Point) -> str:
    """Return a place [mm] as the file's coordinates, the side it is on, and whether it is near the gate."""
    x, y, z = (f"{one:z.1f}".replace("-", "\u2212") for one in place_mm)
    parts = [say("prepare.place-at", x=x, y=y, z=z), *_side(body, place_mm), *_from_gate(body, place_mm)]
    return ", ".join(parts)


def _side(body: Body, place_mm: Point) -> list[str]:
    low_mm, high_mm = body.mesh.vertices_mm.min(axis=0), body.mesh.vertices_mm.max(axis=0)
    half_mm = np.maximum((high_mm - low_mm) / 2, 1e-9)
    offset = (np.asarray(place_mm) - (low_mm + high_mm) / 2) / half_mm
    offset[half_mm < _FLAT_FRAC * half_mm.max()] = 0.0
    axis = int(np.argmax(np.abs(offset)))
    if abs(offset[axis]) < _SIDE_FRAC:
        return []
    return [say(_SIDES[axis][int(offset[axis] > 0)])]


def _from_gate(body: Body, place_mm: Point) -> list[str]:
    distance_mm = body.ways.distance_mm
    away_mm = float(distance_mm[nearest_point(body.skin, place_mm)[0]])
    longest_mm = float(distance_mm[np.isfinite(distance_mm)].max())
    if not np.isfinite(away_mm) or longest_mm <= 0:
        return []
    if away_mm <= _NEAR_FRAC * longest_mm:
        return [say("prepare.place-near-gate")]
    return [say("prepare.place-far-from-gate")] if away_mm >= _FAR_FRAC * longest_mm else []


def length_text(length_mm: float, digits: int = 1) -> str:
    """Return a length [mm] as text."""
    return show(length_mm, "mm", digits)
