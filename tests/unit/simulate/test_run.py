"""A run comes from the cache, from where it was cut off, or from the pour."""

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.simulate.conditions import best_case
from pourwright.simulate.job import job_key
from pourwright.simulate.run import assess, run_flask

JOB = made_up_job()
CASE = best_case(JOB.conditions)


def counted(calls):
    def engine(job, case, side_mm, follow_s, hooks):
        calls.append(hooks.resume)
        return fake_engine(job, case, side_mm, follow_s, hooks)

    return engine


def test_the_second_run_of_the_same_comes_from_the_cache(tmp_path):
    calls = []
    first = run_flask(JOB, CASE, 1.0, counted(calls), tmp_path)
    second = run_flask(JOB, CASE, 1.0, counted(calls), tmp_path)
    assert (first.cached, second.cached, len(calls)) == (False, True, 1)
    np.testing.assert_array_equal(first.result.freeze_s, second.result.freeze_s)
    assert second.store == first.store


def test_a_run_cut_off_goes_on_where_it_stopped(tmp_path):
    calls, answers = [], iter([False, False, True])
    stopped = run_flask(JOB, CASE, 1.0, counted(calls), tmp_path, cancelled=lambda: next(answers))
    assert not stopped.result.finished
    done = run_flask(JOB, CASE, 1.0, counted(calls), tmp_path)
    assert done.resumed
    assert done.result.finished
    assert int(calls[1].arrays["step_count"]) == 2
    assert [one.name for one in (tmp_path / "freeze").iterdir()] == [done.store.name]


def test_a_run_killed_without_a_word_goes_on_too(tmp_path):
    def killed(job, case, side_mm, follow_s, hooks):
        def keep_then_die(state):
            hooks.keep(state)
            if int(state.arrays["step_count"]) == 4:
                raise KeyboardInterrupt

        return fake_engine(
            job, case, side_mm, follow_s, type(hooks)(hooks.report, hooks.cancelled, None, keep_then_die)
        )

    with pytest.raises(KeyboardInterrupt):
        run_flask(JOB, CASE, 1.0, killed, tmp_path)
    calls = []
    assert run_flask(JOB, CASE, 1.0, counted(calls), tmp_path).resumed
    assert int(calls[0].arrays["step_count"]) == 4


def test_without_a_cache_nothing_is_kept():
    assert run_flask(JOB, CASE, 1.0, fake_engine).store is None


def test_the_key_changes_with_metal_case_and_grid_and_with_nothing_else():
    key = job_key(JOB, CASE, 1.0)
    assert key == job_key(made_up_job(), best_case(made_up_job().conditions), 1.0)
    others = [
        job_key(made_up_job(bar_mm=1.2), CASE, 1.0),
        job_key(JOB, CASE, 0.9),
        job_key(JOB, type(CASE)(**{**vars(CASE), "flask_K": 700.0}), 1.0),
        job_key(JOB, CASE, 1.0, (60.0,)),
    ]
    assert len({key, *others}) == 5


def test_a_ball_on_a_thin_bar_is_cut_off_and_one_on_a_thick_bar_is_fed():
    thin = assess(run_flask(made_up_job(bar_mm=1.0), CASE, 0.5, fake_engine))
    (verdict,) = thin.verdicts
    assert not verdict.fed
    assert verdict.neck == "P1"
    assert abs(1e3 * verdict.place_m[2] - 29.0) < 1.0
    thick = assess(run_flask(made_up_job(bar_mm=2.9), CASE, 0.5, fake_engine))
    assert all(one.void_m3.best < verdict.void_m3.best for one in thick.verdicts)


def test_a_run_that_did_not_end_is_not_judged():
    stopped = run_flask(JOB, CASE, 1.0, fake_engine, cancelled=lambda: True)
    with pytest.raises(ValueError, match="all metal froze"):
        assess(stopped)
