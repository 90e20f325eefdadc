"""How much of an alloy is solid, and how much heat it holds, at each temperature.

Silver-copper alloys follow their phase diagram (:mod:`pourwright.matter.silver_copper`). For every other alloy no
public assessment of the whole diagram is at hand; its solid share is a straight line between liquidus and solidus,
and the curve says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import DataError
from pourwright.core.interval import Interval
from pourwright.core.sources import Kind
from pourwright.matter import _tables
from pourwright.matter.alloys import Alloy, alloy
from pourwright.matter.silver_copper import freezing_path

Array = NDArray[np.float64]

ROOM_K = 293.15
# Above the liquidus the curve is given this far; every pour lies below.
_MELT_ABOVE_K = (0.0, 100.0, 250.0, 500.0)
_SOLID_KNOTS, _MUSHY_KNOTS = 13, 33
# With less than this left for the eutectic, diffusion evens out what little copper there is: the lever rule fits.
_LEAST_EUTECTIC_FRAC = 0.005


@dataclass(frozen=True)
class SolidificationCurve:
    """Heat and solid share of an alloy over temperature, straight between its knots.

    Parameters
    ----------
    alloy_id : str
        As in the tables.
    path : str
        ``scheil``: by mass, the solid keeps the composition it froze with, as in a small casting. ``lever``: by mass,
        it stays in balance with the melt. ``straight``: the solid share is a straight line between liquidus and
        solidus, for want of a diagram.
    temp_K : array, shape (n,)
        Rising; a temperature stands twice where a share freezes at one temperature [K].
    enthalpy_J_kg : array, shape (n,)
        Heat held above the cold solid at 20 C, rising throughout [J/kg].
    solid_frac : array, shape (n,)
        Mass share of solid.
    liquidus_K : float
        Where freezing begins [K].
    end_K : Interval
        Where the last melt freezes [K].
    last_frac : float
        Share that freezes at the end of freezing, at one temperature.
    latent_J_kg : Interval
        Heat set free between liquidus and end of freezing, cooling left out [J/kg].
    kind : str
        How the curve is known, one of the kinds of :mod:`pourwright.core.sources`.
    sources : tuple of str
        Keys into the source register.
    """

    alloy_id: str
    path: str
    temp_K: Array
    enthalpy_J_kg: Array
    solid_frac: Array
    liquidus_K: float
    end_K: Interval
    last_frac: float
    latent_J_kg: Interval
    kind: str
    sources: tuple[str, ...]


def paths(alloy_id: str) -> tuple[str, ...]:
    """Return the freezing paths that are known for an alloy, the usual one first.

    Raises
    ------
    DataError
        No such alloy.
    """
    return _paths(alloy_id, _tables.folder())


@lru_cache(maxsize=64)
def _paths(alloy_id: str, folder: str) -> tuple[str, ...]:  # noqa: ARG001 - part of the key
    one = alloy(alloy_id)
    if not _is_silver_copper(one):
        return ("straight",)
    rest_frac = float(freezing_path(one.composition_frac["Cu"], "scheil").liquid_frac[-1])
    return ("scheil", "lever") if rest_frac > _LEAST_EUTECTIC_FRAC else ("lever", "scheil")


def solidification_curve(alloy_id: str, path: str = "") -> SolidificationCurve:
    """Return how an alloy freezes.

    Parameters
    ----------
    alloy_id : str
        As in the tables.
    path : str
        One of :func:`paths`; empty takes the usual one.

    Raises
    ------
    DataError
        No such alloy, the path is not known for it, or the tables lack a value that it needs; the message names it.
    """
    known = paths(alloy_id)
    if path and path not in known:
        raise DataError(f"freezing path '{path}' is not known for {alloy_id}; known are {', '.join(known)}")
    return _curve(alloy_id, path or known[0], _tables.folder())


@lru_cache(maxsize=64)
def _curve(alloy_id: str, path: str, folder: str) -> SolidificationCurve:  # noqa: ARG001 - part of the key
    one = alloy(alloy_id)
    return _straight(one) if path == "straight" else _from_diagram(one, path)


def _is_silver_copper(one: Alloy) -> bool:
    return set(one.composition_frac) == {"Ag", "Cu"} and one.family == "silver"


def _from_diagram(one: Alloy, path: str) -> SolidificationCurve:
    """Join cold solid, what freezes at the end, the mushy range and the melt."""
    way = freezing_path(one.composition_frac["Cu"], path)
    mushy = _even_in_heat(way.enthalpy_J_kg)[::-1]
    end_K, liquidus_K = float(way.temp_K[-1]), float(way.temp_K[0])
    cold_K, hot_K = np.linspace(ROOM_K, end_K, _SOLID_KNOTS), liquidus_K + np.array(_MELT_ABOVE_K)
    solid_J_kg = way.solid_J_kg(cold_K)
    rest_frac = float(way.liquid_frac[-1])
    # without a rest, the first mushy knot is the last solid one
    first = 0 if rest_frac > 0.0 else 1
    middle = mushy[first:-1]
    temp_K = np.concatenate([cold_K, way.temp_K[middle], hot_K])
    heat = np.concatenate([solid_J_kg, way.enthalpy_J_kg[middle], way.melt_J_kg(hot_K)]) - solid_J_kg[0]
    liquid = np.concatenate([np.zeros(len(cold_K)), way.liquid_frac[middle], np.ones(len(hot_K))])
    row = one.property("last_freezing") if "last_freezing" in one.properties and rest_frac > 0 else one.solidus_K
    low_K, high_K = end_K - (row.best - row.low), end_K + (row.high - row.best)
    sources = ("agcu_86hay", "nfpl800", "dinsdale1991")
    return SolidificationCurve(
        one.id,
        path,
        temp_K,
        heat,
        1.0 - liquid,
        liquidus_K,
        Interval(low_K, end_K, high_K, "K", sources=sources, kind=Kind.COMPUTED),
        rest_frac,
        _latent_of(one, _freed_J_kg(way.temp_K, way.liquid_frac, way.enthalpy_J_kg, float(solid_J_kg[-1]), one)),
        Kind.COMPUTED,
        sources,
    )


def _freed_J_kg(temp_K: Array, liquid: Array, enthalpy: Array, solid_J_kg: float, one: Alloy) -> float:
    """Return the heat of freezing: what is given off from liquidus to end, less the cooling of melt and solid."""
    melt_J_kgK, solid_J_kgK = one.property("cp_liquid").best, one.property("cp_solid_hot").best
    capacity = liquid * melt_J_kgK + (1 - liquid) * solid_J_kgK
    cooling = float(np.sum(0.5 * (capacity[1:] + capacity[:-1]) * -np.diff(temp_K)))
    return float(enthalpy[0] - solid_J_kg) - cooling


def _latent_of(one: Alloy, best_J_kg: float) -> Interval:
    """Return a heat of freezing with the relative range that the alloy's own row has."""
    row = one.property("latent_heat")
    low, high = best_J_kg * row.low / row.best, best_J_kg * row.high / row.best
    return Interval(low, best_J_kg, high, "J/kg", sources=row.sources, kind=row.kind)


def _even_in_heat(enthalpy: Array) -> NDArray[np.intp]:
    """Return the places of knots about evenly spaced in heat, the first and the last among them."""
    wanted = np.linspace(enthalpy[0], enthalpy[-1], _MUSHY_KNOTS)
    return np.unique(np.searchsorted(-enthalpy, -wanted).clip(0, len(enthalpy) - 1))


def _straight(one: Alloy) -> SolidificationCurve:
    """Join cold solid, a mushy range in which the solid share is a straight line, and the melt."""
    end_K, liquidus_K = one.solidus_K.best, one.liquidus_K.best
    melt_J_kgK, latent = one.property("cp_liquid").best, one.property("latent_heat")
    hot_J_kgK = one.property("cp_solid_hot").best
    cold_K, solid_J_kg = _cold_solid(one, end_K)
    liquid = np.linspace(0.0, 1.0, 9 if liquidus_K > end_K else 2)
    mushy_K = end_K + (liquidus_K - end_K) * liquid
    warming = (mushy_K - end_K) * (hot_J_kgK + 0.5 * liquid * (melt_J_kgK - hot_J_kgK))
    mushy_J_kg = solid_J_kg[-1] + warming + latent.best * liquid
    above_K = np.array(_MELT_ABOVE_K[1:])
    temp_K = np.concatenate([cold_K, mushy_K[1:], liquidus_K + above_K])
    heat = np.concatenate([solid_J_kg, mushy_J_kg[1:], mushy_J_kg[-1] + melt_J_kgK * above_K])
    solid = np.concatenate([np.ones(len(cold_K)), 1.0 - liquid[1:], np.zeros(len(above_K))])
    rows = [one.liquidus_K, one.solidus_K, latent, one.property("cp_solid_hot"), one.property("cp_liquid")]
    return SolidificationCurve(
        one.id,
        "straight",
        temp_K,
        heat,
        solid,
        liquidus_K,
        one.solidus_K,
        0.0 if liquidus_K > end_K else 1.0,
        latent,
        Kind.DERIVED,
        tuple(dict.fromkeys(key for row in rows for key in row.sources)),
    )


def _cold_solid(one: Alloy, end_K: float) -> tuple[Array, Array]:
    """Return temperatures and heat of the solid, its heat capacity rising in a straight line."""
    cold_J_kgK, hot_J_kgK = one.property("cp_solid_20C").best, one.property("cp_solid_hot").best
    temp_K = np.linspace(ROOM_K, end_K, _SOLID_KNOTS)
    share = (temp_K - ROOM_K) / (end_K - ROOM_K)
    return temp_K, (temp_K - ROOM_K) * (cold_J_kgK + 0.5 * share * (hot_J_kgK - cold_J_kgK))
