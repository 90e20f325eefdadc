"""A graded tensor grid over a whole flask: even in the metal, growing towards the wall.

Frame: x and y across, z up from the flask's mouth, the flask's axis at x = y = 0; metres. Cells lie in C order: cell
(i, j, k) has the flat number (i * ny + j) * nz + k.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray


class Part(IntEnum):
    """What a cell's middle lies in."""

    MOULD = 0
    METAL = 1
    STEEL = 2
    OUTSIDE = 3


@dataclass(frozen=True)
class Flask:
    """The steel cylinder: inside radius, height, wall; the mould fills it, open at both ends [m]."""

    radius_m: float
    height_m: float
    wall_m: float


@dataclass(frozen=True, eq=False)
class GradedGrid:
    """Edges of the cells along each axis, ascending, shapes (nx + 1,), (ny + 1,), (nz + 1,) [m].

    ``side_m`` is the side of the even cells round the metal.
    """

    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]
    z_m: NDArray[np.float64]
    side_m: float

    @property
    def edges_m(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Edges along x, y, z [m]."""
        return self.x_m, self.y_m, self.z_m

    @property
    def shape(self) -> tuple[int, int, int]:
        """Cells along each axis."""
        return len(self.x_m) - 1, len(self.y_m) - 1, len(self.z_m) - 1

    @property
    def cells_count(self) -> int:
        """Cells in the grid."""
        return int(np.prod(self.shape))

    @cached_property
    def sides_m(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Sides of the cells along x, y, z [m]."""
        return np.diff(self.x_m), np.diff(self.y_m), np.diff(self.z_m)

    @cached_property
    def middles_m(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Middles of the cells along x, y, z [m]."""
        return tuple((edges_m[1:] + edges_m[:-1]) / 2 for edges_m in self.edges_m)  # type: ignore[return-value]

    def volumes_m3(self, cells: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the volumes of cells given by flat number, shape (n,) [m3]."""
        i, j, k = np.unravel_index(cells, self.shape)
        across_m, deep_m, high_m = self.sides_m
        return np.asarray(across_m[i] * deep_m[j] * high_m[k])

    def centres_m(self, cells: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the middles of cells given by flat number, shape (n, 3) [m]."""
        places = np.unravel_index(cells, self.shape)
        return np.column_stack([middle_m[place] for middle_m, place in zip(self.middles_m, places, strict=True)])


@dataclass(frozen=True, eq=False)
class FlaskCells:
    """The flask on a graded grid.

    Parameters
    ----------
    part : array, shape (nx, ny, nz)
        :class:`Part` of each cell, uint8; metal is not entered here.
    rim_cells : array, shape (n,)
        Flat numbers of the cells inside the flask that hold more than one of mould, steel and outside, or that stand
        in for a neighbour outside whose middle is in the air.
    rim_mould_m3, rim_steel_m3 : array, shape (n,)
        Volume of mould and of steel that each rim cell stands for [m3]; sums are those of the true cylinder.
    air_cells : array, shape (m,)
        Flat numbers of the cells with faces to the air; a cell is listed once for each such axis.
    air_m2 : array, shape (m,)
        True outer surface each stands for [m2]; sums are those of the true cylinder and its two ends.
    air_m : array, shape (m,)
        Distance from the cell's middle to the surface along its normal [m].
    air_side : array, shape (m,)
        0 the cylinder, 1 the mouth (low z), 2 the far end, uint8.
    """

    part: NDArray[np.uint8]
    rim_cells: NDArray[np.int64]
    rim_mould_m3: NDArray[np.float64]
    rim_steel_m3: NDArray[np.float64]
    air_cells: NDArray[np.int64]
    air_m2: NDArray[np.float64]
    air_m: NDArray[np.float64]
    air_side: NDArray[np.uint8]
