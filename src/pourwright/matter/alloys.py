"""Casting alloys, and metal as bought."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from pourwright.core.interval import Interval
from pourwright.core.sources import Kind
from pourwright.matter import _tables

# Rows that a property may be asked for are those with a value; these have fields of their own.
_OWN_FIELDS = ("composition", "fineness")


@dataclass(frozen=True)
class Alloy:
    """A casting alloy.

    Parameters
    ----------
    id, title, family : str
        Family is silver, gold, bronze, brass or copper.
    composition_frac : mapping of str to float
        Mass share by element.
    element : str
        The noble metal that the fineness counts, ``Ag`` or ``Au``, or empty.
    fineness_permille : float
        What the mark promises [permille]; 0 without a noble metal.
    liquidus_K, solidus_K : Interval
        Melting range [K].
    solid_kg_m3 : Interval
        Density of sound metal at 20 C [kg/m3].
    note : str
        What a reader of the values should know.
    refuse_in_teaching : bool
        Whether a class must not melt it (lead).
    properties : mapping of str to Interval
        Everything else the tables hold, in SI, by the name of its row.
    """

    id: str
    title: str
    family: str
    composition_frac: Mapping[str, float]
    element: str
    fineness_permille: float
    liquidus_K: Interval
    solidus_K: Interval
    solid_kg_m3: Interval
    note: str = ""
    refuse_in_teaching: bool = False
    properties: Mapping[str, Interval] = field(default_factory=dict)

    def property(self, name: str) -> Interval:
        """Return a property by the name of its row, such as ``cp_liquid``, in SI.

        Raises
        ------
        DataError
            The tables hold no such row for this alloy.
        """
        found: Interval = _tables.pick(self.properties, name, f"property of {self.id}")
        return found

    def liquid_kg_m3(self, temp_K: float) -> Interval:
        """Return the density of the melt [kg/m3], falling in a straight line above the liquidus.

        Parameters
        ----------
        temp_K : float
            Temperature of the melt [K]; below the liquidus the line is carried on (an undercooled melt).
        """
        at_liquidus, slope = self.property("density_liquid_at_liquidus"), self.property("density_liquid_slope")
        above_K = temp_K - self.liquidus_K.best
        fall, rise = sorted((slope.low * above_K, slope.high * above_K))
        return Interval(
            at_liquidus.low + fall,
            at_liquidus.best + slope.best * above_K,
            at_liquidus.high + rise,
            at_liquidus.unit,
            sources=tuple(dict.fromkeys(at_liquidus.sources + slope.sources)),
            kind=at_liquidus.kind,
        )


@dataclass(frozen=True)
class StockMetal:
    """Metal that a stock lot may consist of; fineness is the share of the noble metal [permille]."""

    id: str
    title: str
    composition_frac: Mapping[str, float]
    element: str
    fineness_permille: Interval


def alloy_ids() -> tuple[str, ...]:
    """Return the ids of all casting alloys in the order of the table."""
    return tuple(_tables.table("alloys", _tables.folder())["alloy"])


def alloy(key: str) -> Alloy:
    """Return a casting alloy by its id, such as ``sterling-925``.

    Raises
    ------
    DataError
        No such alloy; the message names the nearest.
    """
    return _alloy(key, _tables.folder())


@lru_cache(maxsize=128)
def _alloy(key: str, folder: str) -> Alloy:
    content = _tables.table("alloys", folder)
    row = _tables.pick(content["alloy"], key, "alloy")
    properties = {
        name: _tables.interval(one) for name, one in (content["shared"] | row).items() if _is_property(name, one)
    }
    return Alloy(
        key,
        row["title"],
        row["family"],
        row["composition"]["frac"],
        row["element"],
        float(row["fineness"]["value"]),
        properties["liquidus"],
        properties["solidus"],
        properties["density_solid_20C"],
        row.get("note", ""),
        row.get("refuse_in_teaching", False),
        properties,
    )


def _is_property(name: str, row: Any) -> bool:
    return isinstance(row, dict) and name not in _OWN_FIELDS


def stock_metal_ids() -> tuple[str, ...]:
    """Return the ids of all metals a stock lot may name: bought metal first, then the casting alloys."""
    bought = tuple(_tables.table("stock_metals", _tables.folder())["stock"])
    return bought + tuple(one for one in alloy_ids() if one not in bought)


def stock_metal(key: str) -> StockMetal:
    """Return a metal as bought, or a casting alloy used as grain.

    Raises
    ------
    DataError
        No such metal; the message names the nearest.
    """
    return _stock_metal(key, _tables.folder())


@lru_cache(maxsize=128)
def _stock_metal(key: str, folder: str) -> StockMetal:
    bought = _tables.table("stock_metals", folder)["stock"]
    row = _tables.pick(_tables.table("alloys", folder)["alloy"] | bought, key, "stock metal")
    return StockMetal(
        key, row["title"], row["composition"]["frac"], row["element"], _fineness_permille(key, row, bought)
    )


def _fineness_permille(key: str, row: Mapping[str, Any], bought: Mapping[str, Any]) -> Interval:
    """Return the marked fineness of bought metal, or what an alloy's composition really holds [permille]."""
    if key in bought:
        return _tables.interval(row["fineness"])
    held_permille = 1000.0 * row["composition"]["frac"].get(row["element"], 0.0)
    return Interval.exact(
        held_permille, "permille", tuple(row["composition"]["source"]), Kind(row["composition"]["kind"])
    )
