"""Levels of the nodes: they solve what a dense matrix solves, in few rounds."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import ball_problem, block, block_problem

from pourwright.physics.freeze import _kernels
from pourwright.physics.freeze.multigrid import lay_levels, make_workspace
from pourwright.physics.freeze.network import lay_paths


def _solved(problem, mass_W_K: float):
    nodes = lay_paths(problem).nodes
    levels, many = lay_levels(nodes), len(nodes.m3)
    work = make_workspace(levels)
    rng = np.random.default_rng(5)
    work.passes_W_K[: levels.links_count] = passes = 0.2 + rng.random(levels.links_count)
    _kernels.spread_paths(
        levels.links_count, work.passes_W_K, levels.parent_link, levels.first, levels.link, work.value_W_K,
        work.leaving_W_K,
    )  # fmt: skip
    work.mass_W_K[:many] = mass_W_K
    _kernels.spread_mass(
        levels.level, levels.lump, work.leaving_W_K, work.mass_W_K, work.diagonal_W_K, work.inverse_K_W, levels.first,
        levels.beside, work.value_W_K, work.factor_W_K,
    )  # fmt: skip
    matrix = np.diag(np.full(many, mass_W_K))
    for one, other, passed in zip(nodes.one, nodes.other, passes, strict=True):
        matrix[[one, other], [one, other]] += passed
        matrix[[one, other], [other, one]] -= passed
    given = rng.normal(size=many)
    work.miss_W[:many] = given
    rounds = _kernels.conjugate_gradients(
        levels.level, levels.lump, levels.child_first, levels.child, levels.first, levels.beside, work.value_W_K,
        work.diagonal_W_K, work.inverse_K_W, work.factor_W_K, work.miss_W, work.change_K, work.cycle_K, work.search_K,
        work.along_W, work.work_K, 1e-10, 100,
    )  # fmt: skip
    return work.change_K[:many], np.linalg.solve(matrix, given), rounds, levels


@pytest.mark.parametrize("mass_W_K", [1e-3, 1.0, 100.0])
def test_the_levels_solve_what_a_dense_matrix_solves(mass_W_K):
    ours, dense, rounds, levels = _solved(ball_problem(), mass_W_K)
    assert len(levels.level) > 2
    assert ours == pytest.approx(dense, abs=1e-8 * np.abs(dense).max() + 1e-9)
    assert rounds < 40


def test_few_unknowns_are_solved_directly():
    ours, dense, rounds, levels = _solved(block_problem(block(2.0)), 0.1)
    assert len(levels.level) == 2
    assert ours == pytest.approx(dense, rel=1e-9)
    assert rounds <= 2
