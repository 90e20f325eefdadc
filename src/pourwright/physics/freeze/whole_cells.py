"""Whole cells in the form of a network: every wall is a face of the grid."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells, GradedGrid, Part
from pourwright.grid.network import Network
from pourwright.physics.freeze.lists import Ints
from pourwright.physics.freeze.problem import CutFlask, Floats, FreezeProblem, Kind, WholeCells


def whole_grid(cells: WholeCells) -> GradedGrid:
    """Return the grid of whole cells."""
    sides_m = [float(np.diff(edge_m).min()) for edge_m in cells.edges_m]
    return GradedGrid(*cells.edges_m, side_m=min(sides_m))


def as_cut(problem: FreezeProblem) -> CutFlask:
    """Return a problem's cells in the form of a network; of whole cells every wall is a face of the grid."""
    cells = problem.cells
    if isinstance(cells, CutFlask):
        return cells
    grid = whole_grid(cells)
    is_metal, is_mould = cells.kind == Kind.METAL, cells.kind == Kind.MOULD
    metal_cells = np.flatnonzero(is_metal)
    number = np.full(grid.cells_count, -1)
    number[metal_cells] = np.arange(len(metal_cells))
    links, shapes_m, walls = [], [], []
    for axis in range(3):
        low, high = _side_by_side(grid.shape, axis)
        area_m2, low_m, high_m = face_sizes(grid, axis, low, high)
        both = (number[low] >= 0) & (number[high] >= 0)
        links.append(number[np.column_stack((low[both], high[both]))])
        shapes_m.append((area_m2 / (low_m + high_m))[both])
        for metal, mould, metal_m, mould_m in ((low, high, low_m, high_m), (high, low, high_m, low_m)):
            met = (number[metal] >= 0) & is_mould.ravel()[mould]
            walls.append((number[metal[met]], mould[met], area_m2[met], metal_m[met], mould_m[met]))
    none, no_m = np.zeros(0, np.int64), np.zeros(0)
    network = Network(
        grid, is_mould.astype(np.uint8), none, no_m, none, np.zeros((0, 2), np.int64), no_m, metal_cells,
        grid.volumes_m3(metal_cells), grid.centres_m(metal_cells), np.zeros(len(metal_cells)), np.concatenate(links),
        np.concatenate(shapes_m), *(np.concatenate([one[part] for one in walls]) for part in range(5)),
    )  # fmt: skip
    return CutFlask(_whole_flask(grid, cells.kind, problem.shell.thickness_m if problem.shell else 0.0), network)


def _whole_flask(grid: GradedGrid, kind: NDArray[np.uint8], wall_m: float) -> FlaskCells:
    """Return the outside of whole cells: every face to the outside or the grid's end is a face to the air."""
    inside = np.pad(kind != Kind.OUTSIDE, 1)
    found: list[tuple[Any, ...]] = []
    for axis in range(3):
        for step, side in ((-1, 0 if axis < 2 else 1), (1, 0 if axis < 2 else 2)):
            bare = np.flatnonzero(inside[1:-1, 1:-1, 1:-1] & ~np.roll(inside, -step, axis)[1:-1, 1:-1, 1:-1])
            area_m2, half_m, _ = face_sizes(grid, axis, bare, bare)
            found.append((bare, area_m2, half_m, np.full(len(bare), side, np.uint8)))
    cells, area_m2, depth_m, sides = (np.concatenate([one[place] for one in found]) for place in range(4))
    part = np.where(kind == Kind.OUTSIDE, Part.OUTSIDE, Part.MOULD).astype(np.uint8)
    clad = (sides == 0) & (kind.ravel()[cells] == Kind.MOULD) & (wall_m > 0)
    rim, place = np.unique(cells[clad], return_inverse=True)
    steel_m3: Floats = np.bincount(place, area_m2[clad] * wall_m, len(rim)).astype(np.float64)
    return FlaskCells(part, rim, grid.volumes_m3(rim), steel_m3, cells, area_m2, depth_m, sides)


def _side_by_side(shape: tuple[int, int, int], axis: int) -> tuple[Ints, Ints]:
    """Return flat numbers of all pairs of cells side by side along an axis."""
    number = np.arange(int(np.prod(shape))).reshape(shape)
    low = np.take(number, range(shape[axis] - 1), axis).ravel()
    high = np.take(number, range(1, shape[axis]), axis).ravel()
    return low, high


def face_sizes(grid: GradedGrid, axis: int, low: Ints, high: Ints) -> tuple[Floats, Floats, Floats]:
    """Return area [m2] of the faces between cells along an axis, and the half sides of both [m]."""
    places = np.unravel_index(low, grid.shape)
    across = [one for one in range(3) if one != axis]
    area_m2 = grid.sides_m[across[0]][places[across[0]]] * grid.sides_m[across[1]][places[across[1]]]
    high_place = np.unravel_index(high, grid.shape)[axis]
    return area_m2, grid.sides_m[axis][places[axis]] / 2, grid.sides_m[axis][high_place] / 2
