"""Levels of the nodes: they solve what a dense matrix solves, in few rounds."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import ball_problem, block, block_problem

from pourwright.physics.freeze.kernels.levels import _kernels
from pourwright.physics.freeze.multigrid import lay_levels, make_workspace
from pourwright.physics.freeze.network import lay_paths


def _solved(problem, mass_W_K: float):
    nodes = lay_paths(problem).nodes
    levels, many = lay_levels(nodes), len(nodes.m3)
    work, lists = make_workspace(levels, 0, double=True), levels.lists
    rng = np.random.default_rng(5)
    links = len(nodes.one)
    work.passes_W_K[:links] = passes = 0.2 + rng.random(links)
    _kernels.spread_paths(links, work.passes_W_K, lists, work)
    work.mass_W_K[:many] = mass_W_K
    _kernels.spread_mass(
        lists, work.passes_W_K, work.leaving_W_K, work.mass_W_K, work.diagonal_W_K, work.inverse_K_W, work.value_W_K,
        work.factor_W_K,
    )  # fmt: skip
    matrix = np.diag(np.full(many, mass_W_K))
    for one, other, passed in zip(nodes.one, nodes.other, passes, strict=True):
        matrix[[one, other], [one, other]] += passed
        matrix[[one, other], [other, one]] -= passed
    given = rng.normal(size=many)
    work.miss_W[:many] = given
    rounds = _kernels.conjugate_gradients(
        lists, lists.beside.reshape(-1), work.value_W_K.reshape(-1), work.diagonal_W_K, work.inverse_K_W,
        work.factor_W_K, work.odd_W_K, work.kept_W, work.miss_W, work.change_K, work.cycle_K, work.cycle_W,
        work.search_K, work.search_W, 1e-10, 100,
    )  # fmt: skip
    return work.change_K[:many], np.linalg.solve(matrix, given), rounds, levels


@pytest.mark.parametrize("mass_W_K", [1e-3, 1.0, 100.0])
def test_the_levels_solve_what_a_dense_matrix_solves(mass_W_K):
    ours, dense, rounds, levels = _solved(ball_problem(), mass_W_K)
    assert len(levels.lists.runs) > 1
    assert ours == pytest.approx(dense, abs=1e-8 * np.abs(dense).max() + 1e-9)
    assert rounds < 40


def test_few_unknowns_are_solved_directly():
    ours, dense, rounds, levels = _solved(block_problem(block(2.0)), 0.1)
    assert len(levels.lists.runs) == 1
    assert ours == pytest.approx(dense, rel=1e-9)
    assert rounds <= 2


@pytest.mark.parametrize("problem", [ball_problem, lambda: block_problem(block(0.5))], ids=["cut", "whole"])
def test_every_link_has_two_slots_or_is_extra(problem):
    """On all levels: slots lead to the other colour and back, and the links of a level are all there once."""
    nodes = lay_paths(problem()).nodes
    lists = lay_levels(nodes).lists
    links = len(lists.parent_link)
    in_slots = np.bincount(lists.link[lists.link < links], minlength=links)
    extra = np.bincount(lists.extra_link, minlength=links)
    assert np.all(in_slots + 2 * extra == 2)
    assert extra.sum() < 0.15 * links
    colour = np.concatenate([np.repeat([0, 1, 0, 1], np.diff(runs)) for runs in lists.runs])
    place, slot = np.nonzero(lists.link < links)
    assert np.all(colour[place] != colour[lists.beside[place, slot]])


def test_single_precision_solves_to_single_precision():
    nodes = lay_paths(ball_problem()).nodes
    work = make_workspace(lay_levels(nodes), 0, double=False)
    assert {work.value_W_K.dtype, work.change_K.dtype, work.inverse_K_W.dtype} == {np.dtype(np.float32)}
    assert work.wrong_W.dtype == np.float64
