"""The freezing run on small castings: books, sense, mirrors, being cut off and going on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.physics.small_castings import CURVED, ROOM, ball_problem, block, block_problem

from pourwright.core.errors import SolverError
from pourwright.physics.freeze.problem import MouldLaw, Shell, WholeCells
from pourwright.physics.freeze.record import array_bytes_count
from pourwright.physics.freeze.solver import march, prepare, solve, take_step

STEEL = Shell(1e-3, MouldLaw.constant(25.0, 4e6))


@pytest.mark.parametrize("mould", [None, CURVED], ids=["even", "curved"])
@pytest.mark.parametrize("closed", [True, False])
def test_heat_is_kept_to_rounding_in_double_precision(mould, closed):
    """Tolerance 1e-12 of the metal's heat in a closed box, 1e-9 with steel, radiation and a bare button."""
    more = {} if closed else {"surroundings": ROOM, "shell": STEEL}
    result = solve(block_problem(mould=mould, double=True, **more))
    assert result.finished
    assert result.heat.error_frac < (1e-12 if closed else 1e-9)
    assert (result.heat.lost_J == 0.0) is closed


@pytest.mark.parametrize("mould", [None, CURVED], ids=["even", "curved"])
def test_heat_is_kept_well_enough_in_single_precision(mould):
    """Tolerance 1e-5 of the metal's heat, fifty times under what is promised."""
    assert solve(ball_problem(mould=mould)).heat.error_frac < 1e-5


def test_every_cell_freezes_and_later_than_its_liquidus():
    result = solve(block_problem())
    assert result.finished
    assert np.all(result.freeze_s > result.critical_s)
    assert np.all(result.critical_s > result.liquidus_s)
    assert result.last_solid_s == result.freeze_s.max() <= result.histories.time_s[-1]
    assert np.all(result.rate_K_s > 0)
    assert np.all(result.gradient_K_m >= 0)
    assert np.all(np.diff(np.ravel_multi_index(result.cell.T, (10, 10, 14))) > 0)


def test_a_mirrored_casting_freezes_mirrored():
    """Tolerance 1e-4: the metal is solved to 0.001 K, going through its cells in another order."""
    cells = block()
    swapped = WholeCells(cells.edges_m, np.ascontiguousarray(cells.kind[::-1]))
    ours, mirrored = solve(block_problem(cells)), solve(block_problem(swapped))
    order = np.lexsort((ours.cell[:, 2], ours.cell[:, 1], 9 - ours.cell[:, 0]))
    assert mirrored.freeze_s == pytest.approx(ours.freeze_s[order], rel=1e-4)


@pytest.mark.parametrize(
    ("change", "later"),
    [
        ({"mould_start_K": 853.0}, True),
        ({"mould": MouldLaw.constant(0.6, 1.1e6)}, False),
        ({"mould": MouldLaw.constant(0.4, 0.8e6)}, True),
        ({"surroundings": replace(ROOM, button_emissivity_frac=0.9)}, False),
    ],
    ids=["hotter flask", "mould conducts better", "mould holds less", "bare faces radiate"],
)
def test_freezing_comes_earlier_or_later_as_it_should(change, later):
    plain, changed = solve(block_problem()), solve(block_problem(**change))
    assert (changed.last_solid_s > plain.last_solid_s) is later


def test_steps_a_third_as_long_change_little():
    """Time error: of 0.05 against 0.015, under 1.5 % of the last freezing time and 1 % on the whole."""
    coarse, fine = solve(block_problem()), solve(block_problem(growth_ratio=0.015))
    assert coarse.last_solid_s == pytest.approx(fine.last_solid_s, rel=0.015)
    miss = coarse.critical_s - fine.critical_s
    assert np.sqrt((miss**2).mean() / (fine.critical_s**2).mean()) < 0.01


def test_probes_read_metal_and_mould():
    places = np.array([[5e-3, 5e-3, 2e-3], [9.5e-3, 9.5e-3, 13.5e-3]])
    history = solve(block_problem(probes_m=places)).histories.probe_K
    assert history[0] == pytest.approx([1273.0, 753.0])
    assert history[-1, 0] < 1060.0
    assert 753.0 < history[-1, 1] < 800.0


def test_a_run_cut_off_goes_on_to_the_same_result():
    problem, kept = block_problem(surroundings=ROOM, shell=STEEL, follow_s=60.0), []
    whole = solve(problem)
    steps = iter(range(40))
    cut = solve(problem, cancelled=lambda: next(steps, None) is None, keep=kept.append)
    assert not cut.finished
    rest = solve(problem, resume=kept[-1])
    assert np.array_equal(rest.freeze_s, whole.freeze_s)
    assert np.array_equal(rest.histories.hottest_metal_K, whole.histories.hottest_metal_K)
    assert rest.heat == whole.heat


def test_a_run_cut_off_while_it_cools_is_not_finished_and_goes_on():
    problem, kept = block_problem(surroundings=ROOM, follow_s=300.0, follow_side_m=2e-3), []
    whole = solve(problem)
    steps = iter(range(len(whole.histories.time_s) - 5))
    cut = solve(problem, cancelled=lambda: next(steps, None) is None, keep=kept.append)
    assert np.isfinite(cut.last_solid_s)
    assert whole.finished
    assert not cut.finished
    rest = solve(problem, resume=kept[-1])
    assert rest.finished
    assert np.array_equal(rest.histories.hottest_metal_K, whole.histories.hottest_metal_K)


def test_a_state_of_another_run_is_refused():
    kept = []
    solve(block_problem(), cancelled=lambda: True, keep=kept.append)
    with pytest.raises(SolverError, match="another freezing run"):
        solve(block_problem(mould_start_K=760.0), resume=kept[0])


def test_progress_rises_to_one():
    told = []
    solve(block_problem(), report=lambda share, text: told.append((share, text)))
    shares = [share for share, _ in told]
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert shares[-1] == pytest.approx(1.0)
    assert "after the pour" in told[0][1]


def test_what_cannot_freeze_in_the_time_given_is_not_called_finished():
    result = solve(block_problem(freeze_limit_s=0.5))
    assert not result.finished
    assert np.isnan(result.last_solid_s)
    assert result.solid_at_last_frac.min() < 1.0


def test_temperatures_that_are_no_number_are_said():
    run = prepare(block_problem())
    run.mould_field.u_K[...] = np.nan
    with pytest.raises(SolverError, match="lost its way"):
        march(run)


def test_a_cell_of_a_flask_takes_few_bytes():
    """Fields take 17 bytes a cell; the lists of so small a flask, nearly all rim and wall, take the rest."""
    run = prepare(block_problem())
    fields = 4 * run.mould_field.u_K.nbytes + run.paths.whole.nbytes
    assert fields == 17 * run.paths.whole.size
    assert array_bytes_count(run) < fields + 700 * (len(run.paths.rows.cell) + len(run.paths.nodes.m3))


def test_one_thread_and_two_give_the_same_to_the_last_bit():
    from numba import get_num_threads, set_num_threads

    found, allowed = [], get_num_threads()
    for many in {1, allowed}:
        set_num_threads(many)
        run = prepare(block_problem(block(0.5)))
        for _ in range(3):
            assert take_step(run, 0.02)
        found.append((run.mould_field.u_K.copy(), run.node_field.heat_J.copy()))
    set_num_threads(allowed)
    assert all(np.array_equal(one, other) for one, other in zip(found[0], found[-1], strict=True))
