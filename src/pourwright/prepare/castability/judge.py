"""All rules of castability on one measured pattern."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.matter.practice import rule
from pourwright.prepare.castability.air import air_findings
from pourwright.prepare.castability.body import Body, body_of
from pourwright.prepare.castability.cores import core_findings
from pourwright.prepare.castability.feeding import feeding_findings
from pourwright.prepare.castability.filling import filling_findings
from pourwright.prepare.castability.places import length_text
from pourwright.prepare.castability.shrinkage import bore_findings, practice_shrinkage
from pourwright.prepare.castability.slender import wire_findings
from pourwright.shape.pattern.report import PatternReport, Point
from pourwright.shape.pattern.ways import nearest_point

# A gate said to be farther off the body than this is a slip of the pen. Ours.
_OFF_BODY_MM = 3.0
# What the measuring says without knowing a gate; the rules here say it better.
_SAID_BETTER = frozenset(
    {
        "shape.wall-below-least",
        "shape.wall-thin",
        "shape.wall-narrow",
        "shape.section-heavy",
        "shape.sections-apart",
    }
)


def without_repeats(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return what was found on measuring, less what is judged here with a gate."""
    return tuple(one for one in found if one.code not in _SAID_BETTER)


def judge_pattern(report: PatternReport, where: str, family: str, gate_mm: Point | None = None) -> tuple[Finding, ...]:
    """Return the findings of a report, those about walls and sections replaced by what the rules say with a gate.

    Parameters
    ----------
    report : PatternReport
        Measured; without mesh its own findings come back.
    where : str
        The piece or file, for the findings.
    family : str
        Of the alloy.
    gate_mm : tuple of float or None
        Where the gate is to be, in the pattern's axes [mm]; None proposes the heaviest section.
    """
    body = body_of(report, where, gate_mm)
    if body is None:
        return report.findings
    return (
        *without_repeats(report.findings),
        *(gate_off(body, gate_mm) or castability(body, family, practice_shrinkage(family))),
    )


def castability(body: Body, family: str, shrink_frac: Figure | None, signed_by: str = "") -> tuple[Finding, ...]:
    """Return what every rule finds on a body, in the order of the rules.

    Parameters
    ----------
    body : Body
        Measured, with its gate.
    family : str
        Of the alloy.
    shrink_frac : Figure or None
        Linear shrinkage, for openings that a finger goes through; None if nobody knows it for this alloy.
    signed_by : str
        Who answers for casting what is not known to fill.
    """
    return (
        *filling_findings(body, family, signed_by),
        *feeding_findings(body),
        *core_findings(body),
        *wire_findings(body),
        *air_findings(body),
        *(bore_findings(body, shrink_frac) if shrink_frac else ()),
    )


def gate_off(body: Body, gate_mm: Point | None) -> tuple[Finding, ...]:
    """Ask about a gate that lies [mm] well off the body; nothing is judged until it is known where it stands."""
    if gate_mm is None:
        return ()
    gap_mm = nearest_point(body.skin, gate_mm)[1]
    if gap_mm <= _OFF_BODY_MM:
        return ()
    low, high = body.mesh.vertices_mm.min(axis=0), body.mesh.vertices_mm.max(axis=0)
    params = {
        "piece": body.where,
        "gap": length_text(gap_mm),
        "limit": length_text(_OFF_BODY_MM),
        "low": ", ".join(f"{one:z.1f}" for one in low),
        "high": ", ".join(f"{one:z.1f}" for one in high),
    }
    return (Finding("prepare.gate-off-body", Level.ASK, body.where, params, rule("gate.heavy").sources),)
