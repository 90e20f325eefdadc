"""What a filling run is given: the hollow, the ways in, what drives the metal, the metal, the mould. All SI.

Frame: ``along`` the arm, outward from the hinge; ``across`` it in the plane of turning, positive towards where the arm
turns to (the leading side); ``up`` from the bench. In a pour without an arm ``along`` points down into the flask.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, pi, radians

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int32]

STANDARD_GRAVITY_M_S2 = 9.80665  # exact by definition
SPRUE_TANK = 0


@dataclass(frozen=True, eq=False)
class Cavity:
    """The hollow to fill, as a list of the voxels that hold metal once it is full.

    Every voxel belongs to one tank: tank 0 is the sprue with all that the stream falls into (funnel, button); each
    further tank is a body behind one or more gates.

    Parameters
    ----------
    place_m : array, shape (n, 3)
        Middles of the voxels: along (from the hinge), across, up [m].
    side_m : float
        Side of a voxel [m].
    neighbours : array of int32, shape (n, 6)
        Voxels that share a face, in any tank: two columns for each axis of the grid, low side first; -1 where there is
        wall. See :func:`pourwright.physics.fill.cavity.find_neighbours`.
    volume_m3 : array, shape (n,)
        Metal that each holds when full [m**3]; cut voxels hold less than a whole one.
    wall_m2 : array, shape (n,)
        True area of mould wall that each wets [m**2].
    modulus_m : array, shape (n,)
        Volume over wall area of the section round each [m]: half the thickness of a plate, a quarter of a wire's.
    vent_m : array, shape (n,)
        Mould between each and the outside of the flask, the way that gas takes [m].
    tank : array of int32, shape (n,)
        Tank of each.
    names : tuple of str
        Of the tanks; the first is the sprue.
    inlet : array of int32, shape (i,)
        Voxels of the sprue where the stream comes in.
    """

    place_m: Floats
    side_m: float
    neighbours: Whole
    volume_m3: Floats
    wall_m2: Floats
    modulus_m: Floats
    vent_m: Floats
    tank: Whole
    names: tuple[str, ...]
    inlet: Whole

    @property
    def count(self) -> int:
        """Number of voxels."""
        return len(self.tank)


@dataclass(frozen=True, eq=False)
class Gate:
    """A way from the sprue into a tank.

    Parameters
    ----------
    tank : int
        Where it leads.
    voxels : array of int32, shape (g,)
        Voxels of that tank through which the metal comes in.
    area_m2 : float
        Narrowest section [m**2].
    length_m : float
        Of the narrow part, for friction [m].
    place_m : array, shape (3,)
        Where it leaves the sprue: along, across, up [m].
    discharge_ratio : float
        Share of the ideal flow that passes: 0.6 sharp to 0.9 rounded. From memory (hydraulics textbooks).
    shut : bool
        Nothing passes; for asking what a gate does.
    """

    tank: int
    voxels: Whole
    area_m2: float
    length_m: float
    place_m: Floats
    discharge_ratio: float = 0.6
    shut: bool = False


@dataclass(frozen=True, eq=False)
class Supply:
    """The crucible and its mouth: the free surface of the metal goes outward as the crucible empties.

    Parameters
    ----------
    volume_m3 : float
        Metal to be had [m**3].
    full_m, empty_m : array, shape (3,)
        Middle of its free surface when full and when empty: along, across, up [m].
    mouth_m2 : float
        Narrowest section of the mouth or spout [m**2].
    mouth_m : array, shape (3,)
        Where the metal leaves it: along, across, up [m].
    discharge_ratio : float
        Share of the ideal flow that passes the mouth. From memory (hydraulics textbooks): 0.6 sharp, 0.9 rounded.
    column_m : float
        Length of metal, reckoned at the mouth's section, that must be set moving [m]; 0 flows at once.
    lip_rad : float
        Slope of the crucible's lip: metal leaves once the force along the arm beats the force down by its tangent
        [rad]; 0 leaves at once.
    """

    volume_m3: float
    full_m: Floats
    empty_m: Floats
    mouth_m2: float
    mouth_m: Floats
    discharge_ratio: float = 0.7
    column_m: float = 0.0
    lip_rad: float = 0.0


@dataclass(frozen=True)
class Sprue:
    """What the sprue takes from the head on the way to the gates.

    Parameters
    ----------
    area_m2, diameter_m : float
        Its section [m**2] and width [m].
    entry_ratio : float
        Loss at its upper end, in heads of its speed: 0.5 from a pool. From memory (hydraulics textbooks).
    friction_ratio : float
        Loss for each diameter of length, in heads of its speed: 0.02 to 0.04. From memory (hydraulics textbooks).
    """

    area_m2: float
    diameter_m: float
    entry_ratio: float = 0.5
    friction_ratio: float = 0.03


@dataclass(frozen=True, eq=False)
class Drive:
    """What drives the metal, over time. All arrays have shape (t,) and belong to ``time_s``; flat after the last.

    A place feels ``along_m_s2 + turning_rad_s**2 * along`` outward, and likewise across; the speeding up of the
    turning pushes across. At a blow two samples may lie close together.

    Parameters
    ----------
    time_s : array
        Rising, from release [s].
    along_m_s2, across_m_s2 : array
        Force per mass at the hinge, where ``along`` and ``across`` are 0 [m/s**2].
    turning_rad_s, turning_rad_s2 : array
        Of the part that holds the flask: its speed [rad/s] and how fast that grows [rad/s**2].
    push_Pa : array
        Pressure on the free surface above that of the air in the mould: what a vacuum under the flask adds [Pa].
    gravity_m_s2 : array, shape (3,)
        Along, across, up [m/s**2].
    """

    time_s: Floats
    along_m_s2: Floats
    across_m_s2: Floats
    turning_rad_s: Floats
    turning_rad_s2: Floats
    push_Pa: Floats
    gravity_m_s2: Floats = field(default_factory=lambda: np.array([0.0, 0.0, -STANDARD_GRAVITY_M_S2]))


def steady_spin(speed_rad_s: float, hinge_m: float, gravity_m_s2: float = STANDARD_GRAVITY_M_S2) -> Drive:
    """Return the drive of a straight arm at one speed.

    Parameters
    ----------
    speed_rad_s : float
        Of the arm [rad/s].
    hinge_m : float
        Shaft to hinge [m]; 0 if places along the arm count from the shaft.
    gravity_m_s2 : float
        Downward [m/s**2].
    """
    still = np.zeros(1)
    return Drive(still, np.full(1, hinge_m * speed_rad_s**2), still, np.full(1, speed_rad_s), still, still,
                 np.array([0.0, 0.0, -gravity_m_s2]))  # fmt: skip


def standing_pour(push_Pa: float = 0.0) -> Drive:
    """Return the drive of a flask that stands mouth up: its own weight, and what a vacuum below it adds [Pa]."""
    still = np.zeros(1)
    return Drive(still, still, still, still, still, np.full(1, push_Pa), np.array([STANDARD_GRAVITY_M_S2, 0.0, 0.0]))


@dataclass(frozen=True, eq=False)
class Melt:
    """The metal as it is poured.

    Parameters
    ----------
    pour_K : float
        As it leaves the crucible [K].
    temp_K, enthalpy_J_m3, solid_frac : array, shape (k,)
        Knots: temperature, rising [K]; heat held by a cubic metre of metal, rising [J/m**3]; share of solid, falling
        from 1 to 0. Straight between and beyond the knots.
    density_kg_m3 : float
        Of the liquid [kg/m**3].
    surface_tension_N_m : float
        Of the liquid [N/m].
    contact_deg : float
        Angle at which it meets the mould [deg]; over 90 it does not wet it.
    viscosity_Pa_s : float
        Of the liquid [Pa*s].
    stop_frac : float
        Share of solid at which a stream stands still: 0.2 to 0.35 where freezing takes a range, near 1 for pure metal.
        From memory (Flemings, Solidification Processing).
    """

    pour_K: float
    temp_K: Floats
    enthalpy_J_m3: Floats
    solid_frac: Floats
    density_kg_m3: float
    surface_tension_N_m: float
    contact_deg: float
    viscosity_Pa_s: float
    stop_frac: float = 0.3

    @property
    def liquidus_K(self) -> float:
        """Coldest temperature at which all is liquid."""
        return float(self.temp_K[self.solid_frac <= 0.0].min())

    @property
    def shy_N_m(self) -> float:
        """Surface tension times how little the metal wets the mould [N/m]; 0 where it wets it."""
        return max(-self.surface_tension_N_m * cos(radians(self.contact_deg)), 0.0)


@dataclass(frozen=True)
class MouldWall:
    """The mould as the metal meets it.

    Parameters
    ----------
    temp_K : float
        Before the metal comes [K].
    conductivity_W_mK, heat_capacity_J_m3K : float
        Of the fired mould at about that temperature [W/m/K, J/m**3/K].
    contact_W_m2K : float
        Between liquid metal and mould [W/m**2/K].
    permeability_m2 : float
        For gas [m**2]; infinite lets it out freely.
    gas_viscosity_Pa_s : float
        Of hot air [Pa*s].
    ambient_Pa : float
        Outside the flask, absolute [Pa].
    porosity_frac : float
        Share of pores, which take up gas before it is through the mould; 0 leaves that out.
    """

    temp_K: float
    conductivity_W_mK: float
    heat_capacity_J_m3K: float
    contact_W_m2K: float
    permeability_m2: float
    gas_viscosity_Pa_s: float
    ambient_Pa: float = 101325.0
    porosity_frac: float = 0.0


@dataclass(frozen=True)
class FillControl:
    """How finely a filling run is reckoned and where it gives up.

    Parameters
    ----------
    step_max_s : float
        Longest step of the flow between tanks [s].
    share_max_frac : float
        Most that a step may add to a tank, as a share of the tank.
    time_limit_s : float
        Give up after so long [s].
    passes_most_count : int
        Most floods, each with the places that froze in the last one blocked.
    """

    step_max_s: float = 5e-4
    share_max_frac: float = 0.01
    time_limit_s: float = 10.0
    passes_most_count: int = 8


@dataclass(frozen=True, eq=False)
class FillProblem:
    """All that a filling run is given."""

    cavity: Cavity
    gates: tuple[Gate, ...]
    sprue: Sprue
    supply: Supply
    drive: Drive
    melt: Melt
    mould: MouldWall
    control: FillControl = field(default_factory=FillControl)


def round_area_m2(diameter_m: float) -> float:
    """Return the section of a round bar or hole [m**2] of a diameter [m]."""
    return pi * diameter_m**2 / 4
