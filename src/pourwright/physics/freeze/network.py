"""The heat paths of a flask as lists: what is swept, what has a row of its own, and what is solved together.

Whole mould cells among whole mould cells are swept. A mould cell that differs (part of a cell, steel in it, metal or
air beside it) gets a row; one whose paths are too quick for its capacity would shorten the steps of all the others, so
it is solved together with the metal, as a node.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells, GradedGrid, Part
from pourwright.grid.network import Network
from pourwright.physics.freeze.problem import CutFlask, Floats, FreezeProblem, Kind, WholeCells

Ints = NDArray[np.int64]
# Numbers of things in lists; unsigned, so that the loops need not ask whether they count from the end.
Places = NDArray[np.uint32]

# A row may be so much quicker than the quickest whole cell; the number of stages grows with the root of this.
_MOST_QUICK_RATIO = 1.3
# What a cell is to the solver.
_NONE, _SWEPT, _ROW, _NODE = 0, 1, 2, 3
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


@dataclass(frozen=True, eq=False)
class _Mould:
    """Mould cells that may need a row, ascending flat numbers, and what they hold.

    ``mould_m3`` and ``steel_m3`` are volumes, ``equal_m3`` the volume of mould that holds as much heat, ``special``
    those whose capacity is not that of a whole cell of mould.
    """

    cell: Ints
    mould_m3: Floats
    steel_m3: Floats
    equal_m3: Floats
    special: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Mould cells side by side, one of them at least in a :class:`_Mould`: lower flat number, higher, shapes [m]."""

    low: Ints
    high: Ints
    shape_m: Floats
    whole_m: Floats


def lay_paths(problem: FreezeProblem) -> Paths:
    """Sort the cells of a problem into swept cells, rows and nodes, and list all paths between them."""
    cut = as_cut(problem)
    flask, network, grid = cut.flask, cut.network, cut.network.grid
    outside = _outside(flask)
    is_mould = (network.has_mould.ravel() > 0) & ~outside
    near = _near(problem, flask, network, is_mould)
    pairs = _pairs(network, near, is_mould)
    along = _along(grid)
    swept_per_m2 = float(sum(one.sum(axis=1).max() for one in along))
    walls_m = _wall_shapes_m(problem, network)
    pairs = _with_steel(problem, near, pairs, grid, walls_m, network, _MOST_QUICK_RATIO * swept_per_m2)
    per_m2 = _quickness(near, pairs, walls_m, network)
    quick = per_m2 > 1.000001 * _MOST_QUICK_RATIO * swept_per_m2
    kind = np.where(is_mould, _SWEPT, _NONE).astype(np.uint8)
    kind[near.cell[near.special]] = _ROW
    kind[near.cell[quick]] = _NODE
    nodes, number = _nodes(flask, network, near, pairs, kind, outside)
    rows = _rows(flask, network, near, pairs, kind, number)
    nodes, rows = _in_turns(nodes, rows)
    whole = np.zeros(tuple(many + 2 for many in grid.shape), np.uint8)
    whole[1:-1, 1:-1, 1:-1] = (kind == _SWEPT).reshape(grid.shape)
    quickest_per_m2 = max(swept_per_m2, float(per_m2[~quick].max(initial=0.0)))
    return Paths(grid.edges_m, whole, along, rows, nodes, quickest_per_m2, swept_per_m2)


def whole_grid(cells: WholeCells) -> GradedGrid:
    """Return the grid of whole cells."""
    sides_m = [float(np.diff(edge_m).min()) for edge_m in cells.edges_m]
    return GradedGrid(*cells.edges_m, side_m=min(sides_m))


def as_cut(problem: FreezeProblem) -> CutFlask:
    """Return a problem's cells in the form of a network; of whole cells every wall is a face of the grid."""
    cells = problem.cells
    if isinstance(cells, CutFlask):
        return cells
    grid = whole_grid(cells)
    is_metal, is_mould = cells.kind == Kind.METAL, cells.kind == Kind.MOULD
    metal_cells = np.flatnonzero(is_metal)
    number = np.full(grid.cells_count, -1)
    number[metal_cells] = np.arange(len(metal_cells))
    links, shapes_m, walls = [], [], []
    for axis in range(3):
        low, high = _side_by_side(grid.shape, axis)
        area_m2, low_m, high_m = _face_sizes(grid, axis, low, high)
        both = (number[low] >= 0) & (number[high] >= 0)
        links.append(number[np.column_stack((low[both], high[both]))])
        shapes_m.append((area_m2 / (low_m + high_m))[both])
        for metal, mould, metal_m, mould_m in ((low, high, low_m, high_m), (high, low, high_m, low_m)):
            met = (number[metal] >= 0) & is_mould.ravel()[mould]
            walls.append((number[metal[met]], mould[met], area_m2[met], metal_m[met], mould_m[met]))
    none, no_m = np.zeros(0, np.int64), np.zeros(0)
    network = Network(
        grid, is_mould.astype(np.uint8), none, no_m, none, np.zeros((0, 2), np.int64), no_m, metal_cells,
        grid.volumes_m3(metal_cells), grid.centres_m(metal_cells), np.zeros(len(metal_cells)), np.concatenate(links),
        np.concatenate(shapes_m), *(np.concatenate([one[part] for one in walls]) for part in range(5)),
    )  # fmt: skip
    return CutFlask(_whole_flask(grid, cells.kind, problem.shell.thickness_m if problem.shell else 0.0), network)


def _whole_flask(grid: GradedGrid, kind: NDArray[np.uint8], wall_m: float) -> FlaskCells:
    """Return the outside of whole cells: every face to the outside or the grid's end is a face to the air."""
    inside = np.pad(kind != Kind.OUTSIDE, 1)
    found: list[tuple[Any, ...]] = []
    for axis in range(3):
        for step, side in ((-1, 0 if axis < 2 else 1), (1, 0 if axis < 2 else 2)):
            bare = np.flatnonzero(inside[1:-1, 1:-1, 1:-1] & ~np.roll(inside, -step, axis)[1:-1, 1:-1, 1:-1])
            area_m2, half_m, _ = _face_sizes(grid, axis, bare, bare)
            found.append((bare, area_m2, half_m, np.full(len(bare), side, np.uint8)))
    cells, area_m2, depth_m, sides = (np.concatenate([one[place] for one in found]) for place in range(4))
    part = np.where(kind == Kind.OUTSIDE, Part.OUTSIDE, Part.MOULD).astype(np.uint8)
    clad = (sides == 0) & (kind.ravel()[cells] == Kind.MOULD) & (wall_m > 0)
    rim, place = np.unique(cells[clad], return_inverse=True)
    steel_m3: Floats = np.bincount(place, area_m2[clad] * wall_m, len(rim)).astype(np.float64)
    return FlaskCells(part, rim, grid.volumes_m3(rim), steel_m3, cells, area_m2, depth_m, sides)


def _side_by_side(shape: tuple[int, int, int], axis: int) -> tuple[Ints, Ints]:
    """Return flat numbers of all pairs of cells side by side along an axis."""
    number = np.arange(int(np.prod(shape))).reshape(shape)
    low = np.take(number, range(shape[axis] - 1), axis).ravel()
    high = np.take(number, range(1, shape[axis]), axis).ravel()
    return low, high


def _face_sizes(grid: GradedGrid, axis: int, low: Ints, high: Ints) -> tuple[Floats, Floats, Floats]:
    """Return area [m2] of the faces between cells along an axis, and the half sides of both [m]."""
    places = np.unravel_index(low, grid.shape)
    across = [one for one in range(3) if one != axis]
    area_m2 = grid.sides_m[across[0]][places[across[0]]] * grid.sides_m[across[1]][places[across[1]]]
    high_place = np.unravel_index(high, grid.shape)[axis]
    return area_m2, grid.sides_m[axis][places[axis]] / 2, grid.sides_m[axis][high_place] / 2


def _outside(flask: FlaskCells) -> NDArray[np.bool_]:
    outside: NDArray[np.bool_] = flask.part.ravel() == Part.OUTSIDE
    outside[flask.rim_cells] = False
    return outside


def _along(grid: GradedGrid) -> tuple[Floats, Floats, Floats]:
    """Return one over side times distance to the next middle, with the idle layer [1/m2]."""
    made = []
    for side_m, middle_m in zip(grid.sides_m, grid.middles_m, strict=True):
        both = np.zeros((len(side_m) + 2, 2))
        both[2:-1, 0] = 1 / (side_m[1:] * np.diff(middle_m))
        both[1:-2, 1] = 1 / (side_m[:-1] * np.diff(middle_m))
        made.append(both)
    return made[0], made[1], made[2]


def _near(problem: FreezeProblem, flask: FlaskCells, network: Network, is_mould: NDArray[np.bool_]) -> _Mould:
    steel_cells = np.flatnonzero((flask.part.ravel() == Part.STEEL) & is_mould)
    touched = (
        network.near_cells, network.light_cells, flask.rim_cells, steel_cells, network.link_cells.ravel(),
        network.wall_cells, flask.air_cells,
    )  # fmt: skip
    cell = np.unique(np.concatenate(touched))
    cell = cell[is_mould[cell]]
    cell_m3 = network.grid.volumes_m3(cell)
    mould_m3, steel_m3, special = cell_m3.copy(), np.zeros(len(cell)), np.zeros(len(cell), bool)
    for chosen, of_mould_m3, of_steel_m3 in (
        (steel_cells, 0.0, network.grid.volumes_m3(steel_cells)),
        (flask.rim_cells, flask.rim_mould_m3, flask.rim_steel_m3),
    ):
        place, held = _places(cell, chosen)
        mould_m3[place] = np.broadcast_to(of_mould_m3, len(chosen))[held]
        steel_m3[place] = np.broadcast_to(of_steel_m3, len(chosen))[held]
        special[place] = True
    place, held = _places(cell, network.near_cells)
    mould_m3[place] *= (network.near_m3 / network.grid.volumes_m3(network.near_cells))[held]
    special[place] = True
    place, _ = _places(cell, network.light_cells)
    mould_m3[place], special[place] = 0.0, True
    equal_m3 = mould_m3 + steel_m3 * _steel_ratio(problem)
    return _Mould(cell, mould_m3, steel_m3, equal_m3, special)


def _places(cell: Ints, chosen: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    """Return where chosen cells stand in a sorted list, those that do, and which they are."""
    place = np.minimum(np.searchsorted(cell, chosen), len(cell) - 1)
    held = cell[place] == chosen if len(cell) else np.zeros(len(chosen), bool)
    return place[held], held


def _steel_ratio(problem: FreezeProblem) -> float:
    """Return the least ratio of heat capacities of steel and mould."""
    if problem.shell is None:
        return 0.0
    return float(problem.shell.law.heat_capacity_J_m3K.min() / problem.mould.heat_capacity_J_m3K.max())


def _pairs(network: Network, near: _Mould, is_mould: NDArray[np.bool_]) -> _Pairs:
    grid = network.grid
    number = np.zeros(grid.cells_count, bool)
    number[near.cell] = True
    lows, highs, shapes_m, keys = [], [], [], []
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        place = np.unravel_index(near.cell, grid.shape)[axis]
        low = np.union1d(near.cell[place < grid.shape[axis] - 1], near.cell[place > 0] - stride)
        low = low[is_mould[low] & is_mould[low + stride]]
        area_m2, low_m, high_m = _face_sizes(grid, axis, low, low + stride)
        lows.append(low)
        highs.append(low + stride)
        shapes_m.append(area_m2 / (low_m + high_m))
        keys.append(low * 3 + axis)
    key = np.concatenate(keys)
    order = np.argsort(key)
    key, low, high = key[order], np.concatenate(lows)[order], np.concatenate(highs)[order]
    whole_m = np.concatenate(shapes_m)[order]
    shape_m = whole_m.copy()
    axis_of = {grid.shape[1] * grid.shape[2]: 0, grid.shape[2]: 1, 1: 2}
    step = network.link_cells[:, 1] - network.link_cells[:, 0]
    axes = np.select([step == stride for stride in axis_of], list(axis_of.values()), 0)
    place, held = _places(key, network.link_cells[:, 0] * 3 + axes)
    shape_m[place] = network.link_shape_m[held]
    return _Pairs(low, high, shape_m, whole_m)


def _wall_shapes_m(problem: FreezeProblem, network: Network) -> Floats:
    """Return the largest conductance of each wall path over the mould's conductivity [m]."""
    mould_k = problem.mould.conductivity_W_mK.max()
    ahead_m = mould_k * (
        network.wall_metal_m / problem.metal.conductivity_W_mK.max() + 1 / problem.contact.coefficient_W_m2K.max()
    )
    return np.asarray(network.wall_m2 / (ahead_m + network.wall_mould_m))


def _totals_m(near: _Mould, pairs: _Pairs, shape_m: Floats) -> Floats:
    total_m = np.zeros(len(near.cell))
    for end in (pairs.low, pairs.high):
        place, held = _places(near.cell, end)
        np.add.at(total_m, place, shape_m[held])
    return total_m


def _all_paths_m(near: _Mould, pairs: _Pairs, walls_m: Floats, network: Network) -> Floats:
    total_m = _totals_m(near, pairs, pairs.shape_m)
    place, held = _places(near.cell, network.wall_cells)
    np.add.at(total_m, place, walls_m[held])
    return total_m


def _quickness(near: _Mould, pairs: _Pairs, walls_m: Floats, network: Network) -> Floats:
    """Return all paths of each cell over what it holds [1/m2]; without capacity: infinite."""
    total_m = _all_paths_m(near, pairs, walls_m, network)
    per_m2: Floats = np.divide(total_m, near.equal_m3, out=np.full(len(total_m), np.inf), where=near.equal_m3 > 0)
    return per_m2


def _with_steel(
    problem: FreezeProblem,
    near: _Mould,
    pairs: _Pairs,
    grid: GradedGrid,
    walls_m: Floats,
    network: Network,
    most_per_m2: float,
) -> _Pairs:
    """Add what steel passes along the wall between cells that hold some, as far as the step allows.

    Along a fine grid steel is quicker than the sweep may be; there it passes as much as it can. What is cut off is
    conduction along the wall over a few cells, which evens out temperatures that hardly differ.
    """
    if problem.shell is None:
        return pairs
    steel_k, mould_k = problem.shell.law.conductivity_W_mK.mean(), problem.mould.conductivity_W_mK.mean()
    share = near.steel_m3 / grid.volumes_m3(near.cell)
    of_cell = np.zeros(grid.cells_count)
    of_cell[near.cell] = np.minimum(share, 1.0) * (steel_k / mould_k - 1.0)
    low, high = of_cell[pairs.low], of_cell[pairs.high]
    both = (low > 0) & (high > 0)
    more_m = np.where(both, 2 / (1 / np.maximum(low, 1e-9) + 1 / np.maximum(high, 1e-9)), 0.0) * pairs.whole_m
    room_m = np.maximum(most_per_m2 * near.equal_m3 - _all_paths_m(near, pairs, walls_m, network), 0.0)
    wanted_m = _totals_m(near, pairs, more_m)
    fits = np.ones(grid.cells_count)
    fits[near.cell] = np.minimum(1.0, room_m / np.maximum(wanted_m, 1e-30))
    more_m *= np.minimum(fits[pairs.low], fits[pairs.high])
    return _Pairs(pairs.low, pairs.high, pairs.shape_m + more_m, pairs.whole_m)


def _nodes(
    flask: FlaskCells,
    network: Network,
    near: _Mould,
    pairs: _Pairs,
    kind: NDArray[np.uint8],
    outside: NDArray[np.bool_],
) -> tuple[Nodes, NDArray[np.int32]]:
    """Return the nodes, and for each cell the number of its mould node (-1: none)."""
    grid, metals = network.grid, len(network.metal_cells)
    quick = np.flatnonzero(kind == _NODE)
    number = np.full(grid.cells_count, -1, np.int32)
    number[quick] = metals + np.arange(len(quick), dtype=np.int32)
    place, _ = _places(near.cell, quick)
    centre_m = np.concatenate((network.metal_m, grid.centres_m(quick)))
    flat = np.concatenate((network.metal_cells, quick))
    m3 = np.concatenate((network.metal_m3, near.mould_m3[place]))
    steel_m3 = np.concatenate((np.zeros(metals), near.steel_m3[place]))
    inner = (number[pairs.low] >= 0) & (number[pairs.high] >= 0)
    at_node = number[network.wall_cells] >= 0
    walls = np.flatnonzero(at_node)
    one: Ints = np.concatenate((network.metal_links[:, 0], number[pairs.low[inner]], network.wall_metal[walls]))
    other: Ints = np.concatenate(
        (network.metal_links[:, 1], number[pairs.high[inner]], number[network.wall_cells[walls]])
    )
    same = len(one) - len(walls)
    size = np.concatenate((network.metal_shape_m, pairs.shape_m[inner], network.wall_m2[walls]))
    one_m, other_m = np.zeros(len(one)), np.zeros(len(one))
    one_m[same:], other_m[same:] = network.wall_metal_m[walls], network.wall_mould_m[walls]
    of_link = np.full(len(one), LINK_SAME, np.uint8)
    of_link[same:] = LINK_WALL
    heir = _heirs(m3, steel_m3, metals, one, other, of_link)
    air = _air_of_nodes(flask, network, number, kind, outside)
    return Nodes(
        metals, np.arange(metals), np.column_stack(np.unravel_index(flat, grid.shape)).astype(np.int32), centre_m, m3,
        np.concatenate((network.skin_m3, np.zeros(len(quick)))), steel_m3, heir, one.astype(np.int32),
        other.astype(np.int32), of_link, size, one_m, other_m, *air,
    ), number  # fmt: skip


def turns_of(block: Ints) -> Ints:
    """Return the turn of places (i, j, k, is mould): red metal, black metal, red mould, black mould.

    Coloured as on a chess board, mould the other way round: so a wall within a cell joins two colours.
    """
    return np.asarray(2 * block[:, 3] + block.sum(axis=1) % 2)


def _in_turns(nodes: Nodes, rows: Rows) -> tuple[Nodes, Rows]:
    """Return nodes in their turns, so that all of one colour can be worked on at once, and rows that know them so."""
    many, metals = len(nodes.m3), nodes.metals_count
    block = np.column_stack((nodes.cell, np.arange(many) >= metals)).astype(np.int64)
    order = np.argsort(turns_of(block), kind="stable")
    place = np.empty(many, np.int32)
    place[order] = np.arange(many, dtype=np.int32)
    per_node = {name: getattr(nodes, name)[order] for name in ("cell", "centre_m", "m3", "skin_m3", "steel_m3")}
    moved = replace(
        nodes, **per_node, number=order[:metals], heir=place[nodes.heir[order]], one=place[nodes.one],
        other=place[nodes.other], air_node=place[nodes.air_node],
    )  # fmt: skip
    return moved, rows._replace(face_node=np.where(rows.face_node < 0, -1, place[rows.face_node]).astype(np.int32))


def _heirs(
    m3: Floats, steel_m3: Floats, metals: int, one: Ints, other: Ints, of_link: NDArray[np.uint8]
) -> NDArray[np.int32]:
    """Return for each node who takes its imbalance: itself, or for one without capacity the metal behind its wall."""
    heir = np.arange(len(m3), dtype=np.int32)
    light = (m3 + steel_m3 == 0) & (heir >= metals)
    for node, neighbour in ((one, other), (other, one)):
        fits = light[node] & ~light[neighbour] & (heir[node] == node)
        heir[node[fits]] = neighbour[fits]
    fits = (of_link == LINK_WALL) & light[other]
    heir[other[fits]] = one[fits]
    return heir


def _metal_shares(flask: FlaskCells, network: Network) -> tuple[Floats, Ints]:
    """Return which share of each face to the air is metal, and the metal node behind it."""
    node = np.full(network.grid.cells_count, -1, np.int64)
    node[network.metal_cells] = np.arange(len(network.metal_cells))
    behind = node[flask.air_cells]
    share = np.zeros(len(behind))
    held = behind >= 0
    cell_m3 = network.grid.volumes_m3(flask.air_cells[held])
    share[held] = np.minimum(network.metal_m3[behind[held]] / cell_m3, 1.0)
    return share, behind


def _air_of_nodes(
    flask: FlaskCells,
    network: Network,
    number: NDArray[np.int32],
    kind: NDArray[np.uint8],
    outside: NDArray[np.bool_],
) -> tuple[NDArray[np.int32], Floats, Floats, NDArray[np.uint8]]:
    """Return node, area, distance and side of all bare faces of nodes: of metal, and of quick mould."""
    share, behind = _metal_shares(flask, network)
    share = np.where(kind[flask.air_cells] == _NONE, (behind >= 0).astype(float), share)
    bare = share > 0
    quick = (kind[flask.air_cells] == _NODE) & (share < 1)
    beyond = outside[network.wall_cells]
    node = (behind[bare], number[flask.air_cells[quick]], network.wall_metal[beyond])
    area_m2 = ((flask.air_m2 * share)[bare], (flask.air_m2 * (1 - share))[quick], network.wall_m2[beyond])
    depth_m = (flask.air_m[bare], flask.air_m[quick], network.wall_metal_m[beyond])
    side = (np.full(bare.sum(), 2), np.minimum(flask.air_side[quick], 1), np.full(beyond.sum(), 2))
    return (
        np.concatenate(node).astype(np.int32),
        np.concatenate(area_m2),
        np.concatenate(depth_m),
        np.concatenate(side).astype(np.uint8),
    )


def _rows(
    flask: FlaskCells,
    network: Network,
    near: _Mould,
    pairs: _Pairs,
    kind: NDArray[np.uint8],
    number: NDArray[np.int32],
) -> Rows:
    grid = network.grid
    owner, beside, shape_m = _row_paths(grid, pairs, kind)
    face_owner, *found = _row_faces(flask, network, near, pairs, kind, number)
    faces: tuple[NDArray[Any], ...] = tuple(found)
    special = near.cell[near.special]
    cell = np.unique(np.concatenate((owner, face_owner, special[kind[special] == _ROW])))
    row = np.searchsorted(cell, owner)
    order = np.lexsort((beside, row))
    face_row = np.searchsorted(cell, face_owner)
    face_order = np.argsort(face_row, kind="stable")
    mould_m3, steel_m3 = grid.volumes_m3(cell), np.zeros(len(cell))
    place, held = _places(near.cell, cell)
    mould_m3[held], steel_m3[held] = near.mould_m3[place], near.steel_m3[place]
    padded, plane = _padded(grid, cell), (grid.shape[1] + 2) * (grid.shape[2] + 2)
    return Rows(
        padded, np.searchsorted(padded, plane * np.arange(grid.shape[0] + 3)), kind[cell] == _SWEPT,
        mould_m3, steel_m3, _starts(row, len(cell)),
        _padded(grid, beside[order]), shape_m[order], _starts(face_row, len(cell)),
        *(one[face_order] for one in faces),
    )  # fmt: skip


def _starts(owner: Ints, many: int) -> Places:
    return np.concatenate(([0], np.cumsum(np.bincount(owner, minlength=many)))).astype(np.uint32)


def _padded(grid: GradedGrid, flat: Ints) -> Places:
    """Return flat numbers in the grid with an idle layer all round."""
    i, j, k = np.unravel_index(flat, grid.shape)
    return (((i + 1) * (grid.shape[1] + 2) + j + 1) * (grid.shape[2] + 2) + k + 1).astype(np.uint32)


def _row_paths(grid: GradedGrid, pairs: _Pairs, kind: NDArray[np.uint8]) -> tuple[Ints, Ints, Floats]:
    """Return owner, cell beside it and shape of all paths of rows to cells, what the sweep counts taken off."""
    owners, besides, shapes_m = [], [], []
    swept, explicit = kind == _SWEPT, (kind == _SWEPT) | (kind == _ROW)
    joined = explicit[pairs.low] & explicit[pairs.high]
    for own, far in ((pairs.low, pairs.high), (pairs.high, pairs.low)):
        shape_m = pairs.shape_m - np.where(swept[own], pairs.whole_m, 0.0)
        counts = joined & (shape_m != 0)
        owners.append(own[counts])
        besides.append(far[counts])
        shapes_m.append(shape_m[counts])
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        for own, step in zip(_at_closed_faces(swept, explicit, grid.shape, axis), (stride, -stride), strict=True):
            area_m2, low_m, high_m = _face_sizes(grid, axis, own, own + step)
            owners.append(own)
            besides.append(own + step)
            shapes_m.append(-area_m2 / (low_m + high_m))
    return np.concatenate(owners), np.concatenate(besides), np.concatenate(shapes_m)


def _at_closed_faces(
    swept: NDArray[np.bool_], explicit: NDArray[np.bool_], shape: tuple[int, int, int], axis: int
) -> tuple[Ints, Ints]:
    """Return the swept cells whose next cell along an axis, upwards and downwards, is neither swept nor a row."""
    low = tuple(slice(None, -1) if one == axis else slice(None) for one in range(3))
    high = tuple(slice(1, None) if one == axis else slice(None) for one in range(3))
    found = []
    for own, far in ((low, high), (high, low)):
        marked = np.zeros(shape, bool)
        marked[own] = swept.reshape(shape)[own] & ~explicit.reshape(shape)[far]
        found.append(np.flatnonzero(marked))
    return found[0], found[1]


def _row_faces(
    flask: FlaskCells,
    network: Network,
    near: _Mould,
    pairs: _Pairs,
    kind: NDArray[np.uint8],
    number: NDArray[np.int32],
) -> tuple[NDArray[Any], ...]:
    """Return owner, node, kind, size and distances of all faces of rows."""
    explicit = (kind == _SWEPT) | (kind == _ROW)
    parts: list[tuple[Any, ...]] = []
    for own, far in ((pairs.low, pairs.high), (pairs.high, pairs.low)):
        at = explicit[own] & (number[far] >= 0)
        none_m = np.zeros(int(at.sum()))
        parts.append((own[at], number[far[at]], np.full(len(none_m), FACE_MOULD), pairs.shape_m[at], none_m, none_m))
    at = explicit[network.wall_cells]
    wall = np.full(int(at.sum()), FACE_WALL)
    parts.append(
        (network.wall_cells[at], network.wall_metal[at], wall, network.wall_m2[at], network.wall_metal_m[at],
         network.wall_mould_m[at])
    )  # fmt: skip
    share, _ = _metal_shares(flask, network)
    at = explicit[flask.air_cells] & (share < 1)
    cells = flask.air_cells[at]
    side = np.where(flask.air_side[at] == 0, FACE_AIR_SIDE, FACE_AIR_END)
    none = np.full(len(cells), -1)
    depth_m = flask.air_m[at] * _thinned(network.grid, near, cells)
    parts.append((cells, none, side, (flask.air_m2 * (1 - share))[at], np.zeros(len(cells)), depth_m))
    owner, node, face_kind, size, metal_m, mould_m = (np.concatenate([one[part] for one in parts]) for part in range(6))
    return owner, node.astype(np.int32), face_kind.astype(np.uint8), size, metal_m, mould_m


def _thinned(grid: GradedGrid, near: _Mould, cells: Ints) -> Floats:
    """Return the share of the way to the air that leads through mould; the steel on it hardly resists."""
    place, _ = _places(near.cell, cells)
    return np.asarray(1.0 - np.minimum(near.steel_m3[place] / grid.volumes_m3(cells), 1.0))
