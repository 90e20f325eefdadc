"""Sweeps through the mould: weights, tables, and a plain twin of the kernel."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import CURVED

from pourwright.physics.freeze.backend import processor
from pourwright.physics.freeze.lists import Rows
from pourwright.physics.freeze.mould import stages_for, tabulate
from pourwright.physics.freeze.problem import MouldLaw
from pourwright.physics.freeze.run import RowWork


def _grown(z: float, stages) -> float:
    """Return what the stages make of du/dt = -u in a step of 1, the rate being z."""
    start, slope = 1.0, -z
    before, last = start, start + stages.first_s * slope
    for of_last, of_before, of_start, along, along_start in stages.later:
        new = of_last * last + of_before * before + of_start * start - along * z * last + along_start * slope
        before, last = last, new
    return last


@pytest.mark.parametrize("reach", [1.0, 6.0, 40.0, 300.0])
def test_a_step_of_many_stages_is_stable_and_of_second_order(reach):
    """Plain step 1, step ``reach``: every decaying mode decays; the error for slow ones falls with the cube."""
    stages = stages_for(reach, 1.0)
    assert stages.count % 2 == 1
    assert stages.later[:, :3].sum(axis=1) == pytest.approx(np.ones(stages.count - 1))
    assert np.abs([_grown(2.0 * share, stages) for share in np.linspace(0.0, 1.0, 400)]).max() <= 1.0 + 1e-12
    misses = [abs(_grown(z, stages) - np.exp(-z * reach)) for z in (0.02 / reach, 0.01 / reach)]
    assert misses[0] / misses[1] == pytest.approx(8.0, rel=0.1)


def test_stages_grow_with_the_root_of_the_step():
    counts = [stages_for(step, 1.0).count for step in (1.0, 100.0, 10000.0)]
    assert counts[0] == 3
    assert counts[2] / counts[1] == pytest.approx(10.0, rel=0.1)


def test_tables_give_back_the_law():
    tables = tabulate(CURVED, None, 753.0, 243.0, 1323.0)
    temp = np.array([300.0, 753.0, 1000.0])
    u = np.interp(temp, tables.low_K + np.arange(4096) / tables.per_K_ratio, tables.u_by_temp_K)
    assert u[1] == pytest.approx(0.0, abs=1e-9)
    knots = tables.low_u_K + np.arange(4096) / tables.per_u_ratio
    assert np.interp(u, knots, tables.temp_by_u_K) == pytest.approx(temp, abs=1e-4)
    warm = np.linspace(753.0, 1000.0, 20001)
    heat = np.trapezoid(np.interp(warm, CURVED.temp_K, CURVED.heat_capacity_J_m3K), warm)
    assert np.interp(u[2], knots, tables.heat_by_u_J_m3) == pytest.approx(heat, rel=1e-5)
    assert tables.law_miss_frac < 0.05


def test_a_law_that_stays_the_same_needs_no_polynomial():
    tables = tabulate(MouldLaw.constant(0.4, 1.1e6), None, 753.0, 243.0, 1323.0)
    assert tables.constant
    assert tables.law_m2_s == pytest.approx([0.4 / 1.1e6, 0.0, 0.0, 0.0], rel=1e-9)


def _no_rows(planes: int) -> Rows:
    none, nothing, first = np.zeros(0, np.uint32), np.zeros(0), np.zeros(1, np.uint32)
    return Rows(
        none, np.zeros(planes + 1, np.int64), np.zeros(0, bool), nothing, nothing, first, none, nothing, first,
        np.zeros(0, np.int32), np.zeros(0, np.uint8), nothing, nothing, nothing,
    )  # fmt: skip


@pytest.mark.parametrize("curved", [False, True])
@pytest.mark.parametrize(("number", "last"), [(2, False), (3, False), (3, True), (4, False), (5, True)])
def test_a_stage_does_what_plain_arrays_say(number, last, curved):
    rng = np.random.default_rng(3)
    shape = (7, 6, 9)
    start, slope, change, now = (rng.normal(size=shape) for _ in range(4))
    whole = np.zeros(shape, np.uint8)
    whole[1:-1, 1:-1, 1:-1] = rng.integers(0, 2, (5, 4, 7))
    along = tuple(rng.random((many, 2)) for many in shape)
    law, weights = np.array([0.3, 0.02, -0.001, 0.0004]), (0.9, -0.2, 0.3, 0.05, 0.0, 0.0, 0.0)
    flow = np.zeros(shape)
    for axis, factor in enumerate(along):
        wide = [1, 1, 1]
        wide[axis] = -1
        for side, step in ((0, 1), (1, -1)):
            flow += factor[:, side].reshape(wide) * (np.roll(change, step, axis) - change)
    diffusivity = law[0] + start * (law[1] + start * (law[2] + start * law[3])) if curved else law[0]
    wanted = weights[0] * change + weights[2] * whole * diffusivity * flow
    wanted += weights[3] * slope if number > 2 else 0.0
    wanted += weights[1] * now if number > 3 else 0.0
    wanted += start if last else 0.0
    work = RowWork(*([np.zeros(0)] * 3), np.zeros((0, 2)), *([np.zeros(0)] * 3))
    processor().sweep_stage(
        number, last, curved, start, slope, change, now, whole, along, law, weights, _no_rows(shape[0]), work
    )
    assert now[1:-1, 1:-1, 1:-1] == pytest.approx(wanted[1:-1, 1:-1, 1:-1], rel=1e-12)
