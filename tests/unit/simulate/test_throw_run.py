"""Filling a flask: sense of direction, blocked gates, other heads, runs over the ranges."""

from itertools import pairwise

import numpy as np
import pytest
from tests.unit.simulate.thrown_flask import filled, flask_job, ways

from pourwright.physics.fill.results import Fate
from pourwright.simulate.throw_conditions import Head, best_throw
from pourwright.simulate.throw_fields import fields_of
from pourwright.simulate.throw_run import FULL_FRAC, mould_at_K, problem_of, run_throw, sample_throws


def share(result) -> float:
    volume = sum(one.volume_m3 for one in result.tanks[1:])
    return sum(one.filled_m3 for one in result.tanks[1:]) / volume


def test_the_metal_is_all_accounted_for_and_both_pieces_fill():
    result = filled(laid=ways())
    assert result.book.error_frac < 1e-9
    assert share(result) > FULL_FRAC


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("flask_K", (450.0, 900.0)),
        ("permeability_m2", (1e-16, 3e-15, 1e-13)),
        ("force_ratio", (0.3, 3.0)),
        ("pour_K", (1180.0, 1260.0)),
    ],
)
def test_hotter_faster_and_more_permeable_never_fill_less(name, values):
    # a hard case, so that there is something to be gained
    hard = {"gate_frac": 0.4, "permeability_m2": 3e-15, "flask_K": 600.0}
    shares = [share(filled(laid=ways(), **{**hard, name: value})) for value in values]
    assert all(later >= earlier - 0.01 for earlier, later in pairwise(shares)), shares
    assert shares[-1] > shares[0]


def test_more_turns_never_fill_less():
    shares = [share(filled(flask_job(turns), ways(), permeability_m2=2e-15, flask_K=600.0)) for turns in (1.0, 4.0)]
    assert shares == sorted(shares)


def test_a_blocked_gate_leaves_its_piece_empty_and_the_other_full():
    result = filled(flask_job(shut=("P1",)))
    by_name = {one.name: one for one in result.tanks}
    assert by_name["P1"].filled_frac == 0.0
    assert by_name["P2"].filled_frac > FULL_FRAC
    assert np.all(result.fate[flask_job().hollow.cavity.tank == 1] != Fate.FILLED)


def test_a_vacuum_fills_sooner_than_the_weight_alone():
    vacuum, plain = (flask_job(head=head) for head in (Head.VACUUM, Head.GRAVITY))
    sooner, later = (filled(job, ways(Head.GRAVITY)) for job in (vacuum, plain))
    assert sooner.tanks[1].head_Pa > 10 * later.tanks[1].head_Pa
    assert share(sooner) >= share(later)


def test_the_mould_near_the_mouth_is_met_cooler():
    job = flask_job()
    run = run_throw(job, best_throw(job.conditions), ways())
    met_K = mould_at_K(job.hollow, run.open_flask)
    assert met_K[job.hollow.voxels.of_part("button")].mean() < met_K[job.hollow.voxels.of_part("P1")].mean()
    problem, _ = problem_of(job, run.case)
    assert met_K.min() < problem.mould.temp_K < run.case.flask_K


def test_runs_over_the_ranges_are_the_same_for_a_seed_and_stop_when_asked():
    job = flask_job()
    once, again = (sample_throws(job, 4, ways(), [np.array([0, 1])]) for _ in range(2))
    assert np.array_equal(once.tank_frac, again.tank_frac)
    assert once.patch_frac.shape == (4, 1)
    assert np.all((once.fills_frac >= 0) & (once.fills_frac <= 1))
    asked = iter([False, True])
    assert len(sample_throws(job, 4, ways(), cancelled=lambda: next(asked)).cases) == 1


def test_fields_hold_each_cube_once():
    job = flask_job()
    kept = fields_of(run_throw(job, best_throw(job.conditions), ways()), None)
    assert len(kept.arrival_s) == len(kept.centre_mm) == job.hollow.cavity.count
    assert np.isnan(kept.fills_frac).all()
    assert np.isfinite(kept.arrival_s[kept.filled]).all()
