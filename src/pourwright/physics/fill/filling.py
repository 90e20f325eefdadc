"""Filling a mould: floods, flow, arrival, heat; what stands still blocks, and the rest is flooded again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.checks import check
from pourwright.physics.fill.floods import Flood, Pull, flood_tank, pull_at
from pourwright.physics.fill.flow.network import Flow, depth_J_kg, field_over, force_m_s2, run_flow, soak_m2_s
from pourwright.physics.fill.problem import SPRUE_TANK, FillProblem, Floats, Whole
from pourwright.physics.fill.results import Fate, FillResult, Pocket
from pourwright.physics.fill.summary import find_leading, sum_up
from pourwright.physics.fill.ways import Ways, lay_again, lay_ways

# Looks at the direction of pull while each tank fills; the direction hardly moves after the second.
_MOST_LOOKS = 4


@dataclass(frozen=True, eq=False)
class _Metal:
    """What is known of every voxel, all shape (n,): NaN where no metal came."""

    arrival_s: Floats
    flow_m3_s: Floats
    touch_s: Floats
    temp_K: Floats
    solid_frac: Floats
    late_ratio: Floats
    pressed_Pa: Floats
    shy: NDArray[np.bool_]
    gas_held: NDArray[np.bool_]
    pocket: Whole
    pockets: tuple[Pocket, ...]


@dataclass(frozen=True, eq=False)
class _Pass:
    """One flood of everything that is open."""

    floods: tuple[Flood, ...]
    flow: Flow
    metal: _Metal
    pulls: tuple[Pull, ...]


def fill(problem: FillProblem, ways: Ways | None = None) -> FillResult:
    """Fill a mould.

    Parameters
    ----------
    problem : FillProblem
        The hollow and what drives, cools and hinders the metal.
    ways : Ways, optional
        The ways through the hollow, from :func:`pourwright.physics.fill.ways.lay_ways` with the same gates; laid here
        if not given. Orders of filling are kept in it, so that a second question about one tree is quick.

    Returns
    -------
    FillResult
        When and how each voxel filled.

    Raises
    ------
    SolverError
        The problem could only give a wrong number.

    Notes
    -----
    A reduced model: hydraulic order of filling, a network of tanks, heat along the ways. See docs/explanation/throw.md
    for what it leaves out.
    """
    check(problem)
    cavity = problem.cavity
    ways = ways or lay_ways(cavity, problem.gates)
    is_open = np.ones(cavity.count, np.bool_)
    fate = np.full(cavity.count, Fate.STARVED, np.uint8)
    stopped = _nothing(cavity.count)
    done, pulls, count = None, _first_pulls(problem), 0
    while count < problem.control.passes_most_count:
        done = _pass(problem, ways, pulls)
        pulls, count = done.pulls, count + 1
        why = _stops(problem, done.metal) * is_open
        new = why > 0
        if not new.any():
            break
        fate[new] = why[new]
        stopped = _keep(stopped, done.metal, new)
        is_open &= ~new
        ways = lay_again(ways, cavity, problem.gates, is_open, set(np.unique(cavity.tank[new]).tolist()))
    assert done is not None
    return _result(problem, ways, done, fate, stopped, is_open, count, settled=not new.any())


def _first_pulls(problem: FillProblem) -> tuple[Pull, ...]:
    """Return the pull on each tank when the drive is at its strongest: a first guess."""
    drive, cavity = problem.drive, problem.cavity
    field = field_over(drive, drive.time_s)
    middles_m = _middles_m(problem)
    row = int(np.argmax(np.linalg.norm(force_m_s2(field, middles_m[SPRUE_TANK]), axis=1)))
    chosen = field[[row]]
    turning = float(np.sqrt(chosen[0, 2]))
    return tuple(pull_at(force_m_s2(chosen, middles_m[tank])[0], turning) for tank in range(len(cavity.names)))


def _middles_m(problem: FillProblem) -> Floats:
    """Return the middle of each tank, shape (k, 3)."""
    cavity = problem.cavity
    count = np.maximum(np.bincount(cavity.tank, minlength=len(cavity.names)), 1)
    sums = [np.bincount(cavity.tank, axis, len(cavity.names)) for axis in cavity.place_m.T]
    return np.column_stack(sums) / count[:, None]


def _pass(problem: FillProblem, ways: Ways, pulls: tuple[Pull, ...]) -> _Pass:
    """Flood along the pull that there is while each tank fills, and follow metal and heat."""
    seen: set[tuple[Pull, ...]] = set()
    while True:
        floods = tuple(_flooded(problem, ways, tank, pull) for tank, pull in enumerate(pulls))
        flow = run_flow(problem, floods)
        met = _pulls_met(problem, flow, pulls)
        seen.add(pulls)
        if met in seen or len(seen) == _MOST_LOOKS:
            return _Pass(floods, flow, _metal(problem, ways, floods, flow), pulls)
        pulls = met


def _flooded(problem: FillProblem, ways: Ways, tank: int, pull: Pull) -> Flood:
    key = (tank, *pull.steps)
    if key not in ways.known:
        laid = ways.tanks[tank]
        ways.known[key] = flood_tank(problem.cavity, tank, laid.seeds, laid.order, pull)
    return ways.known[key]


def _pulls_met(problem: FillProblem, flow: Flow, pulls: tuple[Pull, ...]) -> tuple[Pull, ...]:
    """Return the mean pull on each tank while metal ran into it, by volume; the old one where none did."""
    middles_m, found = _middles_m(problem), []
    for tank, old in enumerate(pulls):
        gained = np.diff(np.maximum.accumulate(flow.history.volume_m3[:, tank]), prepend=0.0)
        if gained.sum() <= 0:
            found.append(old)
            continue
        weights = gained / gained.sum()
        force = weights @ force_m_s2(flow.field, middles_m[tank])
        found.append(pull_at(force, sqrt(float(weights @ flow.field[:, 2]))))
    return tuple(found)


# --- metal and heat ---------------------------------------------------------------------------------------------------


def _nothing(count: int) -> _Metal:
    def empty() -> Floats:
        return np.full(count, np.nan)

    no = np.zeros(count, np.bool_)
    return _Metal(empty(), np.zeros(count), empty(), empty(), empty(), empty(), np.full(count, -np.inf), no, no.copy(),
                  np.full(count, -1, np.int32), ())  # fmt: skip


def _metal(problem: FillProblem, ways: Ways, floods: tuple[Flood, ...], flow: Flow) -> _Metal:
    metal = _nothing(problem.cavity.count)
    for tank, flood in enumerate(floods):
        _arrive(metal, flood, flow, tank)
    pockets = [one for tank, flood in enumerate(floods) for one in _squeeze(problem, metal, flood, flow, tank)]
    pockets.sort(key=lambda one: -one.volume_m3)
    for number, one in enumerate(pockets):
        metal.pocket[one.voxels] = number
    _press(problem, metal, floods, flow)
    _carry_heat(problem, ways, metal)
    return replace(metal, pockets=tuple(pockets))


def _arrive(metal: _Metal, flood: Flood, flow: Flow, tank: int) -> None:
    """Write when the metal in a tank reaches each voxel of it, and the flow into the tank then."""
    history = flow.history
    held_m3 = np.maximum.accumulate(history.volume_m3[:, tank])
    if held_m3[-1] <= 0:
        return
    came = flood.filled_m3 <= held_m3[-1]
    when_s = np.interp(flood.filled_m3[came], held_m3, history.time_s)
    metal.arrival_s[flood.order[came]] = when_s
    gained_m3_s = np.append(np.diff(held_m3) / np.diff(history.time_s), 0.0)
    flow_m3_s = history.mouth_m3_s if tank == SPRUE_TANK else gained_m3_s
    row = np.clip(np.searchsorted(history.time_s, when_s, side="right") - 1, 0, len(flow_m3_s) - 1)
    metal.flow_m3_s[flood.order[came]] = flow_m3_s[row]


def _squeeze(problem: FillProblem, metal: _Metal, flood: Flood, flow: Flow, tank: int) -> list[Pocket]:
    """Hold metal off where gas is shut in, and return the pockets."""
    from pourwright.physics.fill import _kernels

    cavity, mould, found = problem.cavity, problem.mould, []
    passing = mould.permeability_m2 / mould.gas_viscosity_Pa_s
    for number, (shut, top) in enumerate(zip(flood.pocket_shut, flood.pocket_top, strict=True)):
        voxels = flood.order[flood.pocket == number]
        shut_s = float(metal.arrival_s[flood.order[shut]])
        if len(voxels) and np.isfinite(passing) and np.isfinite(shut_s):
            soaked_m2 = soak_m2_s(mould) * max(shut_s - float(np.nanmin(metal.arrival_s[flood.order])), 0.0)
            thick_m = np.minimum(cavity.vent_m, sqrt(soaked_m2)) if soaked_m2 > 0 else cavity.vent_m
            way_out = passing * cavity.wall_m2 / thick_m
            _kernels.squeeze(voxels, shut_s, cavity.place_m[top], flow.history.time_s, flow.field, flow.surface_J_kg,
                             problem.melt.density_kg_m3, cavity.volume_m3, way_out, mould.ambient_Pa,
                             metal.arrival_s, metal.gas_held)  # fmt: skip
        if len(voxels):
            last_s = float(np.max(metal.arrival_s[voxels]))
            found.append(
                Pocket(tank, voxels, cavity.place_m[top], float(cavity.volume_m3[voxels].sum()), shut_s, last_s)
            )
    return found


def _press(problem: FillProblem, metal: _Metal, floods: tuple[Flood, ...], flow: Flow) -> None:
    """Hold metal off where it is too narrow for the pressure there is."""
    from pourwright.physics.fill import _kernels

    cavity, melt = problem.cavity, problem.melt
    need_Pa = melt.shy_N_m / cavity.modulus_m
    came = np.isfinite(metal.arrival_s)
    for tank, flood in enumerate(floods):
        if not flood.full_m3 or tank == SPRUE_TANK:  # the sprue's metal has a free surface to end at
            continue
        own = depth_J_kg(flow.field, _crest_over(flood, flow.history.volume_m3[:, tank]))
        surface = np.minimum(own, flow.surface_J_kg)
        _kernels.wait_for_pressure(flood.order, cavity.place_m, need_Pa, flow.history.time_s, flow.field, surface,
                                   melt.density_kg_m3, metal.arrival_s, metal.pressed_Pa)  # fmt: skip
    metal.shy[came & np.isnan(metal.arrival_s)] = True


def _crest_over(flood: Flood, volume_m3: Floats) -> Floats:
    """Return the place that sets a tank's level, shape (m, 3), while it holds so much."""
    share = np.clip(volume_m3 / flood.full_m3, 0, 1) * (len(flood.crest_m) - 1)
    steps = np.arange(len(flood.crest_m))
    return np.column_stack([np.interp(share, steps, axis) for axis in flood.crest_m.T])


def _carry_heat(problem: FillProblem, ways: Ways, metal: _Metal) -> None:
    from pourwright.physics.fill import _kernels

    cavity, melt = problem.cavity, problem.melt
    law = (melt.temp_K, melt.enthalpy_J_m3, melt.solid_frac)
    wall = _wall(problem)
    poured = float(_along(melt.temp_K, melt.enthalpy_J_m3, melt.pour_K))
    heat, shut = np.full(cavity.count, poured), np.vstack([np.zeros(cavity.count), np.full(cavity.count, np.inf)])
    for tank, laid in enumerate(ways.tanks):
        if tank != SPRUE_TANK:
            _start_from_sprue(problem, tank, heat, shut, metal.arrival_s)
        _kernels.first_touch(laid.order, ways.before, metal.arrival_s, metal.touch_s)
        _kernels.march(laid.order, ways.before, ways.distance_m, ways.section, laid.area_m2,
                       laid.share_frac, cavity.modulus_m, metal.arrival_s, metal.flow_m3_s, metal.touch_s, wall, law,
                       heat, shut, metal.temp_K, metal.solid_frac, metal.late_ratio)  # fmt: skip


def _wall(problem: FillProblem) -> tuple[float, float, float, float, float]:
    """Return what the heat pass needs of the wall: contact, soaking up, temperatures, heat of metal at its solidus."""
    melt, mould = problem.melt, problem.mould
    effusivity = sqrt(mould.conductivity_W_mK * mould.heat_capacity_J_m3K)
    solid_heat = float(melt.enthalpy_J_m3[np.flatnonzero(melt.solid_frac >= 1.0)[-1]])
    return 1 / mould.contact_W_m2K, sqrt(pi) / effusivity, mould.temp_K, melt.liquidus_K, solid_heat


def _start_from_sprue(problem: FillProblem, tank: int, heat: Floats, shut: Floats, arrival_s: Floats) -> None:
    """Hand heat and time left over from the sprue to the gates of a tank."""
    cavity = problem.cavity
    sprue = np.flatnonzero((cavity.tank == SPRUE_TANK) & np.isfinite(arrival_s))
    if not len(sprue):
        return
    for gate in problem.gates:
        if gate.tank == tank and not gate.shut:
            near = sprue[np.argmin(((cavity.place_m[sprue] - gate.place_m) ** 2).sum(axis=1))]
            heat[gate.voxels] = heat[near]
            shut[:, gate.voxels] = shut[:, [near]]


def _along(knots: Floats, values: Floats, at: float) -> float:
    """Return a value between knots in a straight line, beyond them with the slope of the end."""
    low = int(np.clip(np.searchsorted(knots, at) - 1, 0, len(knots) - 2))
    return float(values[low] + (values[low + 1] - values[low]) * (at - knots[low]) / (knots[low + 1] - knots[low]))


# --- what stops -------------------------------------------------------------------------------------------------------


def _stops(problem: FillProblem, metal: _Metal) -> NDArray[np.uint8]:
    """Return for each voxel why metal stops there, a :class:`Fate`, or 0 where it does not."""
    why = np.zeros(len(metal.arrival_s), np.uint8)
    came = np.isfinite(metal.arrival_s)
    why[came & (metal.late_ratio >= 1)] = Fate.CLOSED
    why[came & (metal.late_ratio >= 1) & metal.gas_held] = Fate.GAS
    why[came & (metal.solid_frac >= problem.melt.stop_frac)] = Fate.FROZEN
    why[metal.shy] = Fate.SHY
    why[metal.gas_held & ~came & ~metal.shy] = Fate.GAS
    return why


def _keep(stopped: _Metal, now: _Metal, chosen: NDArray[np.bool_]) -> _Metal:
    """Return what is remembered of voxels where metal stopped, with new ones added."""
    names = ("temp_K", "solid_frac", "late_ratio", "pressed_Pa")
    return replace(stopped, **{one: np.where(chosen, getattr(now, one), getattr(stopped, one)) for one in names})


def _result(
    problem: FillProblem, ways: Ways, done: _Pass, fate: NDArray[np.uint8], stopped: _Metal,
    is_open: NDArray[np.bool_], count: int, settled: bool,
) -> FillResult:  # fmt: skip
    metal = _keep(done.metal, stopped, ~is_open)
    came = np.isfinite(metal.arrival_s) & is_open
    fate[came] = Fate.FILLED
    fate[is_open & ~came & ~np.isfinite(ways.distance_m)] = Fate.CUT_OFF
    need_Pa = problem.melt.shy_N_m / problem.cavity.modulus_m
    with np.errstate(divide="ignore", invalid="ignore"):
        shy = np.where(metal.pressed_Pa > 0, need_Pa / metal.pressed_Pa, np.where(need_Pa > 0, np.inf, 0.0))
    misrun = np.fmax(np.fmax(metal.solid_frac / problem.melt.stop_frac, metal.late_ratio), shy)
    misrun[is_open & ~came] = np.inf
    misrun[(fate == Fate.GAS) & ~(misrun >= 1)] = np.inf
    arrival_s = np.where(came, metal.arrival_s, np.nan)
    leading = find_leading(problem, ways, done.flow, arrival_s, metal.flow_m3_s) & came
    return FillResult(
        arrival_s, np.where(is_open & ~came, np.nan, metal.temp_K), np.where(is_open & ~came, np.nan, metal.solid_frac),
        misrun, fate, metal.pocket, leading, sum_up(problem, done.flow, arrival_s, metal.temp_K), metal.pockets,
        done.flow.history, done.flow.book, settled, count,
    )  # fmt: skip
