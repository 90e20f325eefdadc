"""A hot body in an endless mould, with a contact between them: exact by Laplace's transform, both with gradients.

A plate (half-thickness L) or a sphere (radius L) at one temperature in an endless mould at zero. In the transform each
side is one elementary function that solves the equation: ``cosh(q x)`` or ``sinh(q r) / r`` within, ``exp(-q x)`` or
``exp(-q r) / r`` without, q the root of s over the diffusivity. The flow through the wall passes the resistances of
metal, contact and mould in a row (H.S. Carslaw, J.C. Jaeger, Conduction of Heat in Solids, chapters 12 and 13; from
memory). Back to time by Talbot's contour with fixed weights (J. Abate, P.P. Valko, Int. J. Numer. Meth. Engng 60 (2004)
979; from memory), checked in the test against closed forms.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
# Nodes of the contour: more would lose to rounding what they gain.
_NODES_COUNT = 22


@dataclass(frozen=True)
class Pair:
    """Metal and mould: conductivity [W/m/K] and capacity [J/m**3/K] of each, contact [W/m**2/K]."""

    metal_W_mK: float = 2.0
    metal_J_m3K: float = 2.79e6
    mould_W_mK: float = 0.8
    mould_J_m3K: float = 1.4e6
    contact_W_m2K: float = 800.0


def from_transform(transform: Callable[[complex], Complexes], time_s: float) -> Floats:
    """Return the function of time whose transform is given, at one time."""
    turns = np.pi * np.arange(1, _NODES_COUNT) / _NODES_COUNT
    bent = turns / np.tan(turns)
    nodes = 0.4 * np.concatenate(([_NODES_COUNT], _NODES_COUNT * (bent + 1j * turns)))
    bend = 1 + 1j * (turns + (bent - 1) / np.tan(turns))
    weights = np.concatenate(([0.5 * np.exp(nodes[0])], np.exp(nodes[1:]) * bend))
    parts = [(weight * transform(node / time_s)).real for node, weight in zip(nodes, weights, strict=True)]
    return np.asarray(0.4 / time_s * np.sum(parts, axis=0))


def rises(pair: Pair, half_m: float, is_sphere: bool, depth_m: Floats, time_s: float) -> Floats:
    """Return the share of the metal's start above the mould's that a place has after a time.

    Parameters
    ----------
    pair : Pair
        What is joined.
    half_m : float
        Half-thickness of the plate, or radius of the sphere [m].
    is_sphere : bool
        Which of the two.
    depth_m : array, shape (n,)
        Distance from the middle [m]; within the body up to ``half_m``.
    time_s : float
        Since they were joined [s].
    """
    within = depth_m <= half_m
    inner_m, outer_m = depth_m[within], depth_m[~within]
    curve_per_m = 1 / half_m if is_sphere else 0.0

    def transform(s: complex) -> Complexes:
        q_in, q_out = np.sqrt(s * pair.metal_J_m3K / pair.metal_W_mK), np.sqrt(s * pair.mould_J_m3K / pair.mould_W_mK)
        if is_sphere:
            shape = half_m / inner_m * np.sinh(q_in * inner_m) / np.sinh(q_in * half_m)
            slope = q_in / np.tanh(q_in * half_m) - curve_per_m
        else:
            shape, slope = np.cosh(q_in * inner_m) / np.cosh(q_in * half_m), q_in * np.tanh(q_in * half_m)
        fall = q_out + curve_per_m
        resists = 1 / pair.contact_W_m2K + 1 / (pair.metal_W_mK * slope) + 1 / (pair.mould_W_mK * fall)
        flow = 1 / s / resists
        found = np.empty(len(depth_m), dtype=np.complex128)
        found[within] = 1 / s - flow / (pair.metal_W_mK * slope) * shape
        spread = half_m / outer_m if is_sphere else 1.0
        found[~within] = flow / (pair.mould_W_mK * fall) * spread * np.exp(-q_out * (outer_m - half_m))
        return found

    return from_transform(transform, time_s)
