"""What the freezing run is timed on: a ring on a sprue with a button, in a flask of the size of a hand.

4.1 cm3 of metal in a mould 75 mm across and 67 mm high. The metal's surface cuts the cells of a graded grid, as in
every run of the product; no heat leaves, and the run ends when the last metal is solid.
"""

from __future__ import annotations

import numpy as np

from bench.freeze_peers import plain_law
from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import Flask, flask_cells, lay_grid
from pourwright.grid.network import lay_network
from pourwright.physics.freeze.problem import ContactLaw, CutFlask, FreezeProblem, MouldLaw
from pourwright.shape.pattern.solids import moved, ring_band, rod, rotated, united

FLASK = Flask(37.5e-3, 67e-3, 0.0)
CONTACT_W_M2K, MOULD_W_MK, MOULD_J_M3K = 2000.0, 0.4, 1.4e6
POUR_K, FLASK_K = 1253.15, 773.15
# Sides of the even cells round the metal [mm] and about how many cells the whole grid has then, in millions.
SIDES_MM = {0.14: 0.97, 1.0: 0.4, 3.6: 0.235, 8.0: 0.17}


def ring_flask(side_mm: float) -> FreezeProblem:
    """Return the freezing problem with cells of a side [mm]."""
    button, sprue = moved(rod(11.0, 8.0, 180), (0, 0, 4.0)), moved(rod(2.5, 14.0, 120), (0, 0, 13.0))
    ring = moved(rotated(ring_band(8.5, 6.4, 2.0, 180), (1, 0, 0), 90.0), (0, 0, 29.5))
    metal = united(button, sprue, ring)
    vertices_m, faces = 1e-3 * np.asarray(metal.vertices_mm), np.asarray(metal.faces)
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), FLASK, 1e-3 * side_mm, planes_m=(8e-3,))
    flask = flask_cells(grid, FLASK)
    network = lay_network(
        grid, cut_cells(grid, vertices_m, faces), vertices_m, faces, MOULD_W_MK / CONTACT_W_M2K, flask
    )
    return FreezeProblem(
        CutFlask(flask, network), plain_law(), MouldLaw.constant(MOULD_W_MK, MOULD_J_M3K),
        ContactLaw.constant(CONTACT_W_M2K), np.array(POUR_K), FLASK_K,
    )  # fmt: skip
