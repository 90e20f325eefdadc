"""A step of the mould, and what it exchanges with the nodes.

The faces are opened: what each passes is straight in the u of its row. The mould is swept through its stages, and the
integral of each row's u over time goes through the very same stages; so what a row gained through a face and what the
node behind it lost are one number. Last, every cell is moved to where it holds the heat it was given.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.physics.freeze import mould
from pourwright.physics.freeze.problem import Floats
from pourwright.physics.freeze.run import Run


def sweep(run: Run, step_s: float) -> float:
    """Take the mould through its stages; return the heat its rows lost to the air [J].

    The mould comes out in ``run.mould_field.ahead_K``. The nodes' ``source_W`` and ``sink_W_K`` hold what came through
    the faces.
    """
    field, tables, nodes, machine = run.mould_field, run.mould_tables, run.node_field, run.machine
    machine.open_rows(
        field.u_K.reshape(-1), run.rows, run.row_work, tables.by_u, nodes.held_K, nodes.u_K, nodes.k_W_mK,
        nodes.h_W_m2K, run.node_tables.ambient_K, run.node_tables.outside, step_s,
    )  # fmt: skip
    _stages(run, mould.stages_for(step_s, run.plain_s))
    return float(machine.close_faces(
        run.rows, run.row_work, tables.conductivity_W_mK, step_s, nodes.held_K, nodes.source_W, nodes.sink_W_K
    ))  # fmt: skip


def _stages(run: Run, stages: mould.Stages) -> None:
    field, machine = run.mould_field, run.machine
    kind = field.u_K.dtype.type
    now, last = field.ahead_K, field.spare_K
    machine.sweep_first(
        field.u_K, field.slope_K_s, now, run.whole, *field.along_per_m2, field.law_m2_s, kind(stages.first_s),
        run.rows, run.row_work,
    )  # fmt: skip
    now, last = last, now
    for number, weights in enumerate(stages.later):
        machine.sweep_next(
            field.u_K, field.slope_K_s, last, now, run.whole, *field.along_per_m2, field.law_m2_s,
            _rounded(weights, field.u_K.dtype, second=number == 0), run.rows, run.row_work,
        )  # fmt: skip
        now, last = last, now
    run.counts[1] += stages.count
    field.ahead_K, field.spare_K = last, now


def _rounded(weights: Floats, kind: np.dtype[Any], second: bool) -> tuple[Any, ...]:
    """Return weights in the precision of the field, those of the three fields adding up to one.

    In the second stage the one before the last is the start itself.
    """
    of_last, of_before, _, along, along_start = (kind.type(one) for one in weights)
    of_before = kind.type(0.0) if second else of_before
    return of_last, of_before, kind.type(1.0 - float(of_last) - float(of_before)), along, along_start


def settle(run: Run) -> None:
    """Move every mould cell to where it holds the heat it was given, and take that as the mould's state."""
    field, tables, nodes, machine = run.mould_field, run.mould_tables, run.node_field, run.machine
    if not tables.constant:
        least = 0.0 if run.problem.time.double else mould.LEAST_K
        machine.settle_cells(field.u_K, field.ahead_K, run.whole, tables.by_u, least)
    machine.settle_rows(
        field.u_K.reshape(-1), field.ahead_K.reshape(-1), run.rows, run.row_work, tables.by_u, nodes.mean_K,
        nodes.held_K,
    )  # fmt: skip
    field.u_K, field.ahead_K = field.ahead_K, field.u_K
