"""What the metal feels on the hinged arm: the force along and across the outer part, and the head it builds up.

In the frame that turns with the outer part, a place at a distance beyond the hinge feels the hinge's own motion (along
the inner arm, and across it while the arm speeds up) and the turning of the outer part itself. All forces are per mass,
as accelerations; what is called "along" is outward, from the hinge to the flask.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.spin.head import STANDARD_GRAVITY_M_S2
from pourwright.physics.spin.history import ThrowHistory

Floats = NDArray[np.float64]


def force_along_m_s2(throw: ThrowHistory, beyond_m: float | Floats) -> Floats:
    """Return the force per mass on metal at rest on the outer part, outward along it.

    Parameters
    ----------
    throw : ThrowHistory
        Of n moments.
    beyond_m : float or array, shape (m, 1)
        Distance beyond the hinge [m]; a column of places gives a row for each.

    Returns
    -------
    array, shape (n,) or (m, n)
        Force per mass [m/s**2] at each moment of the throw.
    """
    return hinge_force_m_s2(throw) + beyond_m * outer_speed_rad_s(throw) ** 2


def force_across_m_s2(throw: ThrowHistory, beyond_m: float | Floats) -> Floats:
    """Return the force per mass on metal at rest on the outer part, across it in the plane of turning.

    Parameters
    ----------
    throw : ThrowHistory
        Of n moments.
    beyond_m : float or array, shape (m, 1)
        Distance beyond the hinge [m].

    Returns
    -------
    array, shape (n,) or (m, n)
        Force per mass [m/s**2]; negative pushes against the turning, to the trailing side.
    """
    hinge_m = throw.arm.hinge_m
    inward = hinge_m * throw.speed_rad_s**2 * np.sin(throw.hinge_rad)
    behind = hinge_m * throw.speedup_rad_s2 * np.cos(throw.hinge_rad)
    return -(inward + behind + beyond_m * (throw.speedup_rad_s2 + throw.hinge_rad_s2))


def hinge_force_m_s2(throw: ThrowHistory) -> Floats:
    """Return the part of the force along the outer part that is the same at every place of it [m/s**2], shape (n,)."""
    turning = throw.speed_rad_s**2 * np.cos(throw.hinge_rad)
    speeding = throw.speedup_rad_s2 * np.sin(throw.hinge_rad)
    return throw.arm.hinge_m * (turning - speeding)


def outer_speed_rad_s(throw: ThrowHistory) -> Floats:
    """Return how fast the outer part turns [rad/s], shape (n,)."""
    return throw.speed_rad_s + throw.hinge_rad_s


def arm_head_Pa(
    throw: ThrowHistory, density_kg_m3: float, inner_beyond_m: float | Floats, outer_beyond_m: float | Floats
) -> Floats:
    """Return the pressure between two places along the outer part, folded or straight, at each moment.

    The force per mass rises in a straight line along the arm, so the head is its mean times the distance. With the arm
    straight it is the head of steady spinning between the two radii.

    Parameters
    ----------
    throw : ThrowHistory
        Of n moments.
    density_kg_m3 : float
        Of the liquid [kg/m**3].
    inner_beyond_m, outer_beyond_m : float or array, shape (m, 1)
        Free surface of the metal and the place asked for, as distances beyond the hinge [m]; negative is before it.

    Returns
    -------
    array, shape (n,) or (m, n)
        Pressure [Pa]; negative while the force would drive the metal back.
    """
    span_m = outer_beyond_m - inner_beyond_m
    middle_m = (inner_beyond_m + outer_beyond_m) / 2
    return density_kg_m3 * span_m * force_along_m_s2(throw, middle_m)


def pull_along_gee(throw: ThrowHistory, beyond_m: float) -> Floats:
    """Return the force along the arm at a place [m beyond the hinge] in multiples of gravity, shape (n,)."""
    return force_along_m_s2(throw, beyond_m) / STANDARD_GRAVITY_M_S2
