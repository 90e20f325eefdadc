"""The flask on larger cells: once all metal is solid, fine cells only cost time.

Cells of the fine grid are joined to blocks between planes that the fine grid already has, so that heat moves over
without loss. Volumes, wall areas and outer areas are sums; paths between blocks are the sums of the open faces between
them. The distance to a wall grows with the cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells, GradedGrid, Part
from pourwright.grid.network import Network
from pourwright.physics.freeze.lists import Nodes, Paths
from pourwright.physics.freeze.problem import CutFlask, Floats

Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Blocks:
    """A flask on larger cells.

    Parameters
    ----------
    cells : CutFlask
        The flask.
    block_of : array, shape (nx * ny * nz,)
        Flat number of the larger cell that each fine cell is part of.
    metal_of : array, shape (n,)
        Metal node of the larger cells that each fine metal node is part of.
    """

    cells: CutFlask
    block_of: NDArray[np.int32]
    metal_of: Ints


def join_cells(fine: CutFlask, paths: Paths, side_m: float) -> Blocks:
    """Join the cells of a flask to blocks with sides of at least so much [m], where the grid is finer.

    ``paths`` are those laid for the fine flask: they know what every mould cell holds.
    """
    grid, block_of = _joined_grid(fine, side_m)
    network, flask = fine.network, fine.flask
    mould_m3, steel_m3 = _volumes(fine, paths, block_of, grid)
    metal_cells, metal_of = np.unique(block_of[network.metal_cells], return_inverse=True)
    outside = _all_of(flask.part.ravel() == Part.OUTSIDE, block_of, grid.cells_count, flask.rim_cells)
    has_mould = np.where(mould_m3 + steel_m3 > 0, 1, 0).astype(np.uint8)
    has_mould[block_of[network.light_cells]] = np.maximum(has_mould[block_of[network.light_cells]], 2)
    has_mould[mould_m3 + steel_m3 > 0] = 1
    whole_m3 = grid.volumes_m3(np.arange(grid.cells_count))
    rim = np.flatnonzero((steel_m3 > 0) | (_any_of(flask.part.ravel() == Part.OUTSIDE, block_of, grid) & ~outside))
    is_rim = np.zeros(grid.cells_count, bool)
    is_rim[rim] = True
    near = np.flatnonzero((has_mould == 1) & ~is_rim & ~outside & (np.abs(mould_m3 - whole_m3) > 1e-9 * whole_m3))
    links, shapes_m = _open_links(fine, block_of, grid, has_mould)
    joined = Network(
        grid, has_mould.reshape(grid.shape), near, mould_m3[near], np.flatnonzero(has_mould == 2), links, shapes_m,
        metal_cells.astype(np.int64), *_metal(network, metal_of, len(metal_cells)),
        *_walls(network, block_of, metal_of, grid),
    )  # fmt: skip
    part = np.where(outside, Part.OUTSIDE, Part.MOULD).astype(np.uint8).reshape(grid.shape)
    outer = FlaskCells(part, rim, mould_m3[rim], steel_m3[rim], *_air(flask, block_of, grid, network.grid))
    return Blocks(CutFlask(outer, joined), block_of, metal_of)


def _joined_grid(fine: CutFlask, side_m: float) -> tuple[GradedGrid, NDArray[np.int32]]:
    """Return the grid of the blocks, and the block of each cell; planes where the flask ends stay."""
    grid, inside = fine.network.grid, fine.flask.part != Part.OUTSIDE
    edges_m, numbers = [], []
    for axis, edge_m in enumerate(grid.edges_m):
        filled = inside.any(axis=tuple(one for one in range(3) if one != axis))
        must = np.flatnonzero(np.diff(filled.astype(int)) != 0) + 1
        kept, number = [0], np.zeros(len(edge_m) - 1, np.int64)
        for plane in range(1, len(edge_m)):
            number[plane - 1] = len(kept) - 1
            wide = edge_m[plane] - edge_m[kept[-1]] >= side_m * (1 - 1e-9)
            if wide or plane in must or plane == len(edge_m) - 1:
                kept.append(plane)
        edges_m.append(edge_m[kept])
        numbers.append(number)
    shape = tuple(len(edge_m) - 1 for edge_m in edges_m)
    i, j, k = np.ix_(*numbers)
    block_of = ((i * shape[1] + j) * shape[2] + k).astype(np.int32).ravel()
    return GradedGrid(edges_m[0], edges_m[1], edges_m[2], side_m), block_of


def _sums(owner: NDArray[Any], values: NDArray[Any], many: int) -> Floats:
    """Return for each owner the sum of its values."""
    return np.bincount(owner, values, many).astype(np.float64)


def _all_of(flag: NDArray[np.bool_], block_of: NDArray[np.int32], many: int, but: Ints) -> NDArray[np.bool_]:
    flag = flag.copy()
    flag[but] = False
    found = np.ones(many, bool)
    found[block_of[~flag]] = False
    return found


def _any_of(flag: NDArray[np.bool_], block_of: NDArray[np.int32], grid: GradedGrid) -> NDArray[np.bool_]:
    found = np.zeros(grid.cells_count, bool)
    found[block_of[flag]] = True
    return found


def _volumes(fine: CutFlask, paths: Paths, block_of: NDArray[np.int32], grid: GradedGrid) -> tuple[Floats, Floats]:
    """Return mould and steel in each block [m3]."""
    own = held_m3(fine, paths)
    mould_m3 = _sums(block_of, own[0], grid.cells_count)
    steel_m3 = _sums(block_of, own[1], grid.cells_count)
    return mould_m3, steel_m3


def held_m3(fine: CutFlask, paths: Paths) -> tuple[Floats, Floats]:
    """Return mould and steel that each fine cell stands for [m3]."""
    grid = fine.network.grid
    volumes_m3 = grid.volumes_m3(np.arange(grid.cells_count))
    mould_m3 = np.where(paths.whole[1:-1, 1:-1, 1:-1].ravel() == 1, volumes_m3, 0.0)
    steel_m3 = np.zeros(grid.cells_count)
    rows = flat_numbers(paths.rows.cell, grid.shape)
    mould_m3[rows], steel_m3[rows] = paths.rows.mould_m3, paths.rows.steel_m3
    nodes = mould_node_cells(paths.nodes, grid)
    mould_m3[nodes] = paths.nodes.m3[paths.nodes.metals_count :]
    steel_m3[nodes] = paths.nodes.steel_m3[paths.nodes.metals_count :]
    return mould_m3, steel_m3


def flat_numbers(padded: NDArray[Any], shape: tuple[int, int, int]) -> Ints:
    """Return flat numbers in the grid from those in the padded grid."""
    i, j, k = np.unravel_index(padded, tuple(many + 2 for many in shape))
    return np.asarray(((i - 1) * shape[1] + j - 1) * shape[2] + k - 1)


def mould_node_cells(nodes: Nodes, grid: GradedGrid) -> Ints:
    """Return the flat numbers of the cells of mould nodes."""
    places = nodes.cell[nodes.metals_count :].T.astype(np.int64)
    return np.asarray(np.ravel_multi_index(tuple(places), grid.shape))


def _metal(network: Network, metal_of: Ints, many: int) -> tuple[Floats, Floats, Floats, Ints, Floats]:
    """Return volumes, centroids, skins, links and their shapes of the joined metal."""
    m3 = _sums(metal_of, network.metal_m3, many)
    centre_m = np.column_stack(
        [_sums(metal_of, network.metal_m3 * network.metal_m[:, axis], many) / m3 for axis in range(3)]
    )
    skin_m3 = _sums(metal_of, network.skin_m3, many)
    ends = metal_of[network.metal_links]
    between = ends[:, 0] != ends[:, 1]
    fine_m = np.linalg.norm(np.diff(network.metal_m[network.metal_links], axis=1)[:, 0], axis=1)[between]
    wide_m = np.linalg.norm(np.diff(centre_m[ends[between]], axis=1)[:, 0], axis=1)
    pair, place = np.unique(np.sort(ends[between], axis=1), axis=0, return_inverse=True)
    shape_m = _sums(place.ravel(), network.metal_shape_m[between] * fine_m / wide_m, len(pair))
    return m3, centre_m, skin_m3, pair, shape_m


def _walls(
    network: Network, block_of: NDArray[np.int32], metal_of: Ints, grid: GradedGrid
) -> tuple[Ints, Ints, Floats, Floats, Floats]:
    """Return the walls between joined metal and blocks: who, area and distances."""
    cell = block_of[network.wall_cells].astype(np.int64)
    grown = np.cbrt(grid.volumes_m3(cell) / network.grid.volumes_m3(network.wall_cells))
    pair, place = np.unique(np.column_stack((metal_of[network.wall_metal], cell)), axis=0, return_inverse=True)
    place = place.ravel()
    area_m2 = _sums(place, network.wall_m2, len(pair))
    means_m = [
        _sums(place, network.wall_m2 * grown * one_m, len(pair)) / area_m2
        for one_m in (network.wall_metal_m, network.wall_mould_m)
    ]
    return pair[:, 0], pair[:, 1], area_m2, means_m[0], means_m[1]


def _open_links(
    fine: CutFlask, block_of: NDArray[np.int32], grid: GradedGrid, has_mould: NDArray[np.uint8]
) -> tuple[Ints, Floats]:
    """Return pairs of blocks with less than a whole face open between them, and the shapes of their paths."""
    network = fine.network
    inside = fine.flask.part.ravel() != Part.OUTSIDE
    inside[fine.flask.rim_cells] = True
    conducts = (network.has_mould.ravel() > 0) & inside
    closed = network.link_cells[network.link_shape_m == 0]
    links, shapes_m = [], []
    for axis, stride in enumerate((network.grid.shape[1] * network.grid.shape[2], network.grid.shape[2], 1)):
        number = np.arange(network.grid.cells_count).reshape(network.grid.shape)
        low = np.take(number, range(network.grid.shape[axis] - 1), axis).ravel()
        high = np.take(number, range(1, network.grid.shape[axis]), axis).ravel()
        across = block_of[low] != block_of[high]
        low, high = low[across], high[across]
        area_m2 = _faces_m2(network.grid, axis, low)
        parted = closed[closed[:, 1] - closed[:, 0] == stride, 0]
        is_open = conducts[low] & conducts[high] & ~np.isin(low, parted)
        pair, place = np.unique(np.column_stack((block_of[low], block_of[high])), axis=0, return_inverse=True)
        open_m2 = _sums(place.ravel(), area_m2 * is_open, len(pair))
        pair = pair.astype(np.int64)
        part = (open_m2 < (1 - 1e-9) * _faces_m2(grid, axis, pair[:, 0])) & (has_mould[pair] > 0).all(axis=1)
        middle_m = grid.middles_m[axis]
        places = [np.unravel_index(pair[part][:, end], grid.shape)[axis] for end in (0, 1)]
        links.append(pair[part])
        shapes_m.append(open_m2[part] / (middle_m[places[1]] - middle_m[places[0]]))
    return np.concatenate(links), np.concatenate(shapes_m)


def _faces_m2(grid: GradedGrid, axis: int, cells: Ints) -> Floats:
    places = np.unravel_index(cells, grid.shape)
    one, other = (side for side in range(3) if side != axis)
    return np.asarray(grid.sides_m[one][places[one]] * grid.sides_m[other][places[other]])


def _air(
    flask: FlaskCells, block_of: NDArray[np.int32], grid: GradedGrid, fine: GradedGrid
) -> tuple[Ints, Floats, Floats, NDArray[np.uint8]]:
    cell = block_of[flask.air_cells].astype(np.int64)
    grown = np.cbrt(grid.volumes_m3(cell) / fine.volumes_m3(flask.air_cells))
    pair, place = np.unique(np.column_stack((cell, flask.air_side)), axis=0, return_inverse=True)
    area_m2 = _sums(place.ravel(), flask.air_m2, len(pair))
    depth_m = _sums(place.ravel(), flask.air_m2 * flask.air_m * grown, len(pair)) / area_m2
    return pair[:, 0].astype(np.int64), area_m2, depth_m, pair[:, 1].astype(np.uint8)
