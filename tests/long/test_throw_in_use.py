"""The throw in use, with the real engines: a reasoned flask temperature, and the hand-over to the freezing.

Strips of one length and width on one sprue, thrown by the made-up arm; only their thickness changes.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from tests.unit.simulate.made_up_throw import ARM, conditions

from pourwright.core.interval import Interval
from pourwright.physics.spin.throwing import throw_arm
from pourwright.shape.pattern.solids import box
from pourwright.shape.tree.placing import tree_of
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate import engine
from pourwright.simulate.conditions import best_case, conditions_for
from pourwright.simulate.job import FlaskJob, piece_skin
from pourwright.simulate.run import run_flask
from pourwright.simulate.throw_cavity import hollow_of
from pourwright.simulate.throw_conditions import best_throw, drive_of
from pourwright.simulate.throw_fields import fields_of, start_of
from pourwright.simulate.throw_run import ThrowJob, run_throw, ways_of
from pourwright.simulate.throw_window import Search, find_windows

FUNNEL_MM, HEIGHT_MM, SPRUE_MM = 3.0, 76.0, 2.5
SEARCH = Search(350.0, 700.0, wanted_frac=0.5, runs_count=6)


def strip(thickness_mm: float, length_mm: float) -> FlaskJob:
    """A strip 4 mm wide, upright on its sprue."""
    box_mm = (thickness_mm, 4.0, length_mm)
    middle_mm = FUNNEL_MM + 5.0 + length_mm / 2
    placed = Placed("S", (0, 1, 2), box_mm, (0.0, 0.0, middle_mm), 0.0, SPRUE_MM, 5.0)
    tree = tree_of("FL", [placed], SPRUE_MM, 5.0, 50.0, HEIGHT_MM, FUNNEL_MM)
    solid, found = join_tree_of(tree, box_mm)
    assert solid is not None, found
    skins = {"S": piece_skin(placed, None, float(np.prod(box_mm)), 2 * 4.0 * length_mm)}
    spans = Interval(1233.15, 1243.15, 1253.15, "K"), Interval(743.15, 753.15, 763.15, "K")
    said = conditions_for("sterling-925", "gypsum-bonded", *spans, 293.15)
    return FlaskJob("L-F1", "FL", 25.0, HEIGHT_MM, 1.6, solid, skins, min(thickness_mm, SPRUE_MM), said)


def join_tree_of(tree, box_mm):
    from pourwright.simulate.tree_solid import join_tree

    return join_tree(tree, [TreePiece("S", box_mm, SPRUE_MM, box(*box_mm))], {}, 8.0, FUNNEL_MM)


def job_of(thickness_mm: float, length_mm: float, side_mm: float) -> ThrowJob:
    flask = strip(thickness_mm, length_mm)
    said = replace(conditions(), charge_kg=9200.0 * 1.1e-9 * flask.solid.volume_mm3)
    return ThrowJob(flask, said, drive_of(throw_arm(ARM, 3.0, 8.0)), hollow_of(flask, side_mm, 0.07), 15.0)


def coldest_C(job: ThrowJob) -> float:
    """Return the coldest flask at which the strip fills [degC]; infinite where none does."""
    window = find_windows(job, ways_of(job), SEARCH)["S"]
    return float("inf") if window.low_C is None else window.low_C


def test_a_thicker_section_never_wants_a_hotter_flask_by_filling():
    wanted_C = [coldest_C(job_of(thickness_mm, 15.0, min(thickness_mm / 3, 0.5))) for thickness_mm in (0.6, 1.2, 3.0)]
    print("coldest flask that fills 0.6, 1.2, 3.0 mm:", wanted_C)
    assert wanted_C == sorted(wanted_C, reverse=True)


def test_0_3_mm_at_40_mm_from_the_gate_has_no_flask_temperature():
    window = find_windows(job := job_of(0.3, 40.0, 0.12), ways_of(job), replace(SEARCH, wanted_frac=0.9))["S"]
    assert window.none
    assert window.low_C is None


def test_metal_that_came_cold_to_the_end_of_a_strip_is_solid_there_sooner():
    job = job_of(1.2, 25.0, 0.4)
    run = run_throw(job, best_throw(job.conditions), ways_of(job))
    start = start_of(fields_of(run, None), run.case.pour_K)
    case = best_case(job.flask.conditions)
    plain, handed = (
        run_flask(replace(job.flask, start=one), case, 0.6, engine.freeze, follow_s=0.0).result for one in (None, start)
    )
    piece = plain.centre_m[:, 2] > 0.020
    assert handed.finished
    assert handed.freeze_s[piece].mean() < plain.freeze_s[piece].mean()
