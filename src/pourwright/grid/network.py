"""The network of heat paths on a graded grid with cut cells: what a solver needs, and no more.

A path carries ``shape_m * k * (T_one - T_other)`` watts, its shape being area over distance [m]; a wall path also holds
the resistance of the gap. The network is symmetric and all its shapes are positive.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.crossings import WallPaths, find_crossings, middles_in_metal, nudged, wall_paths
from pourwright.grid.cut_cells import CutCells
from pourwright.grid.edges import find_edges
from pourwright.grid.graded import FlaskCells, GradedGrid, Part
from pourwright.grid.metal_nodes import metal_links, metal_nodes
from pourwright.grid.mould_nodes import mould_volumes
from pourwright.grid.walls import join_walls


@dataclass(frozen=True, eq=False)
class Network:
    """Nodes and paths of metal and mould.

    A mould node sits in the middle of every cell whose ``has_mould`` is 1. Two mould nodes side by side along an axis
    are joined by the whole face between them, unless the pair is listed in ``link_cells``. Metal nodes are a list.

    Parameters
    ----------
    grid : GradedGrid
        The cells.
    has_mould : array, shape (nx, ny, nz)
        uint8: 1 mould node with a capacity, 2 mould node without one (its temperature is the mean of its neighbours
        weighted by their paths at any moment), 0 no mould node. Cells outside the flask count as mould here.
    near_cells : array, shape (a,)
        Mould nodes with a capacity whose volume is not that of their cell, flat numbers.
    near_m3 : array, shape (a,)
        Volume of mould each of them stands for [m3].
    light_cells : array, shape (b,)
        Mould nodes without capacity, flat numbers: the cells with ``has_mould`` 2.
    link_cells : array, shape (c, 2)
        Pairs of mould nodes side by side whose path is not the whole face, lower flat number first.
    link_shape_m : array, shape (c,)
        Shape of each such path [m]; 0 where metal lies between.
    metal_cells : array, shape (n,)
        Cell in which each metal node lies; a cell may be listed once only.
    metal_m3 : array, shape (n,)
        Volume of metal of each node [m3]; the sum is that of the body.
    metal_m : array, shape (n, 3)
        Centroid of that metal [m].
    skin_m3 : array, shape (n,)
        Volume of mould that follows the temperature of the metal node, being next to the wall [m3].
    metal_links : array, shape (p, 2)
        Pairs of metal nodes (places in ``metal_cells``), lower first.
    metal_shape_m : array, shape (p,)
        Shape of each such path [m].
    wall_metal, wall_cells : array, shape (q,)
        Metal node (place in ``metal_cells``) and mould node (flat number of its cell) of each wall path; a pair may
        be listed more than once.
    wall_m2 : array, shape (q,)
        Area of wall [m2]; the sum is that of the body's surface.
    wall_metal_m, wall_mould_m : array, shape (q,)
        Distance along the wall's normal from the metal node to the wall and from there to the mould node [m]. The
        path carries ``wall_m2 * (T_metal - T_mould) / (wall_metal_m / k_metal + 1 / h + wall_mould_m / k_mould)``.
    """

    grid: GradedGrid
    has_mould: NDArray[np.uint8]
    near_cells: NDArray[np.int64]
    near_m3: NDArray[np.float64]
    light_cells: NDArray[np.int64]
    link_cells: NDArray[np.int64]
    link_shape_m: NDArray[np.float64]
    metal_cells: NDArray[np.int64]
    metal_m3: NDArray[np.float64]
    metal_m: NDArray[np.float64]
    skin_m3: NDArray[np.float64]
    metal_links: NDArray[np.int64]
    metal_shape_m: NDArray[np.float64]
    wall_metal: NDArray[np.int64]
    wall_cells: NDArray[np.int64]
    wall_m2: NDArray[np.float64]
    wall_metal_m: NDArray[np.float64]
    wall_mould_m: NDArray[np.float64]


def lay_network(
    grid: GradedGrid,
    cut: CutCells,
    vertices_m: NDArray[np.float64],
    faces: NDArray[np.int64],
    gap_m: float,
    flask: FlaskCells | None = None,
) -> Network:
    """Lay the heat paths between metal and mould.

    Mould nodes stand in the middles of cells, so that their paths to each other are whole faces and their ways to the
    wall are straight along an axis: second order in the side, and the same wherever the grid lies. Metal flows through
    the open faces of the cells.

    Parameters
    ----------
    grid : GradedGrid
        The cells.
    cut : CutCells
        The same surface cut on it.
    vertices_m, faces : array, shapes (n, 3) and (m, 3)
        The closed surface [m].
    gap_m : float
        Thickness of mould that resists as much as the gap between metal and mould: conductivity over coefficient [m].
    flask : FlaskCells, optional
        Where mould ends; cells outside hold none.
    """
    in_metal, paths, parted = _lines(grid, nudged(grid, vertices_m[faces]))
    is_air = np.zeros(grid.cells_count, bool) if flask is None else (flask.part == Part.OUTSIDE).ravel()
    edges = find_edges(grid, paths, is_air)
    pairs, shapes = _changed(grid, in_metal, parted, edges.pairs, edges.gain_ratio)
    metal = metal_nodes(grid, cut)
    walls = join_walls(grid, cut, metal, paths, edges, in_metal)
    is_node = ~(in_metal.ravel() | is_air)
    mould = mould_volumes(grid, cut, metal, walls, pairs, shapes, in_metal.ravel(), is_node, gap_m)
    has_mould = (~in_metal).astype(np.uint8)
    has_mould.ravel()[mould.cells[mould.is_light]] = 2
    kept = mould.is_node & ~mould.is_light & (mould.m3 != grid.volumes_m3(mould.cells))
    links, shapes_m = metal_links(grid, cut, metal)
    return Network(
        grid, has_mould, mould.cells[kept], mould.m3[kept], mould.cells[mould.is_light], pairs, shapes,
        metal.cells, metal.m3, metal.centre_m, mould.skin_m3, links, shapes_m,
        walls.metal, walls.mould, walls.area_m2, walls.metal_m, walls.mould_m,
    )  # fmt: skip


def _lines(grid: GradedGrid, corners_m: NDArray[np.float64]) -> tuple[NDArray[np.bool_], WallPaths, NDArray[np.int64]]:
    """Follow the lines through the cells' middles: middles in metal, ways to the wall, pairs that metal parts."""
    found = [find_crossings(grid, corners_m, axis) for axis in range(3)]
    in_metal = middles_in_metal(grid, found[2])
    laid = [wall_paths(grid, one, in_metal) for one in found]
    joined = (np.concatenate([getattr(one, name) for one, _ in laid]) for name in WallPaths.__annotations__)
    strides = (grid.shape[1] * grid.shape[2], grid.shape[2], 1)
    parted = [np.column_stack([low, low + stride]) for (_, low), stride in zip(laid, strides, strict=True)]
    return in_metal, WallPaths(*joined), np.concatenate(parted)


def _changed(
    grid: GradedGrid,
    in_metal: NDArray[np.bool_],
    parted: NDArray[np.int64],
    past_edges: NDArray[np.int64],
    gain_ratio: NDArray[np.float64],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return all pairs of mould nodes whose path is not the whole face, and its shape [m]."""
    is_metal, count = in_metal.ravel(), grid.cells_count
    shut = np.isin(past_edges[:, 0] * count + past_edges[:, 1], parted[:, 0] * count + parted[:, 1])
    kept = ~shut & ~is_metal[past_edges].any(axis=1)
    low, high = past_edges[kept].T
    apart_m = np.linalg.norm(grid.centres_m(high) - grid.centres_m(low), axis=1)
    axis = np.argmax(np.abs(grid.centres_m(high) - grid.centres_m(low)), axis=1)
    face_m2 = grid.volumes_m3(low) / np.choose(
        axis, [side[place] for side, place in zip(grid.sides_m, np.unravel_index(low, grid.shape), strict=True)]
    )
    pairs = np.concatenate([parted, past_edges[kept]])
    return pairs, np.concatenate([np.zeros(len(parted)), gain_ratio[kept] * face_m2 / apart_m])
