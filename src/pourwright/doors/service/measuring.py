"""Measures the patterns of a day, the same for every command that needs them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern
from pourwright.shape.pattern.report import PatternReport
from pourwright.studio.day import PieceOrder

# A length written down and the length of the pattern's box may differ by so much.
_LONGEST_SLACK_RATIO = 1.02


def measure_in(folder: Path, large: bool = False) -> Callable[[PieceOrder], PatternReport | None]:
    """Return what measures the pattern of a piece, its file looked for in the folder; None for a piece without one."""

    def measure(order: PieceOrder) -> PatternReport | None:
        if not order.file:
            return None
        return measure_pattern(folder / order.file, order.units, _limits_of(order), large)

    return measure


def _limits_of(order: PieceOrder) -> PatternLimits:
    """Return the limits for a pattern: who wrote down how long the piece is need not be asked about so long a one."""
    usual = PatternLimits()
    if order.longest_mm is None:
        return usual
    return replace(usual, longest_mm=max(usual.longest_mm, _LONGEST_SLACK_RATIO * order.longest_mm.value))
