"""The fields of a filled flask, as they are kept: when and how warm the metal came to each cube."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.results import Fate
from pourwright.simulate.job import StartField
from pourwright.simulate.throw_run import ThrowRun, ThrowSamples

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FillFields:
    """What is known of each cube; places in the frame of the flask. All arrays (n,) unless given.

    Parameters
    ----------
    side_mm : float
        Side of a cube [mm].
    centre_mm : array, shape (n, 3)
        Middles [mm].
    tank : array of int
        0 for button and sprue, then the pieces in their order, each with its gate.
    arrival_s, arrival_K, solid_frac, misrun_ratio : array
        As in :class:`~pourwright.physics.fill.results.FillResult` [s, K].
    fate : array of int
        A :class:`~pourwright.physics.fill.results.Fate` for each.
    fills_frac : array
        Share of the runs over the ranges in which it filled; NaN without runs.
    """

    side_mm: float
    centre_mm: Floats
    tank: NDArray[np.int32]
    arrival_s: Floats
    arrival_K: Floats
    solid_frac: Floats
    misrun_ratio: Floats
    fate: NDArray[np.uint8]
    fills_frac: Floats

    @property
    def filled(self) -> NDArray[np.bool_]:
        """Whether each filled at the best values."""
        return np.asarray(self.fate == Fate.FILLED)


def fields_of(run: ThrowRun, samples: ThrowSamples | None) -> FillFields:
    """Return the fields of a run, with what runs over the ranges say beside them."""
    result, voxels = run.result, run.job.hollow.voxels
    known = samples is not None and len(samples.cases) > 0
    return FillFields(
        side_mm=voxels.side_mm,
        centre_mm=voxels.centre_mm,
        tank=run.job.hollow.cavity.tank,
        arrival_s=result.arrival_s,
        arrival_K=result.arrival_K,
        solid_frac=result.solid_frac,
        misrun_ratio=result.misrun_ratio,
        fate=result.fate,
        fills_frac=samples.fills_frac if samples is not None and known else np.full(len(result.fate), np.nan),
    )


def start_of(kept: FillFields, pour_K: float) -> StartField | None:
    """Return how warm the metal came to each place, for a freezing run; None where none came.

    Places that did not fill are given the metal of the nearest one that did: a freezing run takes the mould for full.

    Parameters
    ----------
    kept : FillFields
        Of the filling.
    pour_K : float
        What was poured at [K].
    """
    known = kept.filled & np.isfinite(kept.arrival_K)
    if not known.any():
        return None
    return StartField(kept.centre_mm[known], kept.arrival_K[known], pour_K)
