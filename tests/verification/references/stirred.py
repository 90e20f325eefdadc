"""A body of stirred metal freezing in an endless mould: exact but for one integral equation in time.

The metal has one temperature T; the mould outside it is endless, linear and starts at one temperature. If the
mould's face rises by one kelvin at time zero and stays, heat flows in at G(t) per unit area:

* plane     k / sqrt(pi a t)
* sphere    k / sqrt(pi a t) + k / R                      (outside a sphere of radius R)
* cylinder  (4 k / (pi^2 R)) int_0^inf exp(-a u^2 t / R^2) / (u (J0(u)^2 + Y0(u)^2)) du

(H.S. Carslaw, J.C. Jaeger, Conduction of Heat in Solids, 2nd edition 1959, sections 2.5, 9.10 and 13.5; from
memory, each checked below against its own limits). For any rise of the face the flow is the sum of such answers
(Duhamel), which makes Abel's equation in the plane case and one of Volterra's in the others. Face and metal are
joined by a contact coefficient. The face's temperature is taken straight between times that grow by a fixed ratio,
with exact integrals of G; what the metal holds then follows from the heat it gave.

The plane case without contact and without freezing is known in closed form,
``T = Tm + (T0 - Tm) erfcx(b sqrt(t) / M)`` with the mould's effusivity b and the metal's capacity per area M.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import erfcx, j0, y0

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Flow:
    """Heat into the mould per area after a unit step of its face: once integrated over time, and twice [J/m2/K], [J
    s/m2/K].

    ``flow_W_m2K`` is the flow itself.
    """

    flow_W_m2K: Callable[[Floats], Floats]
    once: Callable[[Floats], Floats]
    twice: Callable[[Floats], Floats]


def plane(conductivity_W_mK: float, capacity_J_m3K: float) -> Flow:
    """An endless wall."""
    effusivity = np.sqrt(conductivity_W_mK * capacity_J_m3K / np.pi)
    return Flow(
        lambda t: effusivity / np.sqrt(t),
        lambda t: 2.0 * effusivity * np.sqrt(t),
        lambda t: 4.0 / 3.0 * effusivity * t**1.5,
    )


def sphere(conductivity_W_mK: float, capacity_J_m3K: float, radius_m: float) -> Flow:
    """All space outside a sphere."""
    flat, steady = plane(conductivity_W_mK, capacity_J_m3K), conductivity_W_mK / radius_m
    return Flow(
        lambda t: flat.flow_W_m2K(t) + steady,
        lambda t: flat.once(t) + steady * t,
        lambda t: flat.twice(t) + 0.5 * steady * t**2,
    )


def cylinder(conductivity_W_mK: float, capacity_J_m3K: float, radius_m: float) -> Flow:
    """All space outside a cylinder: the integral is tabulated over the logarithm of time.

    Early on the flow is that of a plane plus half that of the steady sphere (the first terms of the small-time series),
    which is used below the table.
    """
    diffusivity = conductivity_W_mK / capacity_J_m3K
    scale, unit = radius_m**2 / diffusivity, conductivity_W_mK / radius_m
    knots = np.linspace(np.log(1e-4), np.log(1e2), 241)
    times = np.exp(knots)
    flow = np.array([_cylinder_flow(one) for one in times])
    early_flow = lambda t: 1.0 / np.sqrt(np.pi * t) + 0.5  # noqa: E731
    early_once = lambda t: 2.0 * np.sqrt(t / np.pi) + 0.5 * t  # noqa: E731
    once = early_once(times[0]) + _running(knots, flow * times)
    twice = 4.0 / (3.0 * np.sqrt(np.pi)) * times[0] ** 1.5 + 0.25 * times[0] ** 2 + _running(knots, once * times)

    def table(values: Floats, early: Callable[[Floats], Floats], factor: float) -> Callable[[Floats], Floats]:
        from scipy.interpolate import CubicSpline

        spline = CubicSpline(knots, np.log(values))

        def at(t: Floats) -> Floats:
            tau = np.maximum(np.asarray(t, dtype=float) / scale, 1e-300)
            late = np.exp(spline(np.log(np.maximum(tau, times[0]))))
            return factor * np.where(tau < times[0], early(tau), late)

        return at

    return Flow(
        table(flow, early_flow, unit),
        table(once, early_once, unit * scale),
        table(twice, lambda t: 4.0 / (3.0 * np.sqrt(np.pi)) * t**1.5 + 0.25 * t**2, unit * scale**2),
    )


def _cylinder_flow(tau: float) -> float:
    """Flow over k/R at the dimensionless time a t / R^2; the variable of the integral is the logarithm of u."""
    inside = lambda s: np.exp(-tau * np.exp(2 * s)) / (j0(np.exp(s)) ** 2 + y0(np.exp(s)) ** 2)  # noqa: E731
    top = 0.5 * np.log(50.0 / tau)
    parts = np.linspace(-60.0, top, 9)
    # towards small u the integrand falls only as the square of a logarithm: the rest below exp(-60) in closed form
    tail = (np.pi / 2) ** 2 / (60.0 - (np.euler_gamma - np.log(2.0)))
    ends = itertools.pairwise(parts)
    return float(4.0 / np.pi**2 * (tail + sum(quad(inside, a, b, limit=200, epsabs=1e-12)[0] for a, b in ends)))


def _running(knots: Floats, values: Floats) -> Floats:
    """Integral over the knots from the first on, by a cubic through them."""
    from scipy.interpolate import CubicSpline

    whole = CubicSpline(knots, values).antiderivative()
    return whole(knots) - whole(knots[0])


@dataclass(frozen=True)
class Cooling:
    """Temperatures of stirred metal over time, and the heat it has given [J/m2]."""

    time_s: Floats
    metal_K: Floats
    given_J_m2: Floats
    knots_K: Floats
    held_J_m2: Floats

    def when_s(self, temp_K: float) -> float:
        """The time at which the metal passes a temperature, straight in heat; not a number if it never does."""
        start, until = np.interp([self.metal_K[0], temp_K], self.knots_K, self.held_J_m2)
        return float(np.interp(start - until, self.given_J_m2, self.time_s, right=np.nan))


def cool(
    knots_K: Floats,
    held_J_m2: Floats,
    start_K: float,
    mould_K: float,
    flow: Flow,
    contact_W_m2K: float,
    until_s: float,
    count: int = 1500,
) -> Cooling:
    """March the stirred metal.

    Parameters
    ----------
    knots_K, held_J_m2 : array
        What the metal holds, for each square metre of its surface, over temperature: straight between knots.
    start_K, mould_K : float
        At time zero.
    flow : Flow
        What the mould takes.
    contact_W_m2K : float
        Between metal and the mould's face.
    until_s : float
        The end.
    count : int
        Steps; their ends grow by a fixed ratio from a millionth of the end.
    """
    time = np.concatenate([[0.0], np.geomspace(1e-6 * until_s, until_s, count)])
    face, metal, given = np.zeros(len(time)), np.full(len(time), start_K), np.zeros(len(time))
    held_start = np.interp(start_K, knots_K, held_J_m2)
    for n in range(1, len(time)):
        since, step = time[n] - time[:n], np.diff(time[: n + 1])
        ahead = np.append(since[1:], 0.0)
        taken = (flow.twice(since) - _at(flow.twice, ahead)) / step
        rate = (flow.once(since) - _at(flow.once, ahead)) / step
        rises = np.diff(face[:n])
        past_taken, past_rate = float(rises @ taken[:-1]), float(rises @ rate[:-1])

        def gap(rise: float) -> float:
            heat = past_taken + rise * taken[-1]  # noqa: B023 - used within this turn only
            now = np.interp(held_start - heat, held_J_m2, knots_K)
            through = past_rate + rise * rate[-1]  # noqa: B023
            return float(now - mould_K - (face[n - 1] + rise) - through / contact_W_m2K)  # noqa: B023

        rise = brentq(gap, -2.0 * (start_K - mould_K), 2.0 * (start_K - mould_K), xtol=1e-11)
        face[n] = face[n - 1] + rise
        given[n] = past_taken + rise * taken[-1]
        metal[n] = np.interp(held_start - given[n], held_J_m2, knots_K)
    return Cooling(time, metal, given, knots_K, held_J_m2)


def _at(integral: Callable[[Floats], Floats], since: Floats) -> Floats:
    """An integral of the flow at times of which the last is zero."""
    found = np.zeros_like(since)
    found[:-1] = integral(since[:-1]) if len(since) > 1 else found[:-1]
    return found


def plane_without_freezing(
    time_s: Floats, start_K: float, mould_K: float, effusivity: float, capacity_J_m2K: float
) -> Floats:
    """The closed form for a stirred plate in perfect contact that does not freeze."""
    return mould_K + (start_K - mould_K) * erfcx(effusivity * np.sqrt(time_s) / capacity_J_m2K)
