"""The heat paths of a flask as lists: what is swept, what has a row of its own, and what is solved together.

Whole mould cells among whole mould cells are swept. A mould cell that differs (part of a cell, steel in it, metal or
air beside it) gets a row; one whose paths are too quick for its capacity would shorten the steps of all the others, so
it is solved together with the metal, as a node.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells, GradedGrid, Part
from pourwright.physics.freeze.lists import NODE, NONE, ROW, SWEPT, Paths
from pourwright.physics.freeze.near_mould import mould_pairs, near_mould, quickness_per_m2, wall_shapes_m, with_steel
from pourwright.physics.freeze.node_lists import in_turns, lay_nodes
from pourwright.physics.freeze.problem import Floats, FreezeProblem
from pourwright.physics.freeze.row_lists import lay_rows
from pourwright.physics.freeze.whole_cells import as_cut

# A row may be so much quicker than the quickest whole cell; the number of stages grows with the root of this.
_MOST_QUICK_RATIO = 1.3


def lay_paths(problem: FreezeProblem) -> Paths:
    """Sort the cells of a problem into swept cells, rows and nodes, and list all paths between them."""
    cut = as_cut(problem)
    flask, network, grid = cut.flask, cut.network, cut.network.grid
    outside = _outside(flask)
    is_mould = (network.has_mould.ravel() > 0) & ~outside
    near = near_mould(problem, flask, network, is_mould)
    pairs = mould_pairs(network, near, is_mould)
    along = _along(grid)
    swept_per_m2 = float(sum(one.sum(axis=1).max() for one in along))
    walls_m = wall_shapes_m(problem, network)
    pairs = with_steel(problem, near, pairs, grid, walls_m, network, _MOST_QUICK_RATIO * swept_per_m2)
    per_m2 = quickness_per_m2(near, pairs, walls_m, network)
    quick = per_m2 > 1.000001 * _MOST_QUICK_RATIO * swept_per_m2
    kind = np.where(is_mould, SWEPT, NONE).astype(np.uint8)
    kind[near.cell[near.special]] = ROW
    kind[near.cell[quick]] = NODE
    nodes, number = lay_nodes(flask, network, near, pairs, kind, outside)
    rows = lay_rows(flask, network, near, pairs, kind, number)
    nodes, rows = in_turns(nodes, rows)
    whole = np.zeros(tuple(many + 2 for many in grid.shape), np.uint8)
    whole[1:-1, 1:-1, 1:-1] = (kind == SWEPT).reshape(grid.shape)
    quickest_per_m2 = max(swept_per_m2, float(per_m2[~quick].max(initial=0.0)))
    return Paths(grid.edges_m, whole, along, rows, nodes, quickest_per_m2, swept_per_m2)


def _outside(flask: FlaskCells) -> NDArray[np.bool_]:
    outside: NDArray[np.bool_] = flask.part.ravel() == Part.OUTSIDE
    outside[flask.rim_cells] = False
    return outside


def _along(grid: GradedGrid) -> tuple[Floats, Floats, Floats]:
    """Return one over side times distance to the next middle, with the idle layer [1/m2]."""
    made = []
    for side_m, middle_m in zip(grid.sides_m, grid.middles_m, strict=True):
        both = np.zeros((len(side_m) + 2, 2))
        both[2:-1, 0] = 1 / (side_m[1:] * np.diff(middle_m))
        both[1:-2, 1] = 1 / (side_m[:-1] * np.diff(middle_m))
        made.append(both)
    return made[0], made[1], made[2]
