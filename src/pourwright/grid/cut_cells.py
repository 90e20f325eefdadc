"""Cells that the surface of the metal passes through: exact volumes, wall areas and centroids."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class CutCells:
    """What the surface of a closed body leaves in each cell it passes through; all arrays in order of ``cells``.

    Parameters
    ----------
    cells : array, shape (n,)
        Flat numbers, ascending.
    metal_frac : array, shape (n,)
        Share of the cell filled with metal.
    metal_m, mould_m : array, shape (n, 3)
        Centroids of the metal part and of the mould part [m]; the cell's middle where a part is empty.
    wall_m2 : array, shape (n,)
        Area of the surface inside the cell [m2].
    facing_m2 : array, shape (n, 3)
        Area vector of that surface, out of the metal [m2]; shorter than ``wall_m2`` where it bends or is double.
    wall_m : array, shape (n, 3)
        Centroid of that surface [m].
    inside : array, shape (nx, ny, nz)
        Share of metal in every cell, float32: 0 or 1 where nothing is cut.
    """

    cells: NDArray[np.int64]
    metal_frac: NDArray[np.float64]
    metal_m: NDArray[np.float64]
    mould_m: NDArray[np.float64]
    wall_m2: NDArray[np.float64]
    facing_m2: NDArray[np.float64]
    wall_m: NDArray[np.float64]
    inside: NDArray[np.float32]
