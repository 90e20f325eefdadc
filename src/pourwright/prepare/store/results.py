"""What the plan says of supplies and equipment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class SupplyUse:
    """Gas of a cylinder, or something else that melts use up: what is there, what the day takes, what is left."""

    id: str
    title: str
    have_g: Figure
    take_g: Figure
    left_g: Figure


@dataclass(frozen=True)
class EquipmentDue:
    """An equipment check of the studio. ``due`` is None when it was never done; ``overdue`` on the day of the plan."""

    what: str
    of: str
    last: date | None
    due: date | None
    overdue: bool
    by: str
    against: str


@dataclass(frozen=True)
class Supplies:
    """Supplies, energy of the burnout and equipment checks of a day; no energy for a kiln of unknown power."""

    uses: tuple[SupplyUse, ...]
    energy_kWh: Figure | None
    checks: tuple[EquipmentDue, ...]
    findings: tuple[Finding, ...]
