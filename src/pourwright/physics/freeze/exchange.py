"""A step of the mould, and what it exchanges with the nodes.

The faces are opened: what each passes is straight in the u of its row. The mould is swept through its stages, and the
integral of each row's u over time goes through the very same stages; so what a row gained through a face and what the
node behind it lost are one number. Last, every cell is moved to where it holds the heat it was given.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.physics.freeze import mould
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
        field.u_K.reshape(-1), run.rows, run.row_work, tables.conductivity_W_mK, step_s, nodes.held_K, nodes.source_W,
        nodes.sink_W_K,
    ))  # fmt: skip


def _stages(run: Run, stages: mould.Stages) -> None:
    field, machine, curved = run.mould_field, run.machine, not run.mould_tables.constant
    machine.sweep_slope(
        field.u_K, field.slope_K_s, run.whole, field.along_per_m2, field.law_m2_s, run.rows, run.row_work
    )
    change, now, spare = field.slope_K_s, field.ahead_K, field.spare_K
    for number in range(2, stages.count + 1):
        machine.sweep_stage(
            number, number == stages.count, curved, field.u_K, field.slope_K_s, change, now, run.whole,
            field.along_per_m2, field.law_m2_s, _weights(stages, number, field.u_K.dtype), run.rows, run.row_work,
        )  # fmt: skip
        change, now = now, spare if number == 2 else change
    run.counts[1] += stages.count
    field.ahead_K, field.spare_K = change, now


def _weights(stages: mould.Stages, number: int, kind: np.dtype[Any]) -> tuple[Any, ...]:
    """Return the weights of a stage as ``sweep_stage`` takes them; the change at the first stage is slope times time.

    Those of the last stage, the stage before it, the slope there and the slope at the start; then those by which time
    integrals go through the stage.
    """
    of_last, of_before, _, along, along_start = (float(one) for one in stages.later[number - 2])
    of_slope = along + along_start
    if number == 2:
        of_last, along, of_before, of_slope = stages.first_s * of_last + of_slope, stages.first_s * along, 0.0, 0.0
    elif number == 3:
        of_slope += stages.first_s * of_before
    field = tuple(kind.type(one) for one in (of_last, of_before, along, of_slope))
    return *field, float(field[0]) if number > 2 else 0.0, float(field[1]), float(field[2])


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
