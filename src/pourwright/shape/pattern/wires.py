"""Wires: sections as round as they are long, and how far they run from whatever holds them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pourwright.shape.pattern.report import PatternReport, Point, Skin
from pourwright.shape.pattern.ways import distances_mm, surface_steps

# Wall times surface over volume: 2 for a plate, 4 for a wire of round or square section, 6 for a ball.
_WIRE_RATIOS = (3.3, 4.9)


@dataclass(frozen=True)
class Wire:
    """A wire by its thickness, its longest run from what holds it, and the place farthest from that."""

    diameter_mm: float
    free_mm: float
    place_mm: Point

    @property
    def slenderness_ratio(self) -> float:
        """Free length over diameter."""
        return self.free_mm / self.diameter_mm


def find_wires(report: PatternReport, gate: int) -> tuple[Wire, ...]:
    """Return the sections of a measured pattern that are wires, the most slender first.

    Parameters
    ----------
    report : PatternReport
        With its skin.
    gate : int
        Number of the skin's point that the gate stands on; it holds the wire as other sections do.
    """
    skin = report.skin
    if skin is None:
        return ()
    found = []
    for number, section in enumerate(report.sections):
        inside = skin.section == number
        width_mm = float(np.median(skin.width_mm[inside]))
        if _WIRE_RATIOS[0] <= width_mm / section.modulus_mm <= _WIRE_RATIOS[1]:
            found.append(_wire(skin, number, gate, width_mm))
    return tuple(sorted((one for one in found if one), key=lambda one: -one.slenderness_ratio))


def _wire(skin: Skin, number: int, gate: int, width_mm: float) -> Wire | None:
    first, second = surface_steps(skin)
    inside = skin.section == number
    leaving = inside[first] != inside[second]
    held = np.unique(np.where(inside[first], first, second)[leaving])
    held = np.append(held, gate) if inside[gate] else held
    if not len(held):
        return None
    used = inside[first] & inside[second]
    away_mm = distances_mm(skin, first[used], second[used], held)
    away_mm[~np.isfinite(away_mm)] = 0.0
    farthest = int(np.argmax(away_mm))
    x, y, z = skin.points_mm[farthest]
    return Wire(width_mm, float(away_mm[farthest]), (float(x), float(y), float(z)))
