"""A run carried over to larger cells once all metal is solid, to be followed as it cools."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze import metal
from pourwright.physics.freeze.cooling import held_m3, join_cells, mould_node_cells
from pourwright.physics.freeze.problem import Floats
from pourwright.physics.freeze.record import temp_from_u_K
from pourwright.physics.freeze.run import Run, held_J, lay_run, look
from pourwright.physics.freeze.whole_cells import as_cut


def on_larger_cells(run: Run) -> Run:
    """Return the run carried over to larger cells, all heat included, to be followed as it cools."""
    blocks = join_cells(as_cut(run.problem), run.paths, run.problem.time.follow_side_m)
    fine, fetch, put = run.paths.nodes, run.machine.fetch, run.machine.put
    solid_K = np.array(fetch(run.node_field.temp_K)[: fine.metals_count].mean())
    exactly = replace(run.problem.time, double=True)  # little is left to sweep, and much heat passes in an hour
    coarse = lay_run(replace(run.problem, cells=blocks.cells, metal_start_K=solid_K, time=exactly), run.machine)
    metals = coarse.paths.nodes.metals_count
    metal_J = np.bincount(blocks.metal_of[fine.number], fetch(run.node_field.heat_J)[: fine.metals_count], metals)
    coarse.node_field.heat_J[:metals] = put(metal_J[coarse.paths.nodes.number])
    _carry_mould(run, coarse, blocks.block_of)
    metal.look_up(coarse.node_field, coarse.node_tables.laws, coarse.machine)
    coarse.node_field.before_J[:] = coarse.node_field.heat_J
    coarse.node_field.before_K[:] = coarse.node_field.temp_K
    look(coarse, 0.0)
    coarse.time_s, coarse.last_step_s, coarse.lost_J = run.time_s, run.last_step_s, run.lost_J
    coarse.metal_J, coarse.start_J, coarse.is_cooling = run.metal_J, held_J(coarse) + run.lost_J, True
    return coarse


def _carry_mould(run: Run, coarse: Run, block_of: NDArray[np.int32]) -> None:
    """Give every block the u at which it holds what its cells held."""
    grid = as_cut(coarse.problem).network.grid
    mould_m3, steel_m3, heat_J = (
        np.asarray(np.bincount(block_of, own, grid.cells_count), np.float64) for own in _mould_holdings(run)
    )
    u_K = _u_of_heat_K(run, mould_m3, steel_m3, heat_J)
    field, nodes = coarse.mould_field, coarse.paths.nodes
    explicit = (coarse.paths.whole == 1).reshape(-1)
    explicit[coarse.paths.rows.cell] = True
    padded = np.zeros(coarse.paths.whole.shape)
    padded[1:-1, 1:-1, 1:-1] = u_K.reshape(grid.shape)
    field.u_K[...] = coarse.machine.put(np.where(explicit.reshape(padded.shape), padded, 0.0))
    _set_mould_nodes(coarse, temp_from_u_K(coarse, u_K[mould_node_cells(nodes, grid)]))


def _u_of_heat_K(run: Run, mould_m3: Floats, steel_m3: Floats, heat_J: Floats) -> Floats:
    """Return the u at which so much mould and steel hold so much heat [K]."""
    tables = run.mould_tables
    knots_K = tables.low_u_K + np.arange(len(tables.temp_by_u_K)) / tables.per_u_ratio
    slope = np.gradient(tables.heat_by_u_J_m3) * tables.per_u_ratio
    steel_slope = np.gradient(tables.steel_by_u_J_m3) * tables.per_u_ratio
    held = mould_m3 + steel_m3 > 0
    u_K = np.zeros(len(mould_m3))
    for _ in range(10):
        has_J = mould_m3 * np.interp(u_K, knots_K, tables.heat_by_u_J_m3)
        has_J += steel_m3 * np.interp(u_K, knots_K, tables.steel_by_u_J_m3)
        per_K = mould_m3 * np.interp(u_K, knots_K, slope) + steel_m3 * np.interp(u_K, knots_K, steel_slope)
        u_K[held] += (heat_J - has_J)[held] / per_K[held]
    return u_K


def _set_mould_nodes(run: Run, temp_K: Floats) -> None:
    """Give the mould nodes a temperature, and the heat that goes with it."""
    field, laws, metals = run.node_field, run.node_tables.laws, run.paths.nodes.metals_count
    field.temp_K[metals:] = run.machine.put(temp_K)
    metal_J = field.heat_J[:metals].copy()
    run.machine.node_heat(laws, field.temp_K, laws.other_J_K, field.heat_J)
    field.heat_J[:metals] = metal_J


def _mould_holdings(run: Run) -> tuple[Floats, Floats, Floats]:
    """Return mould and steel of each cell [m3], and the heat they hold [J]."""
    cut, tables, paths, fetch = as_cut(run.problem), run.mould_tables, run.paths, run.machine.fetch
    mould_m3, steel_m3 = held_m3(cut, paths)
    u_K = fetch(run.mould_field.u_K)[1:-1, 1:-1, 1:-1].astype(np.float64).ravel()
    metals = paths.nodes.metals_count
    knots_K = tables.low_K + np.arange(len(tables.u_by_temp_K)) / tables.per_K_ratio
    quick_K = fetch(run.node_field.temp_K)[metals:]
    u_K[mould_node_cells(paths.nodes, cut.network.grid)] = np.interp(quick_K, knots_K, tables.u_by_temp_K)
    knots_u_K = tables.low_u_K + np.arange(len(tables.temp_by_u_K)) / tables.per_u_ratio
    heat_J = mould_m3 * np.interp(u_K, knots_u_K, tables.heat_by_u_J_m3)
    heat_J += steel_m3 * np.interp(u_K, knots_u_K, tables.steel_by_u_J_m3)
    return mould_m3, steel_m3, heat_J
