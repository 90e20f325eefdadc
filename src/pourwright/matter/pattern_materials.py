"""What patterns are made of."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from pourwright.core.interval import Interval
from pourwright.matter import _tables


@dataclass(frozen=True)
class PatternMaterial:
    """A pattern material.

    Parameters
    ----------
    id, title : str
        Id as in the tables, and a plain name.
    family : str
        wax, resin, wax-resin, thermoplastic or organic.
    density_kg_m3 : Interval
        Density [kg/m3].
    programme : str
        Id of the burnout programme it asks for, see :func:`pourwright.matter.practice.programme`.
    """

    id: str
    title: str
    family: str
    density_kg_m3: Interval
    programme: str


def pattern_material_ids() -> tuple[str, ...]:
    """Return the ids of all pattern materials."""
    return tuple(_tables.table("pattern_materials", _tables.folder())["material"])


def pattern_material(key: str) -> PatternMaterial:
    """Return a pattern material by its id, such as ``casting-wax``.

    Raises
    ------
    DataError
        No such material; the message names the nearest.
    """
    return _pattern_material(key, _tables.folder())


@lru_cache(maxsize=32)
def _pattern_material(key: str, folder: str) -> PatternMaterial:
    row = _tables.pick(_tables.table("pattern_materials", folder)["material"], key, "pattern material")
    return PatternMaterial(key, row["title"], row["family"], _tables.interval(row["density"]), row["programme"])
