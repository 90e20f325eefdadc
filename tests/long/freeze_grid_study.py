"""Freezing times on our grids against the body-fitted reference: four bodies, three sizes, five places of the grid.

``python -m tests.long.freeze_grid_study [SIDES_MM ...]`` runs what is asked for and writes ``freeze_grid.json``
beside the references, ``docs/verification/freeze-grid.md`` and its picture. Rows that are there already are kept.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np

from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import Flask, flask_cells, lay_grid
from pourwright.grid.network import lay_network
from pourwright.physics.freeze.problem import (
    ContactLaw,
    CutFlask,
    FreezeProblem,
    MetalLaw,
    MouldLaw,
    TimeControl,
)
from pourwright.physics.freeze.solver import solve
from pourwright.shape.pattern import solids

ROOT = Path(__file__).resolve().parents[2]
REFERENCES = Path(__file__).parent / "references"
FOUND = REFERENCES / "freeze_grid.json"
PAGE = ROOT / "docs/verification/freeze-grid.md"
FLASK = Flask(30e-3, 60e-3, 0.0)
METAL_K, MOULD_K, CONTACT, MOULD_W_MK, MOULD_J_M3K = 1253.15, 773.15, 2000.0, 0.4, 1.4e6
SIDES_MM = (1.0, 0.6, 0.4, 0.28)
# Error of the freezing time that may not be passed [%].
LIMITS_PERCENT = dict(zip(SIDES_MM, (5.0, 3.0, 2.0, 1.0), strict=True))
OFFSETS = ((0.0, 0.0, 0.0), (0.5, 0.5, 0.5), (0.27, 0.61, 0.13), (0.83, 0.19, 0.44), (0.41, 0.37, 0.78))
# The step rule of the study: a finer one than usual, so that the grid is what is judged.
STEP_RATIO = 0.03


def references() -> dict[tuple[str, int], dict]:
    """The finest reference of each body, by shape and number of its size."""
    rows = json.loads((REFERENCES / "body_fitted.json").read_text("utf-8"))
    sizes: dict[str, list] = {}
    best: dict[tuple[str, int], dict] = {}
    for row in rows:
        known = sizes.setdefault(row["shape"], [])
        if row["size_mm"] not in known:
            known.append(row["size_mm"])
        key = (row["shape"], known.index(row["size_mm"]))
        if key not in best or (row["mesh_mm"], row["step_ratio"]) < (best[key]["mesh_mm"], best[key]["step_ratio"]):
            best[key] = row
    return best


def mesh_of(shape: str, size: dict[str, float]):
    """The body as a closed mesh of small triangles, its middle half-way up the flask."""
    make = {
        "sphere": lambda: solids.sphere(size["radius"], 320),
        "ring": lambda: solids.torus(size["mean"], size["radius"], 300, 160),
        "cylinder": lambda: solids.rod(size["radius"], size["length"], 360),
        "band": lambda: solids.ring_band(size["inner"], size["length"], size["outer"] - size["inner"], 360),
    }
    mesh = make[shape]()
    vertices = np.asarray(mesh.vertices_mm)
    middle = 0.5 * (vertices.min(axis=0) + vertices.max(axis=0))
    return 1e-3 * (vertices - middle + [0.0, 0.0, 30.0]), np.asarray(mesh.faces)


def volume_mm3(vertices_m: np.ndarray, faces: np.ndarray) -> float:
    corners = 1e3 * vertices_m[faces]
    return float(np.einsum("nd,nd->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6)


def metal() -> MetalLaw:
    law = json.loads((REFERENCES / "law.json").read_text("utf-8"))
    return MetalLaw(*(np.array(law[one]) for one in ("temp_K", "enthalpy_J_m3", "solid_frac", "conductivity_W_mK")))


def problem(shape: str, size: dict[str, float], side_mm: float, offset: tuple[float, float, float]) -> FreezeProblem:
    vertices_m, faces = mesh_of(shape, size)
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), FLASK, 1e-3 * side_mm, offset)
    flask = flask_cells(grid, FLASK)
    network = lay_network(grid, cut_cells(grid, vertices_m, faces), vertices_m, faces, MOULD_W_MK / CONTACT, flask)
    return FreezeProblem(
        CutFlask(flask, network), metal(), MouldLaw.constant(MOULD_W_MK, MOULD_J_M3K), ContactLaw.constant(CONTACT),
        np.array(METAL_K), MOULD_K, time=TimeControl(growth_ratio=STEP_RATIO, step_min_s=2e-3),
    )  # fmt: skip


def judge(shape: str, number: int, side_mm: float, place: int) -> dict:
    """One run and its errors: of the last and the mean freezing time, and of the times at the reference's points."""
    reference = references()[shape, number]
    posed = problem(shape, reference["size_mm"], side_mm, OFFSETS[place])
    found = solve(posed)
    mean_s = float(np.average(found.freeze_s, weights=found.metal_m3))
    at_points = [_at(found, point) / point["solid_s"] - 1.0 for point in reference["probes"]]
    return {
        "shape": shape, "size": number, "side_mm": side_mm, "place": place,
        "last_percent": 100 * (found.last_solid_s / reference["last_solid_s"] - 1),
        "mean_percent": 100 * (mean_s / reference["mean_solid_s"] - 1),
        "points_percent": 100 * max(at_points, key=abs),
        "cells": found.effort.cells_count, "packed": found.effort.packed_count, "steps": found.effort.steps_count,
        "stages": found.effort.stages_count, "heat_error_frac": found.heat.error_frac,
        "wall_clock_s": round(found.effort.wall_clock_s, 2),
    }  # fmt: skip


def _at(found, point: dict[str, float]) -> float:
    """Freezing time of the metal cell nearest to a place of the reference, on the plane y = 0."""
    place = np.array([1e-3 * point["r_mm"], 0.0, 30e-3 + 1e-3 * point["z_mm"]])
    return float(found.freeze_s[np.argmin(((found.centre_m - place) ** 2).sum(axis=1))])


def run(sides_mm: list[float], sizes: list[int], places: list[int], again: bool = False) -> list[dict]:
    """Run what is not there yet, or all that is asked for again; return every row."""
    rows = json.loads(FOUND.read_text("utf-8")) if FOUND.exists() else []
    if again:
        rows = [one for one in rows if one["side_mm"] not in sides_mm]
    done = {(one["shape"], one["size"], one["side_mm"], one["place"]) for one in rows}
    for side in sides_mm:
        for shape, number in sorted(references()):
            for place in places:
                key = (shape, number, side, place)
                if number in sizes and key not in done:
                    rows.append(judge(*key))
                    print({k: round(v, 3) if isinstance(v, float) else v for k, v in rows[-1].items()}, flush=True)
                    FOUND.write_text(json.dumps(rows, indent=1) + "\n", "utf-8")
    return rows


def write_page(rows: list[dict]) -> None:
    """Write the page and its picture from the rows."""
    _draw(rows)
    lines = [
        "# Freezing times and the grid",
        "",
        "Made by `python -m tests.long.freeze_grid_study`; do not edit. Our cut cells are judged by a body-fitted",
        "solution of other code (`tests/long/references/body_fitted.py`): metal at 980 °C, mould at 500 °C, contact",
        "2000 W/m²K, nothing leaves the flask. Errors are those of the freezing time of the last metal, and of the",
        "mean over all metal weighted by volume, each the worst of the sizes and places run (of three and five).",
        "",
        "| side mm | body | runs | worst of last % | worst of mean % | spread over places % | asked % |",
        "|---|---|---|---|---|---|---|",
    ]
    for side in sorted({one["side_mm"] for one in rows}, reverse=True):
        lines += [
            _line(side, shape, rows) for shape in sorted({one["shape"] for one in rows if one["side_mm"] == side})
        ]
    lines += [
        "",
        "![Error of the freezing time over the side of the cells](freeze-grid.png)",
        "",
        "## The reference itself",
        "",
        "| body | size mm | 0.1 mm: last s | 0.05 mm: last s | change % | change of mean % |",
        "|---|---|---|---|---|---|",
        *_of_reference(),
        "",
        f"Heat is kept to {_worst_heat():.0e} of the metal's in every one of these runs.",
    ]
    PAGE.write_text("\n".join(lines) + "\n", "utf-8")


def _line(side: float, shape: str, rows: list[dict]) -> str:
    chosen = [one for one in rows if one["side_mm"] == side and one["shape"] == shape]
    last, mean = (max((one[key] for one in chosen), key=abs) for key in ("last_percent", "mean_percent"))
    by_size: dict[int, list[float]] = {}
    for one in chosen:
        by_size.setdefault(one["size"], []).append(one["last_percent"])
    widths = [max(each) - min(each) for each in by_size.values() if len(each) > 1]
    spread = f"{max(widths):.2f}" if widths else "one place"
    limit = LIMITS_PERCENT.get(side, float("nan"))
    return f"| {side:g} | {shape} | {len(chosen)} | {last:+.2f} | {mean:+.2f} | {spread} | {limit:g} |"


def _of_reference() -> list[str]:
    rows = json.loads((REFERENCES / "body_fitted.json").read_text("utf-8"))
    lines = []
    for row in rows:
        fine = [one for one in rows if one["size_mm"] == row["size_mm"] and one["mesh_mm"] < 0.09]
        if row["mesh_mm"] > 0.09 and row["step_ratio"] == 0.02:
            size = ", ".join(f"{name} {value:g}" for name, value in row["size_mm"].items())
            lines.append(f"| {row['shape']} | {size} | {row['last_solid_s']:.3f} | {_finer(row, fine)} |")
    return lines


def _worst_heat() -> float:
    rows = json.loads((REFERENCES / "body_fitted.json").read_text("utf-8"))
    return max(abs(one["heat_error_frac"]) for one in rows)


def _finer(row: dict, fine: list[dict]) -> str:
    if not fine:
        return "not run | |"
    changes = [100 * (fine[0][key] / row[key] - 1) for key in ("last_solid_s", "mean_solid_s")]
    return f"{fine[0]['last_solid_s']:.3f} | {changes[0]:+.2f} | {changes[1]:+.2f}"


def _draw(rows: list[dict]) -> None:
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(figsize=(6.4, 4.2), constrained_layout=True)
    sides = np.array(sorted({one["side_mm"] for one in rows}))
    for shape, mark in (("sphere", "o"), ("cylinder", "s"), ("ring", "^"), ("band", "D")):
        worst = [max((abs(one["last_percent"]) for one in rows if one["shape"] == shape and one["side_mm"] == side),
                     default=np.nan) for side in sides]  # fmt: skip
        axes.loglog(sides, worst, marker=mark, label=shape)
    limits = sorted(LIMITS_PERCENT.items())
    axes.loglog([one for one, _ in limits], [one for _, one in limits], "k--", label="asked")
    axes.loglog(sides, 2.0 * sides**2, ":", color="grey", label="second order")
    axes.set(xlabel="side of the cells [mm]", ylabel="worst error of the last freezing time [%]")
    axes.set_xticks(sides, [f"{one:g}" for one in sides])
    axes.set_yticks([0.3, 0.5, 1, 2, 3, 5, 7], ["0.3", "0.5", "1", "2", "3", "5", "7"])
    axes.minorticks_off()
    axes.legend(frameon=False)
    axes.grid(alpha=0.3)
    figure.savefig(PAGE.with_suffix(".png"), dpi=110)
    plt.close(figure)


if __name__ == "__main__":
    write_page(run([float(one) for one in sys.argv[1:]] or list(SIDES_MM), [0, 1, 2], [0, 1, 2, 3, 4]))
