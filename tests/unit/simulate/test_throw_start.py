"""The freezing starts from the metal as it came."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import made_up_job
from tests.unit.simulate.thrown_flask import flask_job, ways

from pourwright.physics.fill.results import Fate
from pourwright.simulate import engine
from pourwright.simulate.conditions import best_case
from pourwright.simulate.job import StartField, job_key
from pourwright.simulate.throw_conditions import best_throw
from pourwright.simulate.throw_fields import fields_of, start_of
from pourwright.simulate.throw_run import run_throw

JOB = made_up_job()
CASE = best_case(JOB.conditions)
START = StartField(np.array([[0.0, 0.0, 4.0], [0.0, 0.0, 30.0]]), np.array([1230.0, 1170.0]), 1243.15)


def start_K(job, case=CASE):
    return np.asarray(engine.problem_of(job, case, engine.grid_of(job, 1.0), 0.0).metal_start_K)


def test_each_node_starts_as_warm_as_the_metal_that_came_nearest():
    temp_K = start_K(replace(JOB, start=START))
    assert set(np.round(temp_K, 2)) == {1230.0, 1170.0}
    assert start_K(JOB).shape == ()


def test_a_hotter_pour_starts_hotter_by_as_much():
    hotter = start_K(replace(JOB, start=START), replace(CASE, pour_K=1253.15))
    assert hotter - start_K(replace(JOB, start=START)) == pytest.approx(10.0)


def test_colder_metal_on_arrival_is_solid_sooner_and_has_a_key_of_its_own():
    cold = replace(JOB, start=replace(START, temp_K=START.temp_K - 30.0))
    frozen = [engine.freeze(job, CASE, 1.5, 0.0, _no_hooks())[0].last_solid_s for job in (JOB, cold)]
    assert frozen[1] < frozen[0]
    keys = {job_key(job, CASE, 1.0) for job in (JOB, replace(JOB, start=START), cold)}
    assert len(keys) == 3


def _no_hooks():
    from pourwright.simulate.run import Hooks

    return Hooks()


def test_a_filled_flask_hands_over_what_came_and_an_empty_one_nothing():
    job = flask_job()
    kept = fields_of(run_throw(job, best_throw(job.conditions), ways()), None)
    start = start_of(kept, 1243.15)
    assert len(start.temp_K) == kept.filled.sum()
    assert start.temp_K.max() < 1243.15
    assert start_of(replace(kept, fate=np.full_like(kept.fate, Fate.STARVED)), 1243.15) is None
