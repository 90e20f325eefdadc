"""From a pattern file to its report: read, questioned for units, mended, measured, judged."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.units import show
from pourwright.grid.fractions import Grid, affordable_side, partial_volumes, side_for
from pourwright.shape.pattern import mass
from pourwright.shape.pattern.judging import section_findings, wall_findings
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.poses import poses_of
from pourwright.shape.pattern.reading import ReadFile, read_pattern
from pourwright.shape.pattern.report import Mesh, PatternReport, Skin
from pourwright.shape.pattern.sections import divide
from pourwright.shape.pattern.sizes import MM_PER_STATED_UNIT, MM_PER_UNIT, settled_units, size_finding
from pourwright.shape.pattern.solid import Solid, make_solid, refuse
from pourwright.shape.pattern.walls import WallMap, map_walls, thinnest_wall
from pourwright.shape.pattern.weld import weld_corners

DEFAULT_LIMITS = PatternLimits()
_VOXELS = 200_000
# A surface that crosses itself: voxels it winds round too often or the wrong way hold more than this share ...
CROSSING_FRAC = 0.005
# ... and beyond this share nobody can say what is inside.
_HOPELESS_FRAC = 0.2
# Doubt about a volume counted in voxels, where overlap and void share one voxel.
_VOXEL_DOUBT_FRAC = 0.01


@dataclass(frozen=True)
class _Volume:
    value_mm3: float
    low_mm3: float
    high_mm3: float
    findings: tuple[Finding, ...]


def measure_pattern(
    path: Path,
    units: str,
    limits: PatternLimits = DEFAULT_LIMITS,
    large: bool = False,
    units_are_default: bool = False,
) -> PatternReport:
    """Read and measure one pattern file.

    Parameters
    ----------
    path : Path
        A file with one of the endings of :data:`pourwright.shape.pattern.formats.kinds.ENDINGS`.
    units : str
        What the file's numbers mean: mm, cm, inch or m; empty if nobody said. Where the file does not state it either
        it is asked about, never guessed.
    limits : PatternLimits
        For size, time and memory.
    large : bool
        Whether a file beyond the usual limits was asked for.
    units_are_default : bool
        Whether ``units`` was meant only for files that state none.

    Returns
    -------
    PatternReport
        For a file that cannot be used, without mesh and figures; a finding of level stop or ask says why.
        Nothing is raised for a bad file.
    """
    read = read_pattern(path, limits, large)
    if read.corners is None:
        return _empty(read, units)
    corners = np.asarray(read.corners, dtype=np.float64)
    low, high = mass.box_mm(corners.reshape(-1, 3))
    box = high - low
    units, said = settled_units(box, units, read.units, limits, read.file, units_are_default)
    if stops(said):
        return _empty(read, units, *said)
    read = replace(read, findings=(*read.findings, *said))
    return _measured(read, corners, units, MM_PER_STATED_UNIT.get(units, 1.0), limits)


def measure_mesh(mesh: Mesh, file: str, units: str = "mm", limits: PatternLimits = DEFAULT_LIMITS) -> PatternReport:
    """Measure a mesh in memory as if it had been read from a file of that name in those units; ``mesh`` is in mm."""
    factor = MM_PER_UNIT.get(units, 1.0)
    corners = mesh.vertices_mm[mesh.faces] / factor
    return _measured(ReadFile(file, "", corners, ()), corners, units, factor, limits)


def _empty(read: ReadFile, units: str, *more: Finding) -> PatternReport:
    zero = (0.0, 0.0, 0.0)
    count = 0 if read.corners is None else len(read.corners)
    findings = (*read.findings, *more)
    return PatternReport(
        read.file, read.sha256, units, count, False, 0, 0, 0.0, 0.0, 0.0, 0.0, zero, zero, None, (), None, findings
    )


def _measured(
    read: ReadFile, corners: NDArray[np.generic], units: str, factor: float, limits: PatternLimits
) -> PatternReport:
    points = np.asarray(corners, dtype=np.float64).reshape(-1, 3)
    low, high = mass.box_mm(points)
    sized = size_finding(high - low, units, limits, read.file) if len(points) else None
    said = (sized,) if sized else ()
    if stops(said):
        return _empty(read, units, *said)
    try:
        solid = make_solid(weld_corners(points.reshape(-1, 3, 3) * factor), read.file)
        return _report(read, units, solid, said)
    except MeshError as stopped:
        return _empty(read, units, *said, *([stopped.finding] if isinstance(stopped.finding, Finding) else []))


def _report(read: ReadFile, units: str, solid: Solid, said: tuple[Finding, ...]) -> PatternReport:
    mesh = solid.mesh
    box_mm = mass.sides_mm(mesh)
    side_mm = side_for(box_mm, _VOXELS)
    side_mm = affordable_side(mesh.vertices_mm, mesh.faces, side_mm)
    grid = partial_volumes(mesh.vertices_mm, mesh.faces, side_mm)
    volume = _volume(solid, grid, read.file)
    walls = map_walls(mesh)
    wall = thinnest_wall(walls)
    sections, section = divide(mesh, walls, grid, volume.value_mm3)
    judged = (*wall_findings(wall, read.file), *section_findings(sections, read.file))
    summed = mass.sums_of(mesh)
    length, width, height = box_mm
    return replace(
        _empty(read, units),
        watertight=solid.watertight,
        shells_count=solid.shells_count,
        voids_count=solid.voids_count,
        volume_mm3=volume.value_mm3,
        volume_low_mm3=volume.low_mm3,
        volume_high_mm3=volume.high_mm3,
        area_mm2=summed.area_mm2,
        centre_mm=summed.centre_mm,
        box_mm=(float(length), float(width), float(height)),
        wall=wall,
        sections=sections,
        mesh=mesh,
        findings=(*read.findings, *said, *solid.findings, *volume.findings, *judged),
        skin=_skin(walls, section),
        poses=poses_of(mesh, summed.centre_mm),
    )


def _skin(walls: WallMap, section: NDArray[np.int64]) -> Skin:
    return Skin(
        walls.points_mm,
        walls.outward_ratio,
        walls.width_mm,
        walls.gap_mm,
        walls.is_wall,
        walls.across,
        section,
        walls.starts,
        walls.neighbours,
        walls.share_mm2,
    )


def _volume(solid: Solid, grid: Grid, file: str) -> _Volume:
    """Take the exact volume of the mesh, or the voxel volume where its surface crosses itself."""
    signed_mm3 = mass.volume_mm3(solid.mesh)
    fewer_mm3, more_mm3 = mass.rounding_mm3(solid.mesh)
    low_mm3, high_mm3 = fewer_mm3 - solid.doubt_mm3, more_mm3 + solid.doubt_mm3
    if grid.doubtful_mm3 <= CROSSING_FRAC * grid.filled_mm3:
        return _Volume(signed_mm3, signed_mm3 + low_mm3, signed_mm3 + high_mm3, ())
    if grid.doubtful_mm3 > _HOPELESS_FRAC * grid.filled_mm3:
        raise refuse("shape.crossing-hopeless", Level.STOP, file, limit=show(100 * _HOPELESS_FRAC, "percent", 0))
    filled_mm3 = signed_mm3 * grid.filled_mm3 / grid.signed_mm3
    doubt_mm3 = _VOXEL_DOUBT_FRAC * filled_mm3
    params = {"file": file, "filled": show(filled_mm3, "mm3"), "signed": show(signed_mm3, "mm3")}
    finding = Finding("shape.crossing", Level.LOOK, file, params)
    return _Volume(filled_mm3, filled_mm3 + low_mm3 - doubt_mm3, filled_mm3 + high_mm3 + doubt_mm3, (finding,))
