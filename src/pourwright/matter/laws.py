"""Laws of metal, mould, wall and contact as plain arrays in SI, ready for a reckoning of heat.

Every best value comes from a row of the tables; a caller who samples ranges passes ratios, so that nothing is hidden.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import DataError
from pourwright.core.interval import Interval
from pourwright.matter import _tables
from pourwright.matter.alloys import Alloy, alloy
from pourwright.matter.moulds import mould
from pourwright.matter.solidification import ROOM_K, SolidificationCurve, solidification_curve

Array = NDArray[np.float64]

# A share that freezes at one temperature is spread this far to both sides.
_SPREAD_K = 1.0


@dataclass(frozen=True)
class MetalTable:
    """Metal over its melting range; straight between the knots.

    Parameters
    ----------
    temp_K : array, shape (n,)
        Rising [K].
    enthalpy_J_m3 : array, shape (n,)
        Heat held by a cubic metre, rising [J/m3].
    solid_frac : array, shape (n,)
        Share of solid, falling from 1 to 0.
    conductivity_W_mK : array, shape (n,)
        At the knots [W/m/K].
    """

    temp_K: Array
    enthalpy_J_m3: Array
    solid_frac: Array
    conductivity_W_mK: Array


@dataclass(frozen=True)
class HeatTable:
    """A material that does not melt; straight between the knots, flat beyond.

    Parameters
    ----------
    temp_K : array, shape (n,)
        Rising [K].
    conductivity_W_mK : array, shape (n,)
        At the knots [W/m/K].
    heat_capacity_J_m3K : array, shape (n,)
        Heat taken by a cubic metre for each kelvin [J/m3/K].
    """

    temp_K: Array
    conductivity_W_mK: Array
    heat_capacity_J_m3K: Array


@dataclass(frozen=True)
class ContactTable:
    """How well metal passes heat to the mould it touches.

    Parameters
    ----------
    solid_frac : array, shape (n,)
        Share of solid in the metal at the wall, rising.
    coefficient_W_m2K : array, shape (n,)
        At those shares [W/m2/K].
    """

    solid_frac: Array
    coefficient_W_m2K: Array


def metal_law(
    alloy_id: str, path: str = "", *, conductivity_ratio: float = 1.0, latent_ratio: float = 1.0
) -> MetalTable:
    """Return the law of an alloy.

    A cubic metre holds the mass of the cold sound metal: the pattern's volume is the volume of the finished piece, and
    volume times this density is the mass that is weighed and melted. Heat goes with mass; that the melt is lighter is
    left to the shrinkage.

    Parameters
    ----------
    alloy_id, path : str
        As in :func:`~pourwright.matter.solidification.solidification_curve`.
    conductivity_ratio : float
        Times the conductivity of the tables.
    latent_ratio : float
        Times the heat of freezing.

    Raises
    ------
    DataError
        No such alloy or path, or the tables lack a value; the message names it.
    """
    one, curve = alloy(alloy_id), solidification_curve(alloy_id, path)
    temp_K, heat_J_kg, solid = _spread(curve)
    more_J_kg = (latent_ratio - 1.0) * curve.latent_J_kg.best * (1.0 - solid)
    density_kg_m3 = one.solid_kg_m3.best
    conductivity = conductivity_ratio * _metal_conductivity(one, curve, temp_K, solid)
    return MetalTable(temp_K, density_kg_m3 * (heat_J_kg + more_J_kg), solid, conductivity)


def _metal_conductivity(one: Alloy, curve: SolidificationCurve, temp_K: Array, solid: Array) -> Array:
    """Return solid from cold to hot in a straight line, melt the same throughout, and both by their shares between."""
    cold, hot, melt = (one.property(name).best for name in ("k_solid_20C", "k_solid_hot", "k_liquid"))
    of_solid = np.interp(temp_K, [ROOM_K, curve.end_K.best], [cold, hot])
    blend: Array = solid * of_solid + (1.0 - solid) * melt
    return blend


def _spread(curve: SolidificationCurve) -> tuple[Array, Array, Array]:
    """Return the curve with what freezes at one temperature spread over a kelvin to both sides."""
    temp_K, end_K = curve.temp_K, curve.end_K.best
    if curve.last_frac == 0.0:
        return temp_K, curve.enthalpy_J_kg, curve.solid_frac
    last_solid = int(np.flatnonzero(curve.solid_frac >= 1.0)[-1])
    parts = (slice(0, last_solid + 1), slice(last_solid + 1, None))
    ends_K = (end_K - _SPREAD_K, end_K + _SPREAD_K)
    kept = [temp_K[: last_solid + 1] < ends_K[0], temp_K[last_solid + 1 :] > ends_K[1]]

    def joined(values: Array) -> Array:
        below, above = values[parts[0]], values[parts[1]]
        ends = [np.interp(at, temp_K[part], values[part]) for at, part in zip(ends_K, parts, strict=True)]
        return np.concatenate([below[kept[0]], ends, above[kept[1]]])

    spread_K = np.concatenate([temp_K[parts[0]][kept[0]], ends_K, temp_K[parts[1]][kept[1]]])
    return spread_K, joined(curve.enthalpy_J_kg), joined(curve.solid_frac)


def mould_law(mould_id: str, *, conductivity_ratio: float = 1.0) -> HeatTable:
    """Return the law of a fired mould; hotter than its tables it keeps their last value.

    Parameters
    ----------
    mould_id : str
        As in the tables.
    conductivity_ratio : float
        Times the conductivity of the tables.

    Raises
    ------
    DataError
        No such mould.
    """
    one = mould(mould_id)
    rows = _tables.table("moulds", _tables.folder())["mould"][mould_id]
    shape_K, shape_ratio = _tables.curve(rows["conductivity_shape"])
    conductivity = conductivity_ratio * one.conductivity_W_mK.best * shape_ratio
    heat_K, heat_J_kgK = _tables.curve(rows["specific_heat"])
    return _heat_table(shape_K, conductivity, heat_K, one.bulk_kg_m3.best * heat_J_kgK)


def wall_law(wall_id: str = "stainless-steel") -> HeatTable:
    """Return the law of a flask's wall: ``stainless-steel`` or ``mild-steel``.

    Raises
    ------
    DataError
        No such wall.
    """
    row = _wall_row(wall_id)
    conduct_K, conductivity = _tables.curve(row["conductivity"])
    heat_K, heat_J_kgK = _tables.curve(row["specific_heat"])
    return _heat_table(conduct_K, conductivity, heat_K, float(row["density"]["value"]) * heat_J_kgK)


def wall_emissivity(wall_id: str = "stainless-steel") -> Interval:
    """Return how well an oxidised wall radiates, as a share of a black body.

    Raises
    ------
    DataError
        No such wall.
    """
    return _tables.interval(_wall_row(wall_id)["emissivity"])


def _wall_row(wall_id: str) -> Mapping[str, Any]:
    row: Mapping[str, Any] = _tables.pick(_tables.table("surroundings", _tables.folder())["wall"], wall_id, "wall")
    return row


def _heat_table(conduct_K: Array, conductivity: Array, heat_K: Array, capacity_J_m3K: Array) -> HeatTable:
    """Bring two tables to the same temperatures."""
    temp_K = np.union1d(conduct_K, heat_K)
    return HeatTable(temp_K, np.interp(temp_K, conduct_K, conductivity), np.interp(temp_K, heat_K, capacity_J_m3K))


def surrounding(name: str) -> Interval:
    """Return a value of contact, surroundings or filling by its name, in SI.

    Parameters
    ----------
    name : str
        ``contact``, ``after_gap`` [W/m2/K], ``gap_opens`` (share of solid), ``convection``, ``convection_spinning``
        [W/m2/K], ``surroundings`` [K], ``mould_emissivity``; of the filling ``contact_angle``, ``lip`` [deg],
        ``gas_viscosity`` [Pa*s], ``gate_discharge``, ``mouth_discharge``, ``stop`` (shares), ``dwell_cooling`` [K/s].

    Raises
    ------
    DataError
        No such value.
    """
    tables = _tables.table("surroundings", _tables.folder())
    rows = tables["interface"] | tables["face"] | tables["filling"]
    return _tables.interval(_tables.pick(rows, name, "surrounding"))


def contact_law(
    contact_W_m2K: float | None = None, after_gap_W_m2K: float | None = None, gap_opens_frac: float | None = None
) -> ContactTable:
    """Return how the contact falls as the skin freezes: full until the gap opens, then straight down to all solid.

    Parameters
    ----------
    contact_W_m2K, after_gap_W_m2K : float or None
        Coefficients before and after the gap [W/m2/K]; None takes the tables' best.
    gap_opens_frac : float or None
        Solid share at which the skin begins to leave the mould; None takes the tables' best.

    Raises
    ------
    DataError
        The coefficient would rise, or a share lies outside 0 to 1.
    """
    given = (contact_W_m2K, after_gap_W_m2K, gap_opens_frac)
    names = ("contact", "after_gap", "gap_opens")
    full, gap, opens = (surrounding(name).best if one is None else one for name, one in zip(names, given, strict=True))
    if not 0.0 < gap <= full or not 0.0 <= opens <= 1.0:
        raise DataError(f"a contact of {full} W/m2/K that falls to {gap} from a solid share of {opens} makes no sense")
    if opens >= 1.0:
        return ContactTable(np.array([0.0, 1.0]), np.array([full, full]))
    return ContactTable(np.array([0.0, opens, 1.0]), np.array([full, full, gap]))


def freezing_shrinkage(alloy_id: str) -> Interval:
    """Return the share of its volume that an alloy loses as it freezes.

    Raises
    ------
    DataError
        No such alloy, or the tables do not say.
    """
    return alloy(alloy_id).property("freezing_shrinkage")
