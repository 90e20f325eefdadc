"""Runs over the ranges: how often a verdict holds and what decides it."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.core.interval import Interval
from pourwright.simulate.conditions import best_case, draw_cases
from pourwright.simulate.cooling import QuenchLimits
from pourwright.simulate.sweep import Outcome, summed_up, sweep_flask

JOB = made_up_job()
LIMITS = QuenchLimits(800.0, 770.0, 570.0)
KEY = ("P1", 0)


def outcomes(count, last_of, fed_of):
    cases = draw_cases(JOB.conditions, count, 5)
    return [
        Outcome(one, last_of(one), 300.0, 600.0, {KEY: fed_of(one)}, {KEY: 0.0 if fed_of(one) else one.flask_K - 740.0})
        for one in cases
    ]


def test_the_deciding_input_is_the_one_that_ranks_with_the_answer():
    sweep = summed_up(outcomes(40, lambda one: one.conductivity_ratio**-2, lambda one: one.flask_K < 750), 40, 5, 1.0)
    assert sweep.last_solid.mover == "conductivity_ratio"
    assert sweep.last_solid.rank_ratio == pytest.approx(-1.0)
    (holding,) = sweep.sections
    assert holding.mover == "flask_K"
    assert 0 < holding.fed_count < holding.runs_count == 40


def test_an_answer_that_never_changes_has_no_deciding_input():
    sweep = summed_up(outcomes(20, lambda one: 9.0, lambda one: True), 20, 5, 1.0)
    assert sweep.last_solid.mover == ""
    assert sweep.sections[0].mover == ""
    assert sweep.sections[0].fed_count == 20


def test_chance_is_not_taken_for_a_reason():
    random = np.random.default_rng(11)
    noise = iter(random.uniform(size=100).tolist())
    sweep = summed_up(outcomes(20, lambda one: next(noise), lambda one: True), 20, 5, 1.0)
    assert sweep.last_solid.mover == ""
    assert abs(sweep.last_solid.rank_ratio) < 2 / 19**0.5


def test_no_run_that_finished_gives_no_number():
    sweep = summed_up([], 10, 5, 1.0)
    assert sweep.runs_count == 0
    assert np.isnan(sweep.last_solid.middle_s)


def one_after_the_other(work, cases):
    for case in cases:
        yield work.run(case)


def test_processes_of_this_machine_give_the_same_as_one_run_after_the_other(monkeypatch):
    fast = sweep_flask(JOB, 1.2, 4, fake_engine, LIMITS, 1800.0)
    monkeypatch.setattr("pourwright.simulate.sweep._on_this_machine", one_after_the_other)
    assert fast == sweep_flask(JOB, 1.2, 4, fake_engine, LIMITS, 1800.0)
    assert fast.runs_count == 4
    assert fast.last_solid.low_s < fast.last_solid.high_s
    assert fast.black_heat.middle_s > 0


def test_a_stop_keeps_what_has_been_run(monkeypatch):
    monkeypatch.setattr("pourwright.simulate.sweep._on_this_machine", one_after_the_other)
    told = []
    stopped = sweep_flask(
        JOB, 1.4, 6, fake_engine, LIMITS, 1800.0, lambda frac, what: told.append((frac, what)), lambda: len(told) == 2
    )
    assert (stopped.asked_count, stopped.runs_count) == (6, 2)
    assert told[-1] == (2 / 6, "run 2 of 6 over the ranges")


def test_one_value_for_every_range_gives_one_answer():
    fixed = replace(
        JOB.conditions,
        **{name: Interval.exact(value) for name, value in vars(best_case(JOB.conditions)).items()},
    )
    assert len(set(draw_cases(fixed, 5, 1))) == 1
