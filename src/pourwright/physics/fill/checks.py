"""Refusing a filling problem that could only give a wrong number."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pourwright.core.errors import SolverError
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.physics.fill.problem import FillProblem

_ZERO_C_K = 273.15  # exact by definition


def check(problem: FillProblem) -> None:
    """Refuse a problem that could only give a wrong number.

    Raises
    ------
    SolverError
        Says what is wrong: the hollow, a gate, a temperature, a law, the drive, or the way time is cut.
    """
    for refusal in (*_wrong_hollow(problem), *_wrong_ways_in(problem), *_wrong_laws(problem), *_wrong_drive(problem)):
        raise SolverError(refusal)


def _wrong_hollow(problem: FillProblem) -> Iterator[str]:
    cavity = problem.cavity
    lists = (cavity.place_m, cavity.neighbours, cavity.volume_m3, cavity.wall_m2, cavity.modulus_m, cavity.vent_m)
    if not cavity.count or not len(cavity.inlet):
        yield say("physics.fill-no-hollow")
    elif any(len(one) != cavity.count for one in lists):
        yield say("physics.fill-lists-apart")
    else:
        least = min(cavity.volume_m3.min(), cavity.modulus_m.min(), cavity.vent_m.min(), cavity.side_m)
        if not least > 0 or cavity.wall_m2.min() < 0 or not all(np.all(np.isfinite(one)) for one in lists):
            yield say("physics.fill-hollow-positive")


def _wrong_ways_in(problem: FillProblem) -> Iterator[str]:
    supply = problem.supply
    if supply.volume_m3 <= 0 or supply.mouth_m2 <= 0:
        yield say("physics.fill-no-metal")
    if not 0 < supply.discharge_ratio <= 1 or any(not 0 < one.discharge_ratio <= 1 for one in problem.gates):
        yield say("physics.fill-discharge")
    for one in problem.gates:
        name = problem.cavity.names[one.tank] if 0 < one.tank < len(problem.cavity.names) else ""
        if not name or one.area_m2 <= 0 or np.any(problem.cavity.tank[one.voxels] != one.tank):
            yield say("physics.fill-gate", tank=name or one.tank)


def _wrong_laws(problem: FillProblem) -> Iterator[str]:
    melt, mould = problem.melt, problem.mould
    knots = (melt.temp_K, melt.enthalpy_J_m3, -melt.solid_frac)
    if any(np.any(np.diff(one) < 0) for one in knots) or np.any(np.diff(melt.enthalpy_J_m3) <= 0):
        yield say("physics.fill-law-order")
    if melt.solid_frac.max() < 1 or melt.solid_frac.min() > 0:
        yield say("physics.freeze-law-solid")
    elif mould.temp_K >= melt.liquidus_K:
        yield say("physics.fill-hot-mould", mould=show(mould.temp_K - _ZERO_C_K, "C"),
                  liquidus=show(melt.liquidus_K - _ZERO_C_K, "C"))  # fmt: skip
    elif melt.pour_K < melt.liquidus_K:
        yield say("physics.fill-cold-metal", pour=show(melt.pour_K - _ZERO_C_K, "C"),
                  liquidus=show(melt.liquidus_K - _ZERO_C_K, "C"))  # fmt: skip
    positive = (
        mould.conductivity_W_mK, mould.heat_capacity_J_m3K, mould.contact_W_m2K, mould.gas_viscosity_Pa_s,
        mould.ambient_Pa, melt.density_kg_m3, melt.surface_tension_N_m, melt.stop_frac,
    )  # fmt: skip
    if min(positive) <= 0 or mould.permeability_m2 < 0:
        yield say("physics.fill-positive")


def _wrong_drive(problem: FillProblem) -> Iterator[str]:
    drive, control = problem.drive, problem.control
    columns = (drive.along_m_s2, drive.across_m_s2, drive.turning_rad_s, drive.turning_rad_s2, drive.push_Pa)
    sound = all(one.shape == drive.time_s.shape and np.all(np.isfinite(one)) for one in columns)
    if not sound or not len(drive.time_s) or np.any(np.diff(drive.time_s) <= 0):
        yield say("physics.fill-drive")
    steps = (control.step_max_s, control.share_max_frac, control.time_limit_s, control.passes_most_count)
    if min(steps) <= 0 or control.share_max_frac > 0.5:
        yield say("physics.fill-steps")
