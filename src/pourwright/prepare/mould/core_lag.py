"""How far the core of a flask lags behind its kiln: conduction in an infinite cylinder, summed to the end."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pourwright.core.figure import Figure, from_interval, given, reckon
from pourwright.matter.moulds import mould
from pourwright.prepare.mould.results import CoreLag

# Terms of the series: enough for the first thousandth of the diffusion time, long before the core feels anything.
_TERMS = 120
_NOTHING_YET = 1e-3
_ZERO_CELSIUS_K = 273.15
WITHIN_K = 10.0


@lru_cache(maxsize=1)
def _modes() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the zeros of J0 and the weight of each mode at the axis, both without unit."""
    from scipy.special import j1, jn_zeros

    zeros = jn_zeros(0, _TERMS)
    return zeros, 2.0 / (zeros * j1(zeros))


def core_excess_ratio(time_ratio: float) -> float:
    """Return what is left of a step at the axis of a cylinder: 1 at first, 0 in the end.

    Parameters
    ----------
    time_ratio : float
        Diffusivity times time over radius squared, at least 0.001 for the series to have converged.

    Returns
    -------
    float
        Temperature of the core above the new surface temperature, over the step; ``core_excess_ratio`` has no unit.
    """
    zeros, weights = _modes()
    return float(np.sum(weights * np.exp(-(zeros**2) * time_ratio)))


def core_lag_s(diameter_mm: float, diffusivity_mm2_s: float, step_K: float, within_K: float = WITHIN_K) -> float:
    """Return how long the core needs to follow a sudden step of the surface.

    Parameters
    ----------
    diameter_mm : float
        Diameter of the mould [mm].
    diffusivity_mm2_s : float
        Of the burned-out mould [mm**2/s].
    step_K : float
        Size of the step, up or down [K].
    within_K : float
        How near the core must come [K].

    Returns
    -------
    float
        Time [s]; 0 when the step is within the band already.

    Notes
    -----
    Infinite cylinder, uniform to begin with, surface at the new temperature at once: the kiln's slower fall and the
    flask's ends both make the true lag after the fall shorter. Series in Bessel functions of order zero.
    """
    from scipy.optimize import brentq

    target = within_K / abs(step_K) if step_K else math.inf
    if target >= 1 - 1e-9:
        return 0.0
    zeros, weights = _modes()
    one_term = math.log(weights[0] / target) / zeros[0] ** 2
    time_ratio = brentq(lambda t: core_excess_ratio(t) - target, _NOTHING_YET, max(one_term, 0.0) + 0.01, xtol=1e-10)
    return float(time_ratio) * (diameter_mm / 2) ** 2 / diffusivity_mm2_s


def mould_diffusivity(material: str, temp_C: float) -> Figure:
    """Return the diffusivity of a burned-out mould at a temperature [degC], from the tables, in mm2/s."""
    interval = mould(material).diffusivity_m2_s(temp_C + _ZERO_CELSIUS_K).scaled(1e6, "mm2_s")
    return from_interval(interval, "mm2_s", f"moulds.toml {material} diffusivity")


def core_lag(flask: str, diameter_mm: Figure, diffusivity_mm2_s: Figure, from_C: Figure, to_C: Figure) -> CoreLag:
    """Return a flask's core lag for a step of the kiln, with the range that the mould's properties leave.

    Parameters
    ----------
    flask : str
        Id of the flask's load.
    diameter_mm : Figure
        Inside diameter [mm].
    diffusivity_mm2_s : Figure
        Of the burned-out mould [mm**2/s].
    from_C, to_C : Figure
        Kiln before and after the step [degC].
    """
    lag = reckon(
        "min",
        "prepare.how-core-lag",
        lambda diameter_mm, diffusivity_mm2_s, from_C, to_C, within_K: (
            core_lag_s(diameter_mm, diffusivity_mm2_s, from_C - to_C, within_K) / 60
        ),
        {
            "diameter_mm": diameter_mm,
            "diffusivity_mm2_s": diffusivity_mm2_s,
            "from_C": from_C,
            "to_C": to_C,
            "within_K": given(WITHIN_K, "K", "", sources=("none",), how="prepare.assumed-within"),
        },
        ("derived",),
    )
    return CoreLag(flask, lag)


def core_curve_C(
    at_min: NDArray[np.float64], kiln_C: NDArray[np.float64], diameter_mm: float, diffusivity_mm2_s: float
) -> NDArray[np.float64]:
    """Return the core temperature of a flask while its kiln follows a line of straight pieces.

    Parameters
    ----------
    at_min : array, shape (n,)
        Rising times of the kiln's points [minute].
    kiln_C : array, shape (n,)
        Kiln temperature at those times [degC]; straight between them; the core starts at the first.
    diameter_mm : float
        Diameter of the mould [mm].
    diffusivity_mm2_s : float
        Of the burned-out mould [mm**2/s].

    Returns
    -------
    array, shape (n,)
        Core temperature [degC], exact for conduction; water boiling out of a fresh mould is not in it.
    """
    zeros, weights = _modes()
    decay_s = zeros**2 * diffusivity_mm2_s / (diameter_mm / 2) ** 2
    lagging_K = np.zeros_like(zeros)
    core_C = np.array(kiln_C, dtype=np.float64)
    for row in range(1, len(core_C)):
        span_s = 60.0 * (at_min[row] - at_min[row - 1])
        rise_K = kiln_C[row] - kiln_C[row - 1]
        left = np.exp(-decay_s * span_s)
        rate_K_s = rise_K / span_s if span_s > 0 else 0.0
        lagging_K = lagging_K * left - weights * rate_K_s * (1 - left) / decay_s
        core_C[row] += lagging_K.sum()
    return core_C
