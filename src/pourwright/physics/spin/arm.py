"""The arm: how fast the spring can turn it, and when it is that fast.

The arm is taken as one straight body, as it is when it is fast. The folded start changes when it gets there a little,
and the hinge meeting its stop costs a little; tests/verification/test_broken_arm_ode.py says how little.
"""

from __future__ import annotations

from math import acos, inf, pi, sqrt


def straight_inertia_kg_m2(
    inner_kg_m2: float, outer_kg: float, hinge_m: float, outer_centre_m: float, outer_own_kg_m2: float
) -> float:
    """Return the inertia about the shaft of the arm with its hinge straight.

    Parameters
    ----------
    inner_kg_m2 : float
        Hub, inner arm and weight about the shaft [kg*m**2].
    outer_kg : float
        Mass of everything beyond the hinge: cradle, flask, crucible [kg].
    hinge_m : float
        Shaft to hinge [m].
    outer_centre_m : float
        Hinge to the centre of mass of the outer part [m].
    outer_own_kg_m2 : float
        The outer part about its own centre of mass [kg*m**2].
    """
    return inner_kg_m2 + outer_own_kg_m2 + outer_kg * (hinge_m + outer_centre_m) ** 2


def peak_speed_rad_s(energy_J: float, inertia_kg_m2: float, friction_frac: float) -> float:
    """Return the speed when the spring has given all it holds.

    Parameters
    ----------
    energy_J : float
        Stored in the spring [J].
    inertia_kg_m2 : float
        The loaded, straight arm about the shaft [kg*m**2].
    friction_frac : float
        Share of the energy that friction takes on the way, 0 to 1.

    Raises
    ------
    ValueError
        The inertia is not positive or the share is not between 0 and 1.
    """
    if inertia_kg_m2 <= 0:
        raise ValueError(f"inertia must be positive, not {inertia_kg_m2} kg*m**2")
    if not 0 <= friction_frac <= 1:
        raise ValueError(f"friction must take a share from 0 to 1, not {friction_frac}")
    return sqrt(2 * energy_J * (1 - friction_frac) / inertia_kg_m2)


def peak_time_s(
    torque_start_Nm: float,
    torque_rate_Nm_turn: float,
    turns_turns: float,
    inertia_kg_m2: float,
    friction_frac: float,
) -> float:
    """Return the time from release until the spring is run down, which is when the arm is fastest.

    A torque that falls in a straight line with the angle makes the arm swing like a pendulum about the angle where
    the torque would vanish; the spring lets go after a part of a quarter of that swing. Friction takes an even share
    of the torque.

    Parameters
    ----------
    torque_start_Nm : float
        Torque with nothing wound [N*m].
    torque_rate_Nm_turn : float
        Torque added by each turn [N*m/turn].
    turns_turns : float
        Turns wound [turn].
    inertia_kg_m2 : float
        The loaded, straight arm about the shaft [kg*m**2].
    friction_frac : float
        Share of the torque that friction takes, 0 to 1.

    Returns
    -------
    float
        Time [s]; infinite if nothing drives the arm.
    """
    angle_rad = 2 * pi * turns_turns
    left = 1 - friction_frac
    start_Nm, stiffness_Nm_rad = left * torque_start_Nm, left * torque_rate_Nm_turn / (2 * pi)
    if start_Nm + stiffness_Nm_rad * angle_rad <= 0:
        return inf
    if stiffness_Nm_rad == 0:
        return sqrt(2 * angle_rad * inertia_kg_m2 / start_Nm)
    beyond_rad = start_Nm / stiffness_Nm_rad
    return acos(beyond_rad / (beyond_rad + angle_rad)) / sqrt(stiffness_Nm_rad / inertia_kg_m2)


def speed_rad_s(speed_rpm: float) -> float:
    """Return revolutions a minute as angular speed [rad/s]."""
    return speed_rpm * 2 * pi / 60


def speed_rpm(speed_rad_s: float) -> float:
    """Return an angular speed [rad/s] as revolutions a minute."""
    return speed_rad_s * 60 / (2 * pi)
