"""The fitted machine in words: what it is, what it means for the peak, what to measure next, how to stay safe."""

from __future__ import annotations

from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.machine_fit import TURNS, MachineFitAnswer
from pourwright.physics.spin.arm import speed_rpm
from pourwright.physics.spin.fitting import ArmFit

_ENOUGH = 0.9  # a reading that leaves more of the range than this is not worth an evening
_NAME_COLUMNS, _VALUE_COLUMNS = 38, 18

_NAMES = {
    "torque_start_Nm": "doors.fit-name-start",
    "torque_rate_Nm_turn": "doors.fit-name-rate",
    "friction_frac": "doors.fit-name-friction",
    "inertia_kg_m2": "doors.fit-name-inertia",
    "dry_Nm": "doors.fit-name-dry",
    "viscous_Nms": "doors.fit-name-speed",
    "air_Nms2": "doors.fit-name-air",
    "blow_frac": "doors.fit-name-blow",
}
_READINGS = {
    "pulls": "doors.fit-next-pulls",
    "weights": "doors.fit-next-weights",
    "spin": "doors.fit-next-spin",
    "coast": "doors.fit-next-coast",
}


def as_text(answer: MachineFitAnswer) -> str:
    """Return the answer as lines for a person; nothing without a fit."""
    fit, measured = answer.fit, answer.measured
    if fit is None or measured is None:
        return ""
    blocks = [
        [say("doors.fit-title", machine=measured.machine), *(_row(fit, name) for name in fit.names)],
        [say("doors.fit-peaks"), *(_peak(turns, one) for turns, one in zip(TURNS, answer.peaks, strict=True))],
        _checks(answer),
        [say("doors.fit-next"), *_further(answer)],
        [say("doors.fit-safety")],
        [say("doors.fit-written", file=answer.proposal)] if answer.proposal else [],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _row(fit: ArmFit, name: str) -> str:
    found = fit.interval(name)
    span = say("doors.fit-span", low=_shown(found, "low"), high=_shown(found, "high"))
    open_ = "" if fit.is_measured(name) else "  " + say("doors.fit-open")
    return f"  {say(_NAMES[name]):<{_NAME_COLUMNS}}{_shown(found, 'best'):<{_VALUE_COLUMNS}}{span}{open_}"


def _shown(found: Interval, end: str) -> str:
    return show(getattr(found, end), found.unit)


def _peak(turns_turns: float, found: Interval) -> str:
    best, low, high = (show(speed_rpm(one), "rpm") for one in (found.best, found.low, found.high))
    return "  " + say("doors.fit-peak", turns=show(turns_turns, "turns"), best=best, low=low, high=high)


def _checks(answer: MachineFitAnswer) -> list[str]:
    lines = []
    if answer.energy:
        energy, weights = (show(one, "kg_m2") for one in (answer.energy.energy_kg_m2, answer.energy.weights_kg_m2))
        lines.append(say("doors.fit-check-energy", energy=energy, weights=weights))
    if answer.curve and answer.curve.holds:
        lines.append(say("doors.fit-check-curve"))
    if answer.opens_deg is not None and answer.opens_by_parts_deg is not None:
        seen, parts = show(answer.opens_deg, "deg"), show(answer.opens_by_parts_deg, "deg")
        lines.append(say("doors.fit-check-hinge", seen=seen, parts=parts))
    if answer.fit and "viscous_Nms" not in answer.fit.names:
        lines.append(say("doors.fit-no-speed-friction"))
    return lines


def _further(answer: MachineFitAnswer) -> list[str]:
    if answer.further[0].peak_then_frac > _ENOUGH * answer.further[0].peak_now_frac:
        return ["  " + say("doors.fit-next-enough", now=f"±{answer.further[0].peak_now_frac:.1%}")]
    lines = []
    for number, one in enumerate(answer.further, 1):
        what = say(_READINGS[one.what], turns=show(one.turns_turns, "turns"))
        now, then = (f"±{value:.1%}" for value in (one.peak_now_frac, one.peak_then_frac))
        lines.append(f"  {number}. " + say("doors.fit-next-line", what=what, now=now, then=then))
    return lines
