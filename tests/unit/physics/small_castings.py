"""Small castings of our own invention for the tests of the freezing run."""

from __future__ import annotations

import numpy as np

from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import Flask, flask_cells, lay_grid
from pourwright.grid.network import lay_network
from pourwright.physics.freeze.problem import (
    ContactLaw,
    CutFlask,
    FreezeProblem,
    Kind,
    MetalLaw,
    MouldLaw,
    Shell,
    Surroundings,
    TimeControl,
    WholeCells,
)

POUR_K, FLASK_K = 1273.0, 753.0
ROOM = Surroundings(293.15, 10.0, 0.8, 0.6, 10.0)
CURVED = MouldLaw(
    np.array([200.0, 600.0, 900.0, 1300.0]), np.array([0.35, 0.4, 0.42, 0.55]), np.array([0.8e6, 1.0e6, 1.15e6, 1.25e6])
)


def metal() -> MetalLaw:
    """A metal with a mushy range and an eutectic at its end; round figures, no alloy."""
    knots = np.array([400.0, 1051.0, 1053.0, 1170.0, 1600.0])
    solid = np.array([1.0, 1.0, 0.9, 0.0, 0.0])
    heat = 3e6 * knots + 9.3e8 * (1.0 - solid)
    return MetalLaw(knots, heat, solid, np.array([360.0, 360.0, 350.0, 175.0, 175.0]))


def block(side_mm: float = 1.0) -> WholeCells:
    """A cube of metal with a rod up to a thin plate, in a box of mould with a corner left out."""
    edges = tuple(1e-3 * np.arange(0.0, wide + 1e-9, side_mm) for wide in (10.0, 10.0, 14.0))
    x, y, z = np.meshgrid(*(1e3 * (one[1:] + one[:-1]) / 2 for one in edges), indexing="ij")
    inside = (np.abs(x - 5) < 2) & (np.abs(y - 5) < 2) & (z < 4)
    inside |= (np.abs(x - 5) < 1) & (np.abs(y - 5) < 1) & (z < 10)
    inside |= (np.abs(x - 5) < 3) & (np.abs(y - 5) < 1) & (z > 8) & (z < 10)
    kind = np.where(inside, Kind.METAL, Kind.MOULD).astype(np.uint8)
    kind[(x < 2) & (y < 2)] = Kind.OUTSIDE
    return WholeCells(edges, kind)


def block_problem(cells: WholeCells | None = None, mould: MouldLaw | None = None, **more) -> FreezeProblem:
    """The block as a problem; ``more`` goes to the steps of time, but for surroundings, shell and temperatures."""
    own = {name: more.pop(name) for name in ("surroundings", "shell", "mould_start_K", "probes_m") if name in more}
    own = {"mould_start_K": FLASK_K, **own}
    return FreezeProblem(
        cells or block(), metal(), mould or MouldLaw.constant(0.4, 1.1e6),
        ContactLaw(np.array([0.0, 0.8, 1.0]), np.array([2000.0, 2000.0, 800.0])), np.array(POUR_K),
        time=TimeControl(**more), **own,
    )  # fmt: skip


def _ball(radius_m: float, centre_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    import trimesh

    ball = trimesh.creation.icosphere(subdivisions=2, radius=radius_m)
    return np.asarray(ball.vertices) + centre_m, np.asarray(ball.faces, dtype=np.int64)


def ball_problem(side_m: float = 1e-3, mould: MouldLaw | None = None, **more) -> FreezeProblem:
    """A ball in a little steel flask, cut exactly, open to the room."""
    vertices_m, faces = _ball(4e-3, np.array([0.0, 0.0, 8e-3]))
    flask = Flask(10e-3, 18e-3, 1e-3)
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), flask, side_m)
    cells = flask_cells(grid, flask)
    network = lay_network(grid, cut_cells(grid, vertices_m, faces), vertices_m, faces, 0.4 / 2000.0, cells)
    return FreezeProblem(
        CutFlask(cells, network), metal(), mould or MouldLaw.constant(0.4, 1.1e6), ContactLaw.constant(2000.0),
        np.array(POUR_K), FLASK_K, Shell(1e-3, MouldLaw.constant(25.0, 4e6)), ROOM, TimeControl(**more),
    )  # fmt: skip
