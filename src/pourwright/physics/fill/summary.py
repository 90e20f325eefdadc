"""What a filling run means for each tank, and where the turning presses the stream to one side."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.flow.network import Flow, discharge_m2
from pourwright.physics.fill.force import Force, depth_J_kg
from pourwright.physics.fill.problem import SPRUE_TANK, FillProblem, Floats, Gate
from pourwright.physics.fill.results import TankFill
from pourwright.physics.fill.ways import Ways

# A gate is on a side of the sprue if it leaves so far from its middle, in sprue widths.
_ASIDE_FRAC = 0.15
# A stream is pressed aside where the turning deflects it at least this much against the pull along the arm, it leaves
# at least this share of its way empty, and the way is at least so many voxels wide. Own judgement, no source.
_DEFLECTED_RATIO, _EMPTY_FRAC, _WIDE_SIDES = 0.5, 0.3, 3.0


def sum_up(problem: FillProblem, flow: Flow, arrival_s: Floats, temp_K: Floats) -> tuple[TankFill, ...]:
    """Return how each tank filled.

    Parameters
    ----------
    problem : FillProblem
        What was filled.
    flow : Flow
        Of the last pass.
    arrival_s, temp_K : array, shape (n,)
        When metal filled each voxel [s], NaN for never, and how warm it was [K].
    """
    return tuple(_tank(problem, flow, tank, arrival_s, temp_K) for tank in range(len(problem.cavity.names)))


def _tank(problem: FillProblem, flow: Flow, tank: int, arrival_s: Floats, temp_K: Floats) -> TankFill:
    cavity, history = problem.cavity, flow.history
    mine = cavity.tank == tank
    came = mine & np.isfinite(arrival_s)
    nan = float("nan")
    running = np.diff(history.volume_m3[:, tank], append=history.volume_m3[-1, tank]) > 0
    gates = [one for one in problem.gates if one.tank == tank and not one.shut]
    speed_m_s, weber, reynolds = _speed(problem, flow, tank, gates)
    return TankFill(
        name=cavity.names[tank],
        volume_m3=float(cavity.volume_m3[mine].sum()),
        filled_m3=float(cavity.volume_m3[came].sum()),
        first_s=float(arrival_s[came].min()) if came.any() else nan,
        last_s=float(arrival_s[came].max()) if came.any() else nan,
        coldest_K=float(temp_K[came].min()) if came.any() else nan,
        head_Pa=float(history.head_Pa[running, tank].max()) if running.any() else 0.0,
        gas_Pa=float(history.gas_Pa[running, tank].max()) if running.any() else 0.0,
        speed_m_s=speed_m_s,
        weber_ratio=weber,
        trailing=any(_is_trailing(problem, one) for one in gates),
        reynolds_ratio=reynolds,
    )


def _speed(problem: FillProblem, flow: Flow, tank: int, gates: list[Gate]) -> tuple[float, float, float]:
    """Return the fastest flow through a tank's gates [m/s] (the sprue's: its mouth), its Weber and Reynolds number."""
    melt, history = problem.melt, flow.history
    if tank == SPRUE_TANK:
        area_m2 = problem.supply.mouth_m2
        fastest = float(history.mouth_m3_s.max()) / area_m2
    elif gates:
        area_m2 = sum(one.area_m2 for one in gates)
        gained = np.diff(history.volume_m3[:, tank]) / np.diff(history.time_s)
        fastest = float(gained.max(initial=0.0)) / area_m2
        area_m2 /= len(gates)
    else:
        return 0.0, 0.0, 0.0
    width_m = sqrt(4 * area_m2 / pi)
    momentum = melt.density_kg_m3 * fastest * width_m
    return fastest, momentum * fastest / melt.surface_tension_N_m, momentum / melt.viscosity_Pa_s


def _is_trailing(problem: FillProblem, gate: Gate) -> bool:
    """Return whether a gate leaves the sprue on the side to which the turning presses the stream."""
    if not np.any(problem.drive.turning_rad_s > 0):
        return False
    return bool(gate.place_m[1] - _axis_across_m(problem) < -_ASIDE_FRAC * problem.sprue.diameter_m)


def _axis_across_m(problem: FillProblem) -> float:
    """Return where the middle of the sprue is across the arm [m]."""
    return float(problem.cavity.place_m[problem.cavity.tank == SPRUE_TANK, 1].mean())


def find_leading(
    problem: FillProblem, ways: Ways, flow: Flow, arrival_s: Floats, flow_m3_s: Floats
) -> NDArray[np.bool_]:
    """Return the voxels on the leading side of ways that the stream does not fill at first, shape (n,).

    Parameters
    ----------
    problem : FillProblem
        What was filled.
    ways : Ways
        Its ways.
    flow : Flow
        Of the last pass.
    arrival_s, flow_m3_s : array, shape (n,)
        When metal filled each voxel [s] and the flow into its tank then [m**3/s].

    Notes
    -----
    A stream that runs outward at a speed ``v`` on a part turning at ``w`` is pushed to the trailing side by ``2 w v``
    for each kilogram. In a full way this only tilts the pressure.
    """
    found = np.zeros(problem.cavity.count, np.bool_)
    for tank, laid in enumerate(ways.tanks):
        if len(laid.order):
            found[laid.order] = _leading_of(problem, ways, flow, tank, arrival_s, flow_m3_s)
    return found


def _leading_of(
    problem: FillProblem, ways: Ways, flow: Flow, tank: int, arrival_s: Floats, flow_m3_s: Floats
) -> NDArray[np.bool_]:
    laid, cavity = ways.tanks[tank], problem.cavity
    order, here = laid.order, ways.section[laid.order]
    across_m = cavity.place_m[order, 1]
    aside_m, wide_m = _aside_m(across_m, here, len(laid.area_m2))
    rows = np.searchsorted(flow.history.time_s, arrival_s[order]).clip(0, len(flow.force) - 1)
    force = flow.force.chosen(rows)
    speed_m_s = _stream_m_s(problem, tank, force, cavity.place_m[order], flow_m3_s[order])
    filled = flow_m3_s[order] * laid.share_frac[here] / np.maximum(speed_m_s * laid.area_m2[here], 1e-30)
    pull_m_s2 = force.along_m_s2 + force.turning_rad_s**2 * cavity.place_m[order, 0]
    deflected = 2 * force.turning_rad_s * speed_m_s > _DEFLECTED_RATIO * np.abs(pull_m_s2)
    wide = wide_m[here] >= _WIDE_SIDES * cavity.side_m
    return np.asarray(wide & deflected & (filled < 1 - _EMPTY_FRAC) & (aside_m > 0.25 * wide_m[here]))


def _aside_m(across_m: Floats, section: NDArray[np.int32], count: int) -> tuple[Floats, Floats]:
    """Return how far each voxel lies to the leading side of the middle of its section, and how wide each section is."""
    high, low = np.full(count, -np.inf), np.full(count, np.inf)
    np.maximum.at(high, section, across_m)
    np.minimum.at(low, section, across_m)
    return across_m - ((high + low) / 2)[section], high - low


def _stream_m_s(problem: FillProblem, tank: int, force: Force, place_m: Floats, flow_m3_s: Floats) -> Floats:
    """Return the speed of the free stream at places [m/s]: falling in the sprue, as it left its gates in a tank."""
    if tank == SPRUE_TANK:
        fallen = depth_J_kg(force, place_m) - depth_J_kg(force, problem.supply.mouth_m)
        left_m_s = flow_m3_s / (problem.supply.discharge_ratio * problem.supply.mouth_m2)
        return np.asarray(np.sqrt(np.maximum(2 * fallen, 0) + left_m_s**2))
    gates_m2 = sum(discharge_m2(one, problem.sprue.friction_ratio) for one in problem.gates if one.tank == tank)
    return np.asarray(flow_m3_s / gates_m2)
