"""Freezing from a chilled wall through a mushy range and an eutectic front: exact, in similarity variables.

Endless metal at one temperature; from time zero on its face is held colder than the eutectic. Three layers: solid
(up to ``x = 2 p sqrt(t)``), mushy (heat capacity raised by the heat that freezes evenly between liquidus and
eutectic), melt (from ``x = 2 q sqrt(t)``). In each the temperature is an error function of ``x / (2 sqrt(a t))``.
The share that is left at the eutectic freezes at the first front, where the flow jumps by its heat times the
front's speed; at the second the flow is continuous. Neumann's solution with two fronts, as in any text on moving
boundaries (H.S. Carslaw, J.C. Jaeger, Conduction of Heat in Solids, chapter 11; from memory); the two conditions
are solved numerically and checked in the test.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import fsolve
from scipy.special import erf, erfc


@dataclass(frozen=True)
class Metal:
    """Constants of the three layers."""

    solid_W_mK: float = 360.0
    mushy_W_mK: float = 267.5
    melt_W_mK: float = 175.0
    capacity_J_m3K: float = 9300.0 * 310.0
    latent_J_m3: float = 9300.0 * 1.0e5
    eutectic_frac: float = 0.08
    eutectic_C: float = 779.0
    liquidus_C: float = 897.0
    start_C: float = 1000.0
    face_C: float = 480.0

    @property
    def mushy_capacity_J_m3K(self) -> float:
        """With the heat that freezes evenly over the range."""
        freed = self.latent_J_m3 * (1.0 - self.eutectic_frac)
        return self.capacity_J_m3K + freed / (self.liquidus_C - self.eutectic_C)


def fronts(metal: Metal) -> tuple[float, float]:
    """Return p and q [m/sqrt(s)] of the eutectic front and of the liquidus."""
    found, _, good, _ = fsolve(lambda at: residuals(metal, *at), [4.7e-3, 7.4e-3], xtol=1e-14, full_output=True)
    if good != 1:
        raise RuntimeError("the fronts were not found")
    return float(found[0]), float(found[1])


def residuals(metal: Metal, eutectic: float, liquidus: float) -> list[float]:
    """Balance of flow at both fronts, over the flow in the solid: times sqrt(pi t), so that time drops out."""
    solid_a = metal.solid_W_mK / metal.capacity_J_m3K
    mushy_a = metal.mushy_W_mK / metal.mushy_capacity_J_m3K
    melt_a = metal.melt_W_mK / metal.capacity_J_m3K

    def slope(a: float, at: float) -> float:
        return float(np.exp(-(at**2) / a) / np.sqrt(a))

    in_solid = metal.solid_W_mK * (metal.eutectic_C - metal.face_C) / erf(eutectic / np.sqrt(solid_a))
    width = erf(liquidus / np.sqrt(mushy_a)) - erf(eutectic / np.sqrt(mushy_a))
    in_mushy = metal.mushy_W_mK * (metal.liquidus_C - metal.eutectic_C) / width
    in_melt = metal.melt_W_mK * (metal.start_C - metal.liquidus_C) / erfc(liquidus / np.sqrt(melt_a))
    freed = metal.latent_J_m3 * metal.eutectic_frac * eutectic * np.sqrt(np.pi)
    out = in_solid * slope(solid_a, eutectic)
    return [
        (out - in_mushy * slope(mushy_a, eutectic) - freed) / out,
        (in_mushy * slope(mushy_a, liquidus) - in_melt * slope(melt_a, liquidus)) / out,
    ]


def passes_s(metal: Metal, depth_m: float) -> tuple[float, float]:
    """Return when liquidus and end of freezing reach a depth [s]."""
    eutectic, liquidus = fronts(metal)
    return (depth_m / (2 * liquidus)) ** 2, (depth_m / (2 * eutectic)) ** 2
