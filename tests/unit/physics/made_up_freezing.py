"""Freezing results made up from a field of times, so that basins, necks and volumes are known exactly."""

from __future__ import annotations

import numpy as np

from pourwright.physics.freeze.results import Effort, FreezeResult, HeatBook, Histories

SIDE_M = 1e-3


def frozen(times_s, mushy_s=0.2, critical_frac=0.7, gradient_K_m=None, rate_K_s=None) -> FreezeResult:
    """Return a result on cubes of a millimetre: ``times_s`` (nx, ny, nz) is when each reached its critical share of
    solid, not a number where there is no metal; from liquidus to solid each takes ``mushy_s``, evenly."""
    times_s = np.asarray(times_s, dtype=float)
    cell = np.argwhere(np.isfinite(times_s)).astype(np.int32)
    critical_s = times_s[np.isfinite(times_s)]
    count = len(cell)
    nothing = np.zeros((1,))
    return FreezeResult(
        cell=cell,
        centre_m=(cell + 0.5) * SIDE_M,
        metal_m3=np.full(count, SIDE_M**3),
        liquidus_s=critical_s - critical_frac * mushy_s,
        critical_s=critical_s,
        freeze_s=critical_s + (1 - critical_frac) * mushy_s,
        gradient_K_m=np.full(count, 1000.0) if gradient_K_m is None else np.asarray(gradient_K_m, dtype=float),
        rate_K_s=np.full(count, 1.0) if rate_K_s is None else np.asarray(rate_K_s, dtype=float),
        solid_at_last_frac=np.ones(count),
        temp_K=np.full(count, 900.0),
        last_solid_s=float(critical_s.max() + (1 - critical_frac) * mushy_s),
        histories=Histories(nothing, np.zeros((1, 0)), nothing, nothing, nothing, nothing),
        heat=HeatBook(1.0, 0.5, 0.5, 1.0),
        cooling_heat=None,
        effort=Effort(times_s.size, count, 1, 1, 1, 1, 1, 0.0),
        finished=True,
    )


def row(*times_s, **settings) -> FreezeResult:
    """Return a row of cubes; the first is where the button would be."""
    return frozen(np.array(times_s)[:, None, None], **settings)


def button_first(result: FreezeResult) -> np.ndarray:
    """Return the feeder of a row: its first cube."""
    return result.cell[:, 0] == 0
