"""The solid flask on larger cells: nothing of it is lost on the way, and it cools much the same."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import ball_problem

from pourwright.physics.freeze.cooling import join_cells
from pourwright.physics.freeze.follow import on_larger_cells
from pourwright.physics.freeze.network import lay_paths
from pourwright.physics.freeze.run import held_J
from pourwright.physics.freeze.solver import march, prepare, solve
from pourwright.physics.freeze.whole_cells import as_cut

FOLLOWED = {"follow_s": 300.0, "follow_side_m": 2e-3}


def test_joined_cells_keep_volumes_walls_and_outside():
    problem = ball_problem()
    paths, fine = lay_paths(problem), as_cut(problem)
    blocks = join_cells(fine, paths, 2e-3)
    coarse = blocks.cells
    assert coarse.network.grid.cells_count < fine.network.grid.cells_count / 3
    for name in ("metal_m3", "skin_m3", "wall_m2"):
        assert getattr(coarse.network, name).sum() == pytest.approx(getattr(fine.network, name).sum())
    for side in range(3):
        areas = [one.air_m2[one.air_side == side].sum() for one in (fine.flask, coarse.flask)]
        assert areas[0] == pytest.approx(areas[1])
    assert coarse.flask.rim_steel_m3.sum() == pytest.approx(fine.flask.rim_steel_m3.sum())


def test_all_heat_goes_over_to_larger_cells():
    """Tolerance 1e-9 of what is held: mould cells that were nodes count their steel at one heat capacity."""
    run = prepare(ball_problem(double=True, **FOLLOWED))
    march(run)
    coarse = on_larger_cells(run)
    assert held_J(coarse) == pytest.approx(held_J(run), rel=1e-9)
    spread = np.ptp(run.node_field.temp_K[: run.paths.nodes.metals_count])
    gone = coarse.node_field.temp_K[: coarse.paths.nodes.metals_count].mean() - run.node_field.temp_K[
        : run.paths.nodes.metals_count].mean()  # fmt: skip
    assert abs(gone) < spread + 1.0


def test_the_flask_cools_much_the_same_on_larger_cells():
    """Tolerance: 3 % of what the hottest metal is above the room after two and after five minutes."""
    same = solve(ball_problem(follow_s=300.0)).histories
    larger = solve(ball_problem(**FOLLOWED))
    assert larger.cooling_heat is not None
    assert larger.cooling_heat.error_frac < 1e-9
    times = larger.histories
    for moment in (120.0, 299.0):
        ours, reference = (np.interp(moment, one.time_s, one.hottest_metal_K) - 293.15 for one in (times, same))
        assert ours == pytest.approx(reference, rel=0.03)
    assert times.button_skin_K.size == times.time_s.size
    assert np.all(np.diff(times.time_s) > 0)
