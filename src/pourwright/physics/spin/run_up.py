"""How fast an arm gets and how it runs down, quickly enough to be fitted: by energy, without the hinge in time.

Held against the two bodies in time by tests/verification/test_machine_fit.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.spin.spring import torque_Nm

# Along the angle of the drive and along the speeds of the run-down; finer changes the sixth figure.
_STEPS, _RUN_DOWN_STEPS, _PASSES = 48, 240, 3


@dataclass(frozen=True)
class RunUp:
    """An arm as far as speeds alone can tell.

    Parameters
    ----------
    torque_start_Nm, torque_rate_Nm_turn : float
        Of the spring [N*m, N*m/turn].
    friction_frac : float
        Share of the torque that friction takes while winding, the shaft's own in it.
    inertia_kg_m2 : float
        Loaded and straight [kg*m**2].
    dry_Nm, viscous_Nms, air_Nms2 : float
        Friction at the shaft: constant [N*m], with the speed [N*m*s], with its square [N*m*s**2].
    blow_frac : float
        Share of the energy lost when the hinge meets its stop.
    """

    torque_start_Nm: float
    torque_rate_Nm_turn: float
    friction_frac: float
    inertia_kg_m2: float
    dry_Nm: float
    viscous_Nms: float = 0.0
    air_Nms2: float = 0.0
    blow_frac: float = 0.0


def peak_rad_s(arm: RunUp, turns_turns: float) -> float:
    """Return the speed at the end of the drive [rad/s]: the spring's energy less friction and blow.

    Friction depends on the speed, so the speed is found by going over the angle three times with that of before.
    """
    return sqrt(2 * net_energy_J(arm, turns_turns) / arm.inertia_kg_m2)


def net_energy_J(arm: RunUp, turns_turns: float) -> float:
    """Return what a winding [turn] leaves for the motion: spring less coils, shaft, air and blow [J]; never none."""
    angle = np.linspace(0, 2 * pi * turns_turns, _STEPS + 1)
    spring = arm.torque_start_Nm + arm.torque_rate_Nm_turn * (turns_turns - angle / (2 * pi))
    at_half_Nm = torque_Nm(arm.torque_start_Nm, arm.torque_rate_Nm_turn, turns_turns / 2)
    coils_frac = max(0.0, arm.friction_frac - arm.dry_Nm / at_half_Nm) if at_half_Nm > 0 else 0.0
    driving = (1 - coils_frac) * spring - arm.dry_Nm
    energy = _running_sum(driving, angle[1])
    for _ in range(_PASSES):
        speed = np.sqrt(2 * np.maximum(energy, 0) / arm.inertia_kg_m2)
        slowing = arm.viscous_Nms * speed + arm.air_Nms2 * speed**2
        energy = _running_sum(driving - slowing, angle[1])
    return max(float(energy[-1]) * (1 - arm.blow_frac), 1e-12)


def running_down_rad_s(arm: RunUp, start_rad_s: float, time_s: NDArray[Any]) -> NDArray[Any]:
    """Return the speed at times after a start speed, nothing driving [rad/s].

    Parameters
    ----------
    arm : RunUp
        Inertia and friction.
    start_rad_s : float
        Speed at time 0 [rad/s].
    time_s : array, shape (n,)
        [s].
    """
    speed = np.linspace(start_rad_s, 0, _RUN_DOWN_STEPS + 1)
    friction = arm.dry_Nm + arm.viscous_Nms * speed + arm.air_Nms2 * speed**2
    taken_s = _running_sum(arm.inertia_kg_m2 / friction, start_rad_s / _RUN_DOWN_STEPS)
    return np.asarray(np.interp(time_s, taken_s, speed))


def _running_sum(rate: NDArray[Any], step: Any) -> NDArray[Any]:
    """Return the area under a rate from its first point to each, by trapezia of one width."""
    return np.asarray(np.concatenate([[0.0], np.cumsum((rate[1:] + rate[:-1]) / 2)]) * step)
