"""Numbers of ours about metals and waxes, each by the id of its row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import nan

from pourwright.core.interval import Interval
from pourwright.matter.alloys import alloy
from pourwright.matter.elements import element, ideal_density_kg_m3
from pourwright.matter.pattern_materials import pattern_material

_ZERO_C_IN_K = 273.15
_WAX_EXAMPLE_G = 5.0
_BUTTON_SHARE = 1.1


def _solid(symbol: str) -> float:
    density = element(symbol).solid_kg_m3
    return density.best if density else nan


def _ideal(alloy_id: str) -> float:
    return ideal_density_kg_m3(alloy(alloy_id).composition_frac)


def _table(alloy_id: str) -> float:
    return alloy(alloy_id).solid_kg_m3.best


def _liquid(alloy_id: str, temp_C: float) -> float:
    return alloy(alloy_id).liquid_kg_m3(temp_C + _ZERO_C_IN_K).best


def _celsius(temperature: Interval | None) -> float:
    return temperature.best - _ZERO_C_IN_K if temperature else nan


def _factor(alloy_id: str) -> float:
    """Return the metal for one gram of casting wax."""
    return _table(alloy_id) / pattern_material("casting-wax").density_kg_m3.best


OURS: Mapping[str, Callable[[], float]] = {
    "density-silver": lambda: _solid("Ag"),
    "density-copper": lambda: _solid("Cu"),
    "density-gold": lambda: _solid("Au"),
    "density-zinc": lambda: _solid("Zn"),
    "density-tin": lambda: _solid("Sn"),
    "density-silicon": lambda: _solid("Si"),
    "density-manganese": lambda: _solid("Mn"),
    "sterling-ideal": lambda: _ideal("sterling-925"),
    "sterling-table": lambda: _table("sterling-925"),
    "tin-bronze-ideal": lambda: _ideal("tin-bronze-c90300"),
    "tin-bronze-table": lambda: _table("tin-bronze-c90300"),
    "brass-table": lambda: _table("yellow-brass-c85700"),
    "gold-585-ideal": lambda: _ideal("gold-14k"),
    "gold-10k-ideal": lambda: _ideal("gold-10k"),
    "gold-18k-ideal": lambda: _ideal("gold-18k-2n"),
    "gold-18k-3n-memory": lambda: _ideal("gold-18k-3n"),
    "gold-18k-2n-memory": lambda: _ideal("gold-18k-2n"),
    "silver-900-memory": lambda: _ideal("silver-900"),
    "silver-melt": lambda: _liquid("fine-silver-999", 961.78),
    "silver-melt-1100C": lambda: _liquid("fine-silver-999", 1100.0),
    "gold-melt-1150C": lambda: _liquid("pure-gold", 1150.0),
    "sterling-heat": lambda: alloy("sterling-925").property("cp_solid_20C").best,
    "melting-silver": lambda: _celsius(element("Ag").melting_K),
    "melting-gold": lambda: _celsius(element("Au").melting_K),
    "melting-copper": lambda: _celsius(element("Cu").melting_K),
    "melting-zinc": lambda: _celsius(element("Zn").melting_K),
    "sterling-liquidus": lambda: _celsius(alloy("sterling-925").liquidus_K),
    "sterling-solidus": lambda: _celsius(alloy("sterling-925").solidus_K),
    "sterling-last-liquid": lambda: _celsius(alloy("sterling-925").property("last_freezing")),
    "silver-900-liquidus": lambda: _celsius(alloy("silver-900").liquidus_K),
    "silver-900-solidus": lambda: _celsius(alloy("silver-900").solidus_K),
    "eutectic-memory": lambda: _celsius(alloy("silver-900").property("last_freezing")),
    "britannia-liquidus": lambda: _celsius(alloy("britannia-958").liquidus_K),
    "britannia-solidus": lambda: _celsius(alloy("britannia-958").solidus_K),
    "silicon-bronze-liquidus": lambda: _celsius(alloy("silicon-bronze-c87300").liquidus_K),
    "factor-sterling": lambda: _factor("sterling-925"),
    "factor-10k": lambda: _factor("gold-10k"),
    "factor-14k": lambda: _factor("gold-14k-zn"),
    "factor-18k": lambda: _factor("gold-18k-3n"),
    "wax-example": lambda: _WAX_EXAMPLE_G * _BUTTON_SHARE * _factor("gold-14k-zn"),
    "density-wax": lambda: pattern_material("casting-wax").density_kg_m3.best,
    "mark-sterling": lambda: alloy("sterling-925").fineness_permille,
    "mark-coin": lambda: alloy("silver-900").fineness_permille,
}
