"""Check pattern files: is each one sound, how big, how heavy in metal, how thin, how thick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding
from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.prepare.castability.judge import judge_pattern
from pourwright.shape.pattern.measure import measure_pattern
from pourwright.shape.pattern.report import PatternReport, Pose, Poses

_G_PER_MM3_PER_KG_M3 = 1e-6
# What is shown for a smaller one: the step that sizes are printed in.
_LEAST_STRAY_MM = 0.01


@dataclass(frozen=True)
class CheckedPiece:
    """A pattern file's report with its mass in the alloy asked for; mass None when there is no volume."""

    report: PatternReport
    mass_g: Interval | None


@dataclass(frozen=True)
class CheckAnswer:
    """All files of one call."""

    alloy: str
    pieces: tuple[CheckedPiece, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Findings of all files in their order."""
        return tuple(one for piece in self.pieces for one in piece.report.findings)


def check_files(files: Sequence[Path], units: str, alloy_id: str, large: bool = False) -> CheckAnswer:
    """Measure each file, judge whether it can be cast, and weigh it in an alloy.

    Parameters
    ----------
    files : sequence of Path
        In any format that is read.
    units : str
        What the numbers mean in files that do not say (``mm``, ``cm``, ``inch``, ``m``), empty if nobody said.
    alloy_id : str
        As in the tables.
    large : bool
        Whether to read files beyond the usual limits.

    Returns
    -------
    CheckAnswer
        One piece for each file, also for the refused ones.

    Raises
    ------
    DataError
        The alloy is not known.
    """
    alloy = find_alloy(alloy_id)
    reports = [measure_pattern(path, units, large=large, units_are_default=True) for path in files]
    judged = [replace(one, findings=judge_pattern(one, one.file, alloy.family)) for one in reports]
    return CheckAnswer(alloy_id, tuple(CheckedPiece(one, _mass_g(one, alloy.solid_kg_m3)) for one in judged))


def _mass_g(report: PatternReport, density_kg_m3: Interval) -> Interval | None:
    if report.volume_mm3 <= 0:
        return None
    return Interval(
        report.volume_low_mm3 * density_kg_m3.low * _G_PER_MM3_PER_KG_M3,
        report.volume_mm3 * density_kg_m3.best * _G_PER_MM3_PER_KG_M3,
        report.volume_high_mm3 * density_kg_m3.high * _G_PER_MM3_PER_KG_M3,
        "g",
        sources=density_kg_m3.sources,
    )


def as_json(answer: CheckAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values; numbers that could not be measured are null."""
    return {"alloy": answer.alloy, "pieces": [_piece_json(one) for one in answer.pieces]}


def _piece_json(piece: CheckedPiece) -> dict[str, Any]:
    report, known = piece.report, piece.mass_g is not None
    return {
        "file": report.file,
        "units": report.units,
        "triangles_count": report.triangles_count,
        "volume_mm3": round(report.volume_mm3, 4) if known else None,
        "volume_low_mm3": round(report.volume_low_mm3, 4) if known else None,
        "volume_high_mm3": round(report.volume_high_mm3, 4) if known else None,
        "area_mm2": round(report.area_mm2, 4) if known else None,
        "box_mm": [round(one, 4) for one in report.box_mm],
        "poses": _poses_json(report.poses) if report.poses else None,
        "mass_g": round(piece.mass_g.best, 3) if piece.mass_g else None,
        "mass_low_g": round(piece.mass_g.low, 3) if piece.mass_g else None,
        "mass_high_g": round(piece.mass_g.high, 3) if piece.mass_g else None,
        "watertight": report.watertight,
        "shells_count": report.shells_count,
        "voids_count": report.voids_count,
        "thinnest_wall_mm": round(report.wall.thickness_mm, 4) if report.wall else None,
        "thinnest_wall_uncertainty_mm": round(report.wall.uncertainty_mm, 4) if report.wall else None,
        "thinnest_wall_place_mm": [round(one, 3) for one in report.wall.place_mm] if report.wall else None,
        "heaviest_modulus_mm": round(report.heaviest.modulus_mm, 4) if report.heaviest else None,
        "sections": [
            {
                "volume_mm3": round(one.volume_mm3, 4),
                "area_mm2": round(one.area_mm2, 4),
                "modulus_mm": round(one.modulus_mm, 4),
                "place_mm": [round(part, 3) for part in one.place_mm],
            }
            for one in report.sections
        ],
        "findings": [one.as_json() for one in report.findings],
    }


def _poses_json(poses: Poses) -> dict[str, Any]:
    return {
        "as_drawn": _pose_json(poses.as_drawn),
        "lowest": _pose_json(poses.lowest),
        "slimmest": _pose_json(poses.slimmest),
        "stray_mm": round(poses.stray_mm, 4),
    }


def _pose_json(pose: Pose) -> dict[str, Any]:
    return {
        "down_ratio": [round(one, 6) + 0.0 for one in pose.down_ratio],
        "height_mm": round(pose.height_mm, 4),
        "footprint_mm": [round(one, 4) for one in pose.footprint_mm],
        "across_mm": round(pose.across_mm, 4),
        "centre_height_mm": round(pose.centre_height_mm, 4),
    }


def as_text(answer: CheckAnswer) -> str:
    """Return the answer as lines for a person."""
    return "\n\n".join(_piece_text(one, answer.alloy) for one in answer.pieces)


def _piece_text(piece: CheckedPiece, alloy_id: str) -> str:
    report = piece.report
    if piece.mass_g is None:
        return say("doors.check-no-figure", file=report.file)
    lines = [report.file, "  " + say("doors.check-size", box=" × ".join(f"{one:.2f}" for one in report.box_mm))]
    mass = piece.mass_g
    lines.append(
        "  "
        + say(
            "doors.check-mass",
            volume=show(report.volume_mm3, "mm3"),
            mass=show(mass.best, "g"),
            low=show(mass.low, "g"),
            high=show(mass.high, "g"),
            alloy=alloy_id,
        )
    )
    if report.poses:
        lines.append("  " + _poses_text(report.poses))
    if report.wall:
        wall = report.wall
        lines.append(
            "  "
            + say(
                "doors.check-wall",
                wall=show(wall.thickness_mm, "mm", 2),
                error=show(wall.uncertainty_mm, "mm", 2),
                place=_place(wall.place_mm),
            )
        )
    if report.heaviest:
        heavy = report.heaviest
        lines.append(
            "  "
            + say(
                "doors.check-modulus",
                modulus=show(heavy.modulus_mm, "mm", 2),
                place=_place(heavy.place_mm),
                count=len(report.sections),
            )
        )
    return "\n".join(lines)


def _poses_text(poses: Poses) -> str:
    lowest, slimmest = poses.lowest, poses.slimmest
    return say(
        "doors.check-poses",
        height=show(lowest.height_mm, "mm", 2),
        box=" × ".join(f"{one:.2f}" for one in lowest.footprint_mm),
        stray=show(max(poses.stray_mm, _LEAST_STRAY_MM), "mm", 2),
        across=show(slimmest.across_mm, "mm", 2),
        tall=show(slimmest.height_mm, "mm", 2),
    )


def _place(point_mm: tuple[float, float, float]) -> str:
    return "(" + ", ".join(f"{one:z.1f}" for one in point_mm) + ")"
