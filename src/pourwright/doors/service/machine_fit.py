"""Fit a machine to what was measured of it, propose the values for ``calibration.toml``, say what to measure next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import degrees
from pathlib import Path
from typing import Any

from pourwright.core.errors import StudioError
from pourwright.core.findings import Finding, Level
from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.machine_proposal import proposal_text, proposals_of, write_proposal
from pourwright.doors.service.machine_readings import readings_of
from pourwright.physics.spin.arm import speed_rpm
from pourwright.physics.spin.fitting import ArmFit, fit_arm
from pourwright.physics.spin.next_reading import (
    EnergyCheck,
    NextReading,
    OneCurve,
    energy_check,
    next_readings,
    one_curve,
)
from pourwright.physics.spin.readings import ArmReadings, opening_by_parts_rad
from pourwright.studio.measurement_reading import read_measurements
from pourwright.studio.measurements import ArmMeasurements

# Windings that the peak is stated for.
TURNS = (2.0, 3.0, 4.0)
# Two values further apart than this many standard errors do not belong together (one chance in a hundred).
_APART_SIGMAS = 2.58
# Readings that scatter this many times as much as they may are no scatter but a slip; our judgement, no source.
_LOST_RATIO = 4.0
# How far the true opening angle is from the one under a constant torque, found by following the two bodies in time.
_OPENING_MODEL_DEG = 1.5
_PARTS_DEG = 2.0


@dataclass(frozen=True)
class MachineFitAnswer:
    """A fitted machine with its peaks, checks and next readings; the fit is None if findings stop it."""

    findings: tuple[Finding, ...]
    measured: ArmMeasurements | None = None
    fit: ArmFit | None = None
    peaks: tuple[Interval, ...] = ()
    further: tuple[NextReading, ...] = ()
    energy: EnergyCheck | None = None
    curve: OneCurve | None = None
    opens_deg: float | None = None
    opens_by_parts_deg: float | None = None
    proposal: Path | None = None


def fit_machine_file(path: Path, out: Path | None = None) -> MachineFitAnswer:
    """Fit the machine that a file of measurements is about.

    Parameters
    ----------
    path : Path
        The measurements.
    out : Path, optional
        Where the proposal goes; otherwise beside the measurements. Never into ``calibration.toml``: a person accepts.

    Returns
    -------
    MachineFitAnswer
        With all that is wrong with the file at once, or the fit.
    """
    measured, found = read_measurements(path)
    if measured is None:
        return MachineFitAnswer(found)
    target = out or path.with_name(f"{path.stem}-proposal.toml")
    readings = readings_of(measured)
    fit = _fit(readings)
    if fit is None:
        lost = Finding("doors.fit-lost", Level.STOP, path.name, {"file": path.name})
        return MachineFitAnswer((*found, lost), measured)
    answer = _checked(MachineFitAnswer((), measured, fit), readings)
    proposed = proposals_of(measured, fit)
    findings = [*found, *_findings(answer, path.name)]
    if not proposed:
        findings.append(Finding("doors.fit-nothing", Level.LOOK, path.name, {}))
        return replace(answer, findings=tuple(findings))
    refused = write_proposal(target, proposal_text(measured, proposed, path.name))
    return replace(answer, findings=(*findings, *refused), proposal=None if refused else target)


def _fit(readings: ArmReadings) -> ArmFit | None:
    """Return the fit, or None where no arm is anywhere near the readings."""
    try:
        fit = fit_arm(readings)
    except (ValueError, ArithmeticError):
        return None
    return fit if fit.misfit_ratio < _LOST_RATIO else None


def _checked(answer: MachineFitAnswer, readings: ArmReadings) -> MachineFitAnswer:
    fit = answer.fit
    if fit is None:
        raise StudioError(say("doors.fit-nothing.what"))
    opened = [one.opens_rad for one in readings.spins if one.opens_rad]
    by_parts = opening_by_parts_rad(readings)
    weighed = readings.parts and any(one.peak for one in readings.spins)
    return replace(
        answer,
        peaks=tuple(fit.peak(one) for one in TURNS),
        further=tuple(next_readings(fit, TURNS)),
        energy=energy_check(fit, fit_arm(replace(readings, parts=()))) if weighed else None,
        curve=one_curve(fit),
        opens_deg=degrees(sum(opened) / len(opened)) if opened else None,
        opens_by_parts_deg=degrees(by_parts) if by_parts else None,
    )


def _findings(answer: MachineFitAnswer, where: str) -> list[Finding]:
    fit, found = answer.fit, []
    if fit and fit.misfit_ratio > 1:
        found.append(Finding("doors.fit-apart", Level.LOOK, where, {"ratio": f"{fit.misfit_ratio:.1f}"}))
    if answer.energy and answer.energy.apart_ratio > _APART_SIGMAS:
        params = {
            "energy": show(answer.energy.energy_kg_m2, "kg_m2"),
            "weights": show(answer.energy.weights_kg_m2, "kg_m2"),
        }
        found.append(Finding("doors.fit-energy", Level.LOOK, where, params))
    if answer.curve and not answer.curve.holds:
        params = {"turns": show(answer.curve.worst_turns, "turns"), "off": f"{answer.curve.worst_frac:+.1%}"}
        found.append(Finding("doors.fit-curve", Level.LOOK, where, params))
    return found + _hinge_findings(answer, where)


def _hinge_findings(answer: MachineFitAnswer, where: str) -> list[Finding]:
    seen, parts = answer.opens_deg, answer.opens_by_parts_deg
    if answer.fit is None or seen is None or parts is None:
        return []
    count = sum(1 for one in answer.fit.readings.spins if one.opens_rad)
    read_deg = degrees(answer.fit.readings.errors.opens_rad) / count**0.5
    allowed_deg = _OPENING_MODEL_DEG + _APART_SIGMAS * (read_deg**2 + _PARTS_DEG**2) ** 0.5
    if abs(seen - parts) <= allowed_deg:
        return []
    params = {"seen": show(seen, "deg"), "parts": show(parts, "deg")}
    return [Finding("doors.fit-hinge", Level.LOOK, where, params)]


def as_json(answer: MachineFitAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values; without a fit the same keys, empty."""
    fit, measured = answer.fit, answer.measured
    return {
        "machine": measured.machine if measured else None,
        "parameters": [_parameter(fit, name) for name in fit.names] if fit else [],
        "peaks": [_peak(turns, one) for turns, one in zip(TURNS, answer.peaks, strict=False)],
        "speed_friction_identified": bool(fit) and "viscous_Nms" in fit.names if fit else None,
        "misfit_ratio": round(fit.misfit_ratio, 2) if fit else None,
        "one_curve": answer.curve.holds if answer.curve else None,
        "energy_inertia_kg_m2": round(answer.energy.energy_kg_m2, 5) if answer.energy else None,
        "weighed_inertia_kg_m2": round(answer.energy.weights_kg_m2, 5) if answer.energy else None,
        "opens_deg": round(answer.opens_deg, 1) if answer.opens_deg is not None else None,
        "opens_by_parts_deg": round(answer.opens_by_parts_deg, 1) if answer.opens_by_parts_deg is not None else None,
        "next": [
            {
                "what": one.what,
                "turns": one.turns_turns or None,
                "peak_now_frac": round(one.peak_now_frac, 4),
                "peak_then_frac": round(one.peak_then_frac, 4),
            }
            for one in answer.further
        ],
        "proposal": str(answer.proposal) if answer.proposal else None,
        "findings": [one.as_json() for one in answer.findings],
    }


def _parameter(fit: ArmFit, name: str) -> dict[str, Any]:
    found = fit.interval(name)
    ends = {key: float(f"{getattr(found, key):.4g}") for key in ("best", "low", "high")}
    return {"name": name, **ends, "unit": found.unit, "measured": fit.is_measured(name)}


def _peak(turns_turns: float, found: Interval) -> dict[str, Any]:
    ends = {f"{key}_rpm": round(speed_rpm(getattr(found, key)), 1) for key in ("best", "low", "high")}
    return {"turns": turns_turns, **ends}
