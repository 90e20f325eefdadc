"""The flow between crucible, sprue and tanks over time, from the tables of their floods."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.floods import Flood
from pourwright.physics.fill.force import Force, force_over
from pourwright.physics.fill.problem import Drive, FillProblem, Floats, Gate, MouldWall
from pourwright.physics.fill.results import FlowHistory, MassBook

# Rows of a history at most; a run of ten seconds takes some three thousand.
_MOST_ROWS = 40_000
# A flow that stood still for so long, with nothing on its way, has ended.
_PATIENCE_S = 0.5


@dataclass(frozen=True, eq=False)
class Flow:
    """A run of the network.

    Parameters
    ----------
    history : FlowHistory
        What a reader wants of it.
    book : MassBook
        Where the metal is at its end.
    surface_J_kg : array, shape (m,)
        Work that the pull does on a kilogram on its way from the middle of the hinge to the sprue's surface [J/kg].
    surface_m : array, shape (m,)
        Place of that surface along the arm [m].
    force : Force
        The pull at each moment.
    """

    history: FlowHistory
    book: MassBook
    surface_J_kg: Floats
    surface_m: Floats
    force: Force


def run_flow(problem: FillProblem, floods: Sequence[Flood]) -> Flow:
    """Follow the metal from the crucible through the sprue into the tanks.

    Parameters
    ----------
    problem : FillProblem
        What drives and what hinders it.
    floods : sequence of Flood
        How each tank fills.

    Notes
    -----
    Quasi-steady: each gate passes what head, gas and surface leave it at that moment; only the column in the crucible's
    mouth has inertia. Metal falls from the mouth down the sprue as free parcels. Midpoint rule in time; metal is moved
    in lumps, so the books close to rounding.
    """
    from pourwright.physics.fill.flow import _kernels

    supply, drive = problem.supply, problem.drive
    tanks = len(floods)
    rows, by_tank = np.empty((5, _MOST_ROWS)), np.empty((3, _MOST_ROWS, tanks))
    mouth_m2 = supply.discharge_ratio * supply.mouth_m2
    count, flying_m3 = _kernels.run(
        drive.time_s, _table(drive), drive.gravity_m_s2, _hold(problem, floods), _gates(problem), _sprue(problem),
        (problem.melt.density_kg_m3, problem.mould.ambient_Pa, soak_m2_s(problem.mould), np.full(tanks, inf)),
        (supply.volume_m3, supply.full_m, supply.empty_m, supply.mouth_m, mouth_m2),
        supply.column_m * supply.discharge_ratio, tan(supply.lip_rad), _control(problem), rows, by_tank,
    )  # fmt: skip
    time_s, crucible_m3, mouth_m3_s, surface_J_kg, surface_m = rows[:, :count].copy()
    volume_m3, head_Pa, gas_Pa = by_tank[:, :count].copy()
    history = FlowHistory(time_s, crucible_m3, mouth_m3_s, volume_m3, head_Pa, gas_Pa)
    book = MassBook(supply.volume_m3, float(crucible_m3[-1]), float(flying_m3), float(volume_m3[-1].sum()))
    return Flow(history, book, surface_J_kg, surface_m, force_over(drive, time_s))


def _at_speed_s(drive: Drive) -> float:
    """Return when the drive is strongest [s]: a stream that stands before then may go on."""
    return float(drive.time_s[np.argmax(drive.along_m_s2 + drive.turning_rad_s**2 + drive.push_Pa)])


def _table(drive: Drive) -> Floats:
    return np.column_stack(
        [drive.along_m_s2, drive.across_m_s2, drive.turning_rad_s, drive.turning_rad_s2, drive.push_Pa]
    )


def soak_m2_s(mould: MouldWall) -> float:
    """Return how fast the depth to which gas has soaked grows, squared [m**2/s]; below 0 where no gas is stored.

    Gas in pores spreads as heat does: the flow into a deep wall is that through a wall as thick as the root of pi times
    diffusivity times time, with a diffusivity of permeability times pressure over viscosity times porosity.

    References
    ----------
    Own derivation from Darcy's law and the isothermal gas law, linear about the ambient pressure, which is the least
    there is: the flow is rather more.
    """
    if mould.porosity_frac <= 0 or not mould.permeability_m2 < inf:
        return -1.0
    return pi * mould.permeability_m2 * mould.ambient_Pa / (mould.gas_viscosity_Pa_s * mould.porosity_frac)


def spread_m(mould: MouldWall, dry_m2: Floats) -> Floats:
    """Return area over thickness of the way that gas takes to all sides from dry walls [m], where pores store it.

    Parameters
    ----------
    mould : MouldWall
        Without pores there is no such way.
    dry_m2 : array
        Dry wall that hangs together [m**2].

    Notes
    -----
    What leaves a body into an endless medium is, beside the soaking into its skin, as much as through a wall of area
    over thickness of ``2 * sqrt(pi * area)``: exact for a ball, within a tenth for other compact bodies. From memory
    (Yovanovich, shape factors of isothermal bodies).
    """
    return np.asarray(2 * np.sqrt(pi * dry_m2)) if soak_m2_s(mould) > 0 else np.zeros_like(dry_m2)


def _hold(problem: FillProblem, floods: Sequence[Flood]) -> tuple[Floats, ...]:
    """Return full volumes and, by step, places of the levels, ways out for gas, and the pressure to enter."""
    mould = problem.mould
    passing = mould.permeability_m2 / mould.gas_viscosity_Pa_s
    outlet_m, dry_m2 = np.stack([one.outlet_m for one in floods]), np.stack([one.dry_m2 for one in floods])
    return (
        np.array([one.full_m3 for one in floods]),
        np.stack([one.crest_m for one in floods]),
        np.full_like(outlet_m, inf) if passing == inf else passing * outlet_m,
        np.zeros_like(outlet_m) if passing == inf else passing * dry_m2,
        np.zeros_like(outlet_m) if passing == inf else passing * spread_m(mould, dry_m2),
        problem.melt.shy_N_m * np.stack([one.narrow_per_m for one in floods]),
    )


def _control(problem: FillProblem) -> tuple[float, float, float, float, float]:
    control = problem.control
    at_speed_s = _at_speed_s(problem.drive)
    return control.step_max_s, control.share_max_frac, control.time_limit_s, _PATIENCE_S, at_speed_s


def _gates(problem: FillProblem) -> tuple[NDArray[np.int64], Floats, Floats, Floats]:
    """Return tank, place, discharge area and the pressure of entry of each open gate."""
    chosen = [one for one in problem.gates if not one.shut]
    tank = np.array([one.tank for one in chosen], dtype=np.int64)
    place = np.array([one.place_m for one in chosen], dtype=np.float64).reshape(-1, 3)
    conduct = np.array([discharge_m2(one, problem.sprue.friction_ratio) for one in chosen])
    shy_Pa = np.array([problem.melt.shy_N_m * 2 * sqrt(pi / one.area_m2) for one in chosen])
    return tank, place, conduct, shy_Pa


def discharge_m2(gate: Gate, friction_ratio: float) -> float:
    """Return the section with which a gate passes the ideal flow [m**2]: its mouth and its friction one after another.

    Parameters
    ----------
    gate : Gate
        Which.
    friction_ratio : float
        Loss for each diameter of length, in heads of the speed.
    """
    diameter_m = sqrt(4 * gate.area_m2 / pi)
    loss_ratio = 1 / gate.discharge_ratio**2 + friction_ratio * gate.length_m / diameter_m
    return gate.area_m2 / sqrt(loss_ratio)


def _sprue(problem: FillProblem) -> tuple[float, float, float]:
    one = problem.sprue
    return one.area_m2, one.entry_ratio, one.friction_ratio / one.diameter_m
