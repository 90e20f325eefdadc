"""The mould: heat by heat-flow temperature, and super-time-stepping sweeps.

The heat equation of the mould, C(T) dT/dt = div(k(T) grad T), is straight in the heat-flow temperature
u = integral of k dT / k0 with k0 = k(T0), T0 the start: du/dt = (k / C) div(grad u). A step takes ``s`` stages, which
reach (s^2 + s - 2) / 4 times as far as one plain step could. During the stages the capacity is that of the start of the
step; afterwards each cell is moved to the u at which it holds exactly the heat it was given.

References
----------
The stages are the second-order Runge-Kutta-Legendre scheme of Meyer, Balsara and Aslam, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.lists import Paths
from pourwright.physics.freeze.problem import Floats, MouldLaw

# Knots of the tables over temperature and over u; about 0.4 K apart.
_KNOTS = 4096
# Share of the greatest stable step that is used.
_SAFETY = 0.95
# Sweeps whose change is under this move no cell off its capacity that matters [K].
LEAST_K = 1e-3

AnyFloats = NDArray[Any]


@dataclass(frozen=True, eq=False)
class MouldTables:
    """A mould's law with even knots, over temperature and over u.

    Parameters
    ----------
    start_K : float
        Temperature at u = 0 [K].
    conductivity_W_mK : float
        There [W/m/K].
    low_K, per_K : float
        First knot over temperature [K] and knots for each kelvin [1/K].
    heat_by_temp, k_by_temp, u_by_temp : array
        Heat [J/m**3], conductivity [W/m/K] and u [K] at those knots.
    low_u_K, per_u_K : float
        First knot over u [K] and knots for each unit [1/K].
    heat_by_u, steel_by_u, temp_by_u : array
        Heat of mould and of steel [J/m**3] and temperature [K] at those knots.
    law : array, shape (4,)
        Diffusivity [m**2/s] as a polynomial of u [K], for use within a step.
    law_miss_frac : float
        Largest relative miss of that polynomial.
    quickest_m2_s : float
        Largest diffusivity it gives [m**2/s].
    """

    start_K: float
    conductivity_W_mK: float
    low_K: float
    per_K_ratio: float
    heat_by_temp_J_m3: Floats
    k_by_temp_W_mK: Floats
    u_by_temp_K: Floats
    low_u_K: float
    per_u_ratio: float
    heat_by_u_J_m3: Floats
    steel_by_u_J_m3: Floats
    temp_by_u_K: Floats
    law_m2_s: Floats
    law_miss_frac: float
    quickest_m2_s: float
    constant: bool

    @property
    def by_u(self) -> MouldByU:
        """The tables over u, for the kernels."""
        return MouldByU(
            self.conductivity_W_mK, self.low_u_K, self.per_u_ratio, self.heat_by_u_J_m3, self.steel_by_u_J_m3,
            self.temp_by_u_K, self.law_m2_s,
        )  # fmt: skip


class MouldByU(NamedTuple):
    """A mould's law with even knots over u (see :class:`MouldTables`)."""

    conductivity_W_mK: float
    low_K: float
    per_K_ratio: float
    heat_J_m3: Floats
    steel_J_m3: Floats
    temp_K: Floats
    law_m2_s: Floats


def tabulate(law: MouldLaw, steel: MouldLaw | None, start_K: float, coldest_K: float, hottest_K: float) -> MouldTables:
    """Return the tables of a mould (and of the steel round it) between two temperatures [K].

    ``u`` and the heats are integrals by the trapezoid rule, exact for laws that are straight between their knots but
    for the few intervals that hold a knot.
    """
    temp_K = np.linspace(coldest_K, hottest_K, _KNOTS)
    step_K = temp_K[1] - temp_K[0]
    k = np.interp(temp_K, law.temp_K, law.conductivity_W_mK)
    start_k = float(np.interp(start_K, law.temp_K, law.conductivity_W_mK))
    u = _integral(k, step_K) / start_k
    u -= np.interp(start_K, temp_K, u)
    heat = _integral(np.interp(temp_K, law.temp_K, law.heat_capacity_J_m3K), step_K)
    heat -= np.interp(start_K, temp_K, heat)
    even_u = np.linspace(u[0], u[-1], _KNOTS)
    temp_by_u = np.interp(even_u, u, temp_K)
    heat_by_u = np.interp(temp_by_u, temp_K, heat)
    steel_by_u = np.zeros(_KNOTS)
    if steel is not None:
        steel_heat = _integral(np.interp(temp_K, steel.temp_K, steel.heat_capacity_J_m3K), step_K)
        steel_by_u = np.interp(temp_by_u, temp_K, steel_heat)
    diffusivity = np.interp(temp_by_u, law.temp_K, law.conductivity_W_mK) / np.interp(
        temp_by_u, law.temp_K, law.heat_capacity_J_m3K
    )
    fit, miss_frac = _fit(even_u, diffusivity)
    constant = np.ptp(law.conductivity_W_mK) == 0 and np.ptp(law.heat_capacity_J_m3K) == 0
    return MouldTables(
        start_K, start_k, coldest_K, 1 / step_K, heat, k, u, float(even_u[0]), 1 / (even_u[1] - even_u[0]), heat_by_u,
        steel_by_u, temp_by_u, fit, miss_frac, float(np.polynomial.polynomial.polyval(even_u, fit).max()),
        bool(constant),
    )  # fmt: skip


def _integral(values: Floats, step: float) -> Floats:
    return np.concatenate(([0.0], np.cumsum((values[1:] + values[:-1]) * (step / 2))))


def _fit(u: Floats, diffusivity: Floats) -> tuple[Floats, float]:
    """Return a cubic through the diffusivity, and its largest relative miss."""
    if np.ptp(diffusivity) < 1e-12 * diffusivity.max():
        return np.array([diffusivity.mean(), 0.0, 0.0, 0.0]), 0.0
    fit = np.polynomial.Polynomial.fit(u, diffusivity, 3).convert().coef
    fit = np.concatenate((fit, np.zeros(4 - len(fit))))
    miss = np.polynomial.polynomial.polyval(u, fit) / diffusivity - 1
    return np.asarray(fit), float(np.abs(miss).max())


@dataclass(frozen=True)
class Stages:
    """Weights of the stages of one step.

    Parameters
    ----------
    first_s : float
        How far the first stage goes [s].
    later : array, shape (s - 1, 5)
        For each later stage: weights of the last stage, the one before it and the start, and how far it goes along the
        slope here and along the slope at the start [s].
    """

    first_s: float
    later: NDArray[Any]

    @property
    def count(self) -> int:
        """How many stages."""
        return len(self.later) + 1


def stages_for(step_s: float, plain_s: float) -> Stages:
    """Return the stages that take a step when a plain step could take no more than ``plain_s`` [s]."""
    many = max(3, ceil((sqrt(9 + 16 * step_s / plain_s) - 1) / 2))
    many += 1 - many % 2
    j = np.arange(many + 1, dtype=np.float64)
    b = np.full(many + 1, 1 / 3)
    b[2:] = (j[2:] ** 2 + j[2:] - 2) / (2 * j[2:] * (j[2:] + 1))
    reach = 4 / (many**2 + many - 2)
    of_last = (2 * j[2:] - 1) / j[2:] * b[2:] / b[1:-1]
    before = -(j[2:] - 1) / j[2:] * b[2:] / b[:-2]
    along = of_last * reach * step_s
    later = np.column_stack((of_last, before, 1 - of_last - before, along, -(1 - b[1:-1]) * along))
    return Stages(float(b[1] * reach * step_s), later)


def plain_step_s(paths: Paths, tables: MouldTables) -> float:
    """Return the longest step that one plain stage could take [s]."""
    return _SAFETY * 2 / (2 * paths.quickest_per_m2 * tables.quickest_m2_s)


@dataclass(eq=False)
class MouldField:
    """The mould's heat-flow temperature and work space, all over the padded grid; ``u`` is the field between steps.

    Parameters
    ----------
    u, slope, ahead, spare : arrays, shape (nx + 2, ny + 2, nz + 2)
        Field [K], its slope in time at the start of the step [K/s], and two stages [K].
    along : three arrays
        Path factors in the precision of the field [1/m**2].
    law : array, shape (4,)
        Polynomial of the diffusivity in that precision [m**2/s].
    """

    u_K: AnyFloats
    slope_K_s: AnyFloats
    ahead_K: AnyFloats
    spare_K: AnyFloats
    along_per_m2: tuple[AnyFloats, AnyFloats, AnyFloats]
    law_m2_s: AnyFloats


def still_field(paths: Paths, tables: MouldTables, double: bool) -> MouldField:
    """Return the mould at its starting temperature."""
    kind = np.float64 if double else np.float32
    x, y, z = (one.astype(kind) for one in paths.along_per_m2)
    still = np.zeros(paths.whole.shape, kind)
    return MouldField(still, still.copy(), still.copy(), still.copy(), (x, y, z), tables.law_m2_s.astype(kind))


def cells_heat_J(u_K: AnyFloats, paths: Paths, tables: MouldTables) -> float:
    """Return the heat that the swept cells hold, rows left out [J]."""
    volumes = [np.pad(np.diff(edge_m), 1) for edge_m in paths.edges_m]
    total_J = 0.0
    mine = paths.whole.copy()
    mine.reshape(-1)[paths.rows.cell] = 0
    plane_m2 = volumes[1][:, None] * volumes[2][None, :]
    knots_K = tables.low_u_K + np.arange(_KNOTS) / tables.per_u_ratio
    for i in range(1, len(volumes[0]) - 1):
        chosen = mine[i] == 1
        held = np.interp(u_K[i][chosen].astype(np.float64), knots_K, tables.heat_by_u_J_m3)
        total_J += volumes[0][i] * float(np.dot(plane_m2[chosen], held))
    return total_J
