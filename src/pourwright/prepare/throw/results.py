"""What the throw part of the plan says: mark on the arm, winding, head."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class Balance:
    """Where the weight goes. ``mark_mm`` is the filled state's place, from the shaft; the others are shown beside."""

    mark_mm: Figure
    start_mark_mm: Figure
    halfway_mark_mm: Figure
    moment_start_kgm: Figure
    start_force_N: Figure
    residual_force_N: Figure
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Winding:
    """What a number of turns gives with this spring."""

    turns_turns: float
    energy_J: Figure
    speed_rpm: Figure
    flask_gee: Figure
    head_kPa: Figure


@dataclass(frozen=True)
class ThrowSetup:
    """Arm set-up for one flask."""

    balance: Balance
    windings: tuple[Winding, ...]
    wind_low_turns: Figure
    wind_turns: Figure
    wind_limit_turns: Figure
    calibrated: bool
    findings: tuple[Finding, ...]
