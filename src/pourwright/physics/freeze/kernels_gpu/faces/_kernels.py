"""Rows of the mould and their faces on the card; ``kernels/faces/_kernels.py`` says what each kernel does.

What several faces bring to one node is added up by the thread of the node, face after face.
"""

from __future__ import annotations

import numpy as np
from numba import cuda

from pourwright.physics.freeze.kernels.faces import _kernels as plain
from pourwright.physics.freeze.kernels.tables import _kernels as tables
from pourwright.physics.freeze.kernels_gpu.arrays._kernels import (
    empty,
    fetch,
    fetched,
    grouped,
    kept,
    spread,
    twin,
    wide_twin,
)

_BETWEEN, _TO_AIR, _KNOT_OF, _HELD = (
    twin(one) for one in (tables.between, tables.to_air, tables.knot_of, tables.held)
)  # fmt: skip
_SETTLED = twin(tables.settled, knot_of=_KNOT_OF, held=_HELD)
_OPEN = wide_twin(plain.open_rows, between=_BETWEEN, to_air=_TO_AIR, knot_of=_KNOT_OF, held=_HELD)
_SETTLE = wide_twin(plain.settle_rows, settled=_SETTLED)


def open_rows(start, rows, work, by_u, node_K, node_u, node_k, node_h, ambient_K, outside, step_s):
    """Work out for one step the capacity of each row, and what passes each of its faces, straight in the row's u."""
    spread(
        _OPEN, len(rows.cell), start, rows, work, by_u, node_K, node_u, node_k, node_h, float(ambient_K), outside,
        float(step_s),
    )  # fmt: skip


@cuda.jit
def _pass(start, cell, first, node, work, conductivity, step_s, into_row_J, to_air_J):
    base, loss, in_time = work.base, work.loss, work.in_time
    for r in range(cuda.grid(1), len(cell), cuda.gridsize(1)):
        u = np.float64(start[cell[r]])
        lost_J = 0.0
        for f in range(first[r], first[r + 1]):
            into_row_J[f] = conductivity * ((base[f] - loss[f] * u) * step_s - loss[f] * in_time[r, 0])
            if node[f] < 0:
                lost_J -= into_row_J[f]
        to_air_J[r] = lost_J


@cuda.jit
def _hand_over(first, face, stiff, into_row_J, step_s, held_K, source_W, sink_W_K):
    for n in range(cuda.grid(1), len(source_W), cuda.gridsize(1)):
        source, sink = 0.0, 0.0
        for place in range(first[n], first[n + 1]):
            f = face[place]
            source += (stiff[f] * held_K[n] - into_row_J[f]) / step_s
            sink += stiff[f] / step_s
        source_W[n] = source
        sink_W_K[n] = sink


def close_faces(start, rows, work, conductivity, step_s, held_K, source_W, sink_W_K):
    """Hand the nodes what passed the faces during the sweeps; return the heat that went to the air [J]."""
    many, faces = len(rows.cell), len(rows.face_node)
    room = kept(rows.face_node, "room", lambda: (empty(max(faces, 1), np.float64), empty(max(many, 1), np.float64)))
    spread(_pass, many, start, rows.cell, rows.face_first, rows.face_node, work, float(conductivity), float(step_s),
           *room)  # fmt: skip
    spread(_hand_over, len(source_W), *grouped(rows.face_node, len(source_W)), work.stiff_J_K, room[0], float(step_s),
           held_K, source_W, sink_W_K)  # fmt: skip
    return room[1].sum() if many else 0.0


def settle_rows(start, now, rows, work, by_u, mean_K, held_K):
    """Move each row to where it holds the heat it was given; swept rows are there but for what comes late."""
    spread(_SETTLE, len(rows.cell), start, now, rows, work, by_u, mean_K, held_K)


def rows_heat_J(start, rows, by_u):
    """Return the heat that all rows hold [J]; asked for at the start and the end only, so the processor adds it up."""
    return plain.rows_heat_J(*fetched((start, rows, by_u)))


@cuda.jit
def _skins(start, cell, depth_m, by_u, ambient_K, outside, side, skin_K):
    conductivity, low, per_knot, temp = by_u.conductivity_W_mK, by_u.low_K, by_u.per_K_ratio, by_u.temp_K
    for f in range(cuda.grid(1), len(cell), cuda.gridsize(1)):
        temp_K, kelvin_per_u = _BETWEEN(temp, low, per_knot, np.float64(start[cell[f]]))
        depth_m2K_W = depth_m[f] * kelvin_per_u / conductivity
        passes = _TO_AIR(temp_K, 1.0, depth_m2K_W, ambient_K, outside, side)
        skin_K[f] = temp_K - (temp_K - ambient_K) * passes * depth_m2K_W


def hottest_skin_K(start, faces, by_u, ambient_K, outside, side):
    """Return the hottest of the flask's outer faces [K]."""
    many = len(faces.cell)
    if many == 0:
        return np.nan
    skin_K = kept(faces.cell, "skin", lambda: empty(many, np.float64))
    spread(_skins, many, start, faces.cell, faces.m, by_u, float(ambient_K), outside, int(side), skin_K)
    return fetch(skin_K).max()
