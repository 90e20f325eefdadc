"""Metal as a list of nodes, one for each cell that holds some, and the open faces between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.cut_cells import CutCells
from pourwright.grid.graded import GradedGrid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Metal parts smaller than this share of their cell join the part behind their largest open face.
_LEAST_METAL_FRAC = 0.1
# Less than this share of a cell or of a face is what rounding leaves.
_ROUNDING_FRAC = 1e-9


@dataclass(frozen=True, eq=False)
class MetalNodes:
    """Nodes in metal.

    Parameters
    ----------
    cells : array, shape (n,)
        Cell of each node, flat numbers, ascending.
    m3 : array, shape (n,)
        Volume of metal [m3].
    centre_m : array, shape (n, 3)
        Its centroid [m].
    of_cell : array, shape (nx * ny * nz,)
        Node that the metal of each cell belongs to, int32, -1 where there is none.
    """

    cells: Ints
    m3: Floats
    centre_m: Floats
    of_cell: NDArray[np.int32]


def metal_nodes(grid: GradedGrid, cut: CutCells) -> MetalNodes:
    """Return the nodes of a body; slivers of cells join a neighbour, so that no node is almost empty."""
    cut_row = np.full(grid.cells_count, -1, np.int32)
    cut_row[cut.cells] = np.arange(len(cut.cells))
    holds = (cut.inside_frac > 0.5).ravel()
    holds[cut.cells] = cut.metal_frac > _ROUNDING_FRAC
    cells = np.flatnonzero(holds)
    row = cut_row[cells]
    is_cut = row >= 0
    m3, centre_m = grid.volumes_m3(cells), grid.centres_m(cells)
    m3[is_cut] *= cut.metal_frac[row[is_cut]]
    centre_m[is_cut] = cut.metal_m[row[is_cut]]
    number = np.full(grid.cells_count, -1, np.int32)
    number[cells] = np.arange(len(cells))
    heir = _heirs(grid, cut, number, m3)
    kept, node = np.unique(heir, return_inverse=True)
    node_m3 = np.bincount(node, m3)
    moments_m4 = np.column_stack([np.bincount(node, m3 * centre_m[:, axis]) for axis in range(3)])
    number[cells] = node
    return MetalNodes(cells[kept], node_m3.astype(np.float64), moments_m4 / node_m3[:, None], number)


def _heirs(grid: GradedGrid, cut: CutCells, number: NDArray[np.int32], m3: Floats) -> Ints:
    """Return for each metal part the part that takes it over: a larger one behind its largest open face, or itself."""
    heir = np.arange(len(m3))
    rows = np.flatnonzero((cut.metal_frac > _ROUNDING_FRAC) & (cut.metal_frac < _LEAST_METAL_FRAC))
    open_m2 = cut.open_m2[rows].reshape(len(rows), 6)
    widest = np.argmax(open_m2, axis=1)
    stride = np.array([grid.shape[1] * grid.shape[2], grid.shape[2], 1])
    target = number[cut.cells[rows] + stride[widest // 2] * np.where(widest % 2, 1, -1)]
    small = number[cut.cells[rows]]
    is_open = open_m2[np.arange(len(rows)), widest] > _ROUNDING_FRAC * grid.side_m**2
    joins = is_open & (target >= 0) & (m3[np.maximum(target, 0)] > m3[small])
    heir[small[joins]] = target[joins]
    while np.any(heir[heir] != heir):
        heir = heir[heir]
    return heir


def metal_links(grid: GradedGrid, cut: CutCells, metal: MetalNodes) -> tuple[Ints, Floats]:
    """Return pairs of nodes, shape (p, 2), and the shape of the path between them, shape (p,) [m].

    A path is the open face over the distance of the cells' middles, not of the centroids: since faces and wall close,
    any even gradient along the wall is then carried exactly.
    """
    cut_row = np.full(grid.cells_count, -1, np.int32)
    cut_row[cut.cells] = np.arange(len(cut.cells))
    holding = np.flatnonzero(metal.of_cell >= 0)
    ones, others, shapes_m = [], [], []
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        low = holding[np.unravel_index(holding, grid.shape)[axis] < grid.shape[axis] - 1]
        low = low[metal.of_cell[low + stride] >= 0]
        places = np.unravel_index(low, grid.shape)
        across, deep = (axis + 1) % 3, (axis + 2) % 3
        face_m2 = grid.sides_m[across][places[across]] * grid.sides_m[deep][places[deep]]
        open_m2 = _open_between(cut, cut_row[low], cut_row[low + stride], axis, face_m2)
        distance_m = np.diff(grid.middles_m[axis])[places[axis]]
        one, other = metal.of_cell[low], metal.of_cell[low + stride]
        is_open = (open_m2 > _ROUNDING_FRAC * face_m2) & (one != other)
        ones.append(np.minimum(one, other)[is_open])
        others.append(np.maximum(one, other)[is_open])
        shapes_m.append((open_m2 / distance_m)[is_open])
    is_joint = np.bincount(metal.of_cell[holding], minlength=len(metal.cells)) > 1
    return _summed(np.concatenate(ones), np.concatenate(others), np.concatenate(shapes_m), is_joint)


def _open_between(cut: CutCells, low: NDArray[np.int32], high: NDArray[np.int32], axis: int, face_m2: Floats) -> Floats:
    """Return the open area between cells, one of them cut or none [m2]."""
    open_m2 = np.where(high >= 0, cut.open_m2[high, axis, 0], face_m2)
    return np.where(low >= 0, cut.open_m2[low, axis, 1], open_m2)


def _summed(
    one: NDArray[np.int32], other: NDArray[np.int32], shape_m: Floats, is_joint: NDArray[np.bool_]
) -> tuple[Ints, Floats]:
    """Join paths between the same two nodes; only nodes of several cells can have such."""
    several = is_joint[one] | is_joint[other]
    keys, place = np.unique(one[several].astype(np.int64) * len(is_joint) + other[several], return_inverse=True)
    joined_m = np.bincount(place, shape_m[several], len(keys)).astype(np.float64)
    single = np.column_stack([one[~several], other[~several]]).astype(np.int64)
    pairs = np.concatenate([single, np.column_stack([keys // len(is_joint), keys % len(is_joint)])])
    return pairs, np.concatenate([shape_m[~several], joined_m])
