"""Turns what the file of measurements says into readings in SI with their standard errors."""

from __future__ import annotations

from math import pi, radians, sqrt

from pourwright.core.figure import Figure
from pourwright.physics.spin.arm import speed_rad_s
from pourwright.physics.spin.readings import (
    ArmPart,
    ArmReadings,
    EmptySpin,
    PullReading,
    ReadingErrors,
    SpeedReading,
)
from pourwright.studio.measurements import ArmMeasurements, MeasuredSpeed, MeasuredSpin

_MM_M = 1000
# A speed off a meter, and what else than counting may be off in a video; our judgement, no source. Counted frames are
# good to six tenths of a frame: the mark is seen in one picture and not in the next at either end.
METER_FRAC, VIDEO_FRAC, FRAMES = 0.01, 0.003, 0.6


def readings_of(measured: ArmMeasurements) -> ArmReadings:
    """Return readings in SI."""
    folded = {"folded_rad": radians(measured.folded_deg.value)} if measured.folded_deg else {}
    return ArmReadings(
        pulls=tuple(
            PullReading(one.turns_turns.value, _or(one.winding_N), _or(one.easing_N)) for one in measured.pulls
        ),
        pull_radius_m=measured.pull_radius_mm.value / _MM_M if measured.pull_radius_mm else None,
        parts=tuple(
            ArmPart(one.mass_kg.value, one.radius_mm.value / _MM_M, _or(one.inertia_kg_m2) or 0.0, one.beyond_hinge)
            for one in measured.parts
        ),
        spins=tuple(_spin(one, measured.frame_rate_per_s) for one in measured.spins),
        hinge_m=measured.hinge_radius_mm.value / _MM_M if measured.hinge_radius_mm else None,
        errors=_errors(measured),
        **folded,
    )


def _or(figure: Figure | None) -> float | None:
    """Return a figure's value in its own unit [as the figure], or None."""
    return figure.value if figure else None


def _errors(measured: ArmMeasurements) -> ReadingErrors:
    stated = {
        "pull_N": _or(measured.pull_error_N),
        "radius_m": measured.length_error_mm.value / _MM_M if measured.length_error_mm else None,
        "mass_frac": _or(measured.weight_error_frac),
    }
    return ReadingErrors(**{name: value for name, value in stated.items() if value is not None})


def _spin(one: MeasuredSpin, rate: Figure | None) -> EmptySpin:
    peak = MeasuredSpeed(one.turns_turns, one.peak_rpm, one.frames_count, one.over_turns_count)
    return EmptySpin(
        one.turns_turns.value,
        _speed(peak, 0.0, rate) if one.peak_rpm or one.frames_count else None,
        radians(one.opens_deg.value) if one.opens_deg else None,
        tuple(sorted((_speed(at, at.time_s.value, rate) for at in one.coast), key=lambda at: at.time_s)),
    )


def _speed(one: MeasuredSpeed, time_s: float, rate: Figure | None) -> SpeedReading:
    if one.speed_rpm is not None:
        speed = speed_rad_s(one.speed_rpm.value)
        return SpeedReading(time_s, speed, METER_FRAC * speed)
    if one.frames_count is None or rate is None:
        raise ValueError("a speed needs a meter, or frames and their rate")
    speed = 2 * pi * one.over_turns_count * rate.value / one.frames_count
    return SpeedReading(time_s, speed, speed * sqrt(VIDEO_FRAC**2 + (FRAMES / one.frames_count) ** 2))
