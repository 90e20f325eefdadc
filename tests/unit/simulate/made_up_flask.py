"""A small made-up flask, and an engine that makes freezing times up from shape alone, so that answers are known."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import distance_transform_edt

from pourwright.core.interval import Interval
from pourwright.grid.fractions import partial_volumes
from pourwright.physics.freeze.fields_file import Lattice
from pourwright.physics.freeze.hot_spots import neighbours_of
from pourwright.physics.freeze.results import Effort, FreezeResult, FreezeState, HeatBook, Histories
from pourwright.shape.pattern.solids import dumbbell
from pourwright.shape.tree.placing import tree_of
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate.conditions import Case, conditions_for
from pourwright.simulate.job import FlaskJob, piece_skin
from pourwright.simulate.run import Hooks
from pourwright.simulate.tree_solid import join_tree

RADIUS_MM, HEIGHT_MM, FUNNEL_MM = 25.0, 60.0, 8.0
BOX_MM = (6.0, 6.0, 18.0)


def two_balls(bar_mm: float = 1.0):
    """Two balls of radius 3 joined by a bar, upright: the far one hangs on the bar alone."""
    return dumbbell(3.0, bar_mm, 12.0, 48)


def made_up_job(bar_mm: float = 1.0, mesh=None, flask_C: Interval | None = None) -> FlaskJob:
    mesh = two_balls(bar_mm) if mesh is None else mesh
    box_mm = tuple(np.ptp(mesh.vertices_mm, axis=0).tolist())
    centre = (0.0, 0.0, FUNNEL_MM + 6.0 + box_mm[2] / 2)
    placed = Placed("P1", (0, 1, 2), box_mm, centre, 0.0, 4.0, 6.0)
    tree = tree_of("FL-01", [placed], 4.0, 6.0, 2 * RADIUS_MM, HEIGHT_MM, FUNNEL_MM)
    solid, findings = join_tree(tree, [TreePiece("P1", box_mm, 3.0, mesh)], {}, 18.0, FUNNEL_MM)
    assert solid is not None, findings
    skin = piece_skin(placed, None, 220.0, 210.0)
    flask_K = flask_C or Interval(723.15, 753.15, 783.15, "K")
    conditions = conditions_for(
        "sterling-925", "gypsum-bonded", Interval(1233.15, 1243.15, 1253.15, "K"), flask_K, 293.15
    )
    return FlaskJob("D-F1", "FL-01", RADIUS_MM, HEIGHT_MM, 1.6, solid, {"P1": skin}, 2 * bar_mm, conditions)


def edges_of(job: FlaskJob, side_mm: float):
    grid = partial_volumes(job.solid.mesh.vertices_mm, job.solid.mesh.faces, side_mm)
    counts = enumerate(grid.filled_frac.shape)
    return grid, tuple(1e-3 * (grid.corner_mm[axis] + side_mm * np.arange(count + 1)) for axis, count in counts)


def links_of(cell):
    beside = neighbours_of(cell)
    one, side = np.nonzero(beside > np.arange(len(cell))[:, None])
    return np.column_stack([one, beside[one, side]]).astype(np.int32)


def fake_engine(job: FlaskJob, case: Case, side_mm: float, follow_s: float, hooks: Hooks):
    """Freeze by distance from the wall: later in a hotter flask and a poorer mould; the button last of all."""
    grid, edges_m = edges_of(job, side_mm)
    full = grid.filled_frac > 0.5
    depth_mm = distance_transform_edt(full, sampling=side_mm)
    cell = np.argwhere(full).astype(np.int32)
    lattice = Lattice(edges_m, links_of(cell))
    centre_m = 1e-3 * (grid.corner_mm + (cell + 0.5) * side_mm)
    heat = (case.flask_K - 300) / 450 / case.conductivity_ratio**0.5
    critical_s = heat * (1.0 + 2.0 * depth_mm[full]) + 30.0 * (centre_m[:, 2] < 8e-3)
    start = 0 if hooks.resume is None else int(hooks.resume.arrays["step_count"])
    for step in range(start, 10):
        hooks.report(step / 10, "freezing")
        hooks.keep(FreezeState({"step_count": np.array(step)}, "made up"))
        if hooks.cancelled():
            return _result(cell, centre_m, np.full(len(cell), np.nan), side_mm, False), lattice
    return _result(cell, centre_m, critical_s, side_mm, True), lattice


def _result(cell, centre_m, critical_s, side_mm, finished) -> FreezeResult:
    count, last_s = len(cell), float(critical_s.max() + 0.1)
    time_s = np.linspace(0.0, 1800.0, 181)
    cooling_K = 293.15 + 900.0 * np.exp(-time_s / (20.0 * last_s if finished else 600.0))
    return FreezeResult(
        cell=cell,
        centre_m=centre_m,
        metal_m3=np.full(count, (1e-3 * side_mm) ** 3),
        liquidus_s=critical_s - 0.2,
        critical_s=critical_s,
        freeze_s=critical_s + 0.1,
        gradient_K_m=np.full(count, 500.0),
        rate_K_s=np.full(count, 2.0),
        solid_at_last_frac=np.ones(count),
        temp_K=np.full(count, 900.0),
        last_solid_s=last_s,
        histories=Histories(time_s, np.zeros((181, 0)), cooling_K + 20, cooling_K, cooling_K - 50, time_s),
        heat=HeatBook(1000.0, 600.0, 400.0, 500.0),
        cooling_heat=HeatBook(600.0, 100.0, 500.0, 500.0),
        effort=Effort(count, count, 10, 10, 10, 10, 1000, 0.5),
        finished=finished,
    )
