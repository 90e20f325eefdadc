"""How much of each voxel a closed mesh fills."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Sub-columns along a voxel's side; at four the error of a cut voxel is under one hundredth of it (tests/unit/grid).
SUB_COLUMNS = 4
# Sub-columns looked at, all triangles together.
_MOST_VISITS = 3e8
# The grid's corner is set off by this share of a voxel so that flat model faces do not fall on column centres.
_OFFSET_FRAC = 0.4142135


@dataclass(frozen=True)
class Grid:
    """Filled shares of cubic voxels.

    Parameters
    ----------
    corner_mm : array, shape (3,)
        Lowest corner [mm].
    side_mm : float
        Side of a voxel [mm].
    turns_ratio : array, shape (nx, ny, nz)
        How often the surface winds round each voxel, averaged over it: 1 inside, 0 outside, a share where it is
        cut; 2 where two shells overlap, negative where the surface is inside out.
    """

    corner_mm: NDArray[np.float64]
    side_mm: float
    turns_ratio: NDArray[np.float64]

    @property
    def filled_frac(self) -> NDArray[np.float64]:
        """Share of each voxel that holds material, counted once however often shells overlap there."""
        return np.clip(self.turns_ratio, 0.0, 1.0)

    @property
    def signed_mm3(self) -> float:
        """Volume with overlaps counted as often as they occur [mm3]."""
        return float(self.turns_ratio.sum()) * self.side_mm**3

    @property
    def filled_mm3(self) -> float:
        """Volume that holds material [mm3]."""
        return float(self.filled_frac.sum()) * self.side_mm**3

    @property
    def doubtful_mm3(self) -> float:
        """Volume by which the surface winds too often or the wrong way, all places added up [mm3]."""
        return float(np.abs(self.turns_ratio - self.filled_frac).sum()) * self.side_mm**3

    def centres_mm(self, chosen: NDArray[np.bool_]) -> NDArray[np.float64]:
        """Return the middles of chosen voxels, shape (n, 3) [mm]."""
        return self.corner_mm + (np.argwhere(chosen) + 0.5) * self.side_mm


def side_for(box_mm: NDArray[np.float64], voxels_count: int) -> float:
    """Return the voxel side with which a box takes about that many voxels [mm]; flat boxes count as one voxel thick."""
    sides_mm = np.asarray(box_mm, dtype=np.float64)
    side_mm = float(np.cbrt(np.prod(np.maximum(sides_mm, 1e-6 * sides_mm.max())) / voxels_count))
    for _ in range(60):
        if float(np.prod(np.ceil(sides_mm / side_mm) + 2)) <= 1.2 * voxels_count:
            return side_mm
        side_mm *= 1.1
    return side_mm


def affordable_side(vertices_mm: NDArray[np.float64], faces: NDArray[np.int64], side_mm: float) -> float:
    """Return the side, enlarged if need be, with which filling the grid takes a bounded number of steps [mm].

    Sound meshes are nowhere near the bound; a file made of huge triangles criss-cross would take minutes.
    """
    from pourwright.grid import _kernels

    visits_mm2 = _kernels.flat_boxes(vertices_mm, faces)
    return max(side_mm, SUB_COLUMNS * float(np.sqrt(visits_mm2 / _MOST_VISITS)))


def partial_volumes(vertices_mm: NDArray[np.float64], faces: NDArray[np.int64], side_mm: float) -> Grid:
    """Fill a grid round a closed mesh.

    Every triangle is sent down the columns under it: crossings are exact along the column, so no sorting is needed
    and every crossing must find its partner.

    Parameters
    ----------
    vertices_mm : array, shape (n, 3)
        Corners [mm].
    faces : array, shape (m, 3)
        Vertex numbers, facing outward.
    side_mm : float
        Side of a voxel [mm].
    """
    from pourwright.grid import _kernels

    low_mm, high_mm = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    corner_mm = low_mm - _OFFSET_FRAC * side_mm
    shape = np.ceil((high_mm - corner_mm) / side_mm).astype(int) + 1
    steps = np.zeros(tuple(shape))
    corners = (vertices_mm[faces] - corner_mm) / side_mm
    _kernels.add_columns(np.ascontiguousarray(corners), SUB_COLUMNS, steps)
    _kernels.sum_down(steps)
    return Grid(corner_mm, side_mm, steps)
