"""Filling one flask: the best case, and cases drawn from the ranges on the same first pass."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pourwright.core.work import Report, tell_nobody
from pourwright.physics.fill.filling import fill
from pourwright.physics.fill.problem import Drive, FillProblem, Gate
from pourwright.physics.fill.results import Fate, FillResult
from pourwright.physics.fill.ways import Ways, lay_ways
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.run import never
from pourwright.simulate.throw_cavity import Hollow
from pourwright.simulate.throw_conditions import (
    ThrowCase,
    ThrowConditions,
    draw_throws,
    drive_in,
    melt_in,
    mould_in,
    supply_in,
)
from pourwright.simulate.throw_open import OpenFlask, stand_open

Floats = NDArray[np.float64]

SEED = 20261125
_M_MM = 1e-3
# A body counts as filled when so much of its metal is there: the last per cent is splash, bubbles and sharp edges,
# which the model does not see.
FULL_FRAC = 0.98


@dataclass(frozen=True, eq=False)
class ThrowJob:
    """One flask to fill.

    Parameters
    ----------
    flask : FlaskJob
        Its shape.
    conditions : ThrowConditions
        Materials, temperatures, throw.
    throw : Drive or None
        Of the arm as it was reckoned, for a force ratio of 1; None where nothing turns.
    hollow : Hollow
        What is to be filled, placed along the arm.
    crucible_mm : float
        Width of the crucible [mm].
    shut : tuple of str
        Pieces whose gate lets nothing through; for asking what a gate does.
    """

    flask: FlaskJob
    conditions: ThrowConditions
    throw: Drive | None
    hollow: Hollow
    crucible_mm: float
    shut: tuple[str, ...] = field(default=())


@dataclass(frozen=True, eq=False)
class ThrowRun:
    """One case run; ``open_flask`` is the mould as the metal met it."""

    job: ThrowJob
    case: ThrowCase
    open_flask: OpenFlask
    result: FillResult


@dataclass(frozen=True, eq=False)
class ThrowSamples:
    """What cases drawn from the ranges came to.

    Parameters
    ----------
    cases : tuple of ThrowCase
        Those that were run.
    asked_count : int
        Those that were asked for.
    fills_frac : array, shape (n,)
        Share of the cases in which each voxel filled.
    tank_frac : array, shape (m, k)
        Share of each tank that filled, by case.
    last_s : array, shape (m, k)
        When each tank had its last metal, by case [s]; NaN where none came.
    patch_frac : array, shape (m, p)
        Share of each patch given that filled, by case.
    """

    cases: tuple[ThrowCase, ...]
    asked_count: int
    fills_frac: Floats
    tank_frac: Floats
    last_s: Floats
    patch_frac: Floats


def problem_of(job: ThrowJob, case: ThrowCase) -> tuple[FillProblem, OpenFlask]:
    """Return what the engine is given for a case, and the mould after it stood open."""
    said, hollow = job.conditions, job.hollow
    open_flask = _stood_open(job, case)
    mould = mould_in(case, said.mould, _met_K(hollow, open_flask))
    gates = tuple(_gate(job, case.gate_frac, number) for number in range(len(hollow.gates)))
    problem = FillProblem(
        cavity=hollow.cavity,
        gates=gates,
        sprue=hollow.sprue,
        supply=supply_in(case, said, hollow.mouth_m, job.crucible_mm),
        drive=drive_in(case, said.head, job.throw),
        melt=melt_in(case, said.alloy),
        mould=mould,
    )
    return problem, open_flask


def _gate(job: ThrowJob, discharge: float, number: int) -> Gate:
    gate = job.hollow.gates[number]
    name = job.hollow.cavity.names[gate.tank]
    return replace(gate, discharge_ratio=discharge, shut=gate.shut or name in job.shut)


def _stood_open(job: ThrowJob, case: ThrowCase) -> OpenFlask:
    flask, said = job.flask, job.conditions
    sizes_mm = flask.radius_mm, flask.height_mm, flask.wall_mm
    wall = flask.conditions.wall
    return stand_open(said.mould, case.flask_K, said.room_K, case.open_s, *sizes_mm, wall, case.conductivity_ratio)


def mould_at_K(hollow: Hollow, open_flask: OpenFlask) -> Floats:
    """Return the mould's temperature at each voxel as the metal meets it [K], shape (n,)."""
    from_axis_m = _M_MM * np.hypot(hollow.voxels.centre_mm[:, 0], hollow.voxels.centre_mm[:, 1])
    return open_flask.temp_K(from_axis_m, _M_MM * hollow.voxels.centre_mm[:, 2])


def _met_K(hollow: Hollow, open_flask: OpenFlask) -> float:
    """Return the mean over the wall of all pieces and gates: the button's is met by far more metal."""
    wall_m2 = np.where(hollow.cavity.tank > 0, hollow.cavity.wall_m2, 0.0)
    return float(np.average(mould_at_K(hollow, open_flask), weights=wall_m2))


def ways_of(job: ThrowJob) -> Ways:
    """Return the ways through a flask's hollow, good for all cases of it: the first pass."""
    shut = (_gate(job, gate.discharge_ratio, number) for number, gate in enumerate(job.hollow.gates))
    return lay_ways(job.hollow.cavity, tuple(shut))


def run_throw(job: ThrowJob, case: ThrowCase, ways: Ways | None = None) -> ThrowRun:
    """Fill a flask in one case.

    Parameters
    ----------
    job : ThrowJob
        The flask.
    case : ThrowCase
        One value out of each range.
    ways : Ways, optional
        From :func:`ways_of`; laid anew unless given.

    Raises
    ------
    SolverError
        The problem could only give a wrong number.
    """
    problem, open_flask = problem_of(job, case)
    return ThrowRun(job, case, open_flask, fill(problem, ways or ways_of(job)))


def sample_throws(
    job: ThrowJob,
    count: int,
    ways: Ways,
    patches: Sequence[NDArray[np.int64]] = (),
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
    seed: int = SEED,
) -> ThrowSamples:
    """Fill a flask in cases drawn evenly from the ranges of its conditions.

    Parameters
    ----------
    job : ThrowJob
        The flask.
    count : int
        How many.
    ways : Ways
        From :func:`ways_of`.
    patches : sequence of array of int
        Voxels of places to look at one by one.
    report, cancelled : callable
        Told of progress; asked whether to stop: what was done by then is summed up.
    seed : int
        Of the draw.
    """
    volume_m3 = job.hollow.cavity.volume_m3
    done: list[ThrowCase] = []
    filled = np.zeros(len(volume_m3))
    tanks, last, shares = [], [], []
    for case in draw_throws(job.conditions, count, seed):
        if cancelled():
            break
        result = run_throw(job, case, ways).result
        full = result.fate == Fate.FILLED
        done.append(case)
        filled += full
        tanks.append(_by_tank(job, full))
        last.append([one.last_s for one in result.tanks])
        shares.append([float(np.average(full[patch], weights=volume_m3[patch])) for patch in patches])
        report(len(done) / count, f"{len(done)}/{count}")
    width = len(job.hollow.cavity.names)
    return ThrowSamples(
        tuple(done), count, filled / max(len(done), 1), np.reshape(tanks, (len(done), width)),
        np.reshape(last, (len(done), width)), np.reshape(shares, (len(done), len(patches))),
    )  # fmt: skip


def _by_tank(job: ThrowJob, full: NDArray[np.bool_]) -> Floats:
    cavity = job.hollow.cavity
    volume_m3 = np.bincount(cavity.tank, cavity.volume_m3, len(cavity.names))
    return np.asarray(np.bincount(cavity.tank, cavity.volume_m3 * full, len(cavity.names)) / volume_m3)
