"""The rows of a freezing run: their paths to other cells, and their faces to nodes and air."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells, GradedGrid
from pourwright.grid.network import Network
from pourwright.physics.freeze.lists import (
    FACE_AIR_END,
    FACE_AIR_SIDE,
    FACE_MOULD,
    FACE_WALL,
    ROW,
    SWEPT,
    Ints,
    Places,
    Rows,
)
from pourwright.physics.freeze.near_mould import MouldPairs, NearMould, places_in
from pourwright.physics.freeze.node_lists import metal_shares
from pourwright.physics.freeze.problem import Floats
from pourwright.physics.freeze.whole_cells import face_sizes


def lay_rows(
    flask: FlaskCells,
    network: Network,
    near: NearMould,
    pairs: MouldPairs,
    kind: NDArray[np.uint8],
    number: NDArray[np.int32],
) -> Rows:
    """Return the rows with their paths and faces."""
    grid = network.grid
    owner, beside, shape_m = _row_paths(grid, pairs, kind)
    face_owner, *found = _row_faces(flask, network, near, pairs, kind, number)
    faces: tuple[NDArray[Any], ...] = tuple(found)
    special = near.cell[near.special]
    cell = np.unique(np.concatenate((owner, face_owner, special[kind[special] == ROW])))
    row = np.searchsorted(cell, owner)
    order = np.lexsort((beside, row))
    face_row = np.searchsorted(cell, face_owner)
    face_order = np.argsort(face_row, kind="stable")
    mould_m3, steel_m3 = grid.volumes_m3(cell), np.zeros(len(cell))
    place, held = places_in(near.cell, cell)
    mould_m3[held], steel_m3[held] = near.mould_m3[place], near.steel_m3[place]
    padded, plane = _padded(grid, cell), (grid.shape[1] + 2) * (grid.shape[2] + 2)
    return Rows(
        padded, np.searchsorted(padded, plane * np.arange(grid.shape[0] + 3)), kind[cell] == SWEPT,
        mould_m3, steel_m3, _starts(row, len(cell)),
        _padded(grid, beside[order]), shape_m[order], _starts(face_row, len(cell)),
        *(one[face_order] for one in faces),
    )  # fmt: skip


def _starts(owner: Ints, many: int) -> Places:
    return np.concatenate(([0], np.cumsum(np.bincount(owner, minlength=many)))).astype(np.uint32)


def _padded(grid: GradedGrid, flat: Ints) -> Places:
    """Return flat numbers in the grid with an idle layer all round."""
    i, j, k = np.unravel_index(flat, grid.shape)
    return (((i + 1) * (grid.shape[1] + 2) + j + 1) * (grid.shape[2] + 2) + k + 1).astype(np.uint32)


def _row_paths(grid: GradedGrid, pairs: MouldPairs, kind: NDArray[np.uint8]) -> tuple[Ints, Ints, Floats]:
    """Return owner, cell beside it and shape of all paths of rows to cells, what the sweep counts taken off."""
    owners, besides, shapes_m = [], [], []
    swept, explicit = kind == SWEPT, (kind == SWEPT) | (kind == ROW)
    joined = explicit[pairs.low] & explicit[pairs.high]
    for own, far in ((pairs.low, pairs.high), (pairs.high, pairs.low)):
        shape_m = pairs.shape_m - np.where(swept[own], pairs.whole_m, 0.0)
        counts = joined & (shape_m != 0)
        owners.append(own[counts])
        besides.append(far[counts])
        shapes_m.append(shape_m[counts])
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        for own, step in zip(_at_closed_faces(swept, explicit, grid.shape, axis), (stride, -stride), strict=True):
            area_m2, low_m, high_m = face_sizes(grid, axis, own, own + step)
            owners.append(own)
            besides.append(own + step)
            shapes_m.append(-area_m2 / (low_m + high_m))
    return np.concatenate(owners), np.concatenate(besides), np.concatenate(shapes_m)


def _at_closed_faces(
    swept: NDArray[np.bool_], explicit: NDArray[np.bool_], shape: tuple[int, int, int], axis: int
) -> tuple[Ints, Ints]:
    """Return the swept cells whose next cell along an axis, upwards and downwards, is neither swept nor a row."""
    low = tuple(slice(None, -1) if one == axis else slice(None) for one in range(3))
    high = tuple(slice(1, None) if one == axis else slice(None) for one in range(3))
    found = []
    for own, far in ((low, high), (high, low)):
        marked = np.zeros(shape, bool)
        marked[own] = swept.reshape(shape)[own] & ~explicit.reshape(shape)[far]
        found.append(np.flatnonzero(marked))
    return found[0], found[1]


def _row_faces(
    flask: FlaskCells,
    network: Network,
    near: NearMould,
    pairs: MouldPairs,
    kind: NDArray[np.uint8],
    number: NDArray[np.int32],
) -> tuple[NDArray[Any], ...]:
    """Return owner, node, kind, size and distances of all faces of rows."""
    explicit = (kind == SWEPT) | (kind == ROW)
    parts: list[tuple[Any, ...]] = []
    for own, far in ((pairs.low, pairs.high), (pairs.high, pairs.low)):
        at = explicit[own] & (number[far] >= 0)
        none_m = np.zeros(int(at.sum()))
        parts.append((own[at], number[far[at]], np.full(len(none_m), FACE_MOULD), pairs.shape_m[at], none_m, none_m))
    at = explicit[network.wall_cells]
    wall = np.full(int(at.sum()), FACE_WALL)
    parts.append(
        (network.wall_cells[at], network.wall_metal[at], wall, network.wall_m2[at], network.wall_metal_m[at],
         network.wall_mould_m[at])
    )  # fmt: skip
    share, _ = metal_shares(flask, network)
    at = explicit[flask.air_cells] & (share < 1)
    cells = flask.air_cells[at]
    side = np.where(flask.air_side[at] == 0, FACE_AIR_SIDE, FACE_AIR_END)
    none = np.full(len(cells), -1)
    depth_m = flask.air_m[at] * _thinned(network.grid, near, cells)
    parts.append((cells, none, side, (flask.air_m2 * (1 - share))[at], np.zeros(len(cells)), depth_m))
    owner, node, face_kind, size, metal_m, mould_m = (np.concatenate([one[part] for one in parts]) for part in range(6))
    return owner, node.astype(np.int32), face_kind.astype(np.uint8), size, metal_m, mould_m


def _thinned(grid: GradedGrid, near: NearMould, cells: Ints) -> Floats:
    """Return the share of the way to the air that leads through mould; the steel on it hardly resists."""
    place, _ = places_in(near.cell, cells)
    return np.asarray(1.0 - np.minimum(near.steel_m3[place] / grid.volumes_m3(cells), 1.0))
