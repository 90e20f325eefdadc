"""Ways of heat that never change shape: exact decays in a closed box, in two layers with a contact, and of a lumped
body."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

Floats = NDArray[np.float64]
STEFAN_BOLTZMANN = 5.670374419e-8  # CODATA 2018, exact by definition of the constants behind it


def box_mode(at_m: Floats, size_m: tuple[float, float, float], waves: tuple[int, int, int]) -> Floats:
    """Product of cosines at places (n, 3) of a closed box: no heat crosses its walls."""
    each = [np.cos(np.pi * w * at_m[:, k] / s) for k, (w, s) in enumerate(zip(waves, size_m, strict=True))]
    return np.prod(each, axis=0)


def box_decay_per_s(diffusivity_m2_s: float, size_m: tuple[float, float, float], waves: tuple[int, int, int]) -> float:
    """Rate at which that product dies away [1/s]."""
    return diffusivity_m2_s * sum((np.pi * w / s) ** 2 for w, s in zip(waves, size_m, strict=True))


def two_layers(
    thick_m: tuple[float, float],
    conductivity_W_mK: tuple[float, float],
    capacity_J_m3K: tuple[float, float],
    contact_W_m2K: float,
) -> tuple[float, Callable[[Floats], Floats]]:
    """Slowest decay [1/s] of two closed layers joined by a contact, and its shape over x [m] from the first layer's
    back.

    In each layer the shape is a cosine counted from its closed back, so that no heat leaves there; at the joint
    both sides pass the same flow, and the flow is the contact times the step: two conditions, one equation for the
    decay rate.
    """
    first, second = (
        (length, k, np.sqrt(k / c)) for length, k, c in zip(thick_m, conductivity_W_mK, capacity_J_m3K, strict=True)
    )

    def parts(rate: float) -> tuple[float, float, float, float]:
        (la, ka, ra), (lb, kb, rb) = first, second
        wa, wb = np.sqrt(rate) / ra, np.sqrt(rate) / rb
        return np.cos(wa * la), ka * wa * np.sin(wa * la), np.cos(wb * lb), kb * wb * np.sin(wb * lb)

    def gap(rate: float) -> float:
        value_a, flow_a, value_b, flow_b = parts(rate)
        # amplitudes 1 and s with flow_a = - s flow_b, and flow_a = contact (value_a - s value_b)
        return float(flow_a * flow_b / contact_W_m2K - value_a * flow_b - value_b * flow_a)

    top = min((np.pi / 2 * r / length) ** 2 for length, _, r in (first, second))
    slowest = _first_root(gap, 1e-6 * top, 4.0 * top)
    _value_a, flow_a, _, flow_b = parts(slowest)
    scale = -flow_a / flow_b
    whole = sum(thick_m)

    def shape(x: Floats) -> Floats:
        of_first = np.cos(np.sqrt(slowest) / first[2] * x)
        of_second = scale * np.cos(np.sqrt(slowest) / second[2] * (whole - x))
        return np.where(x < thick_m[0], of_first, of_second)

    return slowest, shape


def _first_root(gap: Callable[[float], float], low: float, high: float) -> float:
    tries = np.geomspace(low, high, 4000)
    signs = np.sign([gap(one) for one in tries])
    place = int(np.flatnonzero(np.diff(signs) != 0)[0])
    return float(brentq(gap, tries[place], tries[place + 1], xtol=1e-14))


def lumped_s(
    start_K: float, until_K: float, capacity_J_m2K: float, emissivity: float, convection_W_m2K: float, ambient_K: float
) -> float:
    """Time for a body of one temperature to cool by radiation and convection, per area, by an outside integrator
    [s]."""

    def rate(_: float, temp: Floats) -> Floats:
        out = emissivity * STEFAN_BOLTZMANN * (temp**4 - ambient_K**4) + convection_W_m2K * (temp - ambient_K)
        return -out / capacity_J_m2K

    def reached(_: float, temp: Floats) -> float:
        return float(temp[0] - until_K)

    reached.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(rate, (0.0, 1e6), [start_K], method="DOP853", rtol=1e-11, atol=1e-9, events=reached)
    return float(found.t_events[0][0])
