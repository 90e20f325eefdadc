"""Other programs, asked while ``verify`` runs; each by the name in the row's ``oracle``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.doors.service.evidence import sums
from pourwright.doors.service.evidence.moulds import LAG_DIFFUSIVITY_MM2_S, LAG_STEP_K
from pourwright.prepare.mould.core_lag import WITHIN_K
from pourwright.shape.pattern.report import Mesh

_RINGS = 120


def _core_lag() -> float:
    """Return the lag of a 63.5 mm flask in minutes: heat stepped from ring to ring by a stiff solver."""
    from scipy.integrate import solve_ivp

    width_mm = 63.5 / 2 / _RINGS
    edges_mm = width_mm * np.arange(_RINGS + 1)
    # From the middle of a ring to the next, and half of that to the wall, which is at the new temperature.
    conductance = LAG_DIFFUSIVITY_MM2_S * 2 * pi * edges_mm[1:] / width_mm * np.r_[np.ones(_RINGS - 1), 2.0]
    content_mm2 = pi * np.diff(edges_mm**2)

    def flow(_: float, excess: NDArray[np.float64]) -> NDArray[np.float64]:
        outward = conductance * (excess - np.r_[excess[1:], 0.0])
        gain: NDArray[np.float64] = (np.r_[0.0, outward[:-1]] - outward) / content_mm2
        return gain

    def near(_: float, excess: NDArray[np.float64]) -> float:
        return float(excess[0]) - WITHIN_K / LAG_STEP_K

    near.terminal = True  # type: ignore[attr-defined]
    path: Any = solve_ivp(flow, (0.0, 1e5), np.ones(_RINGS), "BDF", events=near, rtol=1e-6, atol=1e-9)
    return float(path.t_events[0][0]) / 60.0


def _addition() -> float:
    """Return the least 999 silver that lifts 50 g of 900 to 925 in grams, by linear programming."""
    from scipy.optimize import linprog

    done: Any = linprog([1.0], A_eq=[[999.0 - 925.0]], b_eq=[50.0 * (925.0 - 900.0)])
    return float(done.x[0])


def _peak_speed() -> float:
    """Return the arm's speed in radians a second when the spring is run down, by stepping its motion through time."""
    from scipy.integrate import solve_ivp

    whole_rad = 2 * pi * sums.SPRING_TURNS

    def motion(_: float, state: NDArray[np.float64]) -> tuple[float, float]:
        left_turns = sums.SPRING_TURNS - state[0] / (2 * pi)
        torque_Nm = sums.SPRING_START_NM + sums.SPRING_RATE_NM_TURN * left_turns
        return float(state[1]), float(torque_Nm * (1 - sums.FRICTION_FRAC) / sums.ARM_KG_M2)

    def run_down(_: float, state: NDArray[np.float64]) -> float:
        return float(state[0]) - whole_rad

    run_down.terminal = True  # type: ignore[attr-defined]
    path: Any = solve_ivp(motion, (0.0, 60.0), (0.0, 0.0), "DOP853", events=run_down, rtol=1e-9, atol=1e-12)
    return float(path.y_events[0][0][1])


def _as_trimesh(mesh: Mesh) -> Any:
    import trimesh

    return trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)


ORACLES: Mapping[str, Callable[[], float]] = {
    "core_lag": _core_lag,
    "addition": _addition,
    "peak_speed": _peak_speed,
    "ring_volume": lambda: float(_as_trimesh(sums.ring()).volume),
    "ring_area": lambda: float(_as_trimesh(sums.ring()).area),
    "hollow_volume": lambda: float(_as_trimesh(sums.hollow_ball()).volume),
}
