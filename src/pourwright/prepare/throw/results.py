"""What the throw part of the plan says: mark on the arm, winding, head."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class Balance:
    """Where the weight goes, from the shaft. ``mark_mm`` is for the filled flask; the others are shown beside.

    The forces are at the stated speed found among their inputs (``stated_rpm``). ``start_force_N`` is what the shaft
    would feel with the weight at ``mark_mm`` and the metal still in the crucible; ``residual_force_N`` what it would
    feel in either state with the weight at the halfway mark.
    """

    mark_mm: Figure
    start_mark_mm: Figure
    halfway_mark_mm: Figure
    moment_start_kgm: Figure
    start_force_N: Figure
    residual_force_N: Figure
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Winding:
    """What a number of turns gives with this spring at its peak, about a second after release.

    ``head_kPa`` is from the crucible to the middle of the flask.
    """

    turns_turns: float
    energy_J: Figure
    speed_rpm: Figure
    flask_gee: Figure
    head_kPa: Figure


@dataclass(frozen=True)
class ThrowSetup:
    """Arm set-up for one flask. ``windings`` is the table from ``wind_low_turns`` to ``wind_limit_turns``."""

    balance: Balance
    windings: tuple[Winding, ...]
    wind_low_turns: Figure
    wind_turns: Figure
    wind_limit_turns: Figure
    calibrated: bool
    findings: tuple[Finding, ...]
