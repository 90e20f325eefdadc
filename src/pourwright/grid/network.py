"""The network of heat paths on a graded grid with cut cells: what a solver needs, and no more.

A path carries ``shape_m * k * (T_one - T_other)`` watts, its shape being area over distance [m]; a wall path also holds
the resistance of the gap. The network is symmetric and all its shapes are positive.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import GradedGrid


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
