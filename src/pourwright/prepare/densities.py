"""Densities of metal and pattern materials as figures in bench units."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pourwright.core.figure import Figure, from_interval, reckon
from pourwright.core.interval import Interval
from pourwright.matter.alloys import Alloy
from pourwright.matter.pattern_materials import pattern_material
from pourwright.studio.profile import StudioMaterial

_G_CM3_PER_KG_M3 = 1e-3
_KELVIN_AT_ZERO_C = 273.15


@dataclass(frozen=True)
class PatternDensity:
    """Density of a pattern material; ``own`` says that the studio gave it, so that no table is trusted for it."""

    material: str
    family: str
    density_g_cm3: Figure
    own: bool


DensityLookup = Callable[[str], PatternDensity]


def density_lookup(materials: Sequence[StudioMaterial]) -> DensityLookup:
    """Return the look-up of pattern materials by id: the studio's own first, then the tables.

    The look-up raises :class:`~pourwright.core.errors.DataError` for an id that neither has.
    """
    own = {one.id: PatternDensity(one.id, one.family, one.density_g_cm3, own=True) for one in materials}

    def find(material_id: str) -> PatternDensity:
        if material_id in own:
            return own[material_id]
        found = pattern_material(material_id)
        density = _bench(found.density_kg_m3, f"pattern_materials.toml {material_id}")
        return PatternDensity(material_id, found.family, density, own=False)

    return find


def solid_g_cm3(alloy: Alloy) -> Figure:
    """Return the density of sound solid metal at room temperature [g/cm**3]."""
    return _bench(alloy.solid_kg_m3, f"alloys.toml {alloy.id} density_solid_20C")


def liquid_g_cm3(alloy: Alloy, pour_temperature_C: Figure) -> Figure:
    """Return the density of the melt at the pour temperature [g/cm**3].

    Parameters
    ----------
    alloy : Alloy
        The metal.
    pour_temperature_C : Figure
        Temperature of the melt [degC], with its range.

    Returns
    -------
    Figure
        From the hottest melt's low end to the coolest melt's high end.
    """
    hot, usual, cool = (
        alloy.liquid_kg_m3(one + _KELVIN_AT_ZERO_C)
        for one in (pour_temperature_C.high, pour_temperature_C.value, pour_temperature_C.low)
    )
    low, high = min(hot.low, usual.low, cool.low), max(hot.high, usual.high, cool.high)
    span = Interval(low, usual.best, high, usual.unit, sources=usual.sources, kind=usual.kind)
    figure = _bench(span, f"alloys.toml {alloy.id} density_liquid_at_liquidus")
    return Figure(
        figure.value,
        figure.low,
        figure.high,
        figure.unit,
        "prepare.charge-liquid",
        {"pour_temperature": pour_temperature_C},
        figure.sources,
        figure.origin,
    )


def liquid_kg_m3(alloy: Alloy, pour_temperature_C: Figure) -> Figure:
    """Return the density of the melt at the pour temperature [degC] as the engines take it [kg/m3]."""
    melt = liquid_g_cm3(alloy, pour_temperature_C)
    return reckon("kg_m3", "prepare.density-si", lambda melt: melt / _G_CM3_PER_KG_M3, {"melt": melt})


def _bench(density_kg_m3: Interval, origin: str) -> Figure:
    return from_interval(density_kg_m3.scaled(_G_CM3_PER_KG_M3, "g/cm3"), "g_cm3", origin)
