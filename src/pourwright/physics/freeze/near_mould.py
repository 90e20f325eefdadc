"""Mould cells that are not whole cells among whole cells: what they hold, what they pass, and how quick they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells, GradedGrid, Part
from pourwright.grid.network import Network
from pourwright.physics.freeze.lists import Ints
from pourwright.physics.freeze.problem import Floats, FreezeProblem
from pourwright.physics.freeze.whole_cells import face_sizes


@dataclass(frozen=True, eq=False)
class NearMould:
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
class MouldPairs:
    """Mould cells side by side, one of them at least in a :class:`NearMould`: lower flat number, higher, shapes [m]."""

    low: Ints
    high: Ints
    shape_m: Floats
    whole_m: Floats


def near_mould(problem: FreezeProblem, flask: FlaskCells, network: Network, is_mould: NDArray[np.bool_]) -> NearMould:
    """Return the mould cells that may need a row."""
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
        place, held = places_in(cell, chosen)
        mould_m3[place] = np.broadcast_to(of_mould_m3, len(chosen))[held]
        steel_m3[place] = np.broadcast_to(of_steel_m3, len(chosen))[held]
        special[place] = True
    place, held = places_in(cell, network.near_cells)
    mould_m3[place] *= (network.near_m3 / network.grid.volumes_m3(network.near_cells))[held]
    special[place] = True
    place, _ = places_in(cell, network.light_cells)
    mould_m3[place], special[place] = 0.0, True
    equal_m3 = mould_m3 + steel_m3 * _steel_ratio(problem)
    return NearMould(cell, mould_m3, steel_m3, equal_m3, special)


def places_in(cell: Ints, chosen: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    """Return where chosen cells stand in a sorted list, those that do, and which they are."""
    place = np.minimum(np.searchsorted(cell, chosen), len(cell) - 1)
    held = cell[place] == chosen if len(cell) else np.zeros(len(chosen), bool)
    return place[held], held


def _steel_ratio(problem: FreezeProblem) -> float:
    """Return the least ratio of heat capacities of steel and mould."""
    if problem.shell is None:
        return 0.0
    return float(problem.shell.law.heat_capacity_J_m3K.min() / problem.mould.heat_capacity_J_m3K.max())


def mould_pairs(network: Network, near: NearMould, is_mould: NDArray[np.bool_]) -> MouldPairs:
    """Return the pairs of mould cells side by side of which one may need a row."""
    grid = network.grid
    number = np.zeros(grid.cells_count, bool)
    number[near.cell] = True
    lows, highs, shapes_m, keys = [], [], [], []
    for axis, stride in enumerate((grid.shape[1] * grid.shape[2], grid.shape[2], 1)):
        place = np.unravel_index(near.cell, grid.shape)[axis]
        low = np.union1d(near.cell[place < grid.shape[axis] - 1], near.cell[place > 0] - stride)
        low = low[is_mould[low] & is_mould[low + stride]]
        area_m2, low_m, high_m = face_sizes(grid, axis, low, low + stride)
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
    place, held = places_in(key, network.link_cells[:, 0] * 3 + axes)
    shape_m[place] = network.link_shape_m[held]
    return MouldPairs(low, high, shape_m, whole_m)


def wall_shapes_m(problem: FreezeProblem, network: Network) -> Floats:
    """Return the largest conductance of each wall path over the mould's conductivity [m]."""
    mould_k = problem.mould.conductivity_W_mK.max()
    ahead_m = mould_k * (
        network.wall_metal_m / problem.metal.conductivity_W_mK.max() + 1 / problem.contact.coefficient_W_m2K.max()
    )
    return np.asarray(network.wall_m2 / (ahead_m + network.wall_mould_m))


def _totals_m(near: NearMould, pairs: MouldPairs, shape_m: Floats) -> Floats:
    total_m = np.zeros(len(near.cell))
    for end in (pairs.low, pairs.high):
        place, held = places_in(near.cell, end)
        np.add.at(total_m, place, shape_m[held])
    return total_m


def _all_paths_m(near: NearMould, pairs: MouldPairs, walls_m: Floats, network: Network) -> Floats:
    total_m = _totals_m(near, pairs, pairs.shape_m)
    place, held = places_in(near.cell, network.wall_cells)
    np.add.at(total_m, place, walls_m[held])
    return total_m


def quickness_per_m2(near: NearMould, pairs: MouldPairs, walls_m: Floats, network: Network) -> Floats:
    """Return all paths of each cell over what it holds [1/m2]; without capacity: infinite."""
    total_m = _all_paths_m(near, pairs, walls_m, network)
    per_m2: Floats = np.divide(total_m, near.equal_m3, out=np.full(len(total_m), np.inf), where=near.equal_m3 > 0)
    return per_m2


def with_steel(
    problem: FreezeProblem,
    near: NearMould,
    pairs: MouldPairs,
    grid: GradedGrid,
    walls_m: Floats,
    network: Network,
    most_per_m2: float,
) -> MouldPairs:
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
    return MouldPairs(pairs.low, pairs.high, pairs.shape_m + more_m, pairs.whole_m)
