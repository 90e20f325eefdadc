"""What a plan keeps of a run: figures with ranges, verdicts with counts, and what to look at."""

from dataclasses import replace

import pytest
from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.physics.freeze.results import HeatBook
from pourwright.simulate.conditions import best_case
from pourwright.simulate.cooling import QuenchLimits
from pourwright.simulate.run import assess, run_flask
from pourwright.simulate.summary import summarise
from pourwright.simulate.sweep import Holding, Spread, Sweep

JOB = made_up_job(bar_mm=1.0)
LIMITS = QuenchLimits(800.0, 770.0, 620.0)
RUN = run_flask(JOB, best_case(JOB.conditions), 0.6, fake_engine)
ASSESSED = assess(RUN)


def test_a_starved_section_is_a_finding_with_its_verdict():
    said = summarise(ASSESSED, LIMITS, "key")
    (verdict,) = said.verdicts
    assert not verdict.fed
    (finding,) = [one for one in said.findings if one.code.startswith("simulate.starved")]
    assert finding.code == "simulate.starved-in-piece"
    assert verdict.words in finding.what
    assert "Shrinkage only" in finding.what


def test_hot_spots_are_told_by_part_and_place():
    spot = summarise(ASSESSED, LIMITS, "key").hot_spots[0]
    assert (spot.part, spot.neck) == ("P1", "P1")
    assert spot.place_mm[2] == pytest.approx(29.0, abs=1.0)
    assert spot.void_mm3.low < spot.void_mm3.value < spot.void_mm3.high


def test_times_without_samples_are_points_and_with_samples_ranges():
    alone = summarise(ASSESSED, LIMITS, "key")
    assert alone.last_solid_s.low == alone.last_solid_s.value == RUN.result.last_solid_s
    spread = Spread(20.0, 40.0, 90.0, "conductivity_ratio", -0.9, 20)
    sweep = Sweep(20, 19, 1, 1.0, spread, spread, spread, (Holding("P1", 0, 4, 19, 1.0, 2.0, "flask_K", 0.8),))
    sampled = summarise(ASSESSED, LIMITS, "key", sweep)
    assert (sampled.last_solid_s.low, sampled.last_solid_s.high) == (20.0, 90.0)
    assert sampled.moved_by["last_solid_s"] == "conductivity_ratio"
    assert "20 runs, moved most by how well the mould conducts heat" in sampled.last_solid_s.origin
    assert (sampled.verdicts[0].fed_count, sampled.verdicts[0].runs_count) == (4, 19)
    assert sampled.samples_count == 19


def test_a_time_that_the_run_did_not_reach_is_not_made_up():
    said = summarise(ASSESSED, QuenchLimits(800.0, 300.0, 200.0), "key")
    assert said.quench_from_min is None
    assert said.black_heat_min is not None


def test_books_that_do_not_close_stop():
    broken = replace(RUN, result=replace(RUN.result, heat=HeatBook(1000.0, 600.0, 399.0, 500.0)))
    said = summarise(replace(ASSESSED, run=broken), LIMITS, "key")
    assert said.energy_error_frac == pytest.approx(2e-3)
    assert [one.level.value for one in said.findings if one.code == "simulate.energy-lost"] == ["stop"]


def test_liquid_that_outlasts_the_button_is_said():
    assert "simulate.last-liquid-in-piece" not in [one.code for one in summarise(ASSESSED, LIMITS, "key").findings]
    freeze_s = RUN.result.freeze_s.copy()
    freeze_s[ASSESSED.regions.feeder] = 1.0
    early = replace(ASSESSED, run=replace(RUN, result=replace(RUN.result, freeze_s=freeze_s)))
    (said,) = [one for one in summarise(early, LIMITS, "key").findings if one.code == "simulate.last-liquid-in-piece"]
    assert "P1" in said.what
    assert "fine pores" in said.why
