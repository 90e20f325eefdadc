"""What a plan keeps of a filling: probabilities, times, what decides, and what to look at."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import made_up_job
from tests.unit.simulate.thrown_flask import flask_job, ways

from pourwright.simulate.throw_cavity import hollow_of
from pourwright.simulate.throw_conditions import best_throw
from pourwright.simulate.throw_regions import ThinPlace, thin_places
from pourwright.simulate.throw_run import run_throw, sample_throws
from pourwright.simulate.throw_summary import FillWindow, Told, summarise_throw

TOLD = Told("key", 3.0, False, "throw-F1.svg")


@pytest.fixture(scope="module")
def run():
    return run_throw(flask_job(), best_throw(flask_job().conditions), ways())


@pytest.fixture(scope="module")
def places(run):
    return [place for piece in ("P1", "P2") for place in thin_places(run.job.hollow, piece)]


@pytest.fixture(scope="module")
def samples(run, places):
    return sample_throws(run.job, 8, ways(), [one.voxels for one in places])


def test_probability_is_the_share_of_runs_that_fill_the_piece_whole(run, samples, places):
    said = summarise_throw(run, samples, places, TOLD)
    for number, one in enumerate(said.pieces, 1):
        whole = int((samples.tank_frac[:, number] >= 0.98).sum())
        assert (one.filled_count, one.runs_count) == (whole, 8)
        assert one.fill_probability_frac == whole / 8


def test_times_come_with_their_range_and_in_order(run, samples, places):
    said = summarise_throw(run, samples, places, TOLD)
    for one in said.pieces:
        last = one.last_arrival_s
        assert said.runs_from_s <= one.first_arrival_s <= last.value <= said.runs_to_s + 1e-9
        assert last.low <= last.value <= last.high
    assert said.mass_error_frac < 1e-9
    assert said.left_over_g == pytest.approx(1e3 * 0.040 * (1 - _taken(run)), abs=0.1)


def _taken(run) -> float:
    return run.result.book.tanks_m3 / run.result.book.start_m3


def test_the_last_place_lies_in_the_piece_and_not_in_its_gate(run, samples, places):
    for one in summarise_throw(run, samples, places, TOLD).pieces:
        own_mm = run.job.hollow.voxels.centre_mm[run.job.hollow.voxels.of_part(one.piece)]
        assert np.min(np.abs(own_mm - np.array(one.last_place_mm)).sum(axis=1)) < 1e-6


def test_without_runs_there_is_no_probability_but_a_share(run, places):
    said = summarise_throw(run, None, places, TOLD)
    assert [one.fill_probability_frac for one in said.pieces] == [None, None]
    assert [one.state for one in said.pieces] == ["fills", "fills"]
    assert said.samples_count == 0
    assert not said.findings


def test_a_piece_that_stays_empty_says_so_in_one_finding_with_why(places):
    run = run_throw(flask_job(shut=("P1",)), best_throw(flask_job().conditions))
    said = summarise_throw(run, None, places, TOLD)
    empty = said.pieces[0]
    assert (empty.state, empty.last_arrival_s, empty.misrun_ratio) == ("fails", None, None)
    assert empty.stopped_by == "CUT_OFF"
    (finding,) = said.findings
    assert finding.code == "simulate.throw-unfilled"
    assert "P1" in finding.what
    assert "the way there does not fill" in finding.why


def test_a_piece_without_a_flask_temperature_is_told_to_be_gated_otherwise(run, places):
    none = FillWindow(None, 700.0, 0.9, 350.0, 700.0, True)
    cold = replace(none, low_C=600.0, high_C=500.0)
    fine = replace(none, low_C=450.0, high_C=560.0)
    assert [one.none for one in (none, cold, fine)] == [True, True, False]
    said = summarise_throw(run, None, places, replace(TOLD, windows={"P1": none, "P2": cold}))
    assert [one.code for one in said.findings] == ["simulate.throw-window-none", "simulate.throw-window-cold"]
    assert all("gate" in one.do_next for one in said.findings)


def test_a_bar_between_two_balls_is_its_thin_place_and_an_even_block_has_none(places):
    hollow = hollow_of(made_up_job(), 0.5, 0.0)
    (bar,) = thin_places(hollow, "P1")
    assert bar.thickness_mm == pytest.approx(2.0, rel=0.05)
    assert bar.place_mm == pytest.approx((0.0, 0.0, 23.0), abs=0.3)
    assert places == []


def test_a_thin_place_has_a_probability_of_its_own(run):
    hollow = run.job.hollow
    patch = np.flatnonzero(hollow.voxels.of_part("P1"))[:5]
    place = ThinPlace("P1", 1.0, 2.5, (1.0, 2.0, 3.0), patch)
    samples = sample_throws(run.job, 2, ways(), [patch])
    (thin,) = summarise_throw(run, samples, [place], TOLD).pieces[0].thin
    assert thin.fill_probability_frac == np.mean(samples.patch_frac[:, 0] >= 0.98)
    assert summarise_throw(run, None, [place], TOLD).pieces[0].thin[0].fill_probability_frac is None
