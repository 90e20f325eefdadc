"""The forces on the hinged arm and the rates of its motion, for one moment or for many at once."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import cos, inf, pi, sin
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.spin import spring
from pourwright.physics.spin.history import HingedArm

Floats = NDArray[np.float64]
State = NDArray[Any]  # of mixed units: angle, speed, hinge angle, hinge rate, work of friction


class Hinge(Enum):
    """Whether a stop holds the hinge, and which."""

    COCKED = "cocked"
    FREE = "free"
    STRAIGHT = "straight"


@dataclass(frozen=True)
class Phase:
    """A part of a throw in which the motion is smooth: what holds the hinge, and whether the spring still drives."""

    arm: HingedArm
    turns_turns: float
    hinge: Hinge
    driven: bool


def _friction_Nm(arm: HingedArm, speed_rad_s: Any) -> Any:
    return arm.dry_Nm + arm.viscous_Nms * speed_rad_s + arm.air_Nms2 * speed_rad_s**2


def _spring_Nm(phase: Phase, angle_rad: Any) -> Any:
    arm = phase.arm
    left = phase.turns_turns - angle_rad / (2 * pi)
    return spring.torque_Nm(arm.torque_start_Nm, arm.torque_rate_Nm_turn, left) if phase.driven else 0.0


def torque_Nm(phase: Phase, angle_rad: Any, speed_rad_s: Any) -> Any:
    """Return the torque on the shaft: the spring's, less its own loss, less friction."""
    driving = (1 - phase.arm.spring_loss_frac) * _spring_Nm(phase, angle_rad)
    return driving - _friction_Nm(phase.arm, speed_rad_s)


def pull_of_stop_Nm(phase: Phase, state: State) -> float:
    """Return how hard the stop that holds the hinge would have to pull [N*m]; positive: it has to let go."""
    angle, speed, hinge = state[0], state[1], state[2]
    arm, outward = phase.arm, -1.0 if phase.hinge is Hinge.COCKED else 1.0
    speedup = torque_Nm(phase, angle, speed) / arm.whole_kg_m2(hinge)
    mixed = arm.outer_kg_m2 + arm.coupling_kg_m2 * cos(hinge)
    return float(outward * (mixed * speedup + arm.coupling_kg_m2 * sin(hinge) * speed**2))


def motion(phase: Phase, state: State) -> tuple[float, ...]:
    """Return the rates of a state: speed, its rate, hinge rate, its rate, and the power that friction takes."""
    angle, speed, hinge, swing, _ = state.tolist()
    speedup, swing_up = accelerations(phase, angle, speed, swing, cos(hinge), sin(hinge))
    lost = _friction_Nm(phase.arm, speed) + phase.arm.spring_loss_frac * _spring_Nm(phase, angle)
    return speed, speedup, swing, swing_up, lost * speed


def accelerations(phase: Phase, angle: Any, speed: Any, swing: Any, cos_hinge: Any, sin_hinge: Any) -> tuple[Any, Any]:
    """Return the inner arm's and the hinge's angular acceleration, for numbers or arrays."""
    arm, coupling = phase.arm, phase.arm.coupling_kg_m2
    outer = arm.outer_kg_m2
    whole = arm.folded_kg_m2(cos_hinge)
    torque = torque_Nm(phase, angle, speed)
    if phase.hinge is not Hinge.FREE:
        return torque / whole, 0 * torque
    mixed = outer + coupling * cos_hinge
    first = torque + coupling * sin_hinge * swing * (2 * speed + swing)
    second = -coupling * sin_hinge * speed**2
    det = whole * outer - mixed**2
    return (first * outer - second * mixed) / det, (second * whole - first * mixed) / det


def given_J(arm: HingedArm, turns_turns: float, angle_rad: Floats) -> Floats:
    """Return what the spring has given [J] once the arm has turned by angles [rad], shape (n,)."""
    left = np.clip(turns_turns - angle_rad / (2 * pi), 0, inf)
    whole_J = spring.stored_energy_J(arm.torque_start_Nm, arm.torque_rate_Nm_turn, turns_turns)
    return np.asarray(whole_J - 2 * pi * left * (arm.torque_start_Nm + arm.torque_rate_Nm_turn * left / 2))


def kinetic_J(arm: HingedArm, speed_rad_s: Floats, hinge_rad: Floats, hinge_rad_s: Floats) -> Floats:
    """Return the energy of motion of both bodies [J] for speeds, hinge angles and hinge rates of shape (n,)."""
    cos_hinge = np.cos(hinge_rad)
    mixed = arm.outer_kg_m2 + arm.coupling_kg_m2 * cos_hinge
    turning = arm.folded_kg_m2(cos_hinge) * speed_rad_s**2 / 2 + mixed * speed_rad_s * hinge_rad_s
    return np.asarray(turning + arm.outer_kg_m2 * hinge_rad_s**2 / 2)
