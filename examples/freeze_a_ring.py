"""Freeze a ring step by step, every array in sight: shape, grid, laws, run, hot spots, fields.

    python examples/freeze_a_ring.py [SIDE_MM]

A plain ring with a lump stands on one sprue in a small flask, all our own invention. Everything below is the public
interface of the program, and each step prints what came out of it.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from pourwright.core.interval import Interval
from pourwright.physics.freeze.fields_file import read_fields, write_fields, write_for_viewers
from pourwright.shape.pattern.solids import moved, rotated, sphere, torus, united
from pourwright.shape.tree.placing import tree_of
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate import engine
from pourwright.simulate.conditions import best_case, conditions_for
from pourwright.simulate.job import FlaskJob, piece_skin
from pourwright.simulate.run import about, assess, run_flask
from pourwright.simulate.tree_solid import join_tree

FLASK_RADIUS_MM, FLASK_HEIGHT_MM, FLASK_WALL_MM = 20.0, 50.0, 1.6
BUTTON_DIAMETER_MM, BUTTON_HEIGHT_MM = 14.0, 6.0
SPRUE_DIAMETER_MM, SPRUE_LENGTH_MM = 3.0, 5.0


def ring_with_a_lump() -> TreePiece:
    """Return a ring of 2 mm wire, upright, with a ball of 5 mm opposite the sprue."""
    ring = rotated(torus(8.0, 1.0, 96), (1, 0, 0), 90)
    body = united(ring, moved(sphere(2.5, 48), (0, 0, 8.0)))
    x, y, z = np.ptp(body.vertices_mm, axis=0).tolist()
    return TreePiece("RING", (x, y, z), 2.0, body)


def the_flask() -> FlaskJob:
    """Return the ring on its sprue and button in its flask, with the conditions of the pour."""
    piece = ring_with_a_lump()
    middle_mm = BUTTON_HEIGHT_MM + SPRUE_LENGTH_MM + piece.box_mm[2] / 2
    placed = Placed(piece.id, (0, 1, 2), piece.box_mm, (0.0, 0.0, middle_mm), 0.0, SPRUE_DIAMETER_MM, SPRUE_LENGTH_MM)
    inside_mm = (2 * FLASK_RADIUS_MM, FLASK_HEIGHT_MM)
    tree = tree_of("EXAMPLE", [placed], SPRUE_DIAMETER_MM, SPRUE_LENGTH_MM, *inside_mm, BUTTON_HEIGHT_MM)
    solid, findings = join_tree(tree, [piece], {}, BUTTON_DIAMETER_MM, BUTTON_HEIGHT_MM)
    if solid is None:
        raise SystemExit("\n".join(one.what for one in findings))
    skins = {piece.id: piece_skin(placed, None, volume_mm3=220.0, area_mm2=380.0)}
    conditions = conditions_for(
        "sterling-925",
        "gypsum-bonded",
        pour_K=Interval(1228.15, 1243.15, 1258.15, "K"),
        flask_K=Interval(745.15, 753.15, 761.15, "K"),
        room_K=293.15,
    )
    flask_mm = (FLASK_RADIUS_MM, FLASK_HEIGHT_MM, FLASK_WALL_MM)
    return FlaskJob("EXAMPLE-F1", "EXAMPLE", *flask_mm, solid, skins, thinnest_mm=2.0, conditions=conditions)


def main(side_mm: float, follow_s: float = 0.0) -> None:
    """Run all steps with cells of a side [mm] in the metal, the flask followed for so long [s]."""
    job = the_flask()
    print(f"metal: {job.solid.volume_mm3:.1f} mm3 in {len(job.solid.mesh.faces)} triangles, one closed surface")

    grid = engine.grid_of(job, side_mm)
    print(
        f"grid: {' x '.join(map(str, grid.shape))} = {grid.cells_count} cells, even round the metal, growing outwards"
    )

    run = run_flask(job, best_case(job.conditions), side_mm, engine.freeze, follow_s=follow_s)
    result = run.result
    print(f"metal cells: {len(result.cell)}, their volume {1e9 * result.metal_m3.sum():.1f} mm3")
    print(f"steps: {result.effort.steps_count}, sweeps of the mould: {result.effort.stages_count}")
    print(f"last metal solid after {result.last_solid_s:.2f} s")
    print(f"the heat's books miss {result.heat.error_frac:.1e} of the metal's heat")

    assessment = assess(run)
    for number, spot in enumerate(assessment.found.spots, 1):
        part = assessment.regions.names[assessment.regions.of_cell[spot.cell]]
        x, y, z = (1e3 * side for side in spot.place_m)
        print(
            f"hot spot {number} in {part} at {x:.1f}, {y:.1f}, {z:.1f} mm: cut off {spot.cut_off_s:.2f} s, "
            f"solid {spot.last_freezing_s:.2f} s, {100 * spot.liquid_frac:.0f} % liquid, "
            f"void {1e9 * spot.void_m3.low:.2f} to {1e9 * spot.void_m3.high:.2f} mm3 (shrinkage only)"
        )
    for verdict in assessment.verdicts:
        print(f"{verdict.piece}: {verdict.words}")

    # local solidification time, gradient and cooling rate at the critical share of solid, for every cell of metal
    print(f"local freezing time: {np.percentile(result.local_s, [5, 50, 95]).round(2)} s (5, 50, 95 %)")
    print(f"gradient: {np.percentile(result.gradient_K_m, [5, 50, 95]).round(0)} K/m")

    with tempfile.TemporaryDirectory() as home:
        store = Path(home) / "ring.zarr"
        write_fields(store, result, run.lattice, about(job, run.case, side_mm))
        write_for_viewers(Path(home) / "ring.vtr", result, run.lattice.edges_m)
        again, _, said = read_fields(store)
        same = bool(np.array_equal(again.freeze_s, result.freeze_s))
        print(f"fields written and read back ({said['alloy']}, cells of {said['side_mm']} mm): same numbers {same}")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 0.5)
