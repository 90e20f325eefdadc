"""The freezing run: two ways of marching, one book of heat.

A step of length dt, from t to t + dt:

1. Hold the temperature of the nodes (metal, quick mould) at what it will be in the middle of the step, by a straight
   line through the last two. Open the faces: what each passes is then straight in the u of its row.
2. Sweep the mould through the stages that dt takes, and let the integral of each row's u over time go through the very
   same stages: so what a row gained through a face and what the node behind it lost are one number.
3. Hand the nodes that heat and solve them together, implicitly (:mod:`.metal`, :mod:`.multigrid`). Where their mean
   temperature over the step turns out other than held, a share of the difference is passed to the rows too; this keeps
   thin parts from swinging and is booked on both sides.
4. Move every mould cell to where it holds the heat it was given.

The next step is longer by a share of the time passed. If the metal came out far from where a straight line led, the
step is taken again at half the length.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields, is_dataclass, replace
from hashlib import sha256
from time import perf_counter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import SolverError
from pourwright.core.text import say
from pourwright.core.work import Report, tell_nobody
from pourwright.physics.freeze import _kernels, metal, mould
from pourwright.physics.freeze.cooling import held_m3, join_cells, mould_node_cells
from pourwright.physics.freeze.multigrid import Levels, Workspace, lay_levels, make_workspace
from pourwright.physics.freeze.network import FACE_AIR_SIDE, Paths, as_cut, lay_paths
from pourwright.physics.freeze.problem import Floats, FreezeProblem, check
from pourwright.physics.freeze.results import Effort, FreezeResult, FreezeState, HeatBook, Histories

# Metal may come out so far from a straight line through the last two steps [K]; else the step is taken again.
_FAR_K = 10.0
_SIDE, _BUTTON = 0, 2
_KEEP_EVERY_S = 5.0
# Share of the work that is freezing, for the progress shown, where the flask is followed afterwards.
_FREEZING_FRAC = 0.8
# Marks kept for each metal node, in this order.
LIQUIDUS, CRITICAL, SOLID = range(3)


@dataclass(eq=False)
class _RowWork:
    """Arrays over rows and faces that each step fills anew (see _kernels.open_faces and rows_first)."""

    given: Floats
    pull: Floats
    per_capacity: Floats
    slope: Floats
    in_time: Floats
    extra_J: Floats
    heat_J: Floats
    base: Floats
    loss: Floats
    stiff_J_K: Floats


@dataclass(eq=False)
class Run:
    """A run between two steps: what does not change, then what does."""

    problem: FreezeProblem
    paths: Paths
    mould_tables: mould.MouldTables
    node_tables: metal.NodeTables
    levels: Levels
    work: Workspace
    rows: _RowWork
    plain_s: float
    crossing_J: Floats
    mould_field: mould.MouldField
    node_field: metal.NodeField
    crossed_s: Floats
    gradient_K_m: Floats
    rate_K_s: Floats
    start_J: float
    metal_J: float
    time_s: float = 0.0
    last_step_s: float = 0.0
    lost_J: float = 0.0
    is_cooling: bool = False
    counts: NDArray[np.int64] = field(default_factory=lambda: np.zeros(4, np.int64))
    histories: list[NDArray[Any]] = field(default_factory=list)


def solve(
    problem: FreezeProblem,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = lambda: False,
    resume: FreezeState | None = None,
    keep: Callable[[FreezeState], None] | None = None,
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
    run = prepare(problem)
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


# --- before the first step --------------------------------------------------------------------------------------------


def prepare(problem: FreezeProblem) -> Run:
    """Lay the paths, tables and fields of a run, all at the start."""
    paths = lay_paths(problem)
    nodes = paths.nodes
    mould_tables = _mould_tables(problem)
    node_tables = metal.node_tables(problem, nodes)
    node_field = metal.start_nodes(problem, nodes, node_tables, mould_tables)
    levels = lay_levels(nodes)
    metals = nodes.metals_count
    run = Run(
        problem, paths, mould_tables, node_tables, levels, make_workspace(levels), _row_work(paths),
        mould.plain_step_s(paths, mould_tables), _crossings_J(problem, paths, node_tables),
        mould.still_field(paths, mould_tables, problem.time.double), node_field, np.full((3, metals), np.nan),
        np.full(metals, np.nan), np.full(metals, np.nan), 0.0, _metal_heat_J(problem, paths),
    )  # fmt: skip
    _settle(run)
    run.start_J = held_J(run)
    _note(run)
    return run


def _mould_tables(problem: FreezeProblem) -> mould.MouldTables:
    hottest_K = max(float(np.max(problem.metal_start_K)), problem.mould_start_K, problem.surroundings.ambient_K) + 50
    coldest_K = min(problem.surroundings.ambient_K, problem.mould_start_K) - 50
    steel = problem.shell.law if problem.shell else None
    return mould.tabulate(problem.mould, steel, problem.mould_start_K, coldest_K, hottest_K)


def _row_work(paths: Paths) -> _RowWork:
    rows, faces = len(paths.rows.cell), len(paths.rows.face_node)
    row, face = np.zeros(rows), np.zeros(faces)
    return _RowWork(
        row, row.copy(), row.copy(), row.copy(), np.zeros((rows, 3)), row.copy(), row.copy(), face, face.copy(),
        face.copy(),
    )  # fmt: skip


def _crossings_J(problem: FreezeProblem, paths: Paths, tables: metal.NodeTables) -> Floats:
    """Return the heats of metal nodes at liquidus, critical share and end of freezing [J]."""
    nodes, law = paths.nodes, problem.metal
    marks_K = np.array([law.liquidus_K, law.critical_K, law.solidus_K])
    volumes_m3, other_J_K = nodes.m3[: nodes.metals_count], tables.other_J_K[: nodes.metals_count]
    return np.asarray(np.outer(law.enthalpy_at_J_m3(marks_K), volumes_m3) + np.outer(marks_K, other_J_K))


def _metal_heat_J(problem: FreezeProblem, paths: Paths) -> float:
    volumes_m3 = paths.nodes.m3[: paths.nodes.metals_count]
    start_K = np.broadcast_to(problem.metal_start_K, volumes_m3.shape)
    above = problem.metal.enthalpy_at_J_m3(start_K) - problem.metal.enthalpy_at_J_m3(np.array(problem.mould_start_K))
    return float(np.dot(volumes_m3, np.abs(above)))


# --- marching ---------------------------------------------------------------------------------------------------------


def march(
    run: Run,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = lambda: False,
    keep: Callable[[FreezeState], None] | None = None,
) -> None:
    """Take steps until the metal is solid and the flask followed as long as asked."""
    with _kernels.threads_for(run.mould_field.u_K.size):
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
        _note(run)
        report(share_done_frac(run), say("physics.freezing", time=f"{run.time_s:.1f}"))
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


def is_solid(run: Run) -> bool:
    """Return whether all metal is solid."""
    return bool(np.all(run.node_field.heat_J[: run.paths.nodes.metals_count] <= run.crossing_J[SOLID]))


def share_done_frac(run: Run) -> float:
    """Return the share of the run that is done, as a fraction: of the heat to lose, then of the time to follow."""
    follow_s = run.problem.time.follow_s
    freezing = _FREEZING_FRAC if follow_s > 0 else 1.0
    if run.is_cooling:
        return freezing + (1 - freezing) * run.time_s / follow_s
    metals = run.paths.nodes.metals_count
    over_J = np.maximum(run.node_field.heat_J[:metals] - run.crossing_J[SOLID], 0.0).sum()
    return freezing * float(np.clip(1 - over_J / run.metal_J, 0.0, 1.0))


def take_step(run: Run, step_s: float) -> bool:
    """Take one step; False if the metal came out too far from where it was held, and nothing has changed."""
    nodes = run.node_field
    last_s = run.last_step_s or step_s
    nodes.held_K[:] = nodes.temp_K + (nodes.temp_K - nodes.before_K) * (0.5 * step_s / last_s)
    metal.set_laws(nodes, run.paths.nodes, run.node_tables, run.mould_tables)
    ahead, air_J = _sweep(run, step_s)
    kept = (nodes.heat_J, nodes.temp_K, nodes.before_J, nodes.before_K)
    bare_J, last_K = metal.take_step(
        nodes, run.paths.nodes, run.node_tables, run.mould_tables, run.levels, run.work, step_s, last_s,
        run.problem.time.tolerance_K, run.problem.time.newton_most_count, run.counts[2:],
    )  # fmt: skip
    if not np.isfinite(last_K + nodes.heat_J.sum()):
        raise SolverError(say("physics.freeze-diverged", time=f"{run.time_s:.2f}", step=f"{step_s:.3g}"))
    if step_s > run.problem.time.step_min_s and _far_K(run, kept[1], kept[3], step_s / last_s) > _FAR_K:
        nodes.heat_J, nodes.temp_K, nodes.before_J, nodes.before_K = kept
        return False
    _kernels.make_up_faces(
        run.paths.rows.face_first, run.paths.rows.face_node, run.rows.stiff_J_K, nodes.mean_K,
        nodes.held_K, run.rows.extra_J,
    )  # fmt: skip
    _settle(run, ahead)
    run.lost_J += air_J + bare_J
    _mark(run, kept[2], step_s, last_s)
    run.time_s, run.last_step_s = run.time_s + step_s, step_s
    run.counts[0] += 1
    return True


def _far_K(run: Run, begun_K: Floats, before_K: Floats, ratio: float) -> float:
    metals = run.paths.nodes.metals_count
    straight_K = begun_K + (begun_K - before_K) * ratio
    return float(np.abs(run.node_field.temp_K - straight_K)[:metals].max())


def _sweep(run: Run, step_s: float) -> tuple[mould.AnyFloats, float]:
    """Take the mould through its stages; return where it comes out and the heat its rows lost to the air [J].

    The nodes' ``source_W`` and ``sink_W_K`` hold afterwards what came through the faces.
    """
    rows, work, field, tables, nodes = run.paths.rows, run.rows, run.mould_field, run.mould_tables, run.node_field
    start = field.u_K.reshape(-1)
    _kernels.row_capacities(
        start, rows.cell, rows.swept, rows.mould_m3, rows.steel_m3, tables.law_m2_s, tables.conductivity_W_mK,
        tables.heat_by_u_J_m3, tables.steel_by_u_J_m3, tables.low_u_K, tables.per_u_ratio, work.per_capacity,
    )  # fmt: skip
    _kernels.open_faces(
        start, rows.cell, rows.face_first, rows.face_node, rows.face_kind, rows.face_size, rows.face_metal_m,
        rows.face_mould_m, nodes.held_K, nodes.u_K, nodes.k_W_mK, nodes.h_W_m2K, work.per_capacity,
        tables.temp_by_u_K, tables.low_u_K, tables.per_u_ratio, tables.conductivity_W_mK, run.node_tables.ambient_K,
        run.node_tables.outside, step_s, work.given, work.pull, work.base, work.loss, work.stiff_J_K,
    )  # fmt: skip
    now = _stages(run, mould.stages_for(step_s, run.plain_s))
    nodes.source_W[:] = 0.0
    nodes.sink_W_K[:] = 0.0
    air_J = _kernels.close_faces(
        rows.face_first, rows.face_node, work.base, work.loss, work.stiff_J_K, work.in_time, tables.conductivity_W_mK,
        step_s, nodes.held_K, nodes.source_W, nodes.sink_W_K,
    )  # fmt: skip
    return now, float(air_J)


def _stages(run: Run, stages: mould.Stages) -> mould.AnyFloats:
    rows, work, field, paths = run.paths.rows, run.rows, run.mould_field, run.paths
    kind = field.u_K.dtype.type
    now, last = field.ahead_K, field.spare_K
    own = (rows.cell, rows.first, rows.beside, rows.shape_m, work.given, work.pull, work.per_capacity, work.slope,
           work.in_time)  # fmt: skip
    _kernels.sweep_first(
        field.u_K, field.slope_K_s, now, paths.whole, *field.along_per_m2, field.law_m2_s, kind(stages.first_s), own
    )
    now, last = last, now
    for number, weights in enumerate(stages.later):
        _kernels.sweep_next(
            field.u_K, field.slope_K_s, last, now, paths.whole, *field.along_per_m2, field.law_m2_s,
            _rounded(weights, field.u_K.dtype, second=number == 0), own, weights,
        )  # fmt: skip
        now, last = last, now
    run.counts[1] += stages.count
    field.ahead_K, field.spare_K = last, now
    return last


def _rounded(weights: Floats, kind: np.dtype[Any], second: bool) -> mould.AnyFloats:
    """Return weights in the precision of the field, those of the three fields adding up to one.

    In the second stage the one before the last is the start itself.
    """
    rounded = weights.astype(kind)
    if second:
        rounded[1] = 0.0
    rounded[2] = 1.0 - float(rounded[0]) - float(rounded[1])
    return rounded


def _settle(run: Run, ahead: mould.AnyFloats | None = None) -> None:
    """Move every mould cell to where it holds the heat it was given, and take that as the mould's state."""
    rows, work, field, tables = run.paths.rows, run.rows, run.mould_field, run.mould_tables
    now = field.u_K.copy() if ahead is None else ahead
    if ahead is None:
        work.per_capacity[:] = 1.0
    elif not tables.constant:
        least = 0.0 if run.problem.time.double else mould.LEAST_K
        _kernels.settle_cells(
            field.u_K, now, run.paths.whole, tables.law_m2_s, tables.conductivity_W_mK, tables.heat_by_u_J_m3,
            tables.low_u_K, tables.per_u_ratio, least,
        )  # fmt: skip
    _kernels.settle_rows(
        field.u_K.reshape(-1), now.reshape(-1), rows.cell, rows.swept, rows.mould_m3, rows.steel_m3, work.per_capacity,
        tables.conductivity_W_mK, tables.heat_by_u_J_m3, tables.steel_by_u_J_m3, tables.low_u_K, tables.per_u_ratio,
        work.extra_J, work.heat_J,
    )  # fmt: skip
    if ahead is not None:
        field.u_K, field.ahead_K = ahead, field.u_K


# --- cooling ----------------------------------------------------------------------------------------------------------


def on_larger_cells(run: Run) -> Run:
    """Return the run carried over to larger cells, all heat included, to be followed as it cools."""
    blocks = join_cells(as_cut(run.problem), run.paths, run.problem.time.follow_side_m)
    solid_K = np.array(run.node_field.temp_K[: run.paths.nodes.metals_count].mean())
    exactly = replace(run.problem.time, double=True)  # little is left to sweep, and much heat passes in an hour
    coarse = prepare(replace(run.problem, cells=blocks.cells, metal_start_K=solid_K, time=exactly))
    metals = coarse.paths.nodes.metals_count
    coarse.node_field.heat_J[:metals] = np.bincount(
        blocks.metal_of, run.node_field.heat_J[: run.paths.nodes.metals_count], metals
    )
    _carry_mould(run, coarse, blocks.block_of)
    _settle(coarse)
    metal.look_up(coarse.node_field, coarse.paths.nodes, coarse.node_tables, coarse.mould_tables)
    coarse.node_field.before_J[:] = coarse.node_field.heat_J
    coarse.node_field.before_K[:] = coarse.node_field.temp_K
    coarse.time_s, coarse.last_step_s, coarse.lost_J = run.time_s, run.last_step_s, run.lost_J
    coarse.metal_J, coarse.start_J, coarse.is_cooling = run.metal_J, held_J(coarse) + run.lost_J, True
    coarse.histories.clear()
    return coarse


def _carry_mould(run: Run, coarse: Run, block_of: NDArray[np.int32]) -> None:
    """Give every block the u at which it holds what its cells held."""
    grid = as_cut(coarse.problem).network.grid
    mould_m3, steel_m3, heat_J = (
        np.bincount(block_of, own, grid.cells_count) for own in _mould_holdings(run)
    )  # fmt: skip
    tables = run.mould_tables
    knots_K = tables.low_u_K + np.arange(len(tables.temp_by_u_K)) / tables.per_u_ratio
    slope = np.gradient(tables.heat_by_u_J_m3) * tables.per_u_ratio
    steel_slope = np.gradient(tables.steel_by_u_J_m3) * tables.per_u_ratio
    held = mould_m3 + steel_m3 > 0
    u_K = np.zeros(grid.cells_count)
    for _ in range(10):
        has_J = mould_m3 * np.interp(u_K, knots_K, tables.heat_by_u_J_m3)
        has_J += steel_m3 * np.interp(u_K, knots_K, tables.steel_by_u_J_m3)
        per_K = mould_m3 * np.interp(u_K, knots_K, slope) + steel_m3 * np.interp(u_K, knots_K, steel_slope)
        u_K[held] += (heat_J - has_J)[held] / per_K[held]
    field, nodes = coarse.mould_field.u_K, coarse.paths.nodes
    explicit = (coarse.paths.whole == 1).reshape(-1)
    explicit[coarse.paths.rows.cell] = True
    padded = np.zeros(field.shape)
    padded[1:-1, 1:-1, 1:-1] = u_K.reshape(grid.shape)
    field.reshape(-1)[explicit] = padded.reshape(-1)[explicit]
    _set_mould_nodes(coarse, temp_from_u_K(coarse, u_K[mould_node_cells(nodes, grid)]))


def _set_mould_nodes(run: Run, temp_K: Floats) -> None:
    """Give the mould nodes a temperature, and the heat that goes with it."""
    nodes, field, metals = run.paths.nodes, run.node_field, run.paths.nodes.metals_count
    all_K = field.temp_K.copy()
    all_K[metals:] = temp_K
    heat_J = np.zeros(len(all_K))
    _kernels.node_heat(
        metals, all_K, nodes.m3, run.node_tables.other_J_K, run.node_tables.knots_K, run.node_tables.heat_J_m3,
        run.mould_tables.heat_by_temp_J_m3, run.mould_tables.low_K, run.mould_tables.per_K_ratio, heat_J,
    )  # fmt: skip
    field.heat_J[metals:], field.temp_K[metals:] = heat_J[metals:], temp_K


def _mould_holdings(run: Run) -> tuple[Floats, Floats, Floats]:
    """Return mould and steel of each cell [m3], and the heat they hold [J]."""
    cut, tables, paths = as_cut(run.problem), run.mould_tables, run.paths
    mould_m3, steel_m3 = held_m3(cut, paths)
    u_K = run.mould_field.u_K[1:-1, 1:-1, 1:-1].astype(np.float64).ravel()
    metals = paths.nodes.metals_count
    knots_K = tables.low_K + np.arange(len(tables.u_by_temp_K)) / tables.per_K_ratio
    quick_K = run.node_field.temp_K[metals:]
    u_K[mould_node_cells(paths.nodes, cut.network.grid)] = np.interp(quick_K, knots_K, tables.u_by_temp_K)
    knots_u_K = tables.low_u_K + np.arange(len(tables.temp_by_u_K)) / tables.per_u_ratio
    heat_J = mould_m3 * np.interp(u_K, knots_u_K, tables.heat_by_u_J_m3)
    heat_J += steel_m3 * np.interp(u_K, knots_u_K, tables.steel_by_u_J_m3)
    return mould_m3, steel_m3, heat_J


# --- books and marks --------------------------------------------------------------------------------------------------


def held_J(run: Run) -> float:
    """Return the heat that metal, mould and steel hold now [J], from zeros of no account."""
    swept_J = mould.cells_heat_J(run.mould_field, run.paths, run.mould_tables)
    return float(run.node_field.heat_J.sum()) + float(run.rows.heat_J.sum()) + swept_J


def _mark(run: Run, earlier_J: Floats, step_s: float, last_s: float) -> None:
    nodes, metals = run.node_field, run.paths.nodes.metals_count
    _kernels.mark_crossings(
        metals, earlier_J, nodes.before_J, nodes.heat_J, run.crossing_J, run.time_s, step_s, last_s, run.crossed_s
    )
    _kernels.mark_slopes(
        metals, run.crossed_s[CRITICAL], run.time_s, step_s, nodes.before_K, nodes.temp_K, run.paths.nodes.centre_m,
        run.levels.first, run.levels.beside, run.gradient_K_m, run.rate_K_s,
    )  # fmt: skip


def _note(run: Run) -> None:
    """Keep the temperatures of this moment."""
    nodes, list_ = run.node_field, run.paths.nodes
    bare = list_.air_node[list_.air_side == _BUTTON]
    skin_K = nodes.temp_K[bare].max() if len(bare) else np.nan
    hottest_K = nodes.temp_K[: list_.metals_count].max(initial=-np.inf)
    fixed = np.array([run.time_s, hottest_K, skin_K, _flask_skin_K(run), run.lost_J])
    run.histories.append(np.concatenate((fixed, probe_temps_K(run))))


def _flask_skin_K(run: Run) -> float:
    rows, tables, mould_law = run.paths.rows, run.node_tables, run.problem.mould
    outer = np.flatnonzero(rows.face_kind == FACE_AIR_SIDE)
    if not len(outer):
        return float("nan")
    owner = np.searchsorted(rows.face_first, outer, side="right") - 1
    u_K = run.mould_field.u_K.reshape(-1)[rows.cell[owner]]
    temp_K = temp_from_u_K(run, u_K.astype(np.float64))
    depth_m2K_W = rows.face_mould_m[outer] / np.interp(temp_K, mould_law.temp_K, mould_law.conductivity_W_mK)
    return float(_kernels.skins(temp_K, depth_m2K_W, tables.ambient_K, tables.outside, _SIDE).max())


def temp_from_u_K(run: Run, u_K: Floats) -> Floats:
    """Return mould temperatures [K] from heat-flow temperatures [K]."""
    tables = run.mould_tables
    knots_K = tables.low_u_K + np.arange(len(tables.temp_by_u_K)) / tables.per_u_ratio
    return np.interp(u_K, knots_K, tables.temp_by_u_K)


def probe_temps_K(run: Run) -> Floats:
    """Return the temperatures at the probes [K]: of the metal where the probe's cell holds more metal than mould."""
    nodes, shape = run.paths.nodes, tuple(len(edge_m) - 1 for edge_m in run.paths.edges_m)
    found = []
    for place_m in run.problem.probes_m:
        spots = [int(np.searchsorted(edge_m, at, side="right") - 1)
                 for edge_m, at in zip(run.paths.edges_m, place_m, strict=True)]  # fmt: skip
        spots = [min(max(spot, 0), many - 1) for spot, many in zip(spots, shape, strict=True)]
        here = np.flatnonzero((nodes.cell == spots).all(axis=1))
        u_K = run.mould_field.u_K[spots[0] + 1, spots[1] + 1, spots[2] + 1]
        found.append(run.node_field.temp_K[here[0]] if len(here) else temp_from_u_K(run, np.array([float(u_K)]))[0])
    return np.array(found, dtype=np.float64)


def state_of(run: Run) -> FreezeState:
    """Return all that changes in a run, as arrays."""
    nodes = run.node_field
    arrays: dict[str, NDArray[Any]] = {
        "u_K": run.mould_field.u_K.copy(), "heat_J": nodes.heat_J.copy(), "temp_K": nodes.temp_K.copy(),
        "before_J": nodes.before_J.copy(), "before_K": nodes.before_K.copy(), "row_heat_J": run.rows.heat_J.copy(),
        "crossed_s": run.crossed_s.copy(), "gradient_K_m": run.gradient_K_m.copy(), "rate_K_s": run.rate_K_s.copy(),
        "counts": run.counts.copy(), "histories": np.array(run.histories),
        "books": np.array([run.start_J, run.lost_J, run.time_s, run.last_step_s, run.is_cooling]),
    }  # fmt: skip
    return FreezeState(arrays, fingerprint(run.problem))


def go_on_from(run: Run, state: FreezeState) -> None:
    """Put a fresh run where another was cut off.

    Raises
    ------
    SolverError
        The state is of another problem.
    """
    if state.fingerprint != fingerprint(run.problem):
        raise SolverError(say("physics.freeze-other-state"))
    nodes, kept = run.node_field, state.arrays
    run.mould_field.u_K[...] = kept["u_K"]
    for name in ("heat_J", "temp_K", "before_J", "before_K"):
        getattr(nodes, name)[:] = kept[name]
    run.rows.heat_J[:] = kept["row_heat_J"]
    run.crossed_s[...], run.gradient_K_m[:], run.rate_K_s[:] = (
        kept["crossed_s"], kept["gradient_K_m"], kept["rate_K_s"]
    )  # fmt: skip
    run.counts[:] = kept["counts"]
    run.histories = list(np.asarray(kept["histories"], dtype=np.float64))
    run.start_J, run.lost_J, run.time_s, run.last_step_s, cooling = (float(one) for one in kept["books"])
    run.is_cooling = bool(cooling)


def fingerprint(problem: FreezeProblem) -> str:
    """Return a mark that two problems share only if they are the same."""
    mark = sha256()
    stack: list[object] = [problem]
    while stack:
        one = stack.pop()
        if is_dataclass(one):
            mark.update(type(one).__name__.encode())
            stack.extend(getattr(one, part.name) for part in fields(one))
        elif isinstance(one, tuple):
            stack.extend(one)
        elif isinstance(one, np.ndarray):
            mark.update(np.ascontiguousarray(one).tobytes())
        else:
            mark.update(repr(one).encode())
    return mark.hexdigest()


def heat_book(run: Run) -> HeatBook:
    """Return the balance of this moment."""
    return HeatBook(run.start_J, held_J(run), run.lost_J, run.metal_J)


def result_of(run: Run, clock_s: float, frozen: HeatBook, cooled: Run | None = None) -> FreezeResult:
    """Return what a run has found so far.

    Parameters
    ----------
    run : Run
        The run, up to the end of freezing at least.
    clock_s : float
        Time it took [s].
    frozen : HeatBook
        The balance at the end of freezing.
    cooled : Run or None
        The run that followed the solid flask: on larger cells, or the same.
    """
    nodes, metals = run.paths.nodes, run.paths.nodes.metals_count
    solid = is_solid(run)
    more = cooled.histories if cooled is not None and cooled is not run else []
    history = np.array(run.histories + more)
    order = np.lexsort(nodes.cell[:metals].T[::-1])
    return FreezeResult(
        cell=nodes.cell[order],
        centre_m=nodes.centre_m[order],
        metal_m3=nodes.m3[order],
        liquidus_s=run.crossed_s[LIQUIDUS, order],
        critical_s=run.crossed_s[CRITICAL, order],
        freeze_s=run.crossed_s[SOLID, order],
        gradient_K_m=run.gradient_K_m[order],
        rate_K_s=run.rate_K_s[order],
        solid_at_last_frac=metal.solid_of(run.problem.metal, run.node_field.temp_K[order]),
        temp_K=run.node_field.temp_K[order],
        last_solid_s=float(run.crossed_s[SOLID].max()) if solid else float("nan"),
        histories=Histories(history[:, 0], history[:, 5:], history[:, 1], history[:, 2], history[:, 3], history[:, 4]),
        heat=frozen,
        cooling_heat=heat_book(cooled) if cooled is not None else None,
        effort=_effort(run, clock_s),
        finished=solid and (cooled or run).time_s >= run.problem.time.follow_s - 1e-9,
    )


def _effort(run: Run, clock_s: float) -> Effort:
    cells = int(np.prod([len(edge_m) - 1 for edge_m in run.paths.edges_m]))
    steps, stages, newton, cg = (int(one) for one in run.counts)
    return Effort(cells, len(run.paths.nodes.m3), steps, stages, newton, cg, array_bytes_count(run), clock_s)


def array_bytes_count(run: Run) -> int:
    """Return the bytes of all arrays of a run."""
    seen: dict[int, int] = {}
    stack: list[object] = [run]
    while stack:
        one = stack.pop()
        if isinstance(one, np.ndarray):
            seen[one.__array_interface__["data"][0]] = one.nbytes
        elif isinstance(one, tuple | list):
            stack.extend(one)
        elif hasattr(one, "__dict__") and not isinstance(one, FreezeProblem):
            stack.extend(vars(one).values())
    return sum(seen.values())
