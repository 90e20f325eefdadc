"""The rules a tree is built and judged by: the studio's clearances and what practice says of gates and sprues."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.core.errors import DataError
from pourwright.matter.practice import Rule, rule

# Thinner wax than this breaks when the tree is handled or invested; common practice, no source.
_GATE_FLOOR_MM = 2.0
# A shared sprue is thicker than its thickest gate by this much; the practice rule only says larger.
_SPRUE_OVER_GATE_MM = 1.0


@dataclass(frozen=True)
class TreeRules:
    """Limits for a tree.

    Parameters
    ----------
    wall_mm : float
        Wanted between a piece and the flask's wall [mm].
    end_per_diameter_ratio : float
        Wanted cover over the tree, as a share of the flask's diameter.
    piece_mm : float
        Wanted between two pieces [mm].
    gate_per_section_ratio : float
        Gate diameter over the section it meets.
    gate_floor_mm : float
        No gate is thinner [mm].
    gate_short_mm, gate_long_mm : float
        Span of gate lengths [mm].
    gate_angle_deg : float
        Between a gate and the direction of flow in the sprue [degree].
    sprue_low_mm, sprue_high_mm : float
        Guide span of a shared sprue's diameter [mm].
    """

    wall_mm: float
    end_per_diameter_ratio: float
    piece_mm: float
    gate_per_section_ratio: float
    gate_floor_mm: float
    gate_short_mm: float
    gate_long_mm: float
    gate_angle_deg: float
    sprue_low_mm: float
    sprue_high_mm: float


def tree_rules(wall_mm: float, end_per_diameter_ratio: float, piece_mm: float) -> TreeRules:
    """Return the rules with the studio's own clearances; gates and sprues follow the practice tables.

    Parameters
    ----------
    wall_mm, piece_mm : float
        Wanted to the flask's wall, and between pieces [mm].
    end_per_diameter_ratio : float
        Wanted cover over the tree, as a share of the flask's diameter.
    """
    short_mm, long_mm = _span(rule("gate.length"))
    sprue_low_mm, sprue_high_mm = _span(rule("gate.mainsprue"))
    return TreeRules(
        wall_mm=wall_mm,
        end_per_diameter_ratio=end_per_diameter_ratio,
        piece_mm=piece_mm,
        gate_per_section_ratio=_one(rule("gate.dia")),
        gate_floor_mm=_GATE_FLOOR_MM,
        gate_short_mm=short_mm,
        gate_long_mm=long_mm,
        gate_angle_deg=sum(_span(rule("gate.angle"))) / 2,
        sprue_low_mm=sprue_low_mm,
        sprue_high_mm=sprue_high_mm,
    )


def gate_mm(section_mm: float, rules: TreeRules) -> float:
    """Return the diameter of the gate to a section [mm]."""
    return max(rules.gate_floor_mm, rules.gate_per_section_ratio * section_mm)


def shared_sprue_mm(sections_mm: Sequence[float], rules: TreeRules) -> float:
    """Return the diameter of a sprue that feeds several sections [mm]: thicker than the thickest gate."""
    thickest = max(gate_mm(one, rules) for one in sections_mm)
    return max(rules.sprue_low_mm, thickest + _SPRUE_OVER_GATE_MM)


def _span(practice: Rule) -> tuple[float, float]:
    if practice.low is None or practice.high is None:
        raise DataError(f"rule {practice.id} must have two ends")
    return practice.low, practice.high


def _one(practice: Rule) -> float:
    if practice.value is None:
        raise DataError(f"rule {practice.id} must have a value")
    return practice.value
