"""What is kept of a freezing run as it goes, and the result made of it."""

from __future__ import annotations

import numpy as np

from pourwright.physics.freeze import metal
from pourwright.physics.freeze.backend import Backend
from pourwright.physics.freeze.problem import Floats, FreezeProblem
from pourwright.physics.freeze.results import Effort, FreezeResult, HeatBook, Histories
from pourwright.physics.freeze.run import CRITICAL, LIQUIDUS, SOLID, Run, heat_book, is_solid

_SIDE, _BUTTON = 0, 2


def mark(run: Run, step_s: float, last_s: float) -> None:
    """Enter what metal nodes crossed in the step that ends now."""
    nodes, machine = run.node_field, run.machine
    machine.mark_crossings(
        nodes.spare_J, nodes.before_J, nodes.lead_J, nodes.heat_J, run.crossing_J, run.time_s, step_s, last_s,
        metal.PART, run.crossed_s,
    )  # fmt: skip
    machine.mark_slopes(
        run.crossed_s[CRITICAL], run.time_s, step_s, nodes.before_K, nodes.temp_K, run.node_tables.centre_m,
        run.node_tables.beside_first, run.node_tables.beside, run.gradient_K_m, run.rate_K_s,
    )  # fmt: skip


def note(run: Run) -> None:
    """Keep the temperatures of this moment."""
    nodes, list_ = run.node_field, run.paths.nodes
    bare = list_.air_node[list_.air_side == _BUTTON]
    skin_K = float(nodes.temp_K[bare].max()) if len(bare) else np.nan
    fixed = np.array([run.time_s, run.sight.hottest_K, skin_K, _flask_skin_K(run), run.lost_J])
    run.histories.append(np.concatenate((fixed, probe_temps_K(run))))


def _flask_skin_K(run: Run) -> float:
    tables = run.node_tables
    return float(run.machine.hottest_skin_K(
        run.mould_field.u_K.reshape(-1), run.outer, run.mould_tables.by_u, tables.ambient_K, tables.outside, _SIDE
    ))  # fmt: skip


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
        u_K = float(run.mould_field.u_K[spots[0] + 1, spots[1] + 1, spots[2] + 1])
        found.append(float(run.node_field.temp_K[here[0]]) if len(here) else temp_from_u_K(run, np.array([u_K]))[0])
    return np.array(found, dtype=np.float64)


def share_done_frac(run: Run, freezing_frac: float) -> float:
    """Return the share of the run that is done, as a fraction: of the heat to lose, then of the time to follow."""
    follow_s = run.problem.time.follow_s
    freezing = freezing_frac if follow_s > 0 else 1.0
    if run.is_cooling:
        return freezing + (1 - freezing) * run.time_s / follow_s
    return freezing * float(np.clip(1 - run.sight.over_J / run.metal_J, 0.0, 1.0))


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
    nodes, metals, fetch = run.paths.nodes, run.paths.nodes.metals_count, run.machine.fetch
    solid = is_solid(run)
    more = cooled.histories if cooled is not None and cooled is not run else []
    history = np.array(run.histories + more)
    order = np.lexsort(nodes.cell[:metals].T[::-1])
    temp_K, crossed_s = fetch(run.node_field.temp_K)[order], fetch(run.crossed_s)
    return FreezeResult(
        cell=nodes.cell[order],
        centre_m=nodes.centre_m[order],
        metal_m3=nodes.m3[order],
        liquidus_s=crossed_s[LIQUIDUS, order],
        critical_s=crossed_s[CRITICAL, order],
        freeze_s=crossed_s[SOLID, order],
        gradient_K_m=fetch(run.gradient_K_m)[order],
        rate_K_s=fetch(run.rate_K_s)[order],
        solid_at_last_frac=metal.solid_of(run.problem.metal, temp_K),
        temp_K=temp_K,
        last_solid_s=float(crossed_s[SOLID].max()) if solid else float("nan"),
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
        elif hasattr(one, "__dict__") and not isinstance(one, FreezeProblem | Backend):
            stack.extend(vars(one).values())
    return sum(seen.values())
