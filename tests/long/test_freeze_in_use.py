"""The freezing engine in use: a small flask in true shape, stopped and resumed, swept, on a scheduler."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import FUNNEL_MM, HEIGHT_MM, RADIUS_MM, made_up_job

from pourwright.doors.service.freeze_jobs import quench_limits
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.solids import dumbbell, rod, sphere
from pourwright.shape.pattern.union import unite
from pourwright.shape.tree.placing import tree_of
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate import engine
from pourwright.simulate.conditions import best_case
from pourwright.simulate.job import piece_skin
from pourwright.simulate.run import assess, run_flask
from pourwright.simulate.summary import MOST_ENERGY_ERROR_FRAC, summarise
from pourwright.simulate.sweep import sweep_flask
from pourwright.simulate.tree_solid import SPRUE, Bar, join_tree

SIDE_MM = 1.0
# Middle of the far ball of the pair, up from the mouth.
FAR_MM = 43.0


def frozen(job, side_mm=SIDE_MM, **more):
    return run_flask(job, best_case(job.conditions), side_mm, engine.freeze, follow_s=more.pop("follow_s", 0.0), **more)


def frozen_balls(bar_mm, side_mm=0.6, second_mm=None):
    """Two balls of 10 mm, 24 mm apart, on a bar of a radius; a second sprue of a radius straight to the far ball."""
    job = made_up_job(bar_mm, dumbbell(5.0, bar_mm, 24.0, 48))
    return assess(frozen(job if second_mm is None else with_second_sprue(job, second_mm), side_mm))


def with_second_sprue(job, radius_mm):
    """A rod from the button up beside the near ball to the side of the far one."""
    start_mm, end_mm = np.array([9.0, 0.0, 4.0]), np.array([6.0, 0.0, FAR_MM])
    way_mm = end_mm - start_mm
    length_mm = float(np.linalg.norm(way_mm))
    lean = np.arctan2(way_mm[0], way_mm[2])
    turn = np.array([[np.cos(lean), 0, np.sin(lean)], [0, 1, 0], [-np.sin(lean), 0, np.cos(lean)]])
    straight = rod(radius_mm, length_mm, 32)
    leaning = Mesh(straight.vertices_mm @ turn.T + (start_mm + end_mm) / 2, straight.faces)
    whole = Mesh(job.solid.mesh.vertices_mm.copy(), job.solid.mesh.faces.copy())
    mesh = unite([whole, leaning])
    bars = (*job.solid.bars, Bar("second sprue", start_mm, end_mm, radius_mm))
    return replace(job, solid=replace(job.solid, mesh=mesh, bars=bars))


def far_voids_mm3(case):
    return [1e9 * one.void_m3.best for one in case.found.spots if abs(1e3 * one.place_m[2] - FAR_MM) < 6.0]


@pytest.fixture(scope="module")
def thin():
    """A bar of 1 mm: the far ball hangs on it alone."""
    return frozen_balls(0.5)


def test_a_ball_behind_a_thin_bar_is_cut_off_within_the_piece(thin):
    """Sense: a bar of 1 mm, 14 mm long, freezes before the balls of 10 mm at its ends; the void is the far ball's
    liquid times the shrinkage.

    Balls of 6 mm only 6 mm apart are no such case: heat that silver conducts from the near ball keeps so short a bar
    liquid until the far ball has locked.
    """
    far = [one for one in thin.found.spots if 1e3 * one.place_m[2] > 36.0]
    assert len(far) == 1
    (spot,) = far
    assert abs(1e3 * spot.place_m[2] - FAR_MM) < 1.5
    assert spot.lasting_s > 5.0
    ball_mm3 = 4 / 3 * np.pi * 125
    assert 0.8 * ball_mm3 < 1e9 * spot.pool_m3 < 1.2 * ball_mm3
    shrinkage = thin.run.job.conditions.shrinkage_frac.best
    assert spot.void_m3.best == pytest.approx(shrinkage * spot.liquid_m3, rel=1e-6)
    assert any(not one.fed and one.neck == "P1" for one in thin.verdicts)


def test_a_thick_bar_feeds_the_far_ball(thin):
    """Sense: the same balls on a bar of 5.2 mm leave no void to speak of in the far one."""
    assert sum(far_voids_mm3(thin)) > 10.0
    assert sum(far_voids_mm3(frozen_balls(2.6, 0.8))) < 0.15


def test_a_second_sprue_heals_the_far_ball(thin):
    """Sense: a sprue of 6 mm from the button to the far ball feeds it past the thin bar; one of 1 mm does not."""
    healed, not_healed = (sum(far_voids_mm3(frozen_balls(0.5, 0.7, radius_mm))) for radius_mm in (3.0, 0.5))
    assert healed < 0.15
    assert not_healed > 0.5 * sum(far_voids_mm3(thin))


def ball_on_a_sprue(sprue_mm):
    """A ball of 10 mm on a sprue of a diameter, 16 mm long."""
    mesh = sphere(5.0, 48)
    box_mm = (10.0, 10.0, 10.0)
    placed = Placed("P1", (0, 1, 2), box_mm, (0.0, 0.0, FUNNEL_MM + 21.0), 0.0, sprue_mm, 16.0)
    tree = tree_of("FL-01", [placed], sprue_mm, 16.0, 2 * RADIUS_MM, HEIGHT_MM, FUNNEL_MM)
    solid, findings = join_tree(tree, [TreePiece("P1", box_mm, 10.0, mesh)], {}, 22.0, FUNNEL_MM)
    assert solid is not None, findings
    skin = piece_skin(placed, None, 523.6, 314.2)
    return assess(frozen(replace(made_up_job(), solid=solid, skins={"P1": skin}, thinnest_mm=sprue_mm), 0.8))


def test_a_thin_sprue_cuts_the_piece_off_and_a_thick_one_feeds_it():
    """Sense: a sprue of 1 mm freezes long before the ball of 10 mm on it, one of 7 mm after it; the verdict names the
    sprue as the place where the way closed."""
    thin, thick = ball_on_a_sprue(1.0), ball_on_a_sprue(7.0)
    in_ball = [[1e9 * one.void_m3.best for one in case.found.spots if 1e3 * one.place_m[2] > FUNNEL_MM + 17.0]
               for case in (thin, thick)]  # fmt: skip
    assert sum(in_ball[0]) > 10.0
    assert sum(in_ball[1]) < 0.15
    assert [(one.fed, one.neck) for one in thin.verdicts if not one.fed] == [(False, SPRUE)]
    assert all(one.fed for one in thick.verdicts)


def mirrored(job):
    """The job with left and right exchanged."""
    mesh = job.solid.mesh
    flipped_mesh = Mesh(mesh.vertices_mm * [-1.0, 1.0, 1.0], np.ascontiguousarray(mesh.faces[:, ::-1]))
    return replace(job, solid=replace(job.solid, mesh=flipped_mesh))


def test_a_mirrored_tree_has_the_mirrored_answer():
    """Case: the two balls with a leaning second sprue too thin to help, in cut cells. Tolerance 0.2 % of each freezing
    time: the metal is solved to 0.001 K, going through its cells in another order."""
    job = with_second_sprue(made_up_job(0.5, dumbbell(5.0, 0.5, 24.0, 48)), 0.5)
    ours, other = (assess(frozen(one)) for one in (job, mirrored(job)))
    here, there = ours.run.result, other.run.result
    assert np.abs(here.centre_m[:, 0].mean()) > 1e-4
    order = np.lexsort(tuple(np.round(1e6 * there.centre_m * [-1, 1, 1]).T[::-1]))
    same = np.lexsort(tuple(np.round(1e6 * here.centre_m).T[::-1]))
    assert there.metal_m3[order] == pytest.approx(here.metal_m3[same], rel=1e-6, abs=1e-15)
    assert there.freeze_s[order] == pytest.approx(here.freeze_s[same], rel=2e-3)
    assert len(ours.found.spots) == len(other.found.spots) > 0
    for one, two in zip(ours.found.spots, other.found.spots, strict=True):
        assert two.place_m == pytest.approx((-one.place_m[0], *one.place_m[1:]), abs=1.5e-3)
        assert two.void_m3.best == pytest.approx(one.void_m3.best, rel=0.02)


def test_a_hotter_flask_freezes_later():
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
