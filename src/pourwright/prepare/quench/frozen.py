"""The quench by the heat followed through the flask, where nobody measured how this flask cools."""

from __future__ import annotations

from dataclasses import replace

from pourwright.core.figure import Figure, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.prepare.quench.results import QuenchWindow

_BY_PRACTICE = "prepare.quench-basis-practice"
_NOT_MEASURED = "prepare.quench-not-measured"


def frozen_window(window: QuenchWindow, below_gate_min: Figure, coolest_min: Figure | None) -> QuenchWindow:
    """Return the window by a freezing run, in place of one by the practice rule alone.

    A window by the studio's own readings stays, and so does that of a flask that is not quenched.

    Parameters
    ----------
    window : QuenchWindow
        As planned.
    below_gate_min : Figure
        When the hottest metal is below the hottest allowed [minute]; its late end counts.
    coolest_min : Figure or None
        When it has fallen to where the mould no longer bursts off [minute].
    """
    if window.basis != _BY_PRACTICE:
        return window
    late = replace(below_gate_min, value=below_gate_min.high)
    earliest = reckon(
        "min",
        "prepare.how-quench-earliest-frozen",
        _later_min,
        {"below_gate_min": late, "practice_min": window.earliest_min},
    )
    latest = coolest_min if coolest_min is not None and coolest_min.value > earliest.value else earliest
    said = Finding(
        "prepare.quench-frozen",
        Level.NOTE,
        "quench",
        {"early": show(below_gate_min.low, "min", 1), "late": show(below_gate_min.high, "min", 1)},
        below_gate_min.sources,
    )
    kept = tuple(one for one in window.findings if one.code != _NOT_MEASURED)
    return QuenchWindow(earliest, latest, "prepare.quench-basis-frozen", (*kept, said))


def _later_min(below_gate_min: float, practice_min: float) -> float:
    return max(below_gate_min, practice_min)
