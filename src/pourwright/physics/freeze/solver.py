"""The freezing run: two ways of marching, one book of heat.

A step of length dt, from t to t + dt:

1. Hold the temperature of the nodes (metal, quick mould) at what it will be in the middle of the step, by a straight
   line through the last two. Open the faces: what each passes is then straight in the u of its row.
2. Sweep the mould through the stages that dt takes (:mod:`.exchange`).
3. Hand the nodes the heat that came through the faces and solve them together, implicitly (:mod:`.metal`,
   :mod:`.multigrid`). Where their mean temperature over the step turns out other than held, a share of the difference
   is passed to the rows too; this keeps thin parts from swinging and is booked on both sides.
4. Move every mould cell to where it holds the heat it was given.

The next step is longer by a share of the time passed. If the metal came out far from where a straight line led, the
step is taken again at half the length.

This driver runs unchanged on any machine that :mod:`.backend` knows: cells are looped over by that machine's kernels
only, on arrays that were put there when the run was laid (:func:`~pourwright.physics.freeze.run.lay_run`). What comes
back in a step is a handful of numbers (:class:`~pourwright.physics.freeze.run.Sight`, the heat lost, the skins); arrays
come back when a state is kept and when the run ends. ``run.paths`` never leaves the host.
"""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import numpy as np

from pourwright.core.errors import SolverError
from pourwright.core.text import say
from pourwright.core.work import Report, tell_nobody
from pourwright.physics.freeze import metal
from pourwright.physics.freeze.backend import Backend, processor
from pourwright.physics.freeze.exchange import settle, sweep
from pourwright.physics.freeze.follow import on_larger_cells
from pourwright.physics.freeze.problem import FreezeProblem, check
from pourwright.physics.freeze.record import mark, note, result_of, share_done_frac
from pourwright.physics.freeze.results import FreezeResult, FreezeState
from pourwright.physics.freeze.run import Run, heat_book, is_solid, lay_run, look
from pourwright.physics.freeze.state import go_on_from, state_of

# Metal may come out so far from a straight line through the last two steps [K]; else the step is taken again.
_FAR_K = 10.0
_KEEP_EVERY_S = 5.0
# Share of the work that is freezing, for the progress shown, where the flask is followed afterwards.
_FREEZING_FRAC = 0.8


def solve(
    problem: FreezeProblem,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = lambda: False,
    resume: FreezeState | None = None,
    keep: Callable[[FreezeState], None] | None = None,
    machine: Backend | None = None,
) -> FreezeResult:
    """Follow the heat from the pour until all metal is solid, and on as far as the problem asks.

    Parameters
    ----------
    problem : FreezeProblem
        What is known.
    report : callable
        Takes the share done and a sentence, after each step.
    cancelled : callable
        Asked before each step; when it says yes the result so far is returned, not ``finished``.
    resume : FreezeState or None
        Where an earlier run of the same problem was cut off.
    keep : callable or None
        Takes the state every few seconds and when the run is cut off.
    machine : Backend or None
        Where to run; None on the processor.

    Returns
    -------
    FreezeResult
        The same, bit for bit, whether the run was cut off in between or not.

    Raises
    ------
    SolverError
        The problem cannot be solved as it is set, or the state belongs to another; the message says why.
    """
    began_s = perf_counter()
    check(problem)
    run = prepare(problem, machine)
    if resume is not None:
        go_on_from(run, resume)
    march(run, report, cancelled, keep)
    frozen, cooled = heat_book(run), run if run.is_cooling else None
    if is_solid(run) and problem.time.follow_s > run.time_s and not cancelled():
        if keep is not None:
            keep(state_of(run))
        cooled = on_larger_cells(run) if problem.time.follow_side_m > 0 else run
        cooled.is_cooling = True
        march(cooled, report, cancelled, keep if cooled is run else None)
    return result_of(run, perf_counter() - began_s, frozen, cooled)


def prepare(problem: FreezeProblem, machine: Backend | None = None) -> Run:
    """Lay a run and note its start."""
    run = lay_run(problem, machine or processor())
    note(run)
    return run


def march(
    run: Run,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = lambda: False,
    keep: Callable[[FreezeState], None] | None = None,
) -> None:
    """Take steps until the metal is solid and the flask followed as long as asked."""
    with run.machine.threads_for(run.mould_field.u_K.size):
        _march(run, report, cancelled, keep)


def _march(run: Run, report: Report, cancelled: Callable[[], bool], keep: Callable[[FreezeState], None] | None) -> None:
    kept_s = perf_counter()
    while (step_s := next_step_s(run)) > 0:
        if cancelled():
            if keep is not None:
                keep(state_of(run))
            return
        while not take_step(run, step_s):
            step_s /= 2
        note(run)
        report(share_done_frac(run, _FREEZING_FRAC), say("physics.freezing", time=f"{run.time_s:.1f}"))
        if keep is not None and perf_counter() - kept_s > _KEEP_EVERY_S:
            keep(state_of(run))
            kept_s = perf_counter()


def next_step_s(run: Run) -> float:
    """Return the length of the next step [s]; 0 at the end."""
    time = run.problem.time
    end_s = time.follow_s if run.is_cooling else time.freeze_limit_s
    if run.time_s >= end_s - 1e-9 or (is_solid(run) and not run.is_cooling):
        return 0.0
    most_s = time.follow_step_max_s if run.is_cooling else time.step_max_s
    step_s = float(np.clip(time.growth_ratio * run.time_s, time.step_min_s, most_s))
    if run.last_step_s > 0:
        step_s = min(step_s, 2 * run.last_step_s)
    return min(step_s, end_s - run.time_s)


def take_step(run: Run, step_s: float) -> bool:
    """Take one step; False if the metal came out too far from where it was held, and nothing has changed."""
    last_s = run.last_step_s or step_s
    metal.hold(run.node_field, run.node_tables.laws, 0.5 * step_s / last_s, run.machine)
    air_J = sweep(run, step_s)
    seen_before = run.sight
    bare_J, last_K = metal.take_step(
        run.node_field, run.node_tables, run.work, step_s, last_s, run.problem.time,
        run.counts[2:], run.machine,
    )  # fmt: skip
    seen = look(run, step_s / last_s)
    if not np.isfinite(last_K + seen.all_J):
        raise SolverError(say("physics.freeze-diverged", time=f"{run.time_s:.2f}", step=f"{step_s:.3g}"))
    if step_s > run.problem.time.step_min_s and seen.far_K > _FAR_K:
        metal.step_back(run.node_field)
        run.sight = seen_before
        return False
    settle(run)
    run.lost_J += air_J + bare_J
    mark(run, step_s, last_s)
    run.time_s, run.last_step_s = run.time_s + step_s, step_s
    run.counts[0] += 1
    return True
