"""What is read off the nodes after a step, on the card; ``kernels/marks/_kernels.py`` says what each kernel does."""

from __future__ import annotations

import math

import numpy as np
from numba import cuda

from pourwright.physics.freeze.kernels.marks import _kernels as plain
from pourwright.physics.freeze.kernels_gpu.arrays._kernels import PARTS, empty, fetch, spread, twin, wide_twin

_CROSSINGS = wide_twin(plain.mark_crossings, _passed=twin(plain._passed))
_SLOPE = twin(plain._mark_slope, _solved=twin(plain._solved))


def mark_crossings(
    earlier_J, begun_J, lead_J, heat_J, crossing_J, step_from_s, step_s, last_step_s, part_ratio, crossed_s
):  # fmt: skip
    """Enter when each metal node fell through each of some heats, shape (marks, metals)."""
    spread(
        _CROSSINGS, crossing_J.shape[1], earlier_J, begun_J, lead_J, heat_J, crossing_J, float(step_from_s),
        float(step_s), float(last_step_s), float(part_ratio), crossed_s,
    )  # fmt: skip


@cuda.jit
def _slopes(crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s):
    for i in range(cuda.grid(1), len(crossed_s), cuda.gridsize(1)):
        _SLOPE(i, crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s)


def mark_slopes(crossed_s, step_from_s, step_s, before_K, after_K, centre_m, first, beside, gradient_K_m, rate_K_s):
    """Enter slope and cooling rate of metal nodes that crossed in this step."""
    spread(
        _slopes, len(crossed_s), crossed_s, float(step_from_s), float(step_s), before_K, after_K, centre_m, first,
        beside, gradient_K_m, rate_K_s,
    )  # fmt: skip


@cuda.jit
def _look(heat_J, temp_K, begun_K, before_K, ratio, solid_J, seen):
    parts = len(seen)
    for part in range(cuda.grid(1), parts, cuda.gridsize(1)):
        far_K, hottest_K, over_J, all_J = 0.0, -math.inf, 0.0, 0.0
        for i in range(part, len(solid_J), parts):
            straight_K = begun_K[i] + (begun_K[i] - before_K[i]) * ratio
            far_K = max(far_K, abs(temp_K[i] - straight_K))
            hottest_K = max(hottest_K, temp_K[i])
            over_J += max(heat_J[i] - solid_J[i], 0.0)
        for i in range(part, len(heat_J), parts):
            all_J += heat_J[i]
        seen[part, 0] = far_K
        seen[part, 1] = hottest_K
        seen[part, 2] = over_J
        seen[part, 3] = all_J


def look(heat_J, temp_K, begun_K, before_K, ratio, solid_J):
    """Look over the nodes after a step; the first ``len(solid_J)`` are metal."""
    seen = empty((PARTS, 4), np.float64)
    spread(_look, PARTS, heat_J, temp_K, begun_K, before_K, float(ratio), solid_J, seen)
    found = fetch(seen)
    return found[:, 0].max(), found[:, 1].max(), found[:, 2].sum(), found[:, 3].sum()
