"""Fits an arm to what was measured of it: the most likely parameters and how far they may be off.

Readings weigh by their standard errors; what no reading speaks of keeps a broad range of ours. Positive quantities are
fitted by their logarithm. Near the best values the model is taken as straight, which gives the covariance of all
parameters at once; intervals hold the true value nine times in ten (tests/verification/test_machine_fit.py counts).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.interval import Interval
from pourwright.physics.spin.readings import ArmReadings, EmptySpin, weighed_inertia_kg_m2, weighed_sigma_kg_m2
from pourwright.physics.spin.run_up import RunUp, peak_rad_s, running_down_rad_s
from pourwright.physics.spin.spring import torque_Nm

Mixed = NDArray[Any]  # of mixed units: parameters, or residuals in standard errors

NINETY = 1.6449  # standard deviations on either side that hold nine tenths of a normal distribution
_MEASURED_FRAC = 0.5  # a parameter counts as measured once readings halve the range it had before
_AGREE_AT_LEAST = 0.01  # readings less likely than this disagree with one another
# How far a peak may be from the energy's, because the outer part still swings when the spring lets go; seen by
# following the two bodies in time.
SWING_FRAC = 0.005
_STEP = 1e-4  # of derivatives, in logarithms and shares
_SPEED_FRICTION_SIGMA = 0.45  # in the logarithm: a factor of two at ninety per cent


@dataclass(frozen=True)
class Prior:
    """What a parameter may be before anything is measured: best value and one standard deviation, in its own unit.

    ``logged``: the deviation is of the natural logarithm.
    """

    unit: str
    best: Any
    sigma: Any
    logged: bool


# Small spring-wound arms as we imagine them: our judgement, no source. The blow is what the two bodies in time lose.
PRIORS: Mapping[str, Prior] = {
    "torque_start_Nm": Prior("Nm", 1.0, 1.0, logged=False),
    "torque_rate_Nm_turn": Prior("Nm_turn", 1.6, log(2.5), logged=True),
    "friction_frac": Prior("frac", 0.12, 0.06, logged=False),
    "inertia_kg_m2": Prior("kg_m2", 0.15, log(2.5), logged=True),
    "dry_Nm": Prior("Nm", 0.06, log(2.5), logged=True),
    "air_Nms2": Prior("Nms2", 6e-5, log(2.5), logged=True),
    "viscous_Nms": Prior("Nms", 5e-4, log(6), logged=True),
    "blow_frac": Prior("frac", 0.02, 0.01, logged=False),
}
_ARM = tuple(PRIORS)
_WITHOUT_SPEED_FRICTION = tuple(name for name in _ARM if name != "viscous_Nms")


@dataclass(frozen=True)
class ArmFit:
    """An arm as the readings have it.

    Parameters
    ----------
    readings : ArmReadings
        What it was fitted to.
    names : tuple of str
        Fitted parameters; positive ones stand as logarithms in what follows, a tape's error and start speeds follow.
    centre, covariance : array
        Most likely values, and their covariance.
    residuals : array
        Readings less model, in standard errors.
    misfit_ratio : float
        By how much standard errors were widened because the readings disagree; 1 if they agree.
    """

    readings: ArmReadings
    names: tuple[str, ...]
    centre: Mixed
    covariance: Mixed
    residuals: Mixed
    misfit_ratio: float

    @property
    def arm(self) -> RunUp:
        """The most likely arm."""
        return arm_at(self.names, self.centre)

    def interval(self, name: str) -> Interval:
        """Return a parameter with its range of ninety per cent, in the unit of its prior."""
        spot = self.names.index(name)
        best, reach = float(self.centre[spot]), NINETY * sqrt(self.covariance[spot, spot])
        prior = PRIORS[name]
        ends = (best - reach, best, best + reach)
        low, best, high = (exp(one) for one in ends) if prior.logged else (max(0.0, one) for one in ends)
        return Interval(low, best, high, prior.unit, kind="derived")

    def is_measured(self, name: str) -> bool:
        """Return whether the readings narrowed a parameter to half of what it was before."""
        spot = self.names.index(name) if name in self.names else -1
        return spot >= 0 and sqrt(self.covariance[spot, spot]) < _MEASURED_FRAC * PRIORS[name].sigma

    def peak(self, turns_turns: float) -> Interval:
        """Return the speed at the end of a winding [turn] with its range of ninety per cent [rad/s]."""
        best = peak_rad_s(self.arm, turns_turns)
        reach = NINETY * sqrt(log_peak_variance(self, self.covariance, turns_turns))
        return Interval(best * exp(-reach), best, best * exp(reach), "rad_s", kind="derived")


def fit_arm(readings: ArmReadings) -> ArmFit:
    """Fit an arm to readings.

    Friction that rises with the speed is kept only if the readings can tell it from the other two.

    Parameters
    ----------
    readings : ArmReadings
        Of at least one kind.

    Raises
    ------
    ValueError
        Nothing was measured, or the fit does not settle.
    """
    if any(len(one.coast) > 2 for one in readings.spins):
        whole = _fitted(readings, _ARM)
        spot = whole.names.index("viscous_Nms")
        if sqrt(whole.covariance[spot, spot]) < _SPEED_FRICTION_SIGMA:
            return whole
    return _fitted(readings, _WITHOUT_SPEED_FRICTION)


def _fitted(readings: ArmReadings, names: tuple[str, ...]) -> ArmFit:
    from scipy.optimize import least_squares
    from scipy.stats import chi2

    start = np.array([_inside(name, PRIORS[name].best) for name in names] + [0.0] + _start_speeds(readings))

    def whole(at: Mixed) -> Mixed:
        return _all(readings, names, at)

    found = least_squares(whole, start, x_scale="jac", xtol=1e-6, ftol=1e-6)
    if not found.success:
        raise ValueError(f"the fit does not settle: {found.message}")
    slopes = np.asarray(found.jac)
    covariance = np.linalg.inv(slopes.T @ slopes)
    of_readings = residuals(readings, names, found.x)
    if not len(of_readings):
        raise ValueError("nothing was measured")
    square, free = float(found.fun @ found.fun), max(1, len(of_readings) - len(_start_speeds(readings)))
    misfit = sqrt(square / free) if chi2.sf(square, free) < _AGREE_AT_LEAST else 1.0
    return ArmFit(readings, names, found.x, covariance * misfit**2, of_readings, misfit)


def arm_at(names: Sequence[str], at: Mixed) -> RunUp:
    """Return the arm at a point of the fit."""
    values = {
        name: exp(one) if PRIORS[name].logged else float(one) for name, one in zip(names, at[: len(names)], strict=True)
    }
    return RunUp(**values)


def _inside(name: str, value: Any) -> float:
    """Return a parameter as it stands in the fit, a logarithm [dimensionless] or itself [dimensionless]."""
    return log(value) if PRIORS[name].logged else float(value)


def _start_speeds(readings: ArmReadings) -> list[float]:
    """Return the logarithm of each run-down's first speed, from which its fit sets out."""
    return [log(one.coast[0].speed_rad_s) for one in readings.spins if one.coast]


def _all(readings: ArmReadings, names: tuple[str, ...], at: Mixed) -> Mixed:
    """Return the residuals of readings and priors in standard errors."""
    priors = [(at[spot] - _inside(name, PRIORS[name].best)) / PRIORS[name].sigma for spot, name in enumerate(names)]
    return np.concatenate([residuals(readings, names, at), priors, [at[len(names)]]])


def residuals(readings: ArmReadings, names: Sequence[str], at: Mixed) -> Mixed:
    """Return readings less model, each in its standard error: pulls, weights, peaks, then run-downs.

    Parameters
    ----------
    readings : ArmReadings
        What is asked.
    names, at
        Parameters and the point of the fit; after them the tape's error at the scale's hook in standard errors, then
        the logarithm of each run-down's start speed.
    """
    arm, tape = arm_at(names, at), float(at[len(names)])
    found = _pulls(readings, arm, tape)
    if readings.parts:
        off = weighed_inertia_kg_m2(readings) - arm.inertia_kg_m2
        found.append(off / weighed_sigma_kg_m2(readings))
    for one in readings.spins:
        if one.peak:
            modelled = peak_rad_s(arm, one.turns_turns)
            sigma = sqrt(one.peak.sigma_rad_s**2 + (SWING_FRAC * modelled) ** 2)
            found.append((one.peak.speed_rad_s - modelled) / sigma)
    starts = iter(at[len(names) + 1 :])
    for one in readings.spins:
        if one.coast:
            found += _run_down(one, arm, exp(next(starts)))
    return np.array(found)


def _pulls(readings: ArmReadings, arm: RunUp, tape: float) -> list[float]:
    errors, radius_m = readings.errors, readings.pull_radius_m
    if radius_m is None:
        return []
    radius_m += tape * errors.radius_m
    found = []
    for one in readings.pulls:
        torque = torque_Nm(arm.torque_start_Nm, arm.torque_rate_Nm_turn, one.turns_turns)
        for pull_N, side in ((one.winding_N, 1), (one.easing_N, -1)):
            if pull_N is not None:
                sigma_N = sqrt(errors.pull_N**2 + (errors.pull_frac * pull_N) ** 2)
                found.append((pull_N - torque * (1 + side * arm.friction_frac) / radius_m) / sigma_N)
    return found


def _run_down(spin: EmptySpin, arm: RunUp, start_rad_s: float) -> list[float]:
    first_s = spin.coast[0].time_s
    modelled = running_down_rad_s(arm, start_rad_s, np.array([one.time_s - first_s for one in spin.coast]))
    return [(one.speed_rad_s - now) / one.sigma_rad_s for one, now in zip(spin.coast, modelled, strict=True)]


def log_peak_variance(fit: ArmFit, covariance: Mixed, turns_turns: float) -> float:
    """Return the variance of the logarithm of the peak speed [dimensionless] after a winding [turn], swing included."""
    count = len(fit.names)
    slope = _slopes(lambda at: np.array([log(peak_rad_s(arm_at(fit.names, at), turns_turns))]), fit.centre[:count])[0]
    return float(slope @ covariance[:count, :count] @ slope) + SWING_FRAC**2


def arm_information(fit: ArmFit) -> Mixed:
    """Return the inverse of the covariance of the arm's parameters and the tape, start speeds left to themselves."""
    head = len(fit.names) + 1
    return np.linalg.inv(fit.covariance[:head, :head])


def added_information(fit: ArmFit, more: ArmReadings) -> Mixed:
    """Return what further readings would add to :func:`arm_information`; their values do not matter."""
    head = len(fit.names) + 1
    point = np.concatenate([fit.centre[:head], _start_speeds(more)])
    slopes = _slopes(lambda at: residuals(more, fit.names, at), point)
    whole = slopes.T @ slopes
    arm, own, both = whole[:head, :head], whole[head:, head:], whole[:head, head:]
    return np.asarray(arm - both @ np.linalg.solve(own, both.T)) if len(own) else np.asarray(arm)


def _slopes(model: Callable[[Mixed], Mixed], at: Mixed) -> Mixed:
    """Return the derivatives of a model by every coordinate, by central differences; shape (answers, coordinates)."""
    steps = _STEP * np.eye(len(at))
    return np.stack([(model(at + step) - model(at - step)) / (2 * _STEP) for step in steps], axis=1)
