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


@dataclass(frozen=True)
class PatternReport:
    """One pattern, measured.

    ``volume_mm3`` is what metal will fill (sealed voids and overlaps handled); ``volume_low_mm3`` and
    ``volume_high_mm3`` include faceting and any closed hole. Without a usable mesh ``mesh`` is None and a
    finding says why. ``units`` is what the user said the file's numbers mean, empty if nobody said.
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

    @property
    def heaviest(self) -> Section | None:
        """The section with the largest modulus, or None."""
        return max(self.sections, key=lambda one: one.modulus_mm) if self.sections else None
