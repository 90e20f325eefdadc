"""Cells that the surface of the metal passes through: exact volumes, wall areas, faces and centroids.

Every triangle is clipped to the cells; volumes follow from the divergence theorem, open faces from the area vectors, so
that in every cell open faces and wall close to nothing. Several bodies must be united before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError
from pourwright.grid.graded import GradedGrid

# A surface that leaves a larger share of any whole cell in doubt is not closed.
_MOST_DOUBT_FRAC = 1e-6
# Cells in which less than this share is metal, or mould, hold none: what rounding leaves.
_ROUNDING_FRAC = 1e-9
# Length of the area vector over the area below which sheets face away from each other; 0.58 in the corner of a block.
_DOUBLED_RATIO = 0.5


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
    open_m2 : array, shape (n, 3, 2)
        Metal's area of the cell's low and high face along each axis [m2]. Metal's faces and wall close:
        ``open_m2[:, :, 1] - open_m2[:, :, 0] + facing_m2`` is nothing.
    inside_frac : array, shape (nx, ny, nz)
        Share of metal in every cell, float32: 0 or 1 where nothing is cut.
    """

    cells: NDArray[np.int64]
    metal_frac: NDArray[np.float64]
    metal_m: NDArray[np.float64]
    mould_m: NDArray[np.float64]
    wall_m2: NDArray[np.float64]
    facing_m2: NDArray[np.float64]
    wall_m: NDArray[np.float64]
    open_m2: NDArray[np.float64]
    inside_frac: NDArray[np.float32]

    @property
    def is_doubled(self) -> NDArray[np.bool_]:
        """Cells in which sheets of the surface face away from each other: a wall, or a gap, thinner than the cell.

        Volume and area stay right there, but one node stands for both sides. The corner of a block is no such cell.
        """
        return np.asarray(np.linalg.norm(self.facing_m2, axis=1) < _DOUBLED_RATIO * self.wall_m2)

    @property
    def doubled_frac(self) -> float:
        """Share of the surface that lies in doubled cells."""
        return float(self.wall_m2[self.is_doubled].sum() / self.wall_m2.sum())


def cut_cells(grid: GradedGrid, vertices_m: NDArray[np.float64], faces: NDArray[np.int64]) -> CutCells:
    """Cut the cells of a grid with a closed surface.

    Parameters
    ----------
    grid : GradedGrid
        Must reach beyond the body on all sides.
    vertices_m : array, shape (n, 3)
        Corners of the surface [m].
    faces : array, shape (m, 3)
        Vertex numbers, facing out of the metal.

    Returns
    -------
    CutCells
        Volumes add up to that of the mesh, wall areas to its area, to rounding.

    Raises
    ------
    MeshError
        The surface is not closed, or the body reaches out of the grid.
    """
    from pourwright.grid.cut import _kernels

    _check_room(grid, vertices_m)
    corners_m = np.ascontiguousarray(vertices_m[faces], dtype=np.float64)
    slots = np.full(grid.shape, -1, dtype=np.int32)
    sums = _clipped(grid, corners_m, slots)
    inside = np.zeros(grid.shape, dtype=np.float32)
    parts = np.zeros((len(sums), 4))
    doubt_frac = _kernels.fill_columns(*grid.edges_m, slots, sums, inside, parts)
    if doubt_frac > _MOST_DOUBT_FRAC:
        raise MeshError("open")
    open_m2 = _open_faces(grid, slots, sums)
    cells = np.flatnonzero(slots.ravel() >= 0)
    order = slots.ravel()[cells]
    return _gathered(grid, cells, sums[order], parts[order], open_m2[order], inside)


def _check_room(grid: GradedGrid, vertices_m: NDArray[np.float64]) -> None:
    low_m, high_m = vertices_m.min(axis=0), vertices_m.max(axis=0)
    for axis, edges_m in enumerate(grid.edges_m):
        if low_m[axis] < edges_m[0] or high_m[axis] > edges_m[-1]:
            raise MeshError("outside")


def _clipped(grid: GradedGrid, corners_m: NDArray[np.float64], slots: NDArray[np.int32]) -> NDArray[np.float64]:
    """Fill ``slots`` and return one row of sums for every cell touched; room is found by trying."""
    from pourwright.grid.cut import _kernels

    first, second = corners_m[:, 1] - corners_m[:, 0], corners_m[:, 2] - corners_m[:, 0]
    area_m2 = float(np.linalg.norm(np.cross(first, second), axis=1).sum()) / 2
    room = int(min(2.5 * area_m2 / grid.side_m**2 + 1000, grid.cells_count))
    while True:
        sums = np.zeros((room, _kernels.SUMS))
        used = _kernels.clip_triangles(corners_m, *grid.edges_m, slots, sums)
        if used >= 0:
            return sums[:used]
        slots.fill(-1)
        room = min(2 * room, grid.cells_count)


def _open_faces(grid: GradedGrid, slots: NDArray[np.int32], sums: NDArray[np.float64]) -> NDArray[np.float64]:
    from pourwright.grid.cut import _kernels

    open_m2 = np.zeros((len(sums), 3, 2))
    for axis in range(3):
        across, deep = (axis + 1) % 3, (axis + 2) % 3
        faces_m = grid.sides_m[across], grid.sides_m[deep]
        turned = slots.transpose(across, deep, axis)
        _kernels.open_faces(turned, np.ascontiguousarray(sums[:, 1 + axis]), faces_m, open_m2[:, axis])
    return open_m2


def _gathered(
    grid: GradedGrid,
    cells: NDArray[np.int64],
    sums: NDArray[np.float64],
    parts: NDArray[np.float64],
    open_m2: NDArray[np.float64],
    inside: NDArray[np.float32],
) -> CutCells:
    """Turn sums into shares and centroids."""
    cell_m3, middle_m = grid.volumes_m3(cells), grid.centres_m(cells)
    places = np.unravel_index(cells, grid.shape)
    corner_m = np.column_stack([edges_m[place] for edges_m, place in zip(grid.edges_m, places, strict=True)])
    metal_m3, moment_m4 = parts[:, 0], parts[:, 1:]
    mould_m3 = cell_m3 - metal_m3
    whole_m4 = cell_m3[:, None] * (middle_m - corner_m)
    least_m3 = _ROUNDING_FRAC * cell_m3
    metal_m = np.where((metal_m3 > least_m3)[:, None], corner_m + _over(moment_m4, metal_m3), middle_m)
    mould_m = np.where((mould_m3 > least_m3)[:, None], corner_m + _over(whole_m4 - moment_m4, mould_m3), middle_m)
    wall_m = corner_m + _over(sums[:, 4:7], sums[:, 0])
    return CutCells(
        cells, metal_m3 / cell_m3, metal_m, mould_m, sums[:, 0].copy(), sums[:, 1:4].copy(), wall_m, open_m2, inside
    )


def _over(many: NDArray[np.float64], one: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(many / np.where(one == 0.0, 1.0, one)[:, None])
