"""Lists of a freezing run: rows of the mould, nodes that are solved together, and the paths between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.problem import Floats

Ints = NDArray[np.int64]
# Numbers of things in lists; unsigned, so that the loops need not ask whether they count from the end.
Places = NDArray[np.uint32]

# What a cell is to the solver.
NONE, SWEPT, ROW, NODE = 0, 1, 2, 3
# What a face leads to (see kernels/faces), and a link joins (see kernels/nodes).
FACE_MOULD, FACE_WALL, FACE_AIR_SIDE, FACE_AIR_END = 0, 1, 2, 3
LINK_SAME, LINK_WALL = 0, 1


class Rows(NamedTuple):
    """Mould cells with paths of their own, in order of their flat number in the padded grid.

    Parameters
    ----------
    cell : array, shape (r,)
        Flat number in the padded grid.
    plane_first : array, shape (nx + 3,)
        Rows in plane i of the padded grid: those from ``plane_first[i]`` to ``plane_first[i + 1]``.
    swept : array of bool, shape (r,)
        Whether the sweep already reckons with six whole faces and the capacity of a whole cell.
    mould_m3, steel_m3 : array, shape (r,)
        What the row's capacity is made of [m**3].
    first, beside, shape_m : arrays
        Paths to other cells: row r has those from ``first[r]`` to ``first[r + 1]``; what the sweep has counted is
        taken off their shapes [m].
    face_first, face_node, face_kind, face_size, face_metal_m, face_mould_m : arrays
        Faces to nodes and to the air, in the same way; see ``kernels/faces/_kernels.py``.
    """

    cell: Places
    plane_first: Ints
    swept: NDArray[np.bool_]
    mould_m3: Floats
    steel_m3: Floats
    first: Places
    beside: Places
    shape_m: Floats
    face_first: Places
    face_node: NDArray[np.int32]
    face_kind: NDArray[np.uint8]
    face_size: NDArray[Any]
    face_metal_m: Floats
    face_mould_m: Floats


@dataclass(frozen=True, eq=False)
class Nodes:
    """Unknowns that are solved together, in the turns of :func:`turns_of`: metal first, then quick mould.

    Parameters
    ----------
    metals_count : int
        How many are metal.
    number : array, shape (metals,)
        Number of each metal node in the network.
    cell : array, shape (n, 3)
        Cell of each node in the grid.
    centre_m : array, shape (n, 3)
        Where its temperature is thought to be [m].
    m3 : array, shape (n,)
        Volume of metal, or of mould [m**3]; 0 for a mould node without capacity.
    skin_m3, steel_m3 : array, shape (n,)
        Volume of mould that goes with a metal node, of steel that goes with a mould node [m**3].
    heir : array, shape (n,)
        Node that takes what imbalance is left: itself, or a neighbour if it has no capacity.
    one, other, kind, size, one_m, other_m : arrays
        Links; see ``link_values`` in ``kernels/nodes/_kernels.py``.
    air_node, air_m2, air_m, air_side : arrays
        Bare faces: node, area [m**2], distance from the node [m], and 0 flask's side, 1 flask's end, 2 button.
    """

    metals_count: int
    number: Ints
    cell: NDArray[np.int32]
    centre_m: Floats
    m3: Floats
    skin_m3: Floats
    steel_m3: Floats
    heir: NDArray[np.int32]
    one: NDArray[np.int32]
    other: NDArray[np.int32]
    kind: NDArray[np.uint8]
    size: NDArray[Any]
    one_m: Floats
    other_m: Floats
    air_node: NDArray[np.int32]
    air_m2: Floats
    air_m: Floats
    air_side: NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Paths:
    """All heat paths of a problem.

    Parameters
    ----------
    edges_m : three arrays
        Planes of the grid [m].
    whole : array of uint8, shape (nx + 2, ny + 2, nz + 2)
        1 for swept cells.
    along_per_m2 : three arrays, shapes (nx + 2, 2), ...
        One over side times distance to the next middle, lower side first [1/m**2]; 0 at the edge of the grid.
    rows : Rows
    nodes : Nodes
    quickest_per_m2 : float
        Largest sum of conductances over conductivity and volume of what is swept or has a row [1/m**2]; its
        diffusivity times this bounds the step.
    swept_per_m2 : float
        The same over whole cells alone: what the step would be without walls [1/m**2].
    """

    edges_m: tuple[Floats, Floats, Floats]
    whole: NDArray[np.uint8]
    along_per_m2: tuple[Floats, Floats, Floats]
    rows: Rows
    nodes: Nodes
    quickest_per_m2: float
    swept_per_m2: float


def turns_of(block: Ints) -> Ints:
    """Return the turn of places (i, j, k, is mould): red metal, black metal, red mould, black mould.

    Coloured as on a chess board, mould the other way round: so a wall within a cell joins two colours.
    """
    return np.asarray(2 * block[:, 3] + block.sum(axis=1) % 2)
