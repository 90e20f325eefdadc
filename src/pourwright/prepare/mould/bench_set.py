"""How long a flask sets on the bench before the kiln may be lit."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.core.figure import Figure
from pourwright.prepare.mould.loads import KilnLoad
from pourwright.prepare.rule_figures import rule_figure

# The rule for small flasks speaks of flasks up to this diameter.
SMALL_FLASK_mm = 50.0
_MINUTES_PER_HOUR = 60.0


def bench_set_needed(loads: Sequence[KilnLoad], *, signed: bool, sheet_min: Figure | None = None) -> Figure:
    """Return the least time from investing to lighting the kiln, in min.

    Parameters
    ----------
    loads : sequence of KilnLoad
        The kiln's flasks; one that needs longer holds all back.
    signed : bool
        Whether the keeper signed the shorter set, which holds only where every flask is small.
    sheet_min : Figure, optional
        What the powder's data sheet asks [minute]; it may lengthen the rest, never shorten it.
    """
    small = loads and signed and all(one.diameter_mm.value <= SMALL_FLASK_mm for one in loads)
    usual = (
        rule_figure("inv.bench.small", "value", "min", _MINUTES_PER_HOUR)
        if small
        else rule_figure("inv.bench.min", "low", "min", _MINUTES_PER_HOUR)
    )
    return sheet_min if sheet_min is not None and sheet_min.value > usual.value else usual
