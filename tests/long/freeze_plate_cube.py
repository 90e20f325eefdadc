"""Freezing times of a plate that carries a cube, wherever the grid lies, against aligned grids carried on to zero.

``python -m tests.long.freeze_plate_cube [SIDES_MM ...]`` makes ``docs/verification/freeze-plate-cube.md`` and keeps its
rows in ``references/freeze_plate_cube.json``. On an aligned grid every face of the body is a plane of the grid: no cell
is cut, and what edges and corners do is in the cells alone. Three such grids give the order and, with it, the time at
cells of no size (Richardson). A quarter of the body stands in a closed box so large that nobody feels it.
"""

from __future__ import annotations

import json
import sys

import numpy as np
from tests.long import freeze_grid_study as study
from tests.verification.freezing_cases import growing

from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import flask_cells, lay_grid
from pourwright.grid.network import lay_network
from pourwright.physics.freeze.problem import (
    ContactLaw,
    CutFlask,
    FreezeProblem,
    Kind,
    MouldLaw,
    TimeControl,
    WholeCells,
)
from pourwright.physics.freeze.solver import solve
from pourwright.shape.pattern import solids

FOUND = study.REFERENCES / "freeze_plate_cube.json"
PAGE = study.ROOT / "docs/verification/freeze-plate-cube.md"
# Plate's side and thickness, cube's side [mm]: all halves and heights are multiples of the coarsest aligned side.
SIZES_MM = ((12.0, 1.0, 4.0), (16.0, 2.0, 6.0), (16.0, 1.5, 5.0))
ALIGNED_MM = (0.5, 0.25, 0.125)
# The judge takes steps of a third: with those of the judged, the last time comes out 0.5 % now early, now late, which
# carrying on to cells of no size would double.
FINE_STEP_RATIO = 0.01
REACH_MM = 22.0
LAST, MEAN = "last_s", "mean_s"


def _problem(cells: CutFlask | WholeCells, step_ratio: float) -> FreezeProblem:
    return FreezeProblem(
        cells, study.metal(), MouldLaw.constant(study.MOULD_W_MK, study.MOULD_J_M3K),
        ContactLaw.constant(study.CONTACT), np.array(study.METAL_K), study.MOULD_K,
        time=TimeControl(growth_ratio=step_ratio, step_min_s=2e-3),
    )  # fmt: skip


def _times(cells: CutFlask | WholeCells, step_ratio: float = study.STEP_RATIO) -> dict[str, float]:
    found = solve(_problem(cells, step_ratio))
    mean_s = float(np.average(found.freeze_s, weights=found.metal_m3))
    return {LAST: found.last_solid_s, MEAN: mean_s, "cells": found.effort.cells_count}


def aligned(size_mm: tuple[float, float, float], side_mm: float) -> dict[str, float]:
    """Times on a grid whose planes are the body's faces: a quarter of the body, the axis in a corner of the grid."""
    plate_mm, thick_mm, cube_mm = size_mm
    away_mm = growing(REACH_MM, side_mm, 1.15)

    def edges(length_mm: float, before: bool) -> np.ndarray:
        own = np.full(round(length_mm / side_mm), side_mm)
        sides = np.concatenate([away_mm[::-1], own, away_mm] if before else [own, away_mm])
        return np.concatenate([[0.0], np.cumsum(sides)]) - (away_mm.sum() if before else 0.0)

    across_mm, up_mm = edges(plate_mm / 2, False), edges(thick_mm + cube_mm, True)
    x, y, z = np.meshgrid(*((one[1:] + one[:-1]) / 2 for one in (across_mm, across_mm, up_mm)), indexing="ij")
    wide = np.maximum(x, y)
    in_plate = (wide < plate_mm / 2) & (z > 0) & (z < thick_mm)
    in_cube = (wide < cube_mm / 2) & (z > thick_mm) & (z < thick_mm + cube_mm)
    kind = np.where(in_plate | in_cube, Kind.METAL, Kind.MOULD).astype(np.uint8)
    return _times(WholeCells((1e-3 * across_mm, 1e-3 * across_mm, 1e-3 * up_mm), kind), FINE_STEP_RATIO)


def mesh_of(size_mm: tuple[float, float, float]) -> tuple[np.ndarray, np.ndarray]:
    """The body as a closed mesh, its middle half-way up the flask [m]."""
    plate_mm, thick_mm, cube_mm = size_mm
    upright = solids.moved(solids.box(cube_mm, cube_mm, cube_mm + thick_mm / 2), (0, 0, cube_mm / 2 + thick_mm / 4))
    mesh = solids.united(solids.box(plate_mm, plate_mm, thick_mm), upright)
    vertices = np.asarray(mesh.vertices_mm)
    middle = (vertices.min(axis=0) + vertices.max(axis=0)) / 2
    return 1e-3 * (vertices - middle + [0.0, 0.0, 30.0]), np.asarray(mesh.faces)


def anywhere(
    size_mm: tuple[float, float, float], side_mm: float, offset: tuple[float, float, float]
) -> dict[str, float]:
    """Times on a grid of a flask that lies anywhere."""
    vertices_m, faces = mesh_of(size_mm)
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), study.FLASK, 1e-3 * side_mm, offset)
    flask, cut = flask_cells(grid, study.FLASK), cut_cells(grid, vertices_m, faces)
    return _times(CutFlask(flask, lay_network(grid, cut, vertices_m, faces, study.MOULD_W_MK / study.CONTACT, flask)))


def carried_on(times_s: list[float]) -> tuple[float, float]:
    """Time at cells of no size, and the order, from three grids each half as coarse as the one before."""
    first, second = times_s[0] - times_s[1], times_s[1] - times_s[2]
    ratio = first / second if first * second > 0 else 0.0
    # where the grids hardly differ there is no order to be had: the finest stands as it is
    order = float(np.log2(ratio)) if ratio > 1 else float("nan")
    return times_s[2] - (second / (ratio - 1) if ratio > 1 else 0.0), order


def run(sides_mm: list[float], again: bool = False) -> list[dict]:
    """Run what is not there yet, or all at those sides again; return all rows."""
    rows = json.loads(FOUND.read_text("utf-8")) if FOUND.exists() else []
    if again:
        rows = [one for one in rows if one["place"] < 0 or one["side_mm"] not in sides_mm]
    done = {(one["size"], one["side_mm"], one["place"]) for one in rows}
    wanted = [(number, side, -1) for number in range(len(SIZES_MM)) for side in ALIGNED_MM]
    wanted += [
        (n, side, place) for side in sides_mm for n in range(len(SIZES_MM)) for place in range(len(study.OFFSETS))
    ]
    for number, side_mm, place in wanted:
        if (number, side_mm, place) not in done:
            size_mm = SIZES_MM[number]
            times = aligned(size_mm, side_mm) if place < 0 else anywhere(size_mm, side_mm, study.OFFSETS[place])
            rows.append({"size": number, "side_mm": side_mm, "place": place, **times})
            print(rows[-1], flush=True)
            FOUND.write_text(json.dumps(rows, indent=1) + "\n", "utf-8")
    return rows


def references(rows: list[dict], key: str) -> list[tuple[float, float, list[float]]]:
    """For each size: the time at cells of no size [s], the order, and the three times it comes from [s]."""
    found = []
    for number in range(len(SIZES_MM)):
        own = {one["side_mm"]: one[key] for one in rows if one["place"] < 0 and one["size"] == number}
        times_s = [own[side] for side in ALIGNED_MM]
        found.append((*carried_on(times_s), times_s))
    return found


def errors_percent(rows: list[dict], side_mm: float, key: str) -> list[float]:
    """Errors over all sizes and places at a side of cells [%]."""
    exact_s = [one[0] for one in references(rows, key)]
    chosen = [one for one in rows if one["side_mm"] == side_mm and one["place"] >= 0]
    return [100 * (one[key] / exact_s[one["size"]] - 1) for one in chosen]


def write_page(rows: list[dict]) -> None:
    """Write what the rows say."""
    lines = [
        "# A plate that carries a cube, wherever the grid lies",
        "",
        "Made by `python -m tests.long.freeze_plate_cube`; do not edit. Metal at 980 °C, mould at 500 °C, contact",
        "2000 W/m²K, nothing leaves. The judge is the same body on grids whose planes are its faces, carried on to",
        "cells of no size; sharp edges, where the mould's heat flow has no limit, are what both have to get right.",
        "",
        "| body mm | 0.5 mm: last s | 0.25 mm | 0.125 mm | order | cells of no size: last s | mean s |",
        "|---|---|---|---|---|---|---|",
    ]
    means = references(rows, MEAN)
    for (plate, thick, cube), (exact_s, order, times_s), (mean_s, _, _) in zip(
        SIZES_MM, references(rows, LAST), means, strict=True
    ):
        times = " | ".join(f"{one:.3f}" for one in times_s)
        lines.append(
            f"| plate {plate:g} x {thick:g}, cube {cube:g} | {times} | {order:.2f} | {exact_s:.3f} | {mean_s:.3f} |"
        )
    lines += [
        "",
        "Round a right edge the order is 4/3 (the flow grows as one over the third root of the distance; from memory).",
        f"Carried on at that, the last times would be shorter by up to {_shift_percent(rows):.1f} %.",
        "The judge takes steps of 1 % of the time, the judged of 3 %: their errors in time are counted in.",
        "",
        "| side mm | runs | worst of last % | worst of mean % | spread over places % | asked % |",
        "|---|---|---|---|---|---|",
    ]
    lines += [_line(rows, side) for side in study.SIDES_MM if errors_percent(rows, side, LAST)]
    PAGE.write_text("\n".join(lines) + "\n", "utf-8")


def _shift_percent(rows: list[dict]) -> float:
    """How much shorter the last time is at most if it is carried on at the order of a right edge [%]."""
    found = references(rows, LAST)
    edge_s = [times_s[2] - (times_s[1] - times_s[2]) / (2 ** (4 / 3) - 1) for _, _, times_s in found]
    return max(100 * (1 - one / exact_s) for one, (exact_s, _, _) in zip(edge_s, found, strict=True))


def _line(rows: list[dict], side_mm: float) -> str:
    last, mean = errors_percent(rows, side_mm, LAST), errors_percent(rows, side_mm, MEAN)
    places = len(study.OFFSETS)
    spread = max(max(each) - min(each) for each in (last[k : k + places] for k in range(0, len(last), places)))
    worst = (max(one, key=abs) for one in (last, mean))
    shown = " | ".join(f"{one:+.2f}" for one in worst)
    return f"| {side_mm:g} | {len(last)} | {shown} | {spread:.2f} | {study.LIMITS_PERCENT[side_mm]:g} |"


def main() -> None:
    write_page(run([float(one) for one in sys.argv[1:]] or list(study.SIDES_MM)))


if __name__ == "__main__":
    main()
