"""Ways from metal over the wall to the mould nodes beside it: true areas, and distances that allow for a bent wall.

Round a bent wall, uneven ways along the axes beside paths across whole faces are out of balance by the second
derivative of the temperature, which the bend sets; the ways through the mould are shortened by as much
(``docs/decisions/0013-cut-cells.md`` derives and measures it).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.crossings import WallPaths
from pourwright.grid.cut_cells import CutCells
from pourwright.grid.edges import Edges
from pourwright.grid.graded import GradedGrid
from pourwright.grid.metal_nodes import MetalNodes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Rows = NDArray[np.int32]
Flags = NDArray[np.bool_]

# Bounds of the bend's effect on a way, and the least component of the normal it is divided by.
_LEAST_GAIN_RATIO, _MOST_GAIN_RATIO, _LEAST_FACING_RATIO = 0.5, 2.0, 0.2


@dataclass(frozen=True, eq=False)
class Walls:
    """Ways from metal nodes over the wall to mould nodes; all shapes (q,).

    ``metal`` numbers nodes, ``mould`` cells. ``area_m2`` is the true area [m2]; ``metal_m`` and ``mould_m`` are
    distances to the wall [m], the latter such that area over distance is the shape of the way through the mould.
    """

    metal: Ints
    mould: Ints
    area_m2: Floats
    metal_m: Floats
    mould_m: Floats


def join_walls(
    grid: GradedGrid, cut: CutCells, metal: MetalNodes, paths: WallPaths, edges: Edges, in_metal: Flags
) -> Walls:
    """Give each way to the wall its metal node and its share of the true area.

    The area that lines stand for is right on the average only. The true area of each cell is shared out among the lines
    that cross the surface in it and in the 26 cells round it.
    """
    cut_row = np.full(grid.cells_count, -1, np.int32)
    cut_row[cut.cells] = np.arange(len(cut.cells))
    rows = np.where(cut_row[paths.behind[:, 0]] >= 0, cut_row[paths.behind[:, 0]], cut_row[paths.behind[:, 1]])
    line_m2 = np.bincount(rows[rows >= 0], paths.raw_m2[rows >= 0], len(cut.cells)).astype(np.float64)
    raw_m2 = _around(grid, cut, cut_row, line_m2)
    shared = np.divide(cut.wall_m2, raw_m2, out=np.zeros_like(raw_m2), where=raw_m2 > 0.0)
    ratio = np.where(rows >= 0, _around(grid, cut, cut_row, shared)[rows], 1.0)
    one, other = metal.of_cell[paths.behind].T
    node = np.where(one >= 0, one, other).astype(np.int64)
    mould_m = paths.mould_m * ratio / _gain(edges, _gain_of_bend(grid, cut, cut_row, paths, rows))
    metal_m = _metal_distance(grid, cut, metal, node, rows)
    found = (node >= 0) & (paths.raw_m2 > 0.0)
    walls = Walls(node[found], paths.mould[found], (paths.raw_m2 * ratio)[found], metal_m[found], mould_m[found])
    return _scaled(_with(walls, _lone_walls(grid, cut, metal, raw_m2, in_metal)), float(cut.wall_m2.sum()))


def _gain(edges: Edges, bend_ratio: Floats) -> Floats:
    """Return how much better nodes are joined to the wall: by its bend, or by its edge as far as that is sharp."""
    gain = edges.way_gain_ratio + (1.0 - edges.sharp_ratio) * (bend_ratio - 1.0)
    return np.asarray(np.maximum(gain, _LEAST_GAIN_RATIO))


def _around(grid: GradedGrid, cut: CutCells, cut_row: Rows, held: Floats) -> Floats:
    """Add up what a cut cell and the cut cells among its 26 neighbours hold."""
    total = np.zeros(len(cut.cells))
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            for k in (-1, 0, 1):
                beside = cut.cells + (i * grid.shape[1] + j) * grid.shape[2] + k
                row = cut_row[np.clip(beside, 0, grid.cells_count - 1)]
                total += np.where(row >= 0, held[row], 0.0)
    return total


def _gain_of_bend(grid: GradedGrid, cut: CutCells, cut_row: Rows, paths: WallPaths, rows: Rows) -> Floats:
    """Return how much better a bent wall is joined to its nodes than the lines alone say; 1 for a flat one.

    With the second derivative twice the curvature times the slope along the normal, and the curvature less along both
    tangents, a way that is the share ``theta`` of a side long lacks the side times curvature times (1 - theta) / 2
    times (3 n^2 - 1) / n of what it carries, n being the normal's component along it.
    """
    from pourwright.grid.cut import _kernels

    bend = np.zeros(len(cut.cells))
    places = np.column_stack(np.unravel_index(cut.cells, grid.shape))
    _kernels.bend_walls(cut_row.reshape(grid.shape), places, cut.wall_m2, cut.facing_m2, cut.wall_m, bend)
    facing = np.maximum(paths.facing_ratio, _LEAST_FACING_RATIO)
    theta = np.clip(paths.mould_m / (facing * grid.side_m), 0.0, 1.0)
    lack = grid.side_m * bend[rows] * (1.0 - theta) / 2.0 * (3.0 * paths.facing_ratio**2 - 1.0) / facing
    return np.where(rows >= 0, np.clip(1.0 + lack, _LEAST_GAIN_RATIO, _MOST_GAIN_RATIO), 1.0)


def unit(facing_m2: Floats) -> Floats:
    """Return vectors of length one, shape (n, 3), or nothing for nothing [-]."""
    length_m2 = np.linalg.norm(facing_m2, axis=1, keepdims=True)
    return np.asarray(facing_m2 / np.where(length_m2 > 0.0, length_m2, 1.0))


def _metal_distance(grid: GradedGrid, cut: CutCells, metal: MetalNodes, node: Ints, rows: Rows) -> Floats:
    """Return how far behind the wall each metal node lies, along the wall's normal [m]."""
    towards_m = cut.wall_m[rows] - metal.centre_m[node]
    distance_m = np.einsum("nd,nd->n", towards_m, unit(cut.facing_m2[rows]))
    return np.where(rows >= 0, np.clip(distance_m, 0.0, grid.side_m), grid.side_m / 2)


def _lone_walls(grid: GradedGrid, cut: CutCells, metal: MetalNodes, raw_m2: Floats, in_metal: Flags) -> Walls:
    """Return ways for walls that slip between the lines: from the cell's metal straight to its mould node."""
    lone = np.flatnonzero((raw_m2 <= 0.0) & (cut.wall_m2 > 0.0))
    lone = lone[~in_metal.ravel()[cut.cells[lone]] & (metal.of_cell[cut.cells[lone]] >= 0)]
    node = metal.of_cell[cut.cells[lone]].astype(np.int64)
    away_m = np.linalg.norm(grid.centres_m(cut.cells[lone]) - cut.wall_m[lone], axis=1)
    metal_m = _metal_distance(grid, cut, metal, node, lone.astype(np.int32))
    return Walls(node, cut.cells[lone], cut.wall_m2[lone], metal_m, away_m)


def _with(one: Walls, other: Walls) -> Walls:
    return Walls(*(np.concatenate([getattr(one, name), getattr(other, name)]) for name in Walls.__annotations__))


def _scaled(walls: Walls, total_m2: float) -> Walls:
    """Bring the sum of areas to the body's, the shapes through the mould left as they are."""
    ratio = total_m2 / float(walls.area_m2.sum())
    return Walls(walls.metal, walls.mould, walls.area_m2 * ratio, walls.metal_m, walls.mould_m * ratio)
