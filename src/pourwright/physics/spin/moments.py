"""Moments of a throw: when the metal leaves the crucible, and until when the arm still holds it out."""

from __future__ import annotations

from math import nan, tan

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.spin.body_force import force_along_m_s2, outer_speed_rad_s, pull_along_gee
from pourwright.physics.spin.head import STANDARD_GRAVITY_M_S2
from pourwright.physics.spin.history import ThrowHistory


def runs_at_s(throw: ThrowHistory, crucible_beyond_m: float, lip_rad: float) -> float:
    """Return when the metal runs out of the crucible: the push along the arm tilts its surface over the lip.

    Parameters
    ----------
    throw : ThrowHistory
        Of n moments.
    crucible_beyond_m : float
        Middle of the crucible beyond the hinge [m].
    lip_rad : float
        Slope of the lip that holds the metal [rad].

    Returns
    -------
    float
        Time since release [s]; NaN if the arm never gets there.
    """
    tilts = force_along_m_s2(throw, crucible_beyond_m) > STANDARD_GRAVITY_M_S2 * tan(lip_rad)
    return _first_s(throw, tilts)


def coasts_until_s(throw: ThrowHistory, pull_gee: float, radius_m: float) -> float:
    """Return until when the straight arm pulls with so many times gravity at a radius [m].

    Returns
    -------
    float
        Time since release [s]; NaN if the pull never gets there, the end of the history if it is still there then.
    """
    pulls = outer_speed_rad_s(throw) ** 2 * radius_m >= pull_gee * STANDARD_GRAVITY_M_S2
    return float(throw.time_s[np.flatnonzero(pulls)[-1]]) if pulls.any() else nan


def pull_at_gee(throw: ThrowHistory, beyond_m: float, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the force along the arm at a place [m beyond the hinge], in multiples of gravity, at times [s]."""
    return np.interp(time_s, throw.time_s, pull_along_gee(throw, beyond_m))


def _first_s(throw: ThrowHistory, where: NDArray[np.bool_]) -> float:
    return float(throw.time_s[np.argmax(where)]) if where.any() else nan
