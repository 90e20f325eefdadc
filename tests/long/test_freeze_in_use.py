"""The freezing engine in use: a small flask in true shape, stopped and resumed, swept, on a scheduler."""

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import made_up_job

from pourwright.doors.service.freeze_jobs import quench_limits
from pourwright.simulate import engine
from pourwright.simulate.conditions import best_case
from pourwright.simulate.run import assess, run_flask
from pourwright.simulate.summary import MOST_ENERGY_ERROR_FRAC, summarise
from pourwright.simulate.sweep import sweep_flask

SIDE_MM = 1.0


def frozen(job, side_mm=SIDE_MM, **more):
    return run_flask(job, best_case(job.conditions), side_mm, engine.freeze, follow_s=more.pop("follow_s", 0.0), **more)


@pytest.fixture(scope="module")
def thin():
    """Two balls on a bar of 1.6 mm: the far one hangs on the bar alone."""
    return assess(frozen(made_up_job(bar_mm=0.8), 0.8))


def test_a_ball_behind_a_thin_bar_is_cut_off_within_the_piece(thin):
    """Sense: a bar of 1.6 mm freezes before a ball of 6 mm beyond it; the void is the ball's liquid times shrinkage."""
    far = [one for one in thin.found.spots if 1e3 * one.place_m[2] > 26.0]
    assert len(far) == 1
    (spot,) = far
    assert abs(1e3 * spot.place_m[2] - 29.0) < 1.5
    assert spot.lasting_s > 0.2
    ball_mm3 = 4 / 3 * np.pi * 27
    assert 0.5 * ball_mm3 < 1e9 * spot.pool_m3 < 1.2 * ball_mm3
    assert any(not one.fed and one.neck == "P1" for one in thin.verdicts)


def test_a_thick_bar_feeds_better_than_a_thin_one(thin):
    """Sense: the same balls on a bar nearly as thick as they are leave a smaller void, or none."""
    thick = assess(frozen(made_up_job(bar_mm=2.6), 0.8))
    void = [sum(one.void_m3.best for one in case.found.spots) for case in (thin, thick)]
    assert void[1] < 0.5 * void[0]


def test_a_hotter_flask_freezes_later():
    from dataclasses import replace

    job = made_up_job(bar_mm=1.5)
    case = best_case(job.conditions)
    cool, hot = (
        run_flask(job, replace(case, flask_K=one), SIDE_MM, engine.freeze, follow_s=0.0).result.last_solid_s
        for one in (673.15, 823.15)
    )
    assert hot > 1.2 * cool


def test_a_run_stopped_and_resumed_comes_out_the_same(tmp_path):
    job = made_up_job(bar_mm=1.5)
    whole = frozen(job)
    asked = iter(range(10**6))
    stopped = frozen(job, cache=tmp_path, cancelled=lambda: next(asked) >= 30)
    assert not stopped.result.finished
    resumed = frozen(job, cache=tmp_path)
    assert resumed.resumed
    np.testing.assert_array_equal(resumed.result.freeze_s, whole.result.freeze_s)


def test_the_books_close_and_the_flask_is_followed_to_the_quench():
    """A production run may miss 5e-4 of the metal's heat at most; the cooling must reach the gate within an hour."""
    said = summarise(assess(frozen(made_up_job(bar_mm=1.5), follow_s=3600.0)), quench_limits(), "key")
    assert said.energy_error_frac < MOST_ENERGY_ERROR_FRAC
    assert said.black_heat_min is not None and said.quench_from_min is not None
    assert 0 < said.last_solid_s.value / 60 < said.quench_from_min.value


def test_runs_on_a_scheduler_are_those_of_this_machine():
    """A Dask scheduler in this process stands for one at an address; the draws are the same, so the answers are."""
    from distributed import LocalCluster

    job = made_up_job(bar_mm=1.5)
    with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as cluster:
        there = sweep_flask(job, 1.2, 3, engine.freeze, quench_limits(), 0.0, scheduler=cluster.scheduler_address)
    here = sweep_flask(job, 1.2, 3, engine.freeze, quench_limits(), 0.0)
    assert there.runs_count == here.runs_count == 3
    assert there.last_solid.middle_s == pytest.approx(here.last_solid.middle_s, rel=1e-6)
