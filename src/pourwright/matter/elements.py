"""The chemical elements that our alloys and gypsum are made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from pourwright.core.errors import DataError
from pourwright.core.interval import Interval
from pourwright.matter import _tables


@dataclass(frozen=True)
class Element:
    """An element; density and melting point are None where the tables hold none.

    Parameters
    ----------
    symbol, title : str
        Chemical symbol and plain name.
    molar_kg_mol : Interval
        Atomic mass [kg/mol].
    solid_kg_m3 : Interval or None
        Density of the sound solid at 20 C [kg/m3].
    melting_K : Interval or None
        Melting point [K].
    """

    symbol: str
    title: str
    molar_kg_mol: Interval
    solid_kg_m3: Interval | None
    melting_K: Interval | None


def element(symbol: str) -> Element:
    """Return an element by its symbol.

    Raises
    ------
    DataError
        The symbol is not in the tables.
    """
    return _element(symbol, _tables.folder())


@lru_cache(maxsize=64)
def _element(symbol: str, folder: str) -> Element:
    row = _tables.pick(_tables.table("elements", folder)["element"], symbol, "element")
    density, melting = row.get("density_solid_20C"), row.get("melting")
    return Element(
        symbol,
        row["title"],
        _tables.interval(row["molar_mass"]),
        _tables.interval(density) if density else None,
        _tables.interval(melting) if melting else None,
    )


def ideal_density_kg_m3(composition_frac: Mapping[str, float]) -> float:
    """Return the density [kg/m3] of a mixture whose parts keep their volumes.

    Parameters
    ----------
    composition_frac : mapping of str to float
        Mass share of each element; the shares add to one.

    Raises
    ------
    DataError
        An element is unknown or has no density in the tables, or the shares do not add to one.
    """
    total_frac = sum(composition_frac.values())
    if abs(total_frac - 1.0) > 1e-6:
        raise DataError(f"mass shares add to {total_frac}, not to one")
    return 1.0 / sum(share_frac / _solid_kg_m3(symbol) for symbol, share_frac in composition_frac.items())


def _solid_kg_m3(symbol: str) -> float:
    density = element(symbol).solid_kg_m3
    if density is None:
        raise DataError(f"element '{symbol}' has no density in the tables")
    return density.best


def molar_mass_kg_mol(formula_count: Mapping[str, int]) -> float:
    """Return the mass of one mole [kg/mol] of a compound from how many atoms of each element it holds."""
    return sum(count * element(symbol).molar_kg_mol.best for symbol, count in formula_count.items())
