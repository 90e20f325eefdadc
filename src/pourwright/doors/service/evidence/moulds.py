"""Numbers of ours about moulds, each by the id of its row."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pourwright.core.units import read
from pourwright.matter.elements import molar_mass_kg_mol
from pourwright.matter.moulds import mould, reference_property
from pourwright.physics.spin.balance import dry_flask_kg
from pourwright.prepare.mould.core_lag import core_lag_s

_GYPSUM = {"Ca": 1, "S": 1, "O": 6, "H": 4}
_WATER = {"H": 2, "O": 1}
_WATER_RATIO = 0.40
_WATER_KG_M3 = 1000.0
# The step and the model input that the checks of the core lag share.
LAG_STEP_K = 192.0
LAG_DIFFUSIVITY_MM2_S = 0.4


def _gypsum_diffusivity() -> float:
    conductivity, bulk, heat = (
        reference_property("set-gypsum", name).best for name in ("conductivity", "bulk", "specific_heat")
    )
    return 1e6 * conductivity / (bulk * heat)


def _fired_porosity() -> float:
    """Return the pores left where 1 kg of powder was mixed with water and everything that burns out is gone."""
    gypsum = mould("gypsum-bonded")
    slurry_m3 = 1.0 / gypsum.powder_grain_kg_m3.best + _WATER_RATIO / _WATER_KG_M3
    solid_kg = dry_flask_kg(0.0, 1.0, gypsum.hemihydrate_frac.best)
    return 1.0 - solid_kg / gypsum.property("solids").best / slurry_m3


def _lag(diameter_mm: float) -> float:
    return core_lag_s(diameter_mm, LAG_DIFFUSIVITY_MM2_S, LAG_STEP_K) / 60.0


OURS: Mapping[str, Callable[[], float]] = {
    "gypsum-diffusivity": _gypsum_diffusivity,
    "mould-porosity": _fired_porosity,
    "gypsum-water": lambda: 2 * molar_mass_kg_mol(_WATER) / molar_mass_kg_mol(_GYPSUM),
    "hemihydrate-water": lambda: 1.0 - dry_flask_kg(0.0, 1.0, 1.0),
    "water-4lb": lambda: _WATER_RATIO * read("4 lb", "g"),
    "core-lag": lambda: _lag(63.5),
    "lag-101": lambda: _lag(101.6),
}
