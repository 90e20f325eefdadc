"""What the quench part of the plan says."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class QuenchWindow:
    """Minutes from the throw to the quench, as a range; never by colour alone."""

    earliest_min: Figure
    latest_min: Figure
    basis: str
    findings: tuple[Finding, ...]
