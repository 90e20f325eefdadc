"""A measured body with its gate: what every rule of this room looks at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pourwright.shape.pattern.report import Mesh, PatternReport, Point, Skin
from pourwright.shape.pattern.ways import Ways, find_ways, nearest_point

# Places as wide as this share of the widest count as the widest when a gate is proposed.
_WIDEST_FRAC = 0.95


@dataclass(frozen=True, eq=False)
class Body:
    """A body and its gate.

    Parameters
    ----------
    where : str
        The piece or file meant, for findings.
    report : PatternReport
        Whose mesh and skin these are.
    mesh, skin : Mesh, Skin
        Of the report.
    ways : Ways
        From the gate to every point of the skin; its start is the gate.
    gate_proposed : bool
        Whether nobody said where the gate is, so that it stands on the heaviest section.
    """

    where: str
    report: PatternReport
    mesh: Mesh
    skin: Skin
    ways: Ways
    gate_proposed: bool

    @property
    def gate_mm(self) -> Point:
        """Place of the gate."""
        return point_of(self.skin, self.ways.start)


def body_of(report: PatternReport, where: str, gate_mm: Point | None = None) -> Body | None:
    """Return a report as a body with its gate, or None if nothing was measured.

    Parameters
    ----------
    report : PatternReport
        With mesh, skin and sections.
    where : str
        For the findings.
    gate_mm : tuple of float or None
        Where the gate is to be, in the axes of the pattern [mm]; without it the heaviest section is taken
        (rule gate.heavy).
    """
    if report.mesh is None or report.skin is None or not report.sections:
        return None
    start = heart_of(report.skin, 0) if gate_mm is None else nearest_point(report.skin, gate_mm)[0]
    return Body(where, report, report.mesh, report.skin, find_ways(report.skin, start), gate_mm is None)


def heart_of(skin: Skin, section: int) -> int:
    """Return a point on the thickest place of a section: of those as good, the one farthest out from the body."""
    inside = np.flatnonzero(skin.section == section)
    widest_mm = skin.width_mm[inside].max()
    good = inside[skin.width_mm[inside] >= _WIDEST_FRAC * widest_mm]
    out_mm = np.linalg.norm(skin.points_mm[good] - skin.points_mm.mean(axis=0), axis=1)
    return int(good[np.argmax(out_mm)])


def point_of(skin: Skin, number: int) -> Point:
    """Return a point of the skin by its number [mm]."""
    x, y, z = skin.points_mm[number]
    return (float(x), float(y), float(z))
