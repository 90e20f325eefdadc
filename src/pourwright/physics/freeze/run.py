"""A freezing run between two steps: what does not change, what does, and its book of heat."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze import metal, mould
from pourwright.physics.freeze.backend import Backend, placed
from pourwright.physics.freeze.lists import FACE_AIR_SIDE, Paths, Rows
from pourwright.physics.freeze.multigrid import Workspace, lay_levels, make_workspace
from pourwright.physics.freeze.network import lay_paths
from pourwright.physics.freeze.problem import Floats, FreezeProblem
from pourwright.physics.freeze.results import HeatBook

# Marks kept for each metal node, in this order.
LIQUIDUS, CRITICAL, SOLID = range(3)


class RowWork(NamedTuple):
    """Arrays over rows and faces that each step fills anew (see ``open_rows`` and ``sweep_stage``)."""

    given: NDArray[Any]
    pull: NDArray[Any]
    per_capacity: NDArray[Any]
    in_time: Floats
    base: NDArray[Any]
    loss: NDArray[Any]
    stiff_J_K: NDArray[Any]


class OuterFaces(NamedTuple):
    """Faces of the flask's side: cell of the padded grid, and how far outside its middle they lie [m]."""

    cell: NDArray[np.uint32]
    m: NDArray[Any]


class Sight(NamedTuple):
    """What is read off the nodes after each step (see ``look``)."""

    far_K: float
    hottest_K: float
    over_J: float
    all_J: float


@dataclass(eq=False)
class Run:
    """A run between two steps.

    ``paths`` stay where they were laid; what the kernels use lies on the ``machine``.
    """

    problem: FreezeProblem
    machine: Backend
    paths: Paths
    mould_tables: mould.MouldTables
    node_tables: metal.NodeTables
    rows: Rows
    row_work: RowWork
    work: Workspace
    whole: NDArray[np.uint8]
    outer: OuterFaces
    plain_s: float
    crossing_J: Floats
    mould_field: mould.MouldField
    node_field: metal.NodeField
    crossed_s: Floats
    gradient_K_m: Floats
    rate_K_s: Floats
    sight: Sight
    start_J: float
    metal_J: float
    time_s: float = 0.0
    last_step_s: float = 0.0
    lost_J: float = 0.0
    is_cooling: bool = False
    counts: NDArray[np.int64] = field(default_factory=lambda: np.zeros(4, np.int64))
    histories: list[NDArray[Any]] = field(default_factory=list)


def lay_run(problem: FreezeProblem, machine: Backend) -> Run:
    """Lay the paths, tables and fields of a run, all at the start."""
    paths = lay_paths(problem)
    nodes, double = paths.nodes, problem.time.double
    mould_tables = _mould_tables(problem)
    levels = lay_levels(nodes)
    node_tables = metal.node_tables(problem, nodes, levels, mould_tables)
    metals = nodes.metals_count
    run = Run(
        problem, machine, paths, mould_tables, node_tables, paths.rows, _row_work(paths, double),
        make_workspace(levels, len(nodes.air_node), double), paths.whole, _outer_faces(paths),
        mould.plain_step_s(paths, mould_tables),
        _crossings_J(problem, paths, node_tables.laws), mould.still_field(paths, mould_tables, double),
        metal.start_nodes(problem, nodes, node_tables.laws, machine), np.full((3, metals), np.nan),
        np.full(metals, np.nan), np.full(metals, np.nan), Sight(0.0, 0.0, 0.0, 0.0), 0.0,
        _metal_heat_J(problem, paths),
    )  # fmt: skip
    for name in ("mould_tables", "node_tables", "rows", "row_work", "work", "whole", "outer", "crossing_J",
                 "mould_field", "node_field", "crossed_s", "gradient_K_m", "rate_K_s"):  # fmt: skip
        setattr(run, name, placed(getattr(run, name), machine.put))
    look(run, 0.0)
    run.start_J = held_J(run)
    return run


def _mould_tables(problem: FreezeProblem) -> mould.MouldTables:
    hottest_K = max(float(np.max(problem.metal_start_K)), problem.mould_start_K, problem.surroundings.ambient_K) + 50
    coldest_K = min(problem.surroundings.ambient_K, problem.mould_start_K) - 50
    steel = problem.shell.law if problem.shell else None
    return mould.tabulate(problem.mould, steel, problem.mould_start_K, coldest_K, hottest_K)


def _row_work(paths: Paths, double: bool) -> RowWork:
    kind = np.float64 if double else np.float32
    faces, rows = np.zeros(len(paths.rows.face_node), kind), np.zeros(len(paths.rows.cell), kind)
    return RowWork(rows, rows.copy(), rows.copy(), np.zeros((len(rows), 2)), faces, faces.copy(), faces.copy())


def _outer_faces(paths: Paths) -> OuterFaces:
    rows = paths.rows
    outer = np.flatnonzero(rows.face_kind == FACE_AIR_SIDE)
    owner = np.searchsorted(rows.face_first, outer, side="right") - 1
    return OuterFaces(rows.cell[owner], rows.face_mould_m[outer])


def _crossings_J(problem: FreezeProblem, paths: Paths, laws: metal.Laws) -> Floats:
    """Return the heats of metal nodes at liquidus, critical share and end of freezing [J]."""
    nodes, law = paths.nodes, problem.metal
    marks_K = np.array([law.liquidus_K, law.critical_K, law.solidus_K])
    volumes_m3, other_J_K = nodes.m3[: nodes.metals_count], laws.other_J_K[: nodes.metals_count]
    return np.asarray(np.outer(law.enthalpy_at_J_m3(marks_K), volumes_m3) + np.outer(marks_K, other_J_K))


def _metal_heat_J(problem: FreezeProblem, paths: Paths) -> float:
    volumes_m3 = paths.nodes.m3[: paths.nodes.metals_count]
    start_K = metal.start_temps_K(problem, paths.nodes)
    above = problem.metal.enthalpy_at_J_m3(start_K) - problem.metal.enthalpy_at_J_m3(np.array(problem.mould_start_K))
    return float(np.dot(volumes_m3, np.abs(above)))


def look(run: Run, ratio: float) -> Sight:
    """Look over the nodes: where metal is against a straight line on by a ratio of the last two steps, and its heat."""
    nodes = run.node_field
    seen = run.machine.look(
        nodes.heat_J, nodes.temp_K, nodes.before_K, nodes.spare_K, ratio, run.crossing_J[SOLID]
    )  # fmt: skip
    run.sight = Sight(*(float(one) for one in seen))
    return run.sight


def is_solid(run: Run) -> bool:
    """Return whether all metal is solid."""
    return run.sight.over_J <= 0.0


def held_J(run: Run) -> float:
    """Return the heat that metal, mould and steel hold now [J], from zeros of no account."""
    field_u_K = run.mould_field.u_K
    rows_J = run.machine.rows_heat_J(field_u_K.reshape(-1), run.rows, run.mould_tables.by_u)
    swept_J = mould.cells_heat_J(run.machine.fetch(field_u_K), run.paths, run.mould_tables)
    return float(run.node_field.heat_J.sum()) + float(rows_J) + swept_J


def heat_book(run: Run) -> HeatBook:
    """Return the balance of this moment."""
    return HeatBook(run.start_J, held_J(run), run.lost_J, run.metal_J)
