"""The metal on its way through the voxels: when it comes, what holds it off, and the heat that it has left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.floods import Flood
from pourwright.physics.fill.flow.network import Flow, soak_m2_s, spread_m
from pourwright.physics.fill.force import depth_J_kg
from pourwright.physics.fill.problem import SPRUE_TANK, Cavity, FillProblem, Floats, Whole
from pourwright.physics.fill.results import Pocket
from pourwright.physics.fill.ways import Ways


@dataclass(frozen=True, eq=False)
class Metal:
    """What is known of every voxel; arrays of shape (n,) that the passes write, NaN where no metal came.

    Parameters
    ----------
    arrival_s, touch_s : array
        When it is full, and when metal first passes it on its way on [s].
    flow_m3_s : array
        Flow into its tank when it is full [m**3/s].
    temp_K : array
        Of the metal that came [K].
    solid_frac : array
        Share of it that is solid.
    late_ratio : array
        Time of arrival against that until the way there is frozen.
    pressed_Pa : array
        Pressure of the metal on arrival, or the largest there was if it never entered [Pa].
    shy, gas_held : array of bool
        The pressure never sufficed; gas put the arrival off.
    pocket : array of int32
        Its pocket, -1 for none.
    pockets : tuple of Pocket
        Largest first.
    """

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


def nothing_known(count: int) -> Metal:
    """Return so many voxels of which nothing is known yet."""

    def empty() -> Floats:
        return np.full(count, np.nan)

    no = np.zeros(count, np.bool_)
    return Metal(empty(), np.zeros(count), empty(), empty(), empty(), empty(), np.full(count, -np.inf), no, no.copy(),
                  np.full(count, -1, np.int32), ())  # fmt: skip


def follow_metal(problem: FillProblem, ways: Ways, floods: Sequence[Flood], flow: Flow) -> Metal:
    """Follow the metal into every voxel.

    Parameters
    ----------
    problem : FillProblem
        What is filled.
    ways : Ways
        The ways through it.
    floods : sequence of Flood
        The order in which each tank fills.
    flow : Flow
        What runs into each tank, and when.
    """
    metal = nothing_known(problem.cavity.count)
    for tank, flood in enumerate(floods):
        _arrive(metal, flood, flow, tank)
    pockets = [one for tank, flood in enumerate(floods) for one in _squeeze(problem, metal, flood, flow, tank)]
    pockets.sort(key=lambda one: -one.volume_m3)
    for number, one in enumerate(pockets):
        metal.pocket[one.voxels] = number
    _press(problem, metal, floods, flow)
    _carry_heat(problem, ways, metal)
    return replace(metal, pockets=tuple(pockets))


def _arrive(metal: Metal, flood: Flood, flow: Flow, tank: int) -> None:
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


def _squeeze(problem: FillProblem, metal: Metal, flood: Flood, flow: Flow, tank: int) -> list[Pocket]:
    """Hold metal off where gas is shut in, and return the pockets."""
    cavity, found = problem.cavity, []
    for number, (shut, top) in enumerate(zip(flood.pocket_shut, flood.pocket_top, strict=True)):
        voxels, shut_s = flood.order[flood.pocket == number], float(metal.arrival_s[flood.order[shut]])
        if not len(voxels):
            continue
        if np.isfinite(shut_s) and np.isfinite(problem.mould.permeability_m2):
            since_s = shut_s - float(np.nanmin(metal.arrival_s[flood.order]))
            _squeeze_pocket(problem, metal, flow, voxels, top, shut_s, since_s)
        last_s, volume_m3 = float(np.max(metal.arrival_s[voxels])), float(cavity.volume_m3[voxels].sum())
        found.append(Pocket(tank, voxels, cavity.place_m[top], volume_m3, shut_s, last_s))
    return found


def _squeeze_pocket(
    problem: FillProblem, metal: Metal, flow: Flow, voxels: Whole, top: int, shut_s: float, since_s: float
) -> None:
    from pourwright.physics.fill import _kernels

    cavity, mould = problem.cavity, problem.mould
    soaked_m2 = soak_m2_s(mould) * since_s
    thick_m = np.minimum(cavity.vent_m, sqrt(soaked_m2)) if soaked_m2 > 0 else cavity.vent_m
    passing = mould.permeability_m2 / mould.gas_viscosity_Pa_s
    spread = passing * float(spread_m(mould, np.ones(1))[0])
    _kernels.squeeze(
        voxels, shut_s, cavity.place_m[top], flow.history.time_s, flow.force.packed(), flow.surface_J_kg,
        problem.melt.density_kg_m3, cavity.volume_m3, cavity.wall_m2, passing * cavity.wall_m2 / thick_m, spread,
        mould.ambient_Pa, metal.arrival_s, metal.gas_held,
    )  # fmt: skip


def _press(problem: FillProblem, metal: Metal, floods: Sequence[Flood], flow: Flow) -> None:
    """Hold metal off where it is too narrow for the pressure there is."""
    from pourwright.physics.fill import _kernels

    cavity, melt = problem.cavity, problem.melt
    need_Pa = melt.shy_N_m / cavity.modulus_m
    came, fields = np.isfinite(metal.arrival_s), flow.force.packed()
    for tank, flood in enumerate(floods):
        if not flood.full_m3 or tank == SPRUE_TANK:  # the sprue's metal has a free surface to end at
            continue
        own = depth_J_kg(flow.force, _crest_over(flood, flow.history.volume_m3[:, tank]))
        surface = np.minimum(own, flow.surface_J_kg)
        _kernels.wait_for_pressure(flood.order, cavity.place_m, need_Pa, flow.history.time_s, fields, surface,
                                   melt.density_kg_m3, metal.arrival_s, metal.pressed_Pa)  # fmt: skip
    metal.shy[came & np.isnan(metal.arrival_s)] = True


def _crest_over(flood: Flood, volume_m3: Floats) -> Floats:
    """Return the place that sets a tank's level, shape (m, 3), while it holds so much."""
    share = np.clip(volume_m3 / flood.full_m3, 0, 1) * (len(flood.crest_m) - 1)
    steps = np.arange(len(flood.crest_m))
    return np.column_stack([np.interp(share, steps, axis) for axis in flood.crest_m.T])


def _carry_heat(problem: FillProblem, ways: Ways, metal: Metal) -> None:
    from pourwright.physics.fill import _kernels

    cavity, melt = problem.cavity, problem.melt
    law = (melt.temp_K, melt.enthalpy_J_m3, melt.solid_frac)
    wall = _wall(problem)
    poured = float(_along(melt.temp_K, melt.enthalpy_J_m3, melt.pour_K))
    heat, shut = np.full(cavity.count, poured), np.vstack([np.zeros(cavity.count), np.full(cavity.count, np.inf)])
    poured_in = bool(np.isfinite(metal.arrival_s[cavity.tank == SPRUE_TANK]).any())
    for tank, laid in enumerate(ways.tanks):
        if tank != SPRUE_TANK and poured_in:
            _start_from_sprue(problem, tank, metal.arrival_s, heat, shut)
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


def _start_from_sprue(problem: FillProblem, tank: int, arrival_s: Floats, heat: Floats, shut: Floats) -> None:
    """Hand heat and time left over from the nearest filled voxel of the sprue to the gates of a tank."""
    for gate in problem.gates:
        if gate.tank == tank and not gate.shut:
            near = _nearest_filled(problem.cavity, gate.place_m, arrival_s)
            heat[gate.voxels] = heat[near]
            shut[:, gate.voxels] = shut[:, [near]]


def _nearest_filled(cavity: Cavity, place_m: Floats, arrival_s: Floats) -> int:
    """Return the voxel of the sprue nearest to a place that metal has filled; one near by if there is one."""
    sprue = np.flatnonzero((cavity.tank == SPRUE_TANK) & np.isfinite(arrival_s))
    beside = sprue[np.abs(cavity.place_m[sprue, 0] - place_m[0]) < 2 * cavity.side_m]
    sought = beside if len(beside) else sprue
    return int(sought[np.argmin(((cavity.place_m[sought] - place_m) ** 2).sum(axis=1))])


def _along(knots: Floats, values: Floats, at: float) -> float:
    """Return a value between knots in a straight line, beyond them with the slope of the end."""
    low = int(np.clip(np.searchsorted(knots, at) - 1, 0, len(knots) - 2))
    return float(values[low] + (values[low + 1] - values[low]) * (at - knots[low]) / (knots[low + 1] - knots[low]))
