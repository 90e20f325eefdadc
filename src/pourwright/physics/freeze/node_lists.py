"""The nodes of a freezing run, their links, and their bare faces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.graded import FlaskCells
from pourwright.grid.network import Network
from pourwright.physics.freeze.lists import LINK_SAME, LINK_WALL, NODE, NONE, Ints, Nodes, Rows, turns_of
from pourwright.physics.freeze.near_mould import MouldPairs, NearMould, places_in
from pourwright.physics.freeze.problem import Floats


def lay_nodes(
    flask: FlaskCells,
    network: Network,
    near: NearMould,
    pairs: MouldPairs,
    kind: NDArray[np.uint8],
    outside: NDArray[np.bool_],
) -> tuple[Nodes, NDArray[np.int32]]:
    """Return the nodes, and for each cell the number of its mould node (-1: none)."""
    grid, metals = network.grid, len(network.metal_cells)
    quick = np.flatnonzero(kind == NODE)
    number = np.full(grid.cells_count, -1, np.int32)
    number[quick] = metals + np.arange(len(quick), dtype=np.int32)
    place, _ = places_in(near.cell, quick)
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


def in_turns(nodes: Nodes, rows: Rows) -> tuple[Nodes, Rows]:
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


def metal_shares(flask: FlaskCells, network: Network) -> tuple[Floats, Ints]:
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
    share, behind = metal_shares(flask, network)
    share = np.where(kind[flask.air_cells] == NONE, (behind >= 0).astype(float), share)
    bare = share > 0
    quick = (kind[flask.air_cells] == NODE) & (share < 1)
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
