"""What a filling run gives: when metal arrived at each place, how warm, and where and why it did not. All SI."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int32]


class Fate(IntEnum):
    """What became of a voxel."""

    FILLED = 0
    FROZEN = 1  # the metal that came stood still here: too much of it was solid
    CLOSED = 2  # the way to it froze shut before metal came
    SHY = 3  # too narrow for the pressure there was while the metal was liquid
    GAS = 4  # gas held the metal off until it froze
    CUT_OFF = 5  # only to be reached through places that did not fill
    STARVED = 6  # the tank got too little metal, or none, in the time


@dataclass(frozen=True, eq=False)
class Pocket:
    """A place whose gas is shut in by metal and can leave only through the mould.

    Parameters
    ----------
    tank : int
        Where it is.
    voxels : array of int32, shape (p,)
        Its voxels.
    place_m : array, shape (3,)
        Where the gas is driven to: the innermost place of the pocket; along, across, up [m].
    volume_m3 : float
        Of the pocket when it is shut in [m**3].
    shut_s, filled_s : float
        When metal shuts it in, and when the gas is out [s]; NaN if that does not happen.
    """

    tank: int
    voxels: Whole
    place_m: Floats
    volume_m3: float
    shut_s: float
    filled_s: float


@dataclass(frozen=True)
class TankFill:
    """How one tank filled.

    Parameters
    ----------
    name : str
        Of the tank.
    volume_m3, filled_m3 : float
        What it holds and what it got [m**3].
    first_s, last_s : float
        When metal first came, and when the last place that filled was full [s]; NaN if none came.
    coldest_K : float
        Coldest metal on arrival [K]; NaN if none came.
    head_Pa, gas_Pa : float
        Largest head at the gates and largest gas pressure over that outside, while it filled [Pa].
    speed_m_s : float
        Fastest flow through its gates [m/s].
    weber_ratio : float
        Inertia against surface tension there: density times speed squared times width over surface tension. The larger,
        the more air and slag a stream folds in: a ranking, not a limit.
    trailing : bool
        Its gate is on the trailing side, where the stream in the sprue is pressed: some metal may come early.
    reynolds_ratio : float
        Inertia against viscosity there at the fastest: over some 2300 the stream is turbulent, as the friction that is
        reckoned with takes it to be. From memory (hydraulics textbooks).
    """

    name: str
    volume_m3: float
    filled_m3: float
    first_s: float
    last_s: float
    coldest_K: float
    head_Pa: float
    gas_Pa: float
    speed_m_s: float
    weber_ratio: float
    trailing: bool
    reynolds_ratio: float = 0.0

    @property
    def filled_frac(self) -> float:
        """Share of the tank that filled."""
        return self.filled_m3 / self.volume_m3 if self.volume_m3 > 0 else 0.0


@dataclass(frozen=True)
class MassBook:
    """Where the metal went, as volumes of liquid.

    Parameters
    ----------
    start_m3, crucible_m3, flying_m3, tanks_m3 : float
        In the crucible at the start; at the end in the crucible, on its way to the sprue, and in the tanks [m**3].
    """

    start_m3: float
    crucible_m3: float
    flying_m3: float
    tanks_m3: float

    @property
    def error_frac(self) -> float:
        """Share of the metal that the books cannot account for."""
        return abs(self.crucible_m3 + self.flying_m3 + self.tanks_m3 - self.start_m3) / self.start_m3


@dataclass(frozen=True, eq=False)
class FlowHistory:
    """The flow between crucible and tanks over time; k tanks, the sprue first.

    Parameters
    ----------
    time_s : array, shape (m,)
        Since release [s].
    crucible_m3 : array, shape (m,)
        Metal still in the crucible [m**3].
    mouth_m3_s : array, shape (m,)
        Flow out of the crucible [m**3/s].
    volume_m3 : array, shape (m, k)
        Metal in each tank [m**3].
    head_Pa : array, shape (m, k)
        Pressure that drives metal into each tank, losses and gas not yet taken off [Pa]; 0 while the sprue's metal
        does not reach its gates.
    gas_Pa : array, shape (m, k)
        Of the gas in each tank over that outside [Pa].
    """

    time_s: Floats
    crucible_m3: Floats
    mouth_m3_s: Floats
    volume_m3: Floats
    head_Pa: Floats
    gas_Pa: Floats


@dataclass(frozen=True, eq=False)
class FillResult:
    """When and how each voxel filled.

    Parameters
    ----------
    arrival_s : array, shape (n,)
        When metal filled it [s]; NaN if none did.
    arrival_K : array, shape (n,)
        Temperature of that metal [K]; NaN if none came.
    solid_frac : array, shape (n,)
        Share of it that was solid; NaN if none came.
    misrun_ratio : array, shape (n,)
        The largest of three ratios that stop metal at 1: share of solid against the share at which a stream stands
        still; pressure needed to enter against pressure there is; time of arrival against time until the way there is
        frozen. Infinite where metal was stopped for want of flow. A ranking until it is calibrated on outcomes.
    fate : array of uint8, shape (n,)
        A :class:`Fate` for each.
    pocket : array of int32, shape (n,)
        Place in ``pockets`` of the pocket it lies in; -1 in none.
    leading : array of bool, shape (n,)
        Lies on the leading side of a way that the stream did not fill at first: it fills later than said.
    tanks : tuple of TankFill
        By tank.
    pockets : tuple of Pocket
        Shut-in gas, largest first.
    history : FlowHistory
        Of the last pass.
    book : MassBook
        Of the last pass.
    settled : bool
        Whether the last flood blocked nothing new.
    passes_count : int
        Floods made.
    """

    arrival_s: Floats
    arrival_K: Floats
    solid_frac: Floats
    misrun_ratio: Floats
    fate: NDArray[np.uint8]
    pocket: Whole
    leading: NDArray[np.bool_]
    tanks: tuple[TankFill, ...]
    pockets: tuple[Pocket, ...]
    history: FlowHistory
    book: MassBook
    settled: bool
    passes_count: int

    @property
    def last_s(self) -> float:
        """When the last voxel that filled was full [s]; NaN if none filled."""
        return float(np.nanmax(self.arrival_s)) if np.isfinite(self.arrival_s).any() else float("nan")
