"""Walls that run through cells must not cost sweeps: stages of the mould's march with and without them, side by side.

Case: ball, ring and tilted box in the same cells, once cut, once each cell wholly metal or mould by its middle; the
same steps in time. Source: what was asked of the engine, under 1.3 times as many. A scheme that kept a sliver of a
hundredth of a cell as a cell of its own would need ten times as many.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.verification.freezing_cases import eutectic_metal

from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import Flask, Part, flask_cells, lay_grid
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
from pourwright.physics.freeze.results import Effort
from pourwright.physics.freeze.solver import solve
from pourwright.shape.pattern import solids

FLASK = Flask(14e-3, 24e-3, 0.0)
BODIES = {
    "ball": solids.sphere(4.0, 48),
    "ring": solids.torus(8.0, 1.2, 64, 24),
    "tilted box": solids.rotated(solids.box(12.0, 7.0, 1.3), (1.0, 2.0, 0.5), 33.0),
}
OFFSETS = ((0.0, 0.0, 0.0), (0.27, 0.61, 0.13), (0.83, 0.19, 0.44))
MOST_RATIO = 1.3


def _effort(cells: CutFlask | WholeCells) -> Effort:
    """What the first four seconds take of a metal with so much heat that it does not freeze in them, so that both take
    the same steps, in a mould so quick that a step takes many stages."""
    return solve(
        FreezeProblem(
            cells, eutectic_metal(270.0, latent_J_m3=9.3e10), MouldLaw.constant(20.0, 1.4e6),
            ContactLaw.constant(2000.0), np.array(1253.15), 773.15, time=TimeControl(0.5, 1.0, 1.0, freeze_limit_s=4.0),
        )
    ).effort  # fmt: skip


def efforts(body: str, side_m: float, offset: tuple[float, float, float]) -> tuple[Effort, Effort]:
    """Return what the run takes with cut cells and with whole ones."""
    vertices_m, faces = 1e-3 * np.asarray(BODIES[body].vertices_mm), np.asarray(BODIES[body].faces)
    vertices_m = vertices_m - (vertices_m.min(axis=0) + vertices_m.max(axis=0)) / 2 + [0.0, 0.0, 12e-3]
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), FLASK, side_m, offset)
    flask, cut = flask_cells(grid, FLASK), cut_cells(grid, vertices_m, faces)
    network = lay_network(grid, cut, vertices_m, faces, 2e-4, flask)
    kind = np.where(flask.part == Part.OUTSIDE, Kind.OUTSIDE, Kind.MOULD)
    kind[network.has_mould == 0] = Kind.METAL
    return _effort(CutFlask(flask, network)), _effort(WholeCells(grid.edges_m, kind.astype(np.uint8)))


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize("body", list(BODIES))
def test_cut_cells_take_hardly_more_sweeps_than_whole_ones(body, offset):
    with_cuts, without = efforts(body, 0.7e-3, offset)
    print(f"{body}: {with_cuts.stages_count} stages with cut cells, {without.stages_count} without")
    assert with_cuts.steps_count == without.steps_count
    assert without.stages_count > 20 * without.steps_count
    assert with_cuts.stages_count < MOST_RATIO * without.stages_count
