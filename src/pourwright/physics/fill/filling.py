"""Filling a mould: floods, flow, arrival, heat; what stands still blocks, and the rest is flooded again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.checks import check
from pourwright.physics.fill.floods import Flood, Pull, flood_tank, pull_at
from pourwright.physics.fill.flow.network import Flow, run_flow
from pourwright.physics.fill.force import force_over, pull_m_s2
from pourwright.physics.fill.metal import Metal, follow_metal, nothing_known
from pourwright.physics.fill.problem import SPRUE_TANK, Cavity, FillProblem, Floats
from pourwright.physics.fill.results import Fate, FillResult
from pourwright.physics.fill.summary import find_leading, sum_up
from pourwright.physics.fill.ways import Ways, lay_again, lay_ways

# Looks at the direction of pull while each tank fills; it hardly moves after the second, nor when places are blocked.
_MOST_LOOKS = 4


@dataclass(frozen=True, eq=False)
class _Pass:
    """One flood of everything that is open."""

    floods: tuple[Flood, ...]
    flow: Flow
    metal: Metal
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
    stopped = nothing_known(cavity.count)
    done, pulls, count = None, _first_pulls(problem), 0
    while count < problem.control.passes_most_count:
        done = _pass(problem, ways, pulls, _MOST_LOOKS if count == 0 else 1)
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
    drive = problem.drive
    force = force_over(drive, drive.time_s)
    middles_m = _middles_m(problem.cavity)
    row = int(np.argmax(np.linalg.norm(pull_m_s2(force, middles_m[SPRUE_TANK]), axis=1)))
    strongest = force.chosen(np.array([row]))
    turning_rad_s = float(strongest.turning_rad_s[0])
    return tuple(pull_at(pull_m_s2(strongest, one)[0], turning_rad_s) for one in middles_m)


@lru_cache(maxsize=2)
def _middles_m(cavity: Cavity) -> Floats:
    """Return the middle of each tank, shape (k, 3)."""
    count = np.maximum(np.bincount(cavity.tank, minlength=len(cavity.names)), 1)
    sums = [np.bincount(cavity.tank, axis, len(cavity.names)) for axis in cavity.place_m.T]
    return np.column_stack(sums) / count[:, None]


def _pass(problem: FillProblem, ways: Ways, pulls: tuple[Pull, ...], most_looks: int) -> _Pass:
    """Flood along the pull that there is while each tank fills, and follow metal and heat."""
    seen: set[tuple[Pull, ...]] = set()
    while True:
        floods = tuple(_flooded(problem, ways, tank, pull) for tank, pull in enumerate(pulls))
        flow = run_flow(problem, floods)
        met = _pulls_met(problem, flow, pulls)
        seen.add(pulls)
        if met in seen or len(seen) == most_looks:
            return _Pass(floods, flow, follow_metal(problem, ways, floods, flow), pulls)
        pulls = met


def _flooded(problem: FillProblem, ways: Ways, tank: int, pull: Pull) -> Flood:
    key = (tank, *pull.steps)
    if key not in ways.known:
        laid = ways.tanks[tank]
        ways.known[key] = flood_tank(problem.cavity, tank, laid.seeds, laid.order, pull)
    return ways.known[key]


def _pulls_met(problem: FillProblem, flow: Flow, pulls: tuple[Pull, ...]) -> tuple[Pull, ...]:
    """Return the mean pull on each tank while metal ran into it, by volume; the old one where none did."""
    middles_m, found = _middles_m(problem.cavity), []
    for tank, old in enumerate(pulls):
        gained = np.diff(np.maximum.accumulate(flow.history.volume_m3[:, tank]), prepend=0.0)
        if gained.sum() <= 0:
            found.append(old)
            continue
        weights = gained / gained.sum()
        pull = weights @ pull_m_s2(flow.force, middles_m[tank])
        found.append(pull_at(pull, sqrt(float(weights @ flow.force.turning_rad_s**2))))
    return tuple(found)


def _stops(problem: FillProblem, metal: Metal) -> NDArray[np.uint8]:
    """Return for each voxel why metal stops there, a :class:`Fate`, or 0 where it does not."""
    why = np.zeros(len(metal.arrival_s), np.uint8)
    came = np.isfinite(metal.arrival_s)
    why[came & (metal.late_ratio >= 1)] = Fate.CLOSED
    why[came & (metal.late_ratio >= 1) & metal.gas_held] = Fate.GAS
    why[came & (metal.solid_frac >= problem.melt.stop_frac)] = Fate.FROZEN
    why[metal.shy] = Fate.SHY
    why[metal.gas_held & ~came & ~metal.shy] = Fate.GAS
    return why


def _keep(stopped: Metal, now: Metal, chosen: NDArray[np.bool_]) -> Metal:
    """Return what is remembered of voxels where metal stopped, with new ones added."""
    names = ("temp_K", "solid_frac", "late_ratio", "pressed_Pa")
    return replace(stopped, **{one: np.where(chosen, getattr(now, one), getattr(stopped, one)) for one in names})


def _result(
    problem: FillProblem, ways: Ways, done: _Pass, fate: NDArray[np.uint8], stopped: Metal,
    is_open: NDArray[np.bool_], count: int, settled: bool,
) -> FillResult:  # fmt: skip
    metal = _keep(done.metal, stopped, ~is_open)
    came = np.isfinite(metal.arrival_s) & is_open
    fate[came] = Fate.FILLED
    fate[is_open & ~came & ~np.isfinite(ways.distance_m)] = Fate.CUT_OFF
    shy = _shyness(problem, metal)
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


def _shyness(problem: FillProblem, metal: Metal) -> Floats:
    """Return the pressure needed to enter each voxel against that there was; none in the sprue: its surface is free."""
    need_Pa = problem.melt.shy_N_m / problem.cavity.modulus_m
    need_Pa[problem.cavity.tank == SPRUE_TANK] = 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(metal.pressed_Pa > 0, need_Pa / metal.pressed_Pa, np.inf)
    return np.where(need_Pa > 0, ratio, 0.0)
