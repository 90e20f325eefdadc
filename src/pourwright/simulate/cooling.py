"""When the flask has cooled to a limit, read off the histories of a run."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.results import Histories


@dataclass(frozen=True)
class QuenchLimits:
    """Temperatures that the quench goes by [K].

    Parameters
    ----------
    black_K : float
        The last red of the button's face is gone in daylight.
    hottest_K, coolest_K : float
        The hottest metal must be below the first when the flask goes into the water, and above the second for the
        mould still to burst off.
    """

    black_K: float
    hottest_K: float
    coolest_K: float


@dataclass(frozen=True)
class CoolingTimes:
    """Times from the pour; not a number where the run was not followed so far.

    Parameters
    ----------
    black_heat_s : float
        The button's bare face is at black heat [s].
    quench_from_s, quench_to_s : float
        The hottest metal is below the hottest, and at the coolest, temperature for the quench [s].
    """

    black_heat_s: float
    quench_from_s: float
    quench_to_s: float


def cooling_times(histories: Histories, limits: QuenchLimits) -> CoolingTimes:
    """Read black heat and the quench window off a run that was followed into the cooling."""
    return CoolingTimes(
        falls_below_s(histories.time_s, histories.button_skin_K, limits.black_K),
        falls_below_s(histories.time_s, histories.hottest_metal_K, limits.hottest_K),
        falls_below_s(histories.time_s, histories.hottest_metal_K, limits.coolest_K),
    )


def falls_below_s(time_s: NDArray[np.float64], temp_K: NDArray[np.float64], limit_K: float) -> float:
    """Return when a temperature falls below a limit for good [s], straight between its entries; nan if it does not.

    Parameters
    ----------
    time_s, temp_K : array, shape (t,)
        The history [s, K]; entries that are not a number are passed over.
    limit_K : float
        The limit [K].
    """
    known = np.isfinite(temp_K)
    time_s, temp_K = time_s[known], temp_K[known]
    above = np.flatnonzero(temp_K >= limit_K)
    if not len(temp_K) or (len(above) and above[-1] == len(temp_K) - 1):
        return nan
    if not len(above):
        return float(time_s[0])
    last = int(above[-1])
    share = (temp_K[last] - limit_K) / (temp_K[last] - temp_K[last + 1])
    return float(time_s[last] + share * (time_s[last + 1] - time_s[last]))
