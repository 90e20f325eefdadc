"""A graded tensor grid over a whole flask: even in the metal, growing towards the wall.

Frame: x and y across, z up from the flask's mouth, the flask's axis at x = y = 0; metres. Cells lie in C order: cell
(i, j, k) has the flat number (i * ny + j) * nz + k.
"""

from __future__ import annotations

from collections.abc import Sequence
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


# Even cells kept between the metal and the first that grows: the steep part of the heat's way.
_MARGIN_CELLS = 3
# Each cell outside the even ones is larger than its neighbour by at most this. Measured on a ring at a side of 0.5 mm:
# 1.3 instead of 1.15 moved its freezing times by 0.2 %.
GROWTH_RATIO = 1.2
# A flask's end nearer to the last even plane than this many sides is one of the even planes.
_MOST_FRAC = 1.55
# Strips in which a cell is cut to find how much of it lies within a circle.
_STRIPS = 64


def lay_grid(
    low_m: NDArray[np.float64],
    high_m: NDArray[np.float64],
    flask: Flask,
    side_m: float,
    offset_frac: tuple[float, float, float] = (0.0, 0.0, 0.0),
    planes_m: Sequence[float] = (),
    growth_ratio: float = GROWTH_RATIO,
) -> GradedGrid:
    """Lay a grid over a flask: even cells round the metal, growing from there to the flask's outside.

    Parameters
    ----------
    low_m, high_m : array, shape (3,)
        Corners of the metal's box in the flask's frame [m].
    flask : Flask
        The cylinder; one cell more lies beyond it on all sides, for the air.
    side_m : float
        Side of the even cells [m].
    offset_frac : tuple of float
        Shift of the grid along each axis, in sides; answers must not depend on it [-].
    planes_m : sequence of float
        Heights at which there shall be a plane of the grid, such as a flat face of the button; the nearest plane is
        moved there [m]. Mouth and far end of the flask always have one.
    growth_ratio : float
        Side of a cell over that of its neighbour, outside the even cells [-].

    Raises
    ------
    ValueError
        The side is not positive or the metal reaches beyond the flask's outside.
    """
    outer_m = flask.radius_m + flask.wall_m
    ends_m = np.array([[-outer_m, outer_m], [-outer_m, outer_m], [0.0, flask.height_m]])
    if side_m <= 0 or np.any(low_m < ends_m[:, 0] - 1e-9) or np.any(high_m > ends_m[:, 1] + 1e-9):
        raise ValueError(f"side {side_m} m, box {low_m} to {high_m} m, flask {ends_m.tolist()} m")
    edges_m = [
        _graded_edges(low_m[axis], high_m[axis], ends_m[axis], side_m, offset_frac[axis], growth_ratio, planes)
        for axis, planes in enumerate(((), (), tuple(planes_m)))
    ]
    return GradedGrid(edges_m[0], edges_m[1], edges_m[2], side_m)


def _graded_edges(
    low_m: float,
    high_m: float,
    ends_m: NDArray[np.float64],
    side_m: float,
    offset_frac: float,
    growth_ratio: float,
    planes_m: tuple[float, ...],
) -> NDArray[np.float64]:
    """Return edges from one cell before the low end to one cell after the high end [m]."""
    count = int(np.ceil((high_m - low_m) / side_m)) + 2 * _MARGIN_CELLS + 1
    start_m = (low_m + high_m - count * side_m) / 2 + (offset_frac % 1.0) * side_m
    even_m = start_m + side_m * np.arange(count + 1)
    even_m = even_m[(even_m > ends_m[0] + side_m / 2) & (even_m < ends_m[1] - side_m / 2)]
    near_m = [one for one, gap_m in zip(ends_m, (even_m[0] - ends_m[0], ends_m[1] - even_m[-1]), strict=True)
              if gap_m < _MOST_FRAC * side_m]  # fmt: skip
    even_m = _with_planes(np.union1d(even_m, near_m), (*near_m, *planes_m))
    below_m = even_m[0] - _growing(even_m[0] - ends_m[0], side_m, growth_ratio)
    above_m = even_m[-1] + _growing(ends_m[1] - even_m[-1], side_m, growth_ratio)
    inner_m = np.concatenate([below_m[::-1], even_m, above_m])
    first_m, last_m = inner_m[1] - inner_m[0], inner_m[-1] - inner_m[-2]
    return np.concatenate([[inner_m[0] - first_m], inner_m, [inner_m[-1] + last_m]])


def _with_planes(even_m: NDArray[np.floating], planes_m: Sequence[float]) -> NDArray[np.float64]:
    """Move the nearest edges to planes and share the change out evenly among the edges between them [m]."""
    held = {0: even_m[0], len(even_m) - 1: even_m[-1]}
    for plane_m in planes_m:
        place = int(np.argmin(np.abs(even_m - plane_m)))
        if abs(even_m[place] - plane_m) < even_m[-1] - even_m[-2]:
            held[place] = plane_m
    places = sorted(held)
    return np.asarray(np.interp(np.arange(len(even_m)), places, [held[place] for place in places]))


def _growing(length_m: float, side_m: float, growth_ratio: float) -> NDArray[np.float64]:
    """Return distances of growing cells that end exactly at a length, none growing faster than asked [m]."""
    if length_m <= 1e-9 * side_m:
        return np.zeros(0)
    if length_m <= _MOST_FRAC * side_m:
        return np.array([length_m])
    count = 1
    while side_m * growth_ratio * (growth_ratio**count - 1) / (growth_ratio - 1) < length_m:
        count += 1
    low, high = 0.25, growth_ratio
    for _ in range(60):
        ratio = (low + high) / 2
        if side_m * float((ratio ** np.arange(1, count + 1)).sum()) < length_m:
            low = ratio
        else:
            high = ratio
    distances_m = side_m * np.cumsum(high ** np.arange(1, count + 1))
    return np.asarray(distances_m * (length_m / distances_m[-1]))


def flask_cells(grid: GradedGrid, flask: Flask) -> FlaskCells:
    """Enter the steel cylinder in a grid.

    A cell inside belongs to the flask when its middle does; what the true cylinder holds of other cells is added to
    the nearest cell inside that touches them, so that volumes and the outer surface are those of the true cylinder.

    Parameters
    ----------
    grid : GradedGrid
        From :func:`lay_grid`.
    flask : Flask
        The cylinder.
    """
    outer_m = flask.radius_m + flask.wall_m
    mould_m2 = _circle_areas(grid, flask.radius_m)
    all_m2 = _circle_areas(grid, outer_m)
    across_m = np.hypot(grid.middles_m[0][:, None], grid.middles_m[1][None, :])
    is_in = across_m < outer_m
    heir = _heirs(is_in, all_m2 > 0)
    mould_m2, all_m2 = _inherited(mould_m2, heir), _inherited(all_m2, heir)
    part = np.where(across_m < flask.radius_m, Part.MOULD, np.where(is_in, Part.STEEL, Part.OUTSIDE)).astype(np.uint8)
    within = (grid.middles_m[2] > 0.0) & (grid.middles_m[2] < flask.height_m)
    parts = np.where(within[None, None, :], part[:, :, None], Part.OUTSIDE).astype(np.uint8)
    cell_m2 = grid.sides_m[0][:, None] * grid.sides_m[1][None, :]
    on_rim = is_in & ((np.abs(all_m2 - cell_m2) > 1e-9 * cell_m2) | (np.abs(mould_m2 - cell_m2) > 1e-9 * cell_m2))
    rim_cells, columns, layers = _stacked(grid, on_rim, within)
    high_m = grid.sides_m[2][layers]
    mould_m3 = mould_m2.ravel()[columns] * high_m
    steel_m3 = (all_m2 - mould_m2).ravel()[columns] * high_m
    return FlaskCells(parts, rim_cells, mould_m3, steel_m3, *_air(grid, flask, is_in, all_m2, within))


def _circle_areas(grid: GradedGrid, radius_m: float) -> NDArray[np.float64]:
    """Return the area of each column of cells within a circle about the axis, shape (nx, ny); sum exact [m2]."""
    x_m, y_m = grid.x_m, grid.y_m
    share = (np.arange(_STRIPS) + 0.5) / _STRIPS
    strips_m = x_m[:-1, None] + grid.sides_m[0][:, None] * share
    half_m = np.sqrt(np.maximum(radius_m**2 - strips_m**2, 0.0))[:, None, :]
    chord_m = np.minimum(y_m[None, 1:, None], half_m) - np.maximum(y_m[None, :-1, None], -half_m)
    areas_m2 = np.maximum(chord_m, 0.0).mean(axis=2) * grid.sides_m[0][:, None]
    cell_m2 = grid.sides_m[0][:, None] * grid.sides_m[1][None, :]
    cut = areas_m2 < (1 - 1e-9) * cell_m2
    areas_m2 = np.where(cut, areas_m2, cell_m2)
    areas_m2[cut] *= (np.pi * radius_m**2 - areas_m2[~cut].sum()) / areas_m2[cut].sum()
    return np.asarray(areas_m2)


def _heirs(is_in: NDArray[np.bool_], holds: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return for each column the flat number of the column that stands for what it holds: itself when inside."""
    number = np.arange(is_in.size).reshape(is_in.shape)
    heir = number.copy()
    for i, j in np.argwhere(holds & ~is_in):
        beside = [(i + a, j + b) for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1))]
        found = [one for one in beside if is_in[one]]
        heir[i, j] = number[found[0]] if found else -1
    return heir


def _inherited(area_m2: NDArray[np.float64], heir: NDArray[np.int64]) -> NDArray[np.float64]:
    """Give every column's area to its heir; what touches no column inside is spread over the heirs [m2]."""
    kept = heir.ravel() >= 0
    summed_m2 = np.bincount(heir.ravel()[kept], area_m2.ravel()[kept], area_m2.size)
    gained = summed_m2 > (1 + 1e-12) * area_m2.ravel()
    summed_m2[gained] *= 1 + (area_m2.sum() - summed_m2.sum()) / max(summed_m2[gained].sum(), 1e-300)
    return np.asarray(summed_m2.reshape(area_m2.shape))


def _stacked(
    grid: GradedGrid, chosen: NDArray[np.bool_], within: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return cells of chosen columns in the flask's layers: flat numbers, their columns, their layers."""
    columns, layers = np.meshgrid(np.flatnonzero(chosen.ravel()), np.flatnonzero(within), indexing="ij")
    return (columns * grid.shape[2] + layers).ravel(), columns.ravel(), layers.ravel()


def _air(
    grid: GradedGrid, flask: Flask, is_in: NDArray[np.bool_], all_m2: NDArray[np.float64], within: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64], NDArray[np.uint8]]:
    """Return cells with faces to the air: flat numbers, true surface [m2], distance [m], side."""
    outer_m = flask.radius_m + flask.wall_m
    all_cells, round_m2, depths_m = [], [], []
    for axis in range(2):
        beside = np.pad(is_in, 1)
        bare = sum((~np.roll(beside, step, axis)[1:-1, 1:-1]).astype(int) for step in (1, -1)) * is_in
        middle_m = np.abs(grid.middles_m[axis])[:, None] if axis == 0 else np.abs(grid.middles_m[axis])[None, :]
        across_m = np.hypot(grid.middles_m[0][:, None], grid.middles_m[1][None, :])
        width_m = grid.sides_m[1 - axis][None, :] if axis == 0 else grid.sides_m[1 - axis][:, None]
        share_m = bare * width_m * middle_m / np.maximum(across_m, outer_m * 1e-9)
        cells, columns, layers = _stacked(grid, bare > 0, within)
        all_cells.append(cells)
        round_m2.append(share_m.ravel()[columns] * grid.sides_m[2][layers])
        depths_m.append(np.maximum(outer_m - across_m.ravel()[columns], 0.0))
    area_m2 = np.concatenate(round_m2)
    area_m2 *= 2 * np.pi * outer_m * flask.height_m / area_m2.sum()
    areas_m2, sides = [area_m2], [np.zeros(len(area_m2), np.uint8)]
    columns = np.flatnonzero(is_in.ravel())
    for side, layer in ((1, int(np.flatnonzero(within)[0])), (2, int(np.flatnonzero(within)[-1]))):
        all_cells.append(columns * grid.shape[2] + layer)
        areas_m2.append(all_m2.ravel()[columns])
        depths_m.append(np.full(len(columns), grid.sides_m[2][layer] / 2))
        sides.append(np.full(len(columns), side, np.uint8))
    return np.concatenate(all_cells), np.concatenate(areas_m2), np.concatenate(depths_m), np.concatenate(sides)
