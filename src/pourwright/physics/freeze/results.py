"""What a freezing run gives: when each piece of metal froze, how, and where the heat went. All numbers are SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class HeatBook:
    """Where the heat is and went, all materials together.

    Parameters
    ----------
    start_J, now_J : float
        Held by metal, mould and steel at the start and now [J]; the zero is of no account, the difference counts.
    lost_J : float
        Given to the surroundings so far [J], step by step.
    metal_J : float
        What the metal held at the start above its being solid at the mould's temperature [J]: the measure for errors.
    """

    start_J: float
    now_J: float
    lost_J: float
    metal_J: float

    @property
    def error_frac(self) -> float:
        """Share of the metal's heat that the books cannot account for; of the lost heat if it brought none."""
        return abs(self.now_J + self.lost_J - self.start_J) / (self.metal_J or max(abs(self.lost_J), 1e-300))


@dataclass(frozen=True)
class Effort:
    """What a run took, in counts; the clock is kept apart because it depends on the machine.

    Parameters
    ----------
    cells_count, packed_count : int
        Cells of the grid, and unknowns of the implicit list (metal, and mould in cut cells).
    steps_count, stages_count, newton_count, cg_count : int
        Time steps, sweeps through the mould, corrections of the metal, and iterations inside them.
    array_bytes_count : int
        Bytes of all arrays that live through the run.
    wall_clock_s : float
        Time on the clock [s].
    """

    cells_count: int
    packed_count: int
    steps_count: int
    stages_count: int
    newton_count: int
    cg_count: int
    array_bytes_count: int
    wall_clock_s: float


@dataclass(frozen=True)
class Histories:
    """Temperatures over time.

    Parameters
    ----------
    time_s : array, shape (t,)
        Since the pour [s].
    probe_K : array, shape (t, p)
        At the places asked for [K].
    hottest_metal_K, button_skin_K, flask_skin_K : array, shape (t,)
        Hottest metal, hottest cell at the button's bare face, hottest place of the skin of the flask's side [K]; not a
        number where there is none.
    lost_J : array, shape (t,)
        Heat given to the surroundings so far [J].
    """

    time_s: Floats
    probe_K: Floats
    hottest_metal_K: Floats
    button_skin_K: Floats
    flask_skin_K: Floats
    lost_J: Floats


@dataclass(frozen=True)
class FreezeResult:
    """When and how each cell of metal froze, and the flask afterwards.

    Parameters
    ----------
    cell : array of int32, shape (n, 3)
        Place in the grid of each cell that holds metal, sorted as ``numpy.argwhere`` sorts.
    centre_m : array, shape (n, 3)
        Middles of those cells [m].
    metal_m3 : array, shape (n,)
        Metal in each [m**3].
    liquidus_s, critical_s, freeze_s : array, shape (n,)
        When it fell to its liquidus, reached the critical share of solid, and was all solid [s]; not a number if it
        did not within the time given.
    gradient_K_m, rate_K_s : array, shape (n,)
        Slope of temperature [K/m] and speed of cooling [K/s] at the critical share of solid.
    solid_at_last_frac : array, shape (n,)
        Share of solid when the run ended (1 everywhere if it ended well).
    temp_K : array, shape (n,)
        Temperature when the run ended [K].
    last_solid_s : float
        When the last metal was solid [s]; not a number if some never was.
    histories : Histories
        Temperatures over time, cooling included.
    heat : HeatBook
        The balance at the end of freezing.
    cooling_heat : HeatBook or None
        The balance of the cooling afterwards, if it was followed.
    effort : Effort
        Counts and clock.
    finished : bool
        Whether all metal froze; False after a cancelled run or the time limit.
    """

    cell: NDArray[np.int32]
    centre_m: Floats
    metal_m3: Floats
    liquidus_s: Floats
    critical_s: Floats
    freeze_s: Floats
    gradient_K_m: Floats
    rate_K_s: Floats
    solid_at_last_frac: Floats
    temp_K: Floats
    last_solid_s: float
    histories: Histories
    heat: HeatBook
    cooling_heat: HeatBook | None
    effort: Effort
    finished: bool

    @property
    def local_s(self) -> Floats:
        """Time from liquidus to solid at each cell [s], shape (n,)."""
        return self.freeze_s - self.liquidus_s

    @property
    def niyama_sqrtKs_m(self) -> Floats:
        """Gradient over the root of the cooling rate at each cell, shape (n,); a ranking, not a threshold.

        References
        ----------
        A criterion named after Niyama (1982); from memory.
        """
        rate_K_s = np.maximum(self.rate_K_s, 1e-12)
        return np.asarray(self.gradient_K_m / np.sqrt(rate_K_s))


@dataclass(frozen=True)
class FreezeState:
    """A run cut off between two steps, as arrays: enough to go on as if nothing had happened.

    Parameters
    ----------
    arrays : dict of str to array
        Fields and books by name; each can be stored as it is.
    fingerprint : str
        Of the problem it belongs to; going on with another problem is refused.
    """

    arrays: dict[str, NDArray[np.generic]]
    fingerprint: str
