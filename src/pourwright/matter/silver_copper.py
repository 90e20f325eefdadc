"""How silver-copper alloys freeze, from the Gibbs energies of melt and solid.

Two paths are reckoned. *Lever*: the solid stays in balance with the melt, as in slow freezing and in the equilibrium
diagram. *Scheil*: each layer of solid keeps the composition it froze with and the melt is well mixed, so that the last
melt reaches the eutectic, as in the fast freezing of a small casting. Energies are per mole of atoms inside this module
and per kilogram at its doors.

The coefficients stand in the table ``silver_copper`` with their source; the method is that of any text on the
thermodynamics of binary alloys: equal chemical potentials at a tie line, the lever rule, and Scheil's integral by mass.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import DataError
from pourwright.matter import _tables
from pourwright.matter.elements import element

Array = NDArray[np.float64]
Values = NDArray[Any]  # real, or complex while a derivative is taken

_GAS_J_MOLK = 8.31446261815324
# Powers of T behind a constant, T and T ln T in a row of the table.
_POWERS = (2, 3, -1, 7, -9)
_STEP = 1e-30  # complex step of a derivative: exact to rounding
_NEWTON_STEPS = 60
# Colder than this the two solids keep the compositions they have: the shares left to move are below one in 100 000.
_NO_DIFFUSION_K = 400.0
_MELT, _SOLID = "liquid", "solid"


@dataclass(frozen=True)
class Path:
    """A freezing path between the liquidus and the end of freezing, and the cooling of what has frozen.

    Parameters
    ----------
    temp_K : array, shape (knots,)
        Falling from the liquidus to the end of freezing [K].
    liquid_frac : array, shape (knots,)
        Mass share still liquid; what is left at the last knot freezes there, at one temperature.
    enthalpy_J_kg : array, shape (knots,)
        At those temperatures, before the rest freezes [J/kg].
    solid_J_kg : callable
        Enthalpy [J/kg] of the frozen metal at temperatures [K] at or below the end of freezing.
    melt_J_kg : callable
        Enthalpy [J/kg] of the melt at temperatures [K].
    """

    temp_K: Array
    liquid_frac: Array
    enthalpy_J_kg: Array
    solid_J_kg: Callable[[Array], Array]
    melt_J_kg: Callable[[Array], Array]


def freezing_path(copper_frac: float, path: str, count: int = 241) -> Path:
    """Return how an alloy on the silver side freezes.

    Parameters
    ----------
    copper_frac : float
        Mass share of copper, between zero and the eutectic (0.28).
    path : str
        ``lever`` or ``scheil``.
    count : int
        Number of temperatures at which the path is reckoned; they crowd towards the liquidus.

    Raises
    ------
    DataError
        No such path, or the alloy is not on the silver side of the diagram.
    """
    if path not in ("lever", "scheil"):
        raise DataError(f"freezing path '{path}' is not known for silver-copper; known are lever, scheil")
    eutectic = eutectic_point()
    if not 0.0 < copper_frac < eutectic.melt_frac:
        raise DataError(
            f"{copper_frac} copper by mass is not on the silver side, between 0 and {eutectic.melt_frac:.3f}"
        )
    return (_lever if path == "lever" else _scheil)(copper_frac, count)


@dataclass(frozen=True)
class Eutectic:
    """The eutectic: its temperature, and the copper by mass of silver-rich solid, melt and copper-rich solid."""

    temp_K: float
    silver_solid_frac: float
    melt_frac: float
    copper_solid_frac: float


def eutectic_point() -> Eutectic:
    """Return the point where melt and both solids stand side by side."""
    return _eutectic(_tables.folder())


@lru_cache(maxsize=4)
def _eutectic(folder: str) -> Eutectic:
    system = _system(folder)

    def gaps(guess: Values) -> Values:
        temp, silver, melt, copper = guess[0] * 1000.0, guess[1], guess[2], guess[3]
        potentials = system.potentials(_MELT, temp, melt)
        ends = [system.potentials(_SOLID, temp, one)[k] - potentials[k] for one in (silver, copper) for k in (0, 1)]
        return np.array(ends) / 8000.0

    found = _newton(gaps, np.array([[1.053], [0.14], [0.40], [0.95]]))[:, 0]
    return Eutectic(1000.0 * float(found[0]), *(float(_by_mass(one)) for one in found[1:]))


def tie_lines(temp_K: Array) -> tuple[Array, Array]:
    """Return copper by mass of silver-rich solid and of melt in balance at temperatures [K] from the eutectic up."""
    system, eutectic = _system(_tables.folder()), eutectic_point()
    reach = (silver_melting_K() - temp_K) / (silver_melting_K() - eutectic.temp_K)
    start = np.array([_by_mole(eutectic.silver_solid_frac) * reach, _by_mole(eutectic.melt_frac) * reach])

    def gaps(guess: Values) -> Values:
        solid, melt = (system.potentials(phase, temp_K, x) for phase, x in zip((_SOLID, _MELT), guess, strict=True))
        return np.array([solid[0] - melt[0], solid[1] - melt[1]]) / (_GAS_J_MOLK * temp_K)

    solid_mole, melt_mole = _newton(gaps, start)
    return _by_mass(solid_mole), _by_mass(melt_mole)


@lru_cache(maxsize=1)
def silver_melting_K() -> float:
    """Return the melting point [K] of silver that the coefficients give."""
    system = _system(_tables.folder())
    found = _newton(lambda guess: system.melting_J_mol("Ag", 1000.0 * guess[0])[None] / 1e3, np.array([[1.23]]))
    return float(1000.0 * found[0, 0])


def liquidus_K(copper_frac: float) -> float:
    """Return the temperature [K] at which the melt of a composition begins to freeze."""
    return _where(lambda temp_K: tie_lines(temp_K)[1], copper_frac)


def solidus_K(copper_frac: float) -> float:
    """Return the temperature [K] at which the last melt freezes in balance, the eutectic at the lowest."""
    eutectic = eutectic_point()
    if copper_frac >= eutectic.silver_solid_frac:
        return eutectic.temp_K
    return _where(lambda temp_K: tie_lines(temp_K)[0], copper_frac)


def _where(line: Callable[[Array], Array], copper_frac: float) -> float:
    """Return the temperature at which a falling line of copper by mass passes a value."""
    low, high = eutectic_point().temp_K, silver_melting_K() - 1e-6
    for _ in range(6):
        temps = np.linspace(low, high, 17)
        place = int(np.searchsorted(-line(temps), -copper_frac)) - 1
        place = min(max(place, 0), 15)
        low, high = float(temps[place]), float(temps[place + 1])
    ends = line(np.array([low, high]))
    return float(low + (high - low) * (ends[0] - copper_frac) / (ends[0] - ends[1]))


def _lever(copper_frac: float, count: int) -> Path:
    end_K = solidus_K(copper_frac)
    temp_K = _crowded(liquidus_K(copper_frac), end_K, count)
    solid, melt = tie_lines(temp_K)
    liquid = np.clip((copper_frac - solid) / (melt - solid), 0.0, 1.0)
    liquid[0] = 1.0
    if end_K > eutectic_point().temp_K:
        liquid[-1] = 0.0
    system = _system(_tables.folder())
    of_melt, of_solid = system.enthalpy_J_kg(_MELT, temp_K, melt), system.enthalpy_J_kg(_SOLID, temp_K, solid)
    mixed = liquid * of_melt + (1 - liquid) * of_solid
    return Path(temp_K, liquid, mixed, _solid_in_balance(copper_frac), _melt_of(copper_frac))


def _scheil(copper_frac: float, count: int) -> Path:
    temp_K = _crowded(liquidus_K(copper_frac), eutectic_point().temp_K, count)
    solid, melt = tie_lines(temp_K)
    liquid = _scheil_liquid(solid, melt)
    layers = -np.diff(liquid)
    layer_frac = 0.5 * (solid[1:] + solid[:-1])
    system = _system(_tables.folder())
    of_layers = system.enthalpy_J_kg(_SOLID, temp_K[:, None], layer_frac[None, :]) * layers
    frozen = np.tril(of_layers, -1).sum(axis=1)
    mixed = frozen + liquid * system.enthalpy_J_kg(_MELT, temp_K, melt)
    cold = _frozen_layers(layer_frac, layers, float(liquid[-1]))
    return Path(temp_K, liquid, mixed, cold, _melt_of(copper_frac))


def _scheil_liquid(solid: Array, melt: Array) -> Array:
    """Return the mass share still liquid: d ln f = - d ln(melt) / (1 - solid/melt), by the trapezium rule."""
    slope = 1.0 / (1.0 - solid / melt)
    steps = 0.5 * (slope[1:] + slope[:-1]) * np.diff(np.log(melt))
    liquid: Array = np.exp(-np.concatenate([[0.0], np.cumsum(steps)]))
    return liquid


def _frozen_layers(layer_frac: Array, layers: Array, rest: float) -> Callable[[Array], Array]:
    """Return the enthalpy of layers and eutectic that no longer change."""
    system, eutectic = _system(_tables.folder()), eutectic_point()
    ends = np.array([eutectic.silver_solid_frac, eutectic.copper_solid_frac])
    rich = (eutectic.melt_frac - ends[0]) / (ends[1] - ends[0])
    compositions = np.concatenate([layer_frac, ends])
    shares = np.concatenate([layers, rest * np.array([1 - rich, rich])])

    def enthalpy(temp_K: Array) -> Array:
        each = system.enthalpy_J_kg(_SOLID, np.asarray(temp_K)[..., None], compositions)
        total: Array = (each * shares).sum(axis=-1)
        return total

    return enthalpy


def _melt_of(copper_frac: float) -> Callable[[Array], Array]:
    system = _system(_tables.folder())
    return lambda temp_K: system.enthalpy_J_kg(_MELT, np.asarray(temp_K), np.asarray(copper_frac))


def _solid_in_balance(copper_frac: float) -> Callable[[Array], Array]:
    """Return the enthalpy of solid that parts into a silver-rich and a copper-rich one as it cools."""
    system = _system(_tables.folder())

    def enthalpy(temp_K: Array) -> Array:
        temps = np.atleast_1d(np.asarray(temp_K, dtype=float))
        alpha, beta = _gap(temps)
        parted = temps <= eutectic_point().temp_K
        rich = np.where(parted, np.clip((copper_frac - alpha) / (beta - alpha), 0.0, 1.0), 0.0)
        main = np.where(rich > 0.0, alpha, copper_frac)
        both = (1 - rich) * system.enthalpy_J_kg(_SOLID, temps, main) + rich * system.enthalpy_J_kg(_SOLID, temps, beta)
        return both.reshape(np.shape(temp_K))

    return enthalpy


def _gap(temp_K: Array) -> tuple[Array, Array]:
    """Return copper by mass of the two solids side by side at temperatures up to the eutectic."""
    system, eutectic = _system(_tables.folder()), eutectic_point()
    below = np.clip(temp_K, _NO_DIFFUSION_K, eutectic.temp_K)

    # in logarithms of the small shares, so that they cannot go below zero on the way
    def gaps(guess: Values) -> Values:
        alpha, beta = np.exp(guess[0]), 1.0 - np.exp(guess[1])
        first, second = (system.potentials(_SOLID, below, x) for x in (alpha, beta))
        return np.array([first[0] - second[0], first[1] - second[1]]) / (_GAS_J_MOLK * below)

    ends = np.array([_by_mole(eutectic.silver_solid_frac), 1.0 - _by_mole(eutectic.copper_solid_frac)])
    colder = eutectic.temp_K / below - 1.0
    start = np.log(ends)[:, None] - np.array([[4.1], [5.1]]) * colder
    found = np.exp(_newton(gaps, start))
    return _by_mass(found[0]), _by_mass(1.0 - found[1])


def _crowded(high_K: float, low_K: float, count: int) -> Array:
    """Return falling temperatures that crowd towards the upper end, where a dilute alloy freezes."""
    steps = np.geomspace(1e-4, 1.0, count - 1)
    return np.concatenate([[high_K], high_K - (high_K - low_K) * steps])


@dataclass(frozen=True)
class _System:
    """Coefficients of both phases, as they stand in the table."""

    gibbs: dict[str, Any]

    def melting_J_mol(self, symbol: str, temp_K: Values) -> Values:
        """Return Gibbs energy of the pure melt less that of the pure solid."""
        return _gibbs_J_mol(self.gibbs[f"melting_{symbol}"], temp_K)

    def potentials(self, phase: str, temp_K: Values, copper: Values) -> tuple[Values, Values]:
        """Return chemical potentials of silver and copper, each above its pure solid [J/mol]."""
        excess, slope = self._excess(phase, temp_K, copper)
        base = [self.melting_J_mol(one, temp_K) if phase == _MELT else 0.0 for one in ("Ag", "Cu")]
        heat = _GAS_J_MOLK * temp_K
        silver = base[0] + heat * np.log(1.0 - copper) + excess - copper * slope
        return silver, base[1] + heat * np.log(copper) + excess + (1.0 - copper) * slope

    def _excess(self, phase: str, temp_K: Values, copper: Values) -> tuple[Values, Values]:
        """Return excess Gibbs energy and its slope over the mole share of copper."""
        value = slope = np.zeros_like(temp_K * copper)
        apart, product = 1.0 - 2.0 * copper, copper * (1.0 - copper)
        for order, (constant, linear) in enumerate(self.gibbs[f"excess_{phase}"]):
            strength = constant + linear * temp_K
            value = value + product * strength * apart**order
            turning = -2.0 * order * product * apart ** (order - 1) if order else 0.0
            slope = slope + strength * (apart * apart**order + turning)
        return value, slope

    def enthalpy_J_kg(self, phase: str, temp_K: Array, copper_frac: Array) -> Array:
        """Return the enthalpy [J/kg] over the elements at 298.15 K; arrays are broadcast."""
        copper = _by_mole(copper_frac)
        total: Array = np.zeros(np.broadcast_shapes(np.shape(temp_K), np.shape(copper)))
        for symbol, share in (("Ag", 1.0 - copper), ("Cu", copper)):
            rows = [self.gibbs[f"solid_{symbol}"]] + [self.gibbs[f"melting_{symbol}"]] * (phase == _MELT)
            total = total + share * sum(_enthalpy_J_mol(row, temp_K) for row in rows)
        for order, (constant, _) in enumerate(self.gibbs[f"excess_{phase}"]):
            total = total + copper * (1.0 - copper) * constant * (1.0 - 2.0 * copper) ** order
        silver_kg, copper_kg = _molar_kg()
        mass: Array = silver_kg * (1.0 - copper) + copper_kg * copper
        return total / mass


@lru_cache(maxsize=4)
def _system(folder: str) -> _System:
    return _System({name: row["value"] for name, row in _tables.table("silver_copper", folder)["gibbs"].items()})


def _pieces(rows: list[list[float]], temp_K: Values, terms: Callable[[list[float]], Values]) -> Values:
    """Return what each temperature's own range gives."""
    found = terms(rows[-1][1:])
    for row in reversed(rows[:-1]):
        found = np.where(np.real(temp_K) < row[0], terms(row[1:]), found)
    return found


def _gibbs_J_mol(rows: list[list[float]], temp_K: Values) -> Values:
    def terms(row: list[float]) -> Values:
        smooth: Values = row[0] + row[1] * temp_K + row[2] * temp_K * np.log(temp_K)
        return smooth + sum(factor * temp_K**power for factor, power in zip(row[3:], _POWERS, strict=True) if factor)

    return _pieces(rows, temp_K, terms)


def _enthalpy_J_mol(rows: list[list[float]], temp_K: Array) -> Array:
    """Return G - T dG/dT of a row of terms."""

    def terms(row: list[float]) -> Array:
        smooth: Array = row[0] - row[2] * temp_K
        bent = zip(row[3:], _POWERS, strict=True)
        return smooth + sum(factor * (1 - power) * temp_K**power for factor, power in bent if factor)

    return _pieces(rows, np.asarray(temp_K, dtype=float), terms)


def _newton(gaps: Callable[[Values], Values], start: Array) -> Array:
    """Solve for zeros at many places at once; ``start`` has one row an unknown and one column a place.

    Raises
    ------
    DataError
        The coefficients have no such balance.
    """
    found: Array = np.array(start, dtype=float)
    size = len(found)
    for _ in range(_NEWTON_STEPS):
        columns = [np.imag(gaps(found + 1j * _STEP * np.eye(size)[k][:, None])) / _STEP for k in range(size)]
        matrix = np.transpose(columns, (2, 1, 0))
        move = np.linalg.solve(matrix, gaps(found).T[..., None])[..., 0].T
        found = found - move
        if np.max(np.abs(move)) < 1e-10:
            return found
    raise DataError("the silver-copper coefficients give no balance of the phases asked for")


def _molar_kg() -> tuple[float, float]:
    return element("Ag").molar_kg_mol.best, element("Cu").molar_kg_mol.best


def _by_mass(copper: Any) -> Any:
    silver_kg, copper_kg = _molar_kg()
    return copper * copper_kg / (copper * copper_kg + (1.0 - copper) * silver_kg)


def _by_mole(copper_frac: Any) -> Any:
    silver_kg, copper_kg = _molar_kg()
    return (copper_frac / copper_kg) / (copper_frac / copper_kg + (1.0 - copper_frac) / silver_kg)
