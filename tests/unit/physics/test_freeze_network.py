"""Paths of the freezing run: nothing lost, nothing twice, nothing quicker than the sweep."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import ROOM, ball_problem, block, block_problem

from pourwright.physics.freeze.network import lay_paths
from pourwright.physics.freeze.problem import Kind, MouldLaw, Shell

CASES = {
    "whole": lambda: block_problem(surroundings=ROOM, shell=Shell(1e-3, MouldLaw.constant(25.0, 4e6))),
    "cut": ball_problem,
}


def _swept_volume_m3(paths) -> float:
    alone = paths.whole.copy()
    alone.reshape(-1)[paths.rows.cell] = 0
    sides = [np.diff(one) for one in paths.edges_m]
    return float(np.einsum("ijk,i,j,k->", alone[1:-1, 1:-1, 1:-1] == 1, *sides))


def test_whole_cells_keep_their_volumes():
    paths, cells = lay_paths(block_problem()), block()
    nodes, metals = paths.nodes, paths.nodes.metals_count
    assert nodes.m3[:metals].sum() == pytest.approx((cells.kind == Kind.METAL).sum() * 1e-9)
    mould = _swept_volume_m3(paths) + paths.rows.mould_m3.sum() + nodes.m3[metals:].sum()
    assert mould == pytest.approx((cells.kind == Kind.MOULD).sum() * 1e-9)


def test_a_cut_flask_keeps_the_volumes_of_ball_mould_and_steel():
    """Of the ball: as its facets enclose. Mould: cylinder less ball; steel: hollow cylinder; both to rounding."""
    problem = ball_problem()
    paths = lay_paths(problem)
    nodes, metals = paths.nodes, paths.nodes.metals_count
    ball = nodes.m3[:metals].sum()
    assert ball == pytest.approx(4 / 3 * np.pi * 4e-3**3, rel=0.04)
    mould = _swept_volume_m3(paths) + paths.rows.mould_m3.sum() + nodes.m3[metals:].sum() + nodes.skin_m3.sum()
    assert mould + ball == pytest.approx(np.pi * 10e-3**2 * 18e-3, rel=1e-6)
    steel = paths.rows.steel_m3.sum() + nodes.steel_m3.sum()
    assert steel == pytest.approx(np.pi * (11e-3**2 - 10e-3**2) * 18e-3, rel=1e-9)


@pytest.mark.parametrize("case", CASES)
def test_an_even_mould_passes_no_heat_and_every_path_has_its_return(case):
    """Sum of all flows between cells is zero for any field: what one gains the other loses."""
    paths = lay_paths(CASES[case]())
    rows = paths.rows
    owner = np.repeat(np.arange(len(rows.cell)), np.diff(rows.first))
    field = np.zeros(paths.whole.size)
    explicit = (paths.whole == 1).reshape(-1)
    explicit[rows.cell] = True
    rng = np.random.default_rng(7)
    field[explicit] = rng.normal(size=explicit.sum())
    flow = np.zeros(field.size)
    np.add.at(flow, rows.cell[owner], rows.shape_m * (field[rows.beside] - field[rows.cell[owner]]))
    gained = _swept_flow_m(paths, field.reshape(paths.whole.shape))
    assert flow.sum() + gained.sum() == pytest.approx(0.0, abs=1e-12 * np.abs(flow).sum())
    field[explicit] = 1.0
    flow = np.zeros(field.size)
    np.add.at(flow, rows.cell[owner], rows.shape_m * (field[rows.beside] - field[rows.cell[owner]]))
    flow += _swept_flow_m(paths, field.reshape(paths.whole.shape)).ravel()
    assert np.abs(flow).max() < 1e-15


def _swept_flow_m(paths, field):
    """What the sweep counts for whole cells, as conductance over conductivity times u [m]."""
    volumes = [np.pad(np.diff(one), 1) for one in paths.edges_m]
    total = np.zeros(field.shape)
    for axis, along in enumerate(paths.along_per_m2):
        wide = [1, 1, 1]
        wide[axis] = -1
        for side, step in ((0, 1), (1, -1)):
            total += along[:, side].reshape(wide) * (np.roll(field, step, axis) - field)
    return total * np.einsum("i,j,k->ijk", *volumes) * (paths.whole == 1)


@pytest.mark.parametrize("case", CASES)
def test_no_row_is_quicker_than_the_steps_allow(case):
    paths = lay_paths(CASES[case]())
    assert paths.swept_per_m2 <= paths.quickest_per_m2 <= 1.3001 * paths.swept_per_m2


def test_walls_of_whole_cells_are_all_their_faces():
    cells = block()
    is_metal, is_mould = cells.kind == Kind.METAL, cells.kind == Kind.MOULD
    touching = sum(
        int((np.take(a, range(n - 1), axis) & np.take(b, range(1, n), axis)).sum())
        for axis, n in enumerate(is_metal.shape)
        for a, b in ((is_metal, is_mould), (is_mould, is_metal))
    )
    paths = lay_paths(block_problem())
    walls = paths.rows.face_size[paths.rows.face_kind == 1].sum() + paths.nodes.size[paths.nodes.kind == 1].sum()
    assert walls == pytest.approx(touching * 1e-6)


def test_nodes_without_capacity_leave_their_imbalance_to_one_that_has_some():
    nodes = lay_paths(ball_problem()).nodes
    empty = nodes.m3 + nodes.steel_m3 == 0
    assert empty.any()
    assert not empty[nodes.heir].any()
