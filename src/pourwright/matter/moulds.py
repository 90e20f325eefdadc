"""Mould materials: the powder they are mixed from and the mould fired and ready to pour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from pourwright.core.errors import DataError
from pourwright.core.interval import Interval
from pourwright.matter import _tables

_KELVIN_AT_ZERO_C = 273.15
# The heat capacity table is carried on in a straight line this far beyond its ends, and no farther.
_BEYOND_TABLE_K = 50.0


@dataclass(frozen=True)
class HeatCapacity:
    """A heat capacity tabulated over temperature.

    Parameters
    ----------
    temp_K : tuple of float
        Temperatures, rising [K].
    specific_heat_J_kgK : tuple of float
        Values at those temperatures [J/kg/K].
    low_ratio, high_ratio : float
        The range, as multiples of the value.
    sources : tuple of str
        Keys into the source register.
    kind : str
        How the values are known.
    """

    temp_K: tuple[float, ...]
    specific_heat_J_kgK: tuple[float, ...]
    low_ratio: float
    high_ratio: float
    sources: tuple[str, ...]
    kind: str

    def at(self, temp_K: float) -> Interval:
        """Return the heat capacity [J/kg/K] at a temperature [K].

        Raises
        ------
        DataError
            The temperature lies farther than 50 K outside the table.
        """
        coldest_K, hottest_K = self.temp_K[0], self.temp_K[-1]
        if not coldest_K - _BEYOND_TABLE_K <= temp_K <= hottest_K + _BEYOND_TABLE_K:
            raise DataError(f"heat capacity is tabulated from {coldest_K} to {hottest_K} K, not at {temp_K} K")
        value = self._line_through(temp_K)
        return Interval(
            self.low_ratio * value,
            value,
            self.high_ratio * value,
            "J/kg/K",
            sources=self.sources,
            kind=self.kind,
        )

    def _line_through(self, temp_K: float) -> float:
        first = int(np.clip(np.searchsorted(self.temp_K, temp_K) - 1, 0, len(self.temp_K) - 2))
        (cold_K, hot_K), (low, high) = self.temp_K[first : first + 2], self.specific_heat_J_kgK[first : first + 2]
        return low + (high - low) * (temp_K - cold_K) / (hot_K - cold_K)


@dataclass(frozen=True)
class Mould:
    """A mould material.

    Parameters
    ----------
    id, title : str
        Id as in the tables, and a plain name.
    powder_grain_kg_m3 : Interval
        Density of the powder's grains, without the air between them [kg/m3].
    hemihydrate_frac : Interval
        Mass share of plaster in the powder.
    bulk_kg_m3, porosity_frac : Interval
        Fired mould: density with its pores [kg/m3], and the share of pores.
    conductivity_W_mK : Interval
        Fired mould [W/m/K].
    heat_capacity : HeatCapacity
        Fired mould, over temperature.
    permeability_m2 : Interval
        Fired mould, by orders of magnitude [m2].
    hold_limit_K : Interval
        Hottest lasting temperature [K].
    properties : mapping of str to Interval
        Every row of the table in SI, by its name.
    """

    id: str
    title: str
    powder_grain_kg_m3: Interval
    hemihydrate_frac: Interval
    bulk_kg_m3: Interval
    porosity_frac: Interval
    conductivity_W_mK: Interval
    heat_capacity: HeatCapacity
    permeability_m2: Interval
    hold_limit_K: Interval
    properties: Mapping[str, Interval]

    @property
    def hold_limit_C(self) -> Interval:
        """Hottest lasting temperature [degC]."""
        limit = self.hold_limit_K
        low, best, high = (value - _KELVIN_AT_ZERO_C for value in (limit.low, limit.best, limit.high))
        return Interval(low, best, high, "degC", sources=limit.sources, kind=limit.kind)

    def specific_heat_J_kgK(self, temp_K: float) -> Interval:
        """Return the heat capacity [J/kg/K] of the fired mould at a temperature [K], transitions left out.

        Raises
        ------
        DataError
            The temperature lies farther than 50 K outside the table.
        """
        return self.heat_capacity.at(temp_K)

    def diffusivity_m2_s(self, temp_K: float) -> Interval:
        """Return how fast heat spreads in the fired mould [m2/s]: conductivity over density times heat capacity.

        The range takes the corners of the three ranges together.

        Raises
        ------
        DataError
            The temperature [K] lies farther than 50 K outside the table of heat capacity.
        """
        k, rho, cp = self.conductivity_W_mK, self.bulk_kg_m3, self.specific_heat_J_kgK(temp_K)
        return Interval(
            k.low / (rho.high * cp.high),
            k.best / (rho.best * cp.best),
            k.high / (rho.low * cp.low),
            "m2/s",
            sources=tuple(dict.fromkeys(k.sources + rho.sources + cp.sources)),
            kind=k.kind,
        )

    def property(self, name: str) -> Interval:
        """Return a row of the table by its name, in SI.

        Raises
        ------
        DataError
            The table holds no such row for this mould.
        """
        found: Interval = _tables.pick(self.properties, name, f"property of {self.id}")
        return found


def mould_ids() -> tuple[str, ...]:
    """Return the ids of all mould materials."""
    return tuple(_tables.table("moulds", _tables.folder())["mould"])


def mould(key: str) -> Mould:
    """Return a mould material by its id, such as ``gypsum-bonded``.

    Raises
    ------
    DataError
        No such mould; the message names the nearest.
    """
    return _mould(key, _tables.folder())


@lru_cache(maxsize=16)
def _mould(key: str, folder: str) -> Mould:
    row = _tables.pick(_tables.table("moulds", folder)["mould"], key, "mould")
    rows = {name: _tables.interval(one) for name, one in row.items() if _has_value(one)}
    return Mould(
        key,
        row["title"],
        rows["powder_grain"],
        rows["hemihydrate"],
        rows["bulk"],
        rows["porosity"],
        rows["conductivity"],
        _heat_capacity(row["specific_heat"]),
        rows["permeability"],
        rows["hold_limit"],
        rows,
    )


def _has_value(row: Any) -> bool:
    return isinstance(row, dict) and "temperature_C" not in row


def _heat_capacity(row: Mapping[str, Any]) -> HeatCapacity:
    return HeatCapacity(
        tuple(temp_C + _KELVIN_AT_ZERO_C for temp_C in row["temperature_C"]),
        tuple(float(value) for value in row["value"]),
        row["low_ratio"],
        row["high_ratio"],
        tuple(row["source"]),
        row["kind"],
    )


def reference_property(material: str, name: str) -> Interval:
    """Return a measured property of a reference material (not a mould), in SI.

    Raises
    ------
    DataError
        No such material or property.
    """
    rows = _tables.table("moulds", _tables.folder())["reference"]
    row = _tables.pick(rows, material, "reference material")
    return _tables.interval(_tables.pick(row, name, f"property of {material}"))
