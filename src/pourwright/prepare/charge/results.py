"""What the charge part of the plan says."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class ChargeNeed:
    """How much metal a flask needs: no less than the floor, no more than the ceiling and the crucible.

    ``charge_g`` is the mass to weigh, None when no charge is possible.
    """

    cavity_cm3: Figure
    button_cm3: Figure
    cavity_g: Figure
    button_g: Figure
    floor_g: Figure
    ceiling_g: Figure
    crucible_g: Figure
    charge_g: Figure | None
    funnel_needed_cm3: Figure
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Weighing:
    """Mass of one lot on the pan."""

    lot: str
    mass_g: float


@dataclass(frozen=True)
class AlloyedCharge:
    """A charge weighed together from lots.

    ``weigh`` is the exact nominal mixture; ``weigh_to_aim`` the weights, in whole marks of the scale, that keep
    the worst case at the standard. ``aim_low_permille`` is that worst case.
    """

    alloy: str
    weigh: tuple[Weighing, ...]
    total_g: float
    fineness_permille: Figure
    fineness_low_permille: Figure
    aim_permille: Figure
    aim_low_permille: Figure
    weigh_to_aim: tuple[Weighing, ...]
    scrap_frac: float
    findings: tuple[Finding, ...]
