"""Which further reading would narrow the peak speed most, and whether what was read is of one piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, sqrt
from typing import Any

import numpy as np

from pourwright.physics.spin.fitting import (
    NINETY,
    SWING_FRAC,
    ArmFit,
    added_information,
    arm_information,
    log_peak_variance,
)
from pourwright.physics.spin.readings import (
    ArmPart,
    ArmReadings,
    EmptySpin,
    PullReading,
    SpeedReading,
    weighed_inertia_kg_m2,
    weighed_sigma_kg_m2,
)
from pourwright.physics.spin.run_up import net_energy_J, peak_rad_s, running_down_rad_s

# How well a further video tells a speed, the times at which a run-down would be read, and the radius of a further pull.
_VIDEO_FRAC, _COAST_S, _HOOK_M = 0.008, (0.0, 5.0, 10.0, 20.0, 30.0), 0.2
_HALF_TURNS = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0)
_ONE_CURVE_AT_LEAST = 0.01


@dataclass(frozen=True)
class NextReading:
    """A further reading: ``what`` is pulls, weights, spin or coast; and the range of the peak with it, ± a share."""

    what: str
    turns_turns: float
    peak_now_frac: float
    peak_then_frac: float


def next_readings(fit: ArmFit, turns: Sequence[float]) -> list[NextReading]:
    """Return further readings, the one first that narrows the peak speed most.

    Parameters
    ----------
    fit : ArmFit
        What is known now.
    turns : sequence of float
        Windings that matter [turn]; their ranges count alike.

    Returns
    -------
    list of NextReading
        Nothing in it is fixed: the order comes from the covariance now and the derivatives of each reading.
    """
    known = arm_information(fit)
    now = _range_frac(fit, np.linalg.inv(known), turns)
    found = []
    for what, wound, more in _candidates(fit, turns):
        then = np.linalg.inv(known + added_information(fit, more))
        found.append(NextReading(what, wound, now, _range_frac(fit, then, turns)))
    return sorted(found, key=lambda one: one.peak_then_frac)


def _range_frac(fit: ArmFit, covariance: Any, turns: Sequence[float]) -> float:
    """Return the ninety per cent range of the peak speed as a share of it, root mean square over windings."""
    variance = sum(log_peak_variance(fit, covariance, one) for one in turns) / len(turns)
    return exp(NINETY * sqrt(variance)) - 1


def _candidates(fit: ArmFit, turns: Sequence[float]) -> list[tuple[str, float, ArmReadings]]:
    arm, readings = fit.arm, fit.readings
    bare = replace(readings, parts=(), spins=(), pulls=())
    hooked = replace(bare, pull_radius_m=readings.pull_radius_m or _HOOK_M)
    pulls = tuple(PullReading(one, 1.0, 1.0) for one in _HALF_TURNS)
    equal = ArmPart(1.0, sqrt(arm.inertia_kg_m2))
    found = [("pulls", 0.0, replace(hooked, pulls=pulls)), ("weights", 0.0, replace(bare, parts=(equal,)))]
    for wound in turns:
        top = peak_rad_s(arm, wound)
        peak = SpeedReading(0.0, top, _VIDEO_FRAC * top)
        found.append(("spin", wound, replace(bare, spins=(EmptySpin(wound, peak),))))
    wound = turns[-1]
    speeds = running_down_rad_s(arm, peak_rad_s(arm, wound), np.array(_COAST_S))
    coast = tuple(
        SpeedReading(at, float(now), _VIDEO_FRAC * float(now)) for at, now in zip(_COAST_S, speeds, strict=True) if now
    )
    found.append(("coast", wound, replace(bare, spins=(EmptySpin(wound, coast=coast),))))
    return found


@dataclass(frozen=True)
class EnergyCheck:
    """Inertia by energy against inertia by weights.

    Parameters
    ----------
    energy_kg_m2, weights_kg_m2 : float
        Twice the energy left over the square of the speed, and by masses and radii [kg*m**2].
    apart_ratio : float
        How far apart they are in standard errors of the difference.
    """

    energy_kg_m2: float
    weights_kg_m2: float
    apart_ratio: float


def energy_check(fit: ArmFit, without_weights: ArmFit) -> EnergyCheck | None:
    """Hold the inertia by energy against that by weights; None unless both were measured.

    Parameters
    ----------
    fit, without_weights : ArmFit
        To all readings, and to all but the weights: only so are the two independent.
    """
    if not fit.readings.parts or not any(one.peak for one in fit.readings.spins):
        return None
    if not without_weights.is_measured("inertia_kg_m2"):
        return None
    by_energy, weighed = without_weights.interval("inertia_kg_m2"), weighed_inertia_kg_m2(fit.readings)
    sigma = sqrt(((by_energy.high - by_energy.low) / (2 * NINETY)) ** 2 + weighed_sigma_kg_m2(fit.readings) ** 2)
    return EnergyCheck(by_energy.best, weighed, abs(by_energy.best - weighed) / sigma)


@dataclass(frozen=True)
class OneCurve:
    """Whether peak over the root of the energy is the same at all windings: ``worst_turns`` is furthest off it."""

    holds: bool
    worst_turns: float
    worst_frac: float


def one_curve(fit: ArmFit) -> OneCurve | None:
    """Hold the peaks of several windings against one curve, speed against the root of twice the energy over inertia.

    Only the shape is asked, not the height: the common ratio is free. None with fewer than two windings.
    """
    from scipy.stats import chi2

    peaks = [(one, one.peak) for one in fit.readings.spins if one.peak]
    if len({one.turns_turns for one, _ in peaks}) < 2:
        return None
    modelled = [sqrt(2 * net_energy_J(fit.arm, one.turns_turns) / fit.arm.inertia_kg_m2) for one, _ in peaks]
    ratios = np.array([peak.speed_rad_s / now for (_, peak), now in zip(peaks, modelled, strict=True)])
    read = np.array([peak.sigma_rad_s / now for (_, peak), now in zip(peaks, modelled, strict=True)])
    sigmas = np.hypot(read, SWING_FRAC)
    common = np.average(ratios, weights=1 / sigmas**2)
    off = (ratios - common) / sigmas
    worst = int(np.argmax(np.abs(off)))
    holds = bool(chi2.sf(off @ off, len(off) - 1) >= _ONE_CURVE_AT_LEAST)
    return OneCurve(holds, peaks[worst][0].turns_turns, float(ratios[worst] / common - 1))
