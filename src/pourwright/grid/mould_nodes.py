"""Mould beside metal: its ways to the wall, and what volume each node stands for.

The mould of a cell whose middle lies in metal goes to the nodes beside it. Part of the mould between a node and the
wall follows the wall (its skin): without it the heat of the first thin warm layer would be missed. Nodes very close to
the wall keep no capacity; what they had is shared out along their paths, which leaves the heat of an even fall of
temperature as it was and lets the streaming sweep take steps as long as without them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.crossings import WallPaths
from pourwright.grid.cut_cells import CutCells
from pourwright.grid.graded import GradedGrid
from pourwright.grid.metal_nodes import MetalNodes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

# How much of the mould between wall and node follows the wall: one half would be right for a straight fall of
# temperature and too much for the hollow fall of a thin warm layer; measured, docs/decisions/0012-cut-cells.md.
SKIN_RATIO = 0.4
# A node whose paths, for its volume, carry more than this many times those of a whole cell keeps no capacity.
LIGHT_RATIO = 1.6
# A node keeps at least this share of its volume when its ways to the wall take their skins.
_LEAST_KEPT_FRAC = 0.1
# Least weight of a neighbour beside the wall's normal, so that some neighbour always takes over.
_LEAST_WEIGHT_RATIO = 1e-6


@dataclass(frozen=True, eq=False)
class Walls:
    """Ways from metal nodes over the wall to mould nodes; all shapes (q,).

    ``metal`` numbers nodes, ``mould`` cells. ``raw_m2`` is the area that the lines stand for, ``area_m2`` the true one
    [m2]; ``metal_m`` and ``mould_m`` are distances to the wall, the latter such that ``area_m2`` over it is the shape
    of the way through the mould; ``layer_m3`` is the mould between wall and node.
    """

    metal: Ints
    mould: Ints
    area_m2: Floats
    metal_m: Floats
    mould_m: Floats
    layer_m3: Floats


def join_walls(grid: GradedGrid, cut: CutCells, metal: MetalNodes, paths: WallPaths, in_metal: Flags) -> Walls:
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
    ratio = _around(grid, cut, cut_row, shared)
    ratio = np.where(rows >= 0, ratio[rows], 1.0)
    node = np.where(metal.of_cell[paths.behind[:, 0]] >= 0, metal.of_cell[paths.behind[:, 0]],
                    metal.of_cell[paths.behind[:, 1]])  # fmt: skip
    found = (node >= 0) & (paths.raw_m2 > 0.0)
    node, rows, ratio = node[found].astype(np.int64), rows[found], ratio[found]
    walls = Walls(
        node, paths.mould[found], paths.raw_m2[found] * ratio, _metal_distance(grid, cut, metal, node, rows),
        paths.mould_m[found] * ratio, (paths.raw_m2 * paths.mould_m)[found],
    )  # fmt: skip
    return _scaled(_with(walls, _lone_walls(grid, cut, metal, raw_m2, in_metal)), float(cut.wall_m2.sum()))


def _around(grid: GradedGrid, cut: CutCells, cut_row: NDArray[np.int32], held: Floats) -> Floats:
    """Add up what a cut cell and the cut cells among its 26 neighbours hold."""
    total = np.zeros(len(cut.cells))
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            for k in (-1, 0, 1):
                beside = cut.cells + (i * grid.shape[1] + j) * grid.shape[2] + k
                row = cut_row[np.clip(beside, 0, grid.cells_count - 1)]
                total += np.where(row >= 0, held[row], 0.0)
    return total


def _unit(facing_m2: Floats) -> Floats:
    length_m2 = np.linalg.norm(facing_m2, axis=1, keepdims=True)
    return np.asarray(facing_m2 / np.where(length_m2 > 0.0, length_m2, 1.0))


def _metal_distance(grid: GradedGrid, cut: CutCells, metal: MetalNodes, node: Ints, rows: NDArray[np.int32]) -> Floats:
    """Return how far behind the wall each metal node lies, along the wall's normal [m]."""
    towards_m = cut.wall_m[rows] - metal.centre_m[node]
    distance_m = np.einsum("nd,nd->n", towards_m, _unit(cut.facing_m2[rows]))
    return np.where(rows >= 0, np.clip(distance_m, 0.0, grid.side_m), grid.side_m / 2)


def _lone_walls(grid: GradedGrid, cut: CutCells, metal: MetalNodes, raw_m2: Floats, in_metal: Flags) -> Walls:
    """Return ways for walls that slip between the lines: from the cell's metal straight to its mould node."""
    lone = np.flatnonzero((raw_m2 <= 0.0) & (cut.wall_m2 > 0.0))
    lone = lone[~in_metal.ravel()[cut.cells[lone]] & (metal.of_cell[cut.cells[lone]] >= 0)]
    node = metal.of_cell[cut.cells[lone]].astype(np.int64)
    away_m = np.linalg.norm(grid.centres_m(cut.cells[lone]) - cut.wall_m[lone], axis=1)
    metal_m = _metal_distance(grid, cut, metal, node, lone.astype(np.int32))
    return Walls(node, cut.cells[lone], cut.wall_m2[lone], metal_m, away_m, np.zeros(len(lone)))


def _with(one: Walls, other: Walls) -> Walls:
    return Walls(*(np.concatenate([getattr(one, name), getattr(other, name)]) for name in Walls.__annotations__))


def _scaled(walls: Walls, total_m2: float) -> Walls:
    """Bring the sum of areas to the body's, the shapes through the mould left as they are."""
    ratio = total_m2 / float(walls.area_m2.sum())
    return Walls(walls.metal, walls.mould, walls.area_m2 * ratio, walls.metal_m, walls.mould_m * ratio, walls.layer_m3)


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
    grid: GradedGrid, cut: CutCells, metal: MetalNodes, walls: Walls, parted: Ints, is_node: Flags, gap_m: float
) -> MouldVolumes:
    """Share the mould in and beside cut cells out to mould nodes and to the skins of metal nodes.

    Parameters
    ----------
    grid, cut, metal, walls
        The surface on the grid.
    parted : array, shape (c, 2)
        Pairs of mould nodes that metal comes between.
    is_node : array, shape (nx * ny * nz,)
        Which cells have a mould node inside the flask.
    gap_m : float
        Thickness of mould that resists as much as the gap [m].
    """
    cells = _near_cells(grid, np.union1d(cut.cells, walls.mould))
    row = np.full(grid.cells_count, -1, np.int32)
    row[cells] = np.arange(len(cells))
    sides = _sides(grid, cells, row, parted, is_node)
    m3 = np.where((cut.inside_frac.ravel()[cells] < 0.5), grid.volumes_m3(cells), 0.0)
    m3[row[cut.cells]] = (1.0 - cut.metal_frac) * grid.volumes_m3(cut.cells)
    facing = np.zeros((len(cells), 3))
    facing[row[cut.cells]] = _unit(cut.facing_m2)
    node = is_node[cells]
    skin_m3 = np.zeros(len(metal.cells))
    _hand_over(m3, skin_m3, ~node, facing, sides, metal.of_cell[cells])
    held = is_node[walls.mould]
    at, of, way_m = row[walls.mould[held]], walls.metal[held], (walls.area_m2 / (walls.mould_m + gap_m))[held]
    _take_skins(m3, skin_m3, at, of, (walls.layer_m3 * SKIN_RATIO * walls.mould_m / (walls.mould_m + gap_m))[held])
    is_light = _make_light(grid, cells, m3, skin_m3, node, sides, at, of, way_m)
    return MouldVolumes(cells, node, m3, is_light, skin_m3)


def _near_cells(grid: GradedGrid, cells: Ints) -> Ints:
    """Return cells and their neighbours across faces."""
    around = [cells]
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        place = np.unravel_index(cells, grid.shape)[axis]
        around += [cells[place > 0] - stride, cells[place < grid.shape[axis] - 1] + stride]
    return np.unique(np.concatenate(around))


def _sides(grid: GradedGrid, cells: Ints, row: NDArray[np.int32], parted: Ints, is_node: Flags) -> tuple[_Sides, ...]:
    """Return the ways from near cells to the mould nodes across their six faces."""
    places = np.unravel_index(cells, grid.shape)
    found = []
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        across, deep = (axis + 1) % 3, (axis + 2) % 3
        face_m2 = grid.sides_m[across][places[across]] * grid.sides_m[deep][places[deep]]
        shut = np.sort(parted[parted[:, 1] - parted[:, 0] == stride, 0])
        for step in (-1, 1):
            inner = (places[axis] + step >= 0) & (places[axis] + step < grid.shape[axis])
            beside = np.where(inner, cells + step * stride, cells)
            low = np.minimum(cells, beside)
            is_shut = np.isin(low, shut, assume_unique=False)
            middle_m = grid.middles_m[axis]
            apart_m = np.abs(middle_m[np.unravel_index(beside, grid.shape)[axis]] - middle_m[places[axis]])
            is_open = inner & is_node[beside] & ~is_shut
            shape_m = np.where(is_open, face_m2 / np.where(apart_m > 0.0, apart_m, 1.0), 0.0)
            found.append(_Sides(axis, np.where(is_open, row[beside], -1), beside, shape_m))
    return tuple(found)


def _hand_over(
    m3: Floats, skin_m3: Floats, is_orphan: Flags, facing: Floats, sides: tuple[_Sides, ...],
    metal_of: NDArray[np.int32],
) -> None:  # fmt: skip
    """Give the mould of cells without a mould node to nodes beside them, mostly along the wall's normal."""
    orphan_m3 = np.where(is_orphan, m3, 0.0)
    weights = [
        np.where(side.row >= 0, facing[:, side.axis] ** 2 + _LEAST_WEIGHT_RATIO, 0.0) * (orphan_m3 > 0)
        for side in sides
    ]
    total = np.sum(weights, axis=0)
    m3[is_orphan] = 0.0
    share_m3 = np.divide(orphan_m3, total, out=np.zeros_like(m3), where=total > 0.0)
    for side, weight in zip(sides, weights, strict=True):
        taken = weight > 0.0
        np.add.at(m3, side.row[taken], (share_m3 * weight)[taken])
    alone = (orphan_m3 > 0.0) & (total == 0.0) & (metal_of >= 0)
    np.add.at(skin_m3, metal_of[alone], orphan_m3[alone])


def _take_skins(m3: Floats, skin_m3: Floats, at: NDArray[np.int32], of: Ints, wanted_m3: Floats) -> None:
    """Move a part of the mould between wall and node to the metal node behind the wall."""
    all_m3 = np.bincount(at, wanted_m3, len(m3))
    room_m3 = (1.0 - _LEAST_KEPT_FRAC) * m3
    share = np.minimum(1.0, np.divide(room_m3, all_m3, out=np.ones_like(m3), where=all_m3 > 0.0))
    m3 -= share * all_m3
    np.add.at(skin_m3, of, wanted_m3 * share[at])


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
