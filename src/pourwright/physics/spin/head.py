"""The head: how hard spinning metal presses, and how many times its weight it feels."""

from __future__ import annotations

from math import sqrt

STANDARD_GRAVITY_M_S2 = 9.80665  # exact by definition


def spin_head_Pa(density_kg_m3: float, speed_rad_s: float, inner_m: float, outer_m: float) -> float:
    """Return the pressure that spinning builds up in liquid metal between two radii.

    Parameters
    ----------
    density_kg_m3 : float
        Of the liquid [kg/m**3].
    speed_rad_s : float
        Of the straight arm [rad/s].
    inner_m : float
        Radius of the metal's free surface [m].
    outer_m : float
        Radius of the place asked for [m].
    """
    return density_kg_m3 * speed_rad_s**2 * (outer_m**2 - inner_m**2) / 2


def gravity_head_Pa(density_kg_m3: float, height_m: float) -> float:
    """Return the pressure under standing metal (density [kg/m**3], height [m]), to compare a throw with a pour."""
    return density_kg_m3 * STANDARD_GRAVITY_M_S2 * height_m


def pull_gee(speed_rad_s: float, radius_m: float) -> float:
    """Return the outward pull at a radius [m] of an arm at a speed [rad/s], in multiples of gravity."""
    return speed_rad_s**2 * radius_m / STANDARD_GRAVITY_M_S2


def speed_for_pull_rad_s(pull_gee: float, radius_m: float) -> float:
    """Return the speed at which the pull at a radius [m] is so many times gravity."""
    return sqrt(pull_gee * STANDARD_GRAVITY_M_S2 / radius_m)
