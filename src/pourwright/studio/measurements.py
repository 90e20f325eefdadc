"""What a person measured of a cold arm, as read from ``arm-measurements.toml``."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure


@dataclass(frozen=True)
class MeasuredPull:
    """Scale readings with some turns wound, while winding and while easing back."""

    turns_turns: Figure
    winding_N: Figure | None = None
    easing_N: Figure | None = None


@dataclass(frozen=True)
class MeasuredPart:
    """A part that turns. ``inertia_kg_m2`` is about its own middle; ``bare_outer``: it is the outer arm itself."""

    name: str
    mass_kg: Figure
    radius_mm: Figure
    inertia_kg_m2: Figure | None = None
    beyond_hinge: bool = False
    bare_outer: bool = False


@dataclass(frozen=True)
class MeasuredSpeed:
    """A speed at a time: stated, or as video frames counted over whole turns."""

    time_s: Figure
    speed_rpm: Figure | None = None
    frames_count: int | None = None
    over_turns_count: int = 1


@dataclass(frozen=True)
class MeasuredSpin:
    """One empty spin: the peak stated or as frames counted, the angle at which the hinge opens, the run-down."""

    turns_turns: Figure
    peak_rpm: Figure | None = None
    frames_count: int | None = None
    over_turns_count: int = 1
    opens_deg: Figure | None = None
    coast: tuple[MeasuredSpeed, ...] = ()


@dataclass(frozen=True)
class ArmMeasurements:
    """All that was measured of one machine on one day, and how far readings may be off."""

    machine: str
    measured_by: str
    evidence: str
    frame_rate_per_s: Figure | None = None
    pull_radius_mm: Figure | None = None
    hinge_radius_mm: Figure | None = None
    folded_deg: Figure | None = None
    pull_error_N: Figure | None = None
    length_error_mm: Figure | None = None
    weight_error_frac: Figure | None = None
    pulls: tuple[MeasuredPull, ...] = ()
    parts: tuple[MeasuredPart, ...] = ()
    spins: tuple[MeasuredSpin, ...] = ()
