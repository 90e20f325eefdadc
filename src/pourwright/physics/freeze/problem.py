"""What a freezing run is given: laws of the materials, the cells, the start, the surroundings and how time is cut.

All numbers are SI. Laws are plain tables, straight between their knots, so that temperature from enthalpy is exact.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import SolverError
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.grid.graded import FlaskCells
from pourwright.grid.network import Network

Floats = NDArray[np.float64]
ZERO_C_K = 273.15  # exact by definition
# Below any room and above any melt of a studio: outside of this a temperature was mistyped.
_COLDEST_K, _HOTTEST_K = 200.0, 2300.0
# With fewer, steps stop before they are solved: a limit of two gave freezing times wrong by 2 to 30 % in trials.
FEWEST_CORRECTIONS_COUNT = 6


class Kind(IntEnum):
    """What a whole cell holds. A flask's steel wall is a :class:`Shell`, not a kind of cell."""

    OUTSIDE = 0
    MOULD = 1
    METAL = 2


@dataclass(frozen=True)
class MetalLaw:
    """Heat held and heat passed by the metal over its melting range.

    Parameters
    ----------
    temp_K : array, shape (n,)
        Knots, rising [K]. A jump of enthalpy at one temperature is spread over a kelvin or two.
    enthalpy_J_m3 : array, shape (n,)
        Heat held by a cubic metre at the knots, rising [J/m**3]; its zero is of no account. A cubic metre keeps its
        mass: shrinkage does not move metal here.
    solid_frac : array, shape (n,)
        Share of solid at the knots, falling from 1 to 0.
    conductivity_W_mK : array, shape (n,)
        At the knots [W/m/K].
    critical_frac : float
        Share of solid at which feed metal hardly flows any more; gradient and cooling rate are taken there.

    Notes
    -----
    Below the first and above the last knot the tables go on in a straight line (enthalpy) or flat (the rest).
    """

    temp_K: Floats
    enthalpy_J_m3: Floats
    solid_frac: Floats
    conductivity_W_mK: Floats
    critical_frac: float = 0.7

    @property
    def solidus_K(self) -> float:
        """Hottest temperature at which all is solid."""
        return float(self.temp_K[self.solid_frac >= 1.0].max())

    @property
    def liquidus_K(self) -> float:
        """Coldest temperature at which all is liquid."""
        return float(self.temp_K[self.solid_frac <= 0.0].min())

    @property
    def critical_K(self) -> float:
        """Temperature at which the critical share is solid."""
        return float(np.interp(-self.critical_frac, -self.solid_frac, self.temp_K))

    def enthalpy_at_J_m3(self, temp_K: Floats) -> Floats:
        """Return the heat held [J/m**3] at temperatures [K]."""
        return _along(self.temp_K, self.enthalpy_J_m3, temp_K)

    def temp_at_K(self, enthalpy_J_m3: Floats) -> Floats:
        """Return the temperatures [K] at which so much heat is held [J/m**3]."""
        return _along(self.enthalpy_J_m3, self.temp_K, enthalpy_J_m3)


@dataclass(frozen=True)
class MouldLaw:
    """Heat held and heat passed by a material that does not melt: mould or steel.

    Parameters
    ----------
    temp_K : array, shape (n,)
        Knots, rising [K].
    conductivity_W_mK : array, shape (n,)
        At the knots [W/m/K].
    heat_capacity_J_m3K : array, shape (n,)
        Heat taken by a cubic metre for each kelvin, at the knots [J/m**3/K].

    Notes
    -----
    Straight between the knots, flat beyond them.
    """

    temp_K: Floats
    conductivity_W_mK: Floats
    heat_capacity_J_m3K: Floats

    @classmethod
    def constant(cls, conductivity_W_mK: float, heat_capacity_J_m3K: float) -> MouldLaw:
        """Return the law of a material whose conductivity [W/m/K] and heat capacity [J/m**3/K] stay the same."""
        knots_K = np.array([200.0, 2000.0])
        return cls(knots_K, np.full(2, conductivity_W_mK), np.full(2, heat_capacity_J_m3K))


@dataclass(frozen=True)
class Shell:
    """The flask's steel wall: a thin skin round the mould with the temperature of the mould cells it wraps.

    Parameters
    ----------
    thickness_m : float
        Of the wall [m].
    law : MouldLaw
        Of the steel.
    """

    thickness_m: float
    law: MouldLaw


@dataclass(frozen=True)
class ContactLaw:
    """How well metal passes heat to the mould it touches, as its skin freezes and shrinks away.

    Parameters
    ----------
    solid_frac : array, shape (n,)
        Share of solid in the metal at the wall, rising.
    coefficient_W_m2K : array, shape (n,)
        At those shares [W/m**2/K].
    """

    solid_frac: Floats
    coefficient_W_m2K: Floats

    @classmethod
    def constant(cls, coefficient_W_m2K: float) -> ContactLaw:
        """Return a contact that stays the same [W/m**2/K]."""
        return cls(np.array([0.0, 1.0]), np.full(2, coefficient_W_m2K))


@dataclass(frozen=True)
class Surroundings:
    """What the flask and the bare button lose heat to.

    Parameters
    ----------
    ambient_K : float
        Of air and room [K].
    convection_W_m2K : float
        On the wall and the ends of the flask [W/m**2/K]; zero with zero emissivities: no heat leaves.
    flask_emissivity_frac, button_emissivity_frac : float
        Of the flask's outside, and of the button's bare face.
    button_convection_W_m2K : float
        On the button's bare face [W/m**2/K].
    """

    ambient_K: float = 293.15
    convection_W_m2K: float = 0.0
    flask_emissivity_frac: float = 0.0
    button_emissivity_frac: float = 0.0
    button_convection_W_m2K: float = 0.0


@dataclass(frozen=True)
class TimeControl:
    """How time is cut into steps and how sharply each step is solved.

    Parameters
    ----------
    growth_ratio : float
        A step takes at most this share of the time passed (0.05 usual, 0.02 fine).
    step_min_s, step_max_s : float
        Shortest and longest step until all is solid [s].
    tolerance_K : float
        How sharply a step of the metal is solved [K]; 0.001 where gradients matter.
    freeze_limit_s : float
        Give up when metal is still liquid after this time [s].
    follow_s : float
        How long the flask is followed in all, from the pour [s]; 0 ends when all is solid.
    follow_step_max_s : float
        Longest step after all is solid [s].
    follow_side_m : float
        Side of the larger cells on which the solid flask is followed [m]; 0 keeps the cells.
    newton_most_count : int
        Most corrections in a step; under 6 gives wrong answers and is refused.
    double : bool
        Whether the mould too is reckoned in double precision; for checks.
    """

    growth_ratio: float = 0.05
    step_min_s: float = 0.01
    step_max_s: float = 10.0
    tolerance_K: float = 1e-3
    freeze_limit_s: float = 3600.0
    follow_s: float = 0.0
    follow_step_max_s: float = 20.0
    follow_side_m: float = 0.0
    newton_most_count: int = 12
    double: bool = False


@dataclass(frozen=True)
class WholeCells:
    """Cells that are all metal, all mould or outside: steps for walls, quick to make, good for tests.

    Parameters
    ----------
    edges_m : three arrays, shapes (nx + 1,), (ny + 1,), (nz + 1,)
        Planes of the grid [m]; z rises from the mouth of the flask.
    kind : array of uint8, shape (nx, ny, nz)
        A :class:`Kind` for each cell.
    """

    edges_m: tuple[Floats, Floats, Floats]
    kind: NDArray[np.uint8]


@dataclass(frozen=True)
class CutFlask:
    """A whole flask whose walls run through cells: as good as the mesh.

    Parameters
    ----------
    flask : FlaskCells
        Mould, steel and outside.
    network : Network
        Metal, mould beside it, and the paths between them.
    """

    flask: FlaskCells
    network: Network


@dataclass(frozen=True)
class FreezeProblem:
    """All that a freezing run is given.

    Parameters
    ----------
    cells : CutFlask or WholeCells
        Grid and what its cells hold.
    metal, mould : MetalLaw, MouldLaw
        Laws of the materials.
    contact : ContactLaw
        Between metal and mould.
    metal_start_K : array, shape () or (n,)
        Of the metal when the mould is full [K]: one for all, or one for each cell that holds metal, in the order of
        :attr:`FreezeResult.cell`.
    mould_start_K : float
        Of mould and steel [K].
    shell : Shell or None
        The flask's steel wall; None without.
    surroundings : Surroundings
        The default loses no heat.
    time : TimeControl
        Steps.
    probes_m : array, shape (p, 3)
        Places whose temperature is kept at each step [m].
    """

    cells: CutFlask | WholeCells
    metal: MetalLaw
    mould: MouldLaw
    contact: ContactLaw
    metal_start_K: Floats
    mould_start_K: float
    shell: Shell | None = None
    surroundings: Surroundings = field(default_factory=Surroundings)
    time: TimeControl = field(default_factory=TimeControl)
    probes_m: Floats = field(default_factory=lambda: np.zeros((0, 3)))


def check(problem: FreezeProblem) -> None:
    """Refuse a problem that could only give a wrong number.

    Raises
    ------
    SolverError
        Says what is wrong: a law, a temperature, a time, no metal, or too little memory.
    """
    for refusal in (*_wrong_laws(problem), *_wrong_temps(problem), *_wrong_times(problem.time), *_wrong_size(problem)):
        raise SolverError(refusal)


def _wrong_laws(problem: FreezeProblem) -> Iterator[str]:
    metal, mould = problem.metal, problem.mould
    rising = (metal.temp_K, metal.enthalpy_J_m3, -metal.solid_frac, mould.temp_K, problem.contact.solid_frac)
    strict = (True, True, False, True, True)
    positive = (
        metal.conductivity_W_mK, mould.conductivity_W_mK, mould.heat_capacity_J_m3K, problem.contact.coefficient_W_m2K
    )  # fmt: skip
    if any(not np.all(np.isfinite(one)) for one in (*rising, *positive)):
        yield say("physics.freeze-law-no-number")
    if any(np.any(np.diff(one) < 0) or (must and np.any(np.diff(one) == 0))
           for one, must in zip(rising, strict, strict=True)):  # fmt: skip
        yield say("physics.freeze-law-order")
    if any(np.any(one <= 0) for one in positive):
        yield say("physics.freeze-law-positive")
    if metal.solid_frac.max() < 1 or metal.solid_frac.min() > 0:
        yield say("physics.freeze-law-solid")


def _wrong_temps(problem: FreezeProblem) -> Iterator[str]:
    start_K = np.asarray(problem.metal_start_K, dtype=np.float64)
    given_K = [float(start_K.min()), float(start_K.max()), problem.mould_start_K, problem.surroundings.ambient_K]
    for temp_K in given_K:
        if not _COLDEST_K <= temp_K <= _HOTTEST_K:
            limits = (_COLDEST_K - ZERO_C_K, _HOTTEST_K - ZERO_C_K)
            yield say("physics.freeze-temperature", value=show(temp_K - ZERO_C_K, "C"), low=show(limits[0], "C"),
                      high=show(limits[1], "C"))  # fmt: skip
    if problem.mould_start_K >= problem.metal.solidus_K:
        yield say("physics.freeze-hot-mould", mould=show(problem.mould_start_K - ZERO_C_K, "C"),
                  solidus=show(problem.metal.solidus_K - ZERO_C_K, "C"))  # fmt: skip


def _wrong_times(time: TimeControl) -> Iterator[str]:
    lengths_s = (time.step_min_s, time.step_max_s, time.follow_step_max_s, time.freeze_limit_s)
    if min(*lengths_s, time.growth_ratio, time.tolerance_K) <= 0 or time.growth_ratio > 0.5:
        yield say("physics.freeze-times")
    if time.newton_most_count < FEWEST_CORRECTIONS_COUNT:
        yield say("physics.freeze-few-corrections", value=time.newton_most_count, limit=FEWEST_CORRECTIONS_COUNT)


def _wrong_size(problem: FreezeProblem) -> Iterator[str]:
    if isinstance(problem.cells, CutFlask):
        network = problem.cells.network
        cells, metals, metal_m3 = network.has_mould.size, len(network.metal_cells), float(network.metal_m3.sum())
    else:
        cells = problem.cells.kind.size
        metals = int((problem.cells.kind == Kind.METAL).sum())
        metal_m3 = float(metals)
    if metals == 0 or not metal_m3 > 0:
        yield say("physics.freeze-no-metal")
    if problem.metal_start_K.ndim and problem.metal_start_K.shape != (metals,):
        yield say("physics.freeze-start-count", value=problem.metal_start_K.size, cells=metals)
    needed = expected_bytes_count(cells, metals, problem.time.double)
    free = free_bytes_count()
    if needed > free:
        yield say("physics.freeze-memory", needed=f"{needed / 1e9:.1f}", free=f"{free / 1e9:.1f}")


def expected_bytes_count(cells_count: int, metals_count: int, double: bool = False) -> int:
    """Return about how many bytes a run takes at its peak: fields, lists and the work of laying them."""
    return cells_count * (60 if not double else 80) + 900 * metals_count


def free_bytes_count() -> int:
    """Return the bytes of memory that the machine can give, or no limit where it does not say."""
    try:
        return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (ValueError, OSError, AttributeError):
        return 1 << 62


def _along(knots: Floats, values: Floats, at: Floats) -> Floats:
    """Return values between knots in a straight line, and on beyond the ends with the slope of the end."""
    place = np.clip(np.searchsorted(knots, at) - 1, 0, len(knots) - 2)
    slope = (values[place + 1] - values[place]) / (knots[place + 1] - knots[place])
    return np.asarray(values[place] + slope * (at - knots[place]))
