"""What a flask is filled under: values with their ranges, single cases drawn from them, and what drives the metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from math import pi, radians

import numpy as np
from numpy.typing import NDArray

from pourwright.core.interval import Interval, latin
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.laws import metal_law, mould_law, surrounding
from pourwright.matter.moulds import mould as find_mould
from pourwright.physics.fill.problem import Drive, Melt, MouldWall, Supply, round_area_m2, standing_pour
from pourwright.physics.spin.body_force import hinge_force_m_s2, outer_speed_rad_s
from pourwright.physics.spin.history import ThrowHistory

Floats = NDArray[np.float64]

_M_MM = 1e-3
# The melt in front of the crucible's mouth that has to be set moving, in widths of the mouth.
_COLUMN_RATIO = 1.0


class Head(StrEnum):
    """What drives the metal into the mould."""

    SPIN = "spin"
    VACUUM = "vacuum"
    GRAVITY = "gravity"


@dataclass(frozen=True)
class ThrowConditions:
    """Materials, temperatures and the throw, with their ranges.

    Parameters
    ----------
    alloy, mould : str
        As in the tables.
    head : Head
        What drives the metal.
    charge_kg : float
        Metal poured [kg].
    room_K : float
        Air and walls of the room [K].
    pour_K, flask_K : Interval
        Metal with the torch still on it, and mould as it leaves the kiln [K].
    release_s, dwell_K_s : Interval
        From torch off to release [s], and how fast the metal cools in that time [K/s].
    open_s : Interval
        From the kiln to the pour [s].
    force_ratio : Interval
        Of the machine's drive, as multiples of what the throw was reckoned with: twice the torque is twice the force.
    vacuum_Pa : Interval
        Pressure that a vacuum under the flask adds [Pa]; only for that head.
    contact_W_m2K : Interval
        Between liquid metal and mould [W/m2/K].
    conductivity_ratio : Interval
        Of the mould, as multiples of the tables' value.
    permeability_m2 : Interval
        Of the mould for gas [m2].
    gate_frac, mouth_frac : Interval
        Share of the ideal flow that passes gates and the crucible's mouth.
    lip_rad : Interval
        Slope of the crucible's lip [rad].
    mouth_mm : Interval
        Width of the crucible's mouth, or of the stream where there is none [mm].
    """

    alloy: str
    mould: str
    head: Head
    charge_kg: float
    room_K: float
    pour_K: Interval
    flask_K: Interval
    release_s: Interval
    open_s: Interval
    force_ratio: Interval
    vacuum_Pa: Interval
    lip_rad: Interval
    mouth_mm: Interval
    dwell_K_s: Interval
    contact_W_m2K: Interval
    conductivity_ratio: Interval
    permeability_m2: Interval
    gate_frac: Interval
    mouth_frac: Interval


@dataclass(frozen=True)
class ThrowCase:
    """One value out of each range, units as in :class:`ThrowConditions`."""

    pour_K: float
    flask_K: float
    release_s: float
    open_s: float
    force_ratio: float
    vacuum_Pa: float
    lip_rad: float
    mouth_mm: float
    dwell_K_s: float
    contact_W_m2K: float
    conductivity_ratio: float
    permeability_m2: float
    gate_frac: float
    mouth_frac: float

    @property
    def arrival_K(self) -> float:
        """The metal as it leaves the crucible [K]."""
        return self.pour_K - self.release_s * self.dwell_K_s


def throw_conditions(
    alloy: str,
    mould: str,
    head: Head,
    charge_kg: float,
    room_K: float,
    pour_K: Interval,
    flask_K: Interval,
    release_s: Interval,
    open_s: Interval,
    force_ratio: Interval,
    mouth_mm: Interval,
    lip_rad: Interval | None = None,
    vacuum_Pa: Interval | None = None,
) -> ThrowConditions:
    """Return conditions with the tables' ranges for all that is not given; units as in :class:`ThrowConditions`.

    Raises
    ------
    DataError
        No such alloy or mould, or the tables lack a value.
    """
    material = find_mould(mould)
    conductivity = material.conductivity_W_mK
    lip = surrounding("lip")
    return ThrowConditions(
        alloy=alloy,
        mould=mould,
        head=head,
        charge_kg=charge_kg,
        room_K=room_K,
        pour_K=pour_K,
        flask_K=flask_K,
        release_s=release_s,
        open_s=open_s,
        force_ratio=force_ratio,
        vacuum_Pa=vacuum_Pa or Interval.exact(0.0, "Pa"),
        lip_rad=lip_rad or lip.scaled(pi / 180, "rad"),
        mouth_mm=mouth_mm,
        dwell_K_s=surrounding("dwell_cooling"),
        contact_W_m2K=surrounding("contact"),
        conductivity_ratio=conductivity.scaled(1 / conductivity.best, ""),
        permeability_m2=material.permeability_m2,
        gate_frac=surrounding("gate_discharge"),
        mouth_frac=surrounding("mouth_discharge"),
    )


def throw_ranges(conditions: ThrowConditions) -> Mapping[str, Interval]:
    """Return the ranges of a case's values by their names."""
    return {name: getattr(conditions, name) for name in ThrowCase.__dataclass_fields__}


def best_throw(conditions: ThrowConditions) -> ThrowCase:
    """Return the case of all best values."""
    return ThrowCase(**{name: one.best for name, one in throw_ranges(conditions).items()})


def draw_throws(conditions: ThrowConditions, count: int, seed: int) -> tuple[ThrowCase, ...]:
    """Draw cases that fill the ranges evenly, the same for the same seed."""
    drawn = latin(throw_ranges(conditions), count, seed)
    return tuple(ThrowCase(**{name: float(values[row]) for name, values in drawn.items()}) for row in range(count))


def drive_of(throw: ThrowHistory) -> Drive:
    """Return what a throw of the arm drives the metal with; across, the outer part's own speeding up is apart."""
    arm = throw.arm
    across = -arm.hinge_m * (
        throw.speed_rad_s**2 * np.sin(throw.hinge_rad) + throw.speedup_rad_s2 * np.cos(throw.hinge_rad)
    )
    turning = outer_speed_rad_s(throw)
    return Drive(
        time_s=throw.time_s,
        along_m_s2=hinge_force_m_s2(throw),
        across_m_s2=across,
        turning_rad_s=turning,
        turning_rad_s2=throw.speedup_rad_s2 + throw.hinge_rad_s2,
        push_Pa=np.zeros_like(throw.time_s),
    )


def scaled_drive(drive: Drive, force_ratio: float) -> Drive:
    """Return the drive of the same arm with all torques so many times as large.

    The arm goes the same way at each angle, faster by the root of that number: a similarity of the equations of motion,
    exact as long as friction grows with the spring and small beside gravity's part in it.
    """
    faster = float(np.sqrt(force_ratio))
    return replace(
        drive,
        time_s=drive.time_s / faster,
        along_m_s2=drive.along_m_s2 * force_ratio,
        across_m_s2=drive.across_m_s2 * force_ratio,
        turning_rad_s=drive.turning_rad_s * faster,
        turning_rad_s2=drive.turning_rad_s2 * force_ratio,
    )


def drive_in(case: ThrowCase, head: Head, throw: Drive | None) -> Drive:
    """Return the drive of one case.

    Parameters
    ----------
    case : ThrowCase
        One value out of each range.
    head : Head
        What drives the metal.
    throw : Drive or None
        Of the arm as it was reckoned; only for a spin.

    Raises
    ------
    ValueError
        A spin without a throw.
    """
    if head is not Head.SPIN:
        return standing_pour(case.vacuum_Pa if head is Head.VACUUM else 0.0)
    if throw is None:
        raise ValueError("metal that is thrown needs a throw")
    return scaled_drive(throw, case.force_ratio)


def melt_in(case: ThrowCase, alloy_id: str) -> Melt:
    """Return the metal of one case; as dense as liquid at the pour, and its heat per volume of that liquid."""
    one, law = find_alloy(alloy_id), metal_law(alloy_id)
    liquid_kg_m3 = one.liquid_kg_m3(case.arrival_K).best
    tension, slope = one.property("surface_tension"), one.property("surface_tension_slope")
    over_K = case.arrival_K - one.liquidus_K.best
    return Melt(
        pour_K=case.arrival_K,
        temp_K=law.temp_K,
        enthalpy_J_m3=law.enthalpy_J_m3 * (liquid_kg_m3 / one.solid_kg_m3.best),
        solid_frac=law.solid_frac,
        density_kg_m3=liquid_kg_m3,
        surface_tension_N_m=tension.best + slope.best * over_K,
        contact_deg=surrounding("contact_angle").best,
        viscosity_Pa_s=one.property("viscosity").best,
        stop_frac=surrounding("stop").best,
    )


def mould_in(case: ThrowCase, mould_id: str, temp_K: float) -> MouldWall:
    """Return the mould of one case, at a temperature [K]; gas soaks into its pores, far from the flask's ends."""
    law = mould_law(mould_id, conductivity_ratio=case.conductivity_ratio)
    return MouldWall(
        temp_K=temp_K,
        conductivity_W_mK=float(np.interp(temp_K, law.temp_K, law.conductivity_W_mK)),
        heat_capacity_J_m3K=float(np.interp(temp_K, law.temp_K, law.heat_capacity_J_m3K)),
        contact_W_m2K=case.contact_W_m2K,
        permeability_m2=case.permeability_m2,
        gas_viscosity_Pa_s=surrounding("gas_viscosity").best,
        porosity_frac=find_mould(mould_id).porosity_frac.best,
    )


def supply_in(case: ThrowCase, conditions: ThrowConditions, mouth_m: float, crucible_mm: float) -> Supply:
    """Return crucible and mouth of one case, in front of the flask.

    Parameters
    ----------
    case : ThrowCase
        One value out of each range.
    conditions : ThrowConditions
        What is poured.
    mouth_m : float
        Where the flask's mouth lies along the arm [m]: the crucible's mouth stands on it.
    crucible_mm : float
        Width of the crucible [mm]: the melt in it is taken for as wide, and so deep along the arm as its volume asks.
    """
    liquid_kg_m3 = find_alloy(conditions.alloy).liquid_kg_m3(case.arrival_K).best
    volume_m3 = conditions.charge_kg / liquid_kg_m3
    width_m = _M_MM * case.mouth_mm
    deep_m = volume_m3 / (_M_MM * crucible_mm) ** 2
    at_mouth = np.array([mouth_m, 0.0, 0.0])
    return Supply(
        volume_m3=volume_m3,
        full_m=at_mouth - np.array([deep_m, 0.0, 0.0]),
        empty_m=at_mouth,
        mouth_m2=round_area_m2(width_m),
        mouth_m=at_mouth,
        discharge_ratio=case.mouth_frac,
        column_m=_COLUMN_RATIO * width_m,
        lip_rad=case.lip_rad if conditions.head is Head.SPIN else radians(0.0),
    )
