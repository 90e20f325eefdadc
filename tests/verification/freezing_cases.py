"""Small freezing problems of whole cells for the tests beside this file."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.problem import Kind, MetalLaw, WholeCells

Floats = NDArray[np.float64]


def plain_metal(
    conductivity_W_mK: float = 300.0, capacity_J_m3K: float = 2.79e6, melting_K: tuple[float, float] = (2500.0, 2600.0)
) -> MetalLaw:
    """Metal of constant properties; its melting range lies where the test does not go, so it is solid throughout."""
    knots = np.array([100.0, *melting_K, 3000.0])
    return MetalLaw(knots, capacity_J_m3K * knots, np.array([1.0, 1.0, 0.0, 0.0]), np.full(4, conductivity_W_mK))


def eutectic_metal(
    conductivity_W_mK: float = 1e4,
    capacity_J_m3K: float = 2.79e6,
    latent_J_m3: float = 9.3e8,
    eutectic_frac: float = 0.08,
    eutectic_K: float = 1052.15,
    liquidus_K: float = 1170.15,
    spread_K: float = 1.0,
) -> MetalLaw:
    """A straight mushy range above an eutectic that is spread over two kelvin."""
    knots = np.array([300.0, eutectic_K - spread_K, eutectic_K + spread_K, liquidus_K, 2000.0])
    freed = latent_J_m3 * np.array([0.0, 0.0, eutectic_frac, 1.0, 1.0])
    solid = np.array([1.0, 1.0, 1.0 - eutectic_frac, 0.0, 0.0])
    return MetalLaw(knots, capacity_J_m3K * knots + freed, solid, np.full(5, conductivity_W_mK))


def column(parts: list[tuple[Kind, Floats]], side_m: float = 1e-3) -> WholeCells:
    """A column of cells along z, one cell across: kinds and the heights of their cells [m], from below."""
    heights_m = np.concatenate([heights for _, heights in parts])
    kinds = np.concatenate([np.full(len(heights), kind, dtype=np.uint8) for kind, heights in parts])
    side = np.array([0.0, side_m])
    return WholeCells((side, side, np.concatenate([[0.0], np.cumsum(heights_m)])), kinds.reshape(1, 1, -1))


def growing(length_m: float, first_m: float, growth_ratio: float) -> Floats:
    """Heights that grow from the first by a fixed ratio and fill a length."""
    heights = [first_m]
    while sum(heights) < length_m:
        heights.append(heights[-1] * growth_ratio)
    return np.array(heights) * length_m / sum(heights)
