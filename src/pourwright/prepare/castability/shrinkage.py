"""How much smaller a piece comes out than it was drawn, and what to draw instead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.prepare.castability.body import Body
from pourwright.prepare.castability.places import length_text
from pourwright.prepare.rule_figures import rule_figure
from pourwright.shape.pattern.holes_deep import find_bore_mm
from pourwright.studio.profile import MeasuredPair

# One US ring size is 0.032 inch of inside diameter. From memory.
US_SIZE_MM = 0.8128
_PERCENT = 0.01
_FEWEST_PAIRS = 3
# The range holds the next piece 19 times in 20.
_UPPER_TAIL = 0.975


@dataclass(frozen=True)
class ShrinkFit:
    """Shrinkage proposed from measured pairs: its mean, the range for the next piece, and the pairs' own extremes."""

    best_frac: float
    low_frac: float
    high_frac: float
    least_frac: float
    most_frac: float
    pairs_count: int


def practice_shrinkage(family: str) -> Figure | None:
    """Return the linear shrinkage of practice [frac] (rule shrink.part), which is known for the silver family only."""
    if family != "silver":
        return None
    shrunk, grown = (
        rule_figure("shrink.part", "low", "frac", _PERCENT),
        rule_figure("shrink.part", "high", "frac", _PERCENT),
    )
    low, high = -grown.value, -shrunk.value
    return given((low + high) / 2, "frac", shrunk.origin, low, high, shrunk.sources, how="core.table")


def final_size(drawn_mm: Figure, shrink_frac: Figure) -> Figure:
    """Return what a drawn length [mm] comes out as [mm] with a linear shrinkage."""
    inputs = {"drawn": drawn_mm, "shrink": shrink_frac}
    return reckon("mm", "prepare.shrink-final", lambda drawn, shrink: drawn * (1.0 - shrink), inputs, ("derived",))


def draw_size(wanted_mm: Figure, shrink_frac: Figure) -> Figure:
    """Return what to draw [mm] so that a length comes out as wanted [mm]."""
    inputs = {"wanted": wanted_mm, "shrink": shrink_frac}
    return reckon("mm", "prepare.shrink-draw", lambda wanted, shrink: wanted / (1.0 - shrink), inputs, ("derived",))


def sizes_smaller_ratio(drawn_mm: Figure, final_mm: Figure, size_mm: float = US_SIZE_MM) -> float:
    """Return how many ring sizes, each so much wider than the one before [mm], a bore comes out too small."""
    return (drawn_mm.value - final_mm.value) / size_mm


def fit_shrinkage(pairs: Sequence[MeasuredPair]) -> ShrinkFit | None:
    """Propose a linear shrinkage from lengths drawn and measured on the finished piece.

    Parameters
    ----------
    pairs : sequence of MeasuredPair
        At least three.

    Returns
    -------
    ShrinkFit or None
        The range is that of Student's distribution for one more piece; None with fewer than three pairs.
    """
    from scipy.special import stdtrit

    count = len(pairs)
    if count < _FEWEST_PAIRS:
        return None
    shrunk = np.array([1.0 - one.measured_mm.value / one.drawn_mm.value for one in pairs])
    best = float(shrunk.mean())
    reach = float(stdtrit(count - 1, _UPPER_TAIL) * shrunk.std(ddof=1) * np.sqrt(1.0 + 1.0 / count))
    return ShrinkFit(best, best - reach, best + reach, float(shrunk.min()), float(shrunk.max()), count)


def fit_findings(pairs: Sequence[MeasuredPair], accepted_frac: Figure | None) -> tuple[Finding, ...]:
    """Propose a fitted shrinkage for acceptance while none is accepted."""
    fit = fit_shrinkage(pairs)
    if fit is None or accepted_frac is not None:
        return ()
    names = ("best", "low", "high", "least", "most")
    params = {name: show(getattr(fit, f"{name}_frac") / _PERCENT, "percent", 2) for name in names}
    where = "calibration.toml"
    return (Finding("prepare.shrink-proposed", Level.NOTE, where, {**params, "count": fit.pairs_count}, ("derived",)),)


def bore_findings(body: Body, shrink_frac: Figure) -> tuple[Finding, ...]:
    """Say what a ring's opening comes out as, for bodies that have one wide enough for a finger."""
    bore_mm = find_bore_mm(body.mesh, body.skin)
    if bore_mm is None:
        return ()
    drawn = given(bore_mm, "mm", body.where)
    final, draw = final_size(drawn, shrink_frac), draw_size(drawn, shrink_frac)
    params = {
        "piece": body.where,
        "drawn": length_text(bore_mm, 2),
        "final": length_text(final.value, 2),
        "low": length_text(final.low, 2),
        "high": length_text(final.high, 2),
        "sizes": f"{sizes_smaller_ratio(drawn, final):.2f}",
        "size": length_text(US_SIZE_MM, 4),
        "draw": length_text(draw.value, 2),
    }
    return (Finding("prepare.shrink-bore", Level.NOTE, body.where, params, (*shrink_frac.sources, "memory")),)
