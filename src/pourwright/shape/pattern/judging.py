"""What the workshop's rules say about walls and sections that were measured."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.core.errors import DataError
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import Rule, rule
from pourwright.shape.pattern.report import Section, Wall
from pourwright.shape.pattern.solid import place_text

# Sections with at least this share of the largest modulus freeze as late as it does.
AS_HEAVY_RATIO = 0.8
_MOST_NAMED = 6


def wall_findings(wall: Wall | None, file: str) -> tuple[Finding, ...]:
    """Compare the thinnest wall with the thinnest ever reported cast and with what usually fills."""
    if wall is None:
        return (Finding("shape.wall-unknown", Level.LOOK, file, {"file": file}),)
    least, usual = rule("part.minwire"), rule("part.minsafe")
    least_mm, usual_mm, easy_mm = _number(least, "value"), _number(usual, "low"), _number(usual, "high")
    # a wall that stands at a limit within its own uncertainty meets it
    thickness_mm = wall.thickness_mm + wall.uncertainty_mm
    if thickness_mm < least_mm:
        return (_thin("shape.wall-below-least", Level.LOOK, wall, least_mm, least, file),)
    if thickness_mm < usual_mm:
        return (_thin("shape.wall-thin", Level.LOOK, wall, usual_mm, usual, file),)
    if thickness_mm < easy_mm:
        return (_thin("shape.wall-narrow", Level.NOTE, wall, easy_mm, usual, file),)
    return ()


def _number(used: Rule, part: str) -> float:
    number: float | None = getattr(used, part)
    if number is None:
        raise DataError(f"rule {used.id} has no {part}")
    return number


def _thin(code: str, level: Level, wall: Wall, limit_mm: float, used: Rule, file: str) -> Finding:
    params = {
        "file": file,
        "thickness": show(wall.thickness_mm, "mm", 2),
        "uncertainty": show(wall.uncertainty_mm, "mm", 2),
        "limit": show(limit_mm, "mm", 1),
        "place": place_text(wall.place_mm),
    }
    return Finding(code, level, file, params, used.sources)


def section_findings(sections: Sequence[Section], file: str) -> tuple[Finding, ...]:
    """Say where the heaviest section is when there are several, and when more than one needs feeding."""
    if len(sections) < 2:
        return ()
    heaviest, lightest = sections[0], sections[-1]
    heavy = [one for one in sections if one.modulus_mm >= AS_HEAVY_RATIO * heaviest.modulus_mm]
    params = {
        "file": file,
        "count": str(len(sections)),
        "heavy": str(len(heavy)),
        "modulus": show(heaviest.modulus_mm, "mm", 2),
        "least": show(lightest.modulus_mm, "mm", 2),
        "place": place_text(heaviest.place_mm),
        "places": ", ".join(place_text(one.place_mm) for one in heavy[:_MOST_NAMED]),
    }
    if len(heavy) > 1 and len(heavy) < len(sections):
        return (Finding("shape.sections-apart", Level.LOOK, file, params, rule("gate.count").sources),)
    return (Finding("shape.section-heavy", Level.NOTE, file, params),)
