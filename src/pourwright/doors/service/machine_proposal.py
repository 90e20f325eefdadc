"""The proposal: entries in the form of ``calibration.toml``, fitted but accepted by nobody."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import SUFFIXES
from pourwright.physics.spin.fitting import NINETY, ArmFit
from pourwright.studio.measurements import ArmMeasurements

_PROPOSED = {
    "torque_start_Nm": "spring.torque_start",
    "torque_rate_Nm_turn": "spring.torque_rate",
    "friction_frac": "spring.friction",
    "inertia_kg_m2": "spring.inertia",
    "dry_Nm": "arm.friction_dry",
    "viscous_Nms": "arm.friction_speed",
    "air_Nms2": "arm.friction_air",
}
_TYPED = {"Nm": "N.m", "Nm_turn": "N.m/turn", "kg_m2": "kg.m2", "Nms": "N.m.s", "Nms2": "N.m.s2"}
_PERCENT, _DIGITS, _MM_M = 100, 4, 1000
_CALIBRATION = "calibration.toml"


@dataclass(frozen=True)
class Proposal:
    """One entry: a quantity with its range, in the typed unit beside it."""

    quantity: str
    unit: str
    ends: Mapping[str, object]
    method: str


def proposals_of(measured: ArmMeasurements, fit: ArmFit) -> list[Proposal]:
    """Return an entry for each quantity that the readings speak of; what they leave open is not proposed."""
    fitted = [_fitted(fit, name, quantity) for name, quantity in _PROPOSED.items() if fit.is_measured(name)]
    return fitted + _lengths(measured, fit)


def _fitted(fit: ArmFit, name: str, quantity: str) -> Proposal:
    found = fit.interval(name)
    share = _PERCENT if found.unit == "frac" else 1
    unit = "%" if found.unit == "frac" else _TYPED.get(found.unit, SUFFIXES[found.unit])
    ends = {"value": found.best * share, "low": found.low * share, "high": found.high * share}
    return Proposal(quantity, unit, ends, say("doors.fit-method"))


def _lengths(measured: ArmMeasurements, fit: ArmFit) -> list[Proposal]:
    """Return what was measured as it is: the hinge's place and the bare outer arm."""
    errors, found = fit.readings.errors, []
    tape_mm = NINETY * errors.radius_m * _MM_M
    if measured.hinge_radius_mm:
        found.append(_plain("arm.hinge_radius", "mm", measured.hinge_radius_mm.value, tape_mm))
    for one in measured.parts:
        if one.bare_outer:
            weighing = NINETY * errors.mass_frac * one.mass_kg.value
            found.append(_plain("arm.outer_mass", "kg", one.mass_kg.value, weighing))
            found.append(_plain("arm.outer_radius", "mm", one.radius_mm.value, tape_mm))
    return found


def _plain(quantity: str, unit: str, value: object, reach: object) -> Proposal:
    best, off = np.float64(value), np.float64(reach)  # type: ignore[arg-type]
    return Proposal(quantity, unit, {"value": best, "low": best - off, "high": best + off}, say("doors.fit-direct"))


def proposal_text(measured: ArmMeasurements, proposed: list[Proposal], source: str) -> str:
    """Return the proposal as TOML: a file that can be read as it is, and pasted."""
    head = [f"# {line}" for line in say("doors.fit-proposal-head", file=source).split("\n")]
    return "\n".join([*head, "", "format = 1", *(_entry(measured, one) for one in proposed)]) + "\n"


def _entry(measured: ArmMeasurements, one: Proposal) -> str:
    texts = {"quantity": one.quantity, "subject": measured.machine}
    texts |= {key: f"{_plain_digits(value)} {one.unit}" for key, value in one.ends.items()}
    texts |= {"method": one.method, "evidence": measured.evidence, "fitted_by": measured.measured_by}
    rows = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in texts.items()]
    return "\n".join(["", "[[quantity]]", *rows])


def _plain_digits(value: object) -> str:
    number = np.float64(value)  # type: ignore[arg-type]
    return np.format_float_positional(number, precision=_DIGITS, fractional=False, trim="-")


def write_proposal(target: Path, content: str) -> tuple[Finding, ...]:
    """Write the proposal, unless it would install itself or take the place of one that a person has signed."""
    params = {"file": target.name, "folder": str(target.parent)}
    if target.name == _CALIBRATION:
        return (Finding("doors.fit-installs", Level.STOP, target.name, params),)
    if _is_signed(target):
        return (Finding("doors.fit-signed", Level.STOP, target.name, params),)
    try:
        target.write_text(content, "utf-8")
    except OSError as refused:
        reason = refused.strerror or type(refused).__name__
        return (Finding("doors.fit-unwritten", Level.STOP, target.name, {**params, "reason": reason}),)
    return ()


def _is_signed(target: Path) -> bool:
    try:
        rows = tomllib.loads(target.read_text("utf-8")).get("quantity", [])
    except (OSError, ValueError):
        return False
    return isinstance(rows, list) and any(isinstance(row, dict) and row.get("accepted_by") for row in rows)
