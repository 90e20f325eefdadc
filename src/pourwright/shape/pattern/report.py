"""What is known about one pattern file after it was read, checked and measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.core.findings import Finding

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Mesh:
    """A triangle mesh in millimetres: ``vertices_mm`` shape (n, 3), ``faces`` shape (m, 3) of vertex numbers."""

    vertices_mm: NDArray[np.float64]
    faces: NDArray[np.int64]


@dataclass(frozen=True)
class Section:
    """A part of the body between necks. Modulus: volume over its share of the original surface."""

    volume_mm3: float
    area_mm2: float
    modulus_mm: float
    place_mm: Point


@dataclass(frozen=True)
class Wall:
    """The thinnest connected patch of wall: thickness, its uncertainty, where, and how much surface it covers."""

    thickness_mm: float
    uncertainty_mm: float
    place_mm: Point
    patch_mm2: float


@dataclass(frozen=True, eq=False)
class Skin:
    """Points spread evenly over the surface, each with the wall under it and the section it belongs to.

    ``points_mm`` and ``outward_ratio`` (directions of length one) have shape (n, 3), the others (n,): ``width_mm`` is
    the wall, ``gap_mm`` how far it is straight out to the body again, infinite into the open, ``is_wall`` whether the
    wall is even enough here for one, ``across`` the point on the far side of the wall or -1, ``section`` the place in
    the report's list of sections. Each point stands for ``share_mm2`` of surface and neighbours
    ``neighbours[starts[i]:starts[i + 1]]`` on its side.
    """

    points_mm: NDArray[np.float64]
    outward_ratio: NDArray[np.float64]
    width_mm: NDArray[np.float64]
    gap_mm: NDArray[np.float64]
    is_wall: NDArray[np.bool_]
    across: NDArray[np.int64]
    section: NDArray[np.int64]
    starts: NDArray[np.int64]
    neighbours: NDArray[np.int64]
    share_mm2: float


@dataclass(frozen=True)
class Pose:
    """A way to stand: which direction of the file, of length one, points down, and the room it takes so.

    ``footprint_mm`` are the sides of a rectangle round its shadow: along x and y as drawn, else of the smallest one,
    the longer first. ``across_mm`` is the diameter of the smallest circle round the shadow, ``centre_height_mm`` how
    high its centre of mass is above its lowest point.
    """

    down_ratio: Point
    height_mm: float
    footprint_mm: tuple[float, float]
    across_mm: float
    centre_height_mm: float


@dataclass(frozen=True)
class Poses:
    """A piece as drawn, as low as it can stand and as slim as it can; its weight is the same in all of them.

    No way to stand is lower than ``lowest`` by more than ``stray_mm``.
    """

    as_drawn: Pose
    lowest: Pose
    slimmest: Pose
    stray_mm: float


@dataclass(frozen=True)
class PatternReport:
    """One pattern, measured.

    ``volume_mm3`` is what metal will fill (sealed voids and overlaps handled); ``volume_low_mm3`` and
    ``volume_high_mm3`` include faceting and any closed hole. Without a usable mesh ``mesh`` is None and a
    finding says why. ``units`` is what the file's numbers mean, by its own word or the
    user's, empty if nobody said. ``skin`` is
    what walls and sections were measured on and ``poses`` how the piece can stand, both None for a report that was not
    measured here.
    """

    file: str
    sha256: str
    units: str
    triangles_count: int
    watertight: bool
    shells_count: int
    voids_count: int
    volume_mm3: float
    volume_low_mm3: float
    volume_high_mm3: float
    area_mm2: float
    centre_mm: Point
    box_mm: Point
    wall: Wall | None
    sections: tuple[Section, ...]
    mesh: Mesh | None
    findings: tuple[Finding, ...]
    skin: Skin | None = None
    poses: Poses | None = None

    @property
    def heaviest(self) -> Section | None:
        """The section with the largest modulus, or None."""
        return max(self.sections, key=lambda one: one.modulus_mm) if self.sections else None
