"""What a throw does to the shaft, and where the weight keeps it steadiest.

The force on the shaft is the second derivative of mass times place, summed over all that turns. At a steady speed that
is the unanswered moment times the speed squared, with the arm straight or held in its fold. While the arm swings out,
the swing itself pulls as well, several times as hard, and hardly any mark changes that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.spin.body_force import outer_speed_rad_s
from pourwright.physics.spin.history import ThrowHistory

Floats = NDArray[np.float64]

_STRAIGHT_RAD, _STILL_RAD_S = 1e-6, 1e-9
_MARK_ATOL_M = 1e-7
_REACH_M = 0.5


@dataclass(frozen=True)
class ArmMoments:
    """Mass times distance of what turns, positive on the flask's side.

    Parameters
    ----------
    inner_kgm : float
        Inner arm without its weight, and the outer part's mass at the hinge, about the shaft [kg*m].
    outer_kgm : array, shape (n,)
        Outer part about the hinge at each moment [kg*m]; it jumps when the metal runs.
    weight_kg : float
        The weight that answers them [kg].
    """

    inner_kgm: float
    outer_kgm: Floats
    weight_kg: float


@dataclass(frozen=True)
class SteadyMark:
    """Where the weight keeps the shaft steadiest.

    Parameters
    ----------
    mark_m : float
        From the shaft [m].
    throw_N, run_N : float
        With it, the largest unanswered moment times speed squared over the whole throw, folded as the arm is, and once
        it stays straight [N].
    least_N : float
        The least that any mark could bring the first of them to [N].
    swing_N : float
        With it, the largest force on the shaft, the swing's own pull with it [N].
    """

    mark_m: float
    throw_N: float
    run_N: float
    least_N: float
    swing_N: float


def throw_force_N(throw: ThrowHistory, moments: ArmMoments, mark_m: float) -> Floats:
    """Return the force on the shaft at each moment of a throw with the weight at a mark [m].

    Returns
    -------
    array, shape (n,)
        Force [N]; it turns with the arm. Blows on the stops, which last a moment, are not in it.
    """
    inner = (moments.inner_kgm - moments.weight_kg * mark_m) * (1j * throw.speedup_rad_s2 - throw.speed_rad_s**2)
    turning = 1j * (throw.speedup_rad_s2 + throw.hinge_rad_s2) - outer_speed_rad_s(throw) ** 2
    return np.asarray(np.abs(inner + moments.outer_kgm * np.exp(1j * throw.hinge_rad) * turning))


def unbalance_force_N(throw: ThrowHistory, moments: ArmMoments, mark_m: float) -> Floats:
    """Return the unanswered moment of the arm, folded as it is, times its speed squared at each moment [N], shape (n,).

    The force of :func:`throw_force_N` without what the swing and the speeding up add; the mark [m] can answer this.
    """
    left_kgm = moments.inner_kgm - moments.weight_kg * mark_m + moments.outer_kgm * np.exp(1j * throw.hinge_rad)
    return np.asarray(np.abs(left_kgm) * throw.speed_rad_s**2)


def stays_straight(throw: ThrowHistory) -> NDArray[np.bool_]:
    """Return at which moments the arm is straight and stays so, shape (n,)."""
    folded = np.flatnonzero((throw.hinge_rad < -_STRAIGHT_RAD) | (np.abs(throw.hinge_rad_s) > _STILL_RAD_S))
    last = int(folded[-1]) if len(folded) else -1
    return np.arange(len(throw.time_s)) > last


def steadiest_mark(throw: ThrowHistory, moments: ArmMoments, spare_frac: float, spare_N: float) -> SteadyMark:
    """Return the mark that keeps the shaft steadiest.

    Folded, the outer part pulls sideways, which no weight can answer. The mark keeps the largest unanswered moment
    times speed squared of the whole throw near the least that any mark could reach, and within that makes the straight
    run as still as can be: that run lasts a minute, the fold a third of a second.

    Parameters
    ----------
    throw : ThrowHistory
        Of n moments.
    moments : ArmMoments
        Of what turns.
    spare_frac, spare_N : float
        How near: the larger of a share of the least force and a force [N].

    Returns
    -------
    SteadyMark
        Both forces are convex in the mark, so a bounded search finds them.
    """
    straight = stays_straight(throw)

    def largest_N(mark_m: float) -> float:
        return float(unbalance_force_N(throw, moments, mark_m).max())

    def run_N(mark_m: float) -> float:
        return float(unbalance_force_N(throw, moments, mark_m)[straight].max(initial=0.0))

    middle_m = (moments.inner_kgm + float(moments.outer_kgm[-1])) / moments.weight_kg
    low_m, high_m = middle_m - _REACH_M, middle_m + _REACH_M
    best_m = _least(largest_N, low_m, high_m)
    least_N = largest_N(best_m)
    allowed_N = least_N + max(spare_frac * least_N, spare_N)
    near_m = _edge(largest_N, allowed_N, best_m, low_m)
    far_m = _edge(largest_N, allowed_N, best_m, high_m)
    mark_m = _least(run_N, near_m, far_m) if straight.any() else best_m
    swing_N = float(throw_force_N(throw, moments, mark_m).max())
    return SteadyMark(mark_m, largest_N(mark_m), run_N(mark_m), least_N, swing_N)


def _least(force: Callable[[float], float], low_m: float, high_m: float) -> float:
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(force, bounds=(low_m, high_m), method="bounded", options={"xatol": _MARK_ATOL_M})
    return float(found.x)


def _edge(force: Callable[[float], float], allowed_N: float, inside_m: float, end_m: float) -> float:
    """Return how far towards an end a convex force stays allowed."""
    from scipy.optimize import brentq

    if force(end_m) <= allowed_N:
        return end_m
    return float(brentq(lambda mark_m: force(mark_m) - allowed_N, inside_m, end_m, xtol=_MARK_ATOL_M))
