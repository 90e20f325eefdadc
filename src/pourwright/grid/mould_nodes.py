"""Mould beside metal: what volume each node stands for.

The mould of a cell whose middle lies in metal is shared between the nodes beside it and the wall (its skin), as a
straight fall of temperature between them would have it at its centroid. Nodes very close to the wall keep no capacity;
what they had is shared out along their paths, which leaves the heat of an even fall of temperature as it was and lets
the streaming sweep take steps as long as without them. Measured in ``docs/decisions/0013-cut-cells.md``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.cut_cells import CutCells
from pourwright.grid.graded import GradedGrid
from pourwright.grid.metal_nodes import MetalNodes
from pourwright.grid.walls import Walls, unit

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

# A node whose paths, for its volume, carry more than this many times those of a whole cell keeps no capacity.
LIGHT_RATIO = 1.6
# Least weight of a neighbour beside the wall's normal, so that some neighbour always takes over.
_LEAST_WEIGHT_RATIO = 1e-6


@dataclass(frozen=True, eq=False)
class MouldVolumes:
    """What the nodes in and beside cut cells stand for.

    Parameters
    ----------
    cells : array, shape (n,)
        Flat numbers, ascending.
    is_node : array, shape (n,)
        Whether the cell has a mould node.
    m3 : array, shape (n,)
        Volume that each node stands for; nothing for light nodes [m3].
    is_light : array, shape (n,)
        Whether the node keeps no capacity.
    skin_m3 : array, shape (metal nodes,)
        Volume that follows each metal node [m3].
    """

    cells: Ints
    is_node: Flags
    m3: Floats
    is_light: Flags
    skin_m3: Floats


@dataclass(frozen=True, eq=False)
class _Sides:
    """Neighbours of near cells across one face: row among them or -1, flat number, shape of the way there [m]."""

    axis: int
    row: NDArray[np.int32]
    cells: Ints
    shape_m: Floats


def mould_volumes(
    grid: GradedGrid,
    cut: CutCells,
    metal: MetalNodes,
    walls: Walls,
    pairs: Ints,
    shapes_m: Floats,
    in_metal: Flags,
    is_node: Flags,
    gap_m: float,
) -> MouldVolumes:
    """Share the mould in and beside cut cells out to mould nodes and to the skins of metal nodes.

    Parameters
    ----------
    grid, cut, metal, walls
        The surface on the grid.
    pairs : array, shape (c, 2)
        Pairs of mould nodes side by side whose path is not the whole face, lower flat number first.
    shapes_m : array, shape (c,)
        Shapes of their paths [m].
    in_metal, is_node : array, shape (nx * ny * nz,)
        Which cells have their middle in metal, and which have a mould node inside the flask.
    gap_m : float
        Thickness of mould that resists as much as the gap [m].
    """
    cells = _near_cells(grid, np.concatenate([cut.cells, walls.mould]))
    row = np.full(grid.cells_count, -1, np.int32)
    row[cells] = np.arange(len(cells))
    sides = _sides(grid, cells, row, pairs, shapes_m, is_node)
    m3 = np.where((cut.inside_frac.ravel()[cells] < 0.5), grid.volumes_m3(cells), 0.0)
    m3[row[cut.cells]] = (1.0 - cut.metal_frac) * grid.volumes_m3(cut.cells)
    node = is_node[cells]
    skin_m3 = np.zeros(len(metal.cells))
    m3[~node] = 0.0
    _hand_over(grid, cut, metal, in_metal, row, sides, gap_m, m3, skin_m3)
    held = is_node[walls.mould]
    at, of, way_m = row[walls.mould[held]], walls.metal[held], (walls.area_m2 / (walls.mould_m + gap_m))[held]
    is_light = _make_light(grid, cells, m3, skin_m3, node, sides, at, of, way_m)
    return MouldVolumes(cells, node, m3, is_light, skin_m3)


def _near_cells(grid: GradedGrid, cells: Ints) -> Ints:
    """Return cells and their neighbours across faces, ascending."""
    near = np.zeros(grid.cells_count, bool)
    near[cells] = True
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        place = np.unravel_index(cells, grid.shape)[axis]
        near[cells[place > 0] - stride] = True
        near[cells[place < grid.shape[axis] - 1] + stride] = True
    return np.flatnonzero(near)


def _sides(
    grid: GradedGrid, cells: Ints, row: NDArray[np.int32], pairs: Ints, shapes_m: Floats, is_node: Flags
) -> tuple[_Sides, ...]:
    """Return the ways from near cells to the mould nodes across their six faces."""
    places = np.unravel_index(cells, grid.shape)
    found = []
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        across, deep = (axis + 1) % 3, (axis + 2) % 3
        face_m2 = grid.sides_m[across][places[across]] * grid.sides_m[deep][places[deep]]
        along = pairs[:, 1] - pairs[:, 0] == stride
        order = np.argsort(pairs[along, 0])
        changed, changed_m = np.append(pairs[along, 0][order], -1), np.append(shapes_m[along][order], 0.0)
        for step in (-1, 1):
            inner = (places[axis] + step >= 0) & (places[axis] + step < grid.shape[axis])
            beside = np.where(inner, cells + step * stride, cells)
            low = np.minimum(cells, beside)
            place = np.searchsorted(changed[:-1], low)
            is_changed = changed[place] == low
            middle_m = grid.middles_m[axis]
            apart_m = np.abs(middle_m[np.unravel_index(beside, grid.shape)[axis]] - middle_m[places[axis]])
            shape_m = np.where(is_changed, changed_m[place], face_m2 / np.where(apart_m > 0.0, apart_m, 1.0))
            is_open = inner & is_node[beside] & (shape_m > 0.0)
            shape_m = np.where(is_open, shape_m, 0.0)
            found.append(_Sides(axis, np.where(is_open, row[beside], -1), beside, shape_m))
    return tuple(found)


def _hand_over(
    grid: GradedGrid, cut: CutCells, metal: MetalNodes, in_metal: Flags, row: NDArray[np.int32],
    sides: tuple[_Sides, ...], gap_m: float, m3: Floats, skin_m3: Floats,
) -> None:  # fmt: skip
    """Give the mould of cut cells without a mould node to the nodes beside them and to the wall.

    Neighbours count by the square of the normal's component towards them. A neighbour whose way to the wall is D gets
    the share that the centroid's own way is of D, both lengthened by the gap; the wall gets the rest.
    """
    orphans = np.flatnonzero(in_metal[cut.cells] & (cut.metal_frac < 1.0))
    cells, normal = cut.cells[orphans], unit(cut.facing_m2[orphans])
    orphan_m3 = (1.0 - cut.metal_frac[orphans]) * grid.volumes_m3(cells)
    way_m = np.einsum("nd,nd->n", cut.mould_m[orphans] - cut.wall_m[orphans], normal)
    at, of = row[cells], metal.of_cell[cells]
    weights = [np.where(side.row[at] >= 0, normal[:, side.axis] ** 2 + _LEAST_WEIGHT_RATIO, 0.0) for side in sides]
    total = np.sum(weights, axis=0)
    left_m3 = orphan_m3.copy()
    for side, weight in zip(sides, weights, strict=True):
        taken = weight > 0.0
        there_m = np.einsum("nd,nd->n", grid.centres_m(side.cells[at]) - cut.wall_m[orphans], normal)
        share = np.where(there_m > 0.0, (way_m + gap_m) / (np.maximum(there_m, 0.0) + gap_m), 1.0)
        share = np.where(of >= 0, np.clip(share, 0.0, 1.0), 1.0)
        given_m3 = (orphan_m3 * weight * share)[taken] / total[taken]
        np.add.at(m3, side.row[at[taken]], given_m3)
        left_m3[taken] -= given_m3
    held = of >= 0
    np.add.at(skin_m3, of[held], np.maximum(left_m3[held], 0.0))


def _make_light(
    grid: GradedGrid, cells: Ints, m3: Floats, skin_m3: Floats, node: Flags, sides: tuple[_Sides, ...],
    at: NDArray[np.int32], of: Ints, way_m: Floats,
) -> Flags:  # fmt: skip
    """Choose nodes that keep no capacity, and share theirs out along their paths."""
    places = np.unravel_index(cells, grid.shape)
    whole_per_m2 = 2.0 * np.sum([1.0 / grid.sides_m[axis][places[axis]] ** 2 for axis in range(3)], axis=0)
    paths_m = np.sum([side.shape_m for side in sides], axis=0) + np.bincount(at, way_m, len(m3))
    is_light: Flags = node & (paths_m > LIGHT_RATIO * whole_per_m2 * m3)
    takers_m = np.bincount(at, way_m, len(m3))
    for side in sides:
        takers_m += np.where((side.row >= 0) & ~is_light[side.row], side.shape_m, 0.0)
    is_light &= takers_m > 0.0
    share_m2 = np.where(is_light, m3 / np.where(takers_m > 0.0, takers_m, 1.0), 0.0)
    m3[is_light] = 0.0
    np.add.at(skin_m3, of, way_m * share_m2[at])
    for side in sides:
        taken = (side.row >= 0) & ~is_light[side.row] & (share_m2 > 0.0)
        np.add.at(m3, side.row[taken], (side.shape_m * share_m2)[taken])
    return is_light
