"""What a person can measure of a cold arm: pulls on a scale, weights and radii, empty spins. All in SI."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin


@dataclass(frozen=True)
class PullReading:
    """Scale readings [N] with some turns wound [turn]: while winding, and while easing back; None if not read."""

    turns_turns: float
    winding_N: float | None
    easing_N: float | None


@dataclass(frozen=True)
class ArmPart:
    """A part that turns: mass [kg], middle from the shaft with the arm straight [m], own inertia [kg*m**2]."""

    kg: float
    radius_m: float
    own_kg_m2: float = 0.0
    beyond_hinge: bool = False


@dataclass(frozen=True)
class SpeedReading:
    """A speed [rad/s] at a time after the first reading of its spin [s], with its standard error [rad/s]."""

    time_s: float
    speed_rad_s: float
    sigma_rad_s: float


@dataclass(frozen=True)
class EmptySpin:
    """One spin without metal.

    Parameters
    ----------
    turns_turns : float
        Turns wound [turn].
    peak : SpeedReading or None
        At the end of the drive.
    opens_rad : float or None
        Angle turned when the hinge leaves its stop [rad].
    coast : tuple of SpeedReading
        While the arm runs down.
    """

    turns_turns: float
    peak: SpeedReading | None = None
    opens_rad: float | None = None
    coast: tuple[SpeedReading, ...] = ()


@dataclass(frozen=True)
class ReadingErrors:
    """Standard errors of the readings; each is our judgement and has no source unless the studio states its own.

    Parameters
    ----------
    pull_N, pull_frac : float
        Of one pull: a step of the scale [N], and an unsteady hand as a share of the reading.
    radius_m : float
        Of a length by tape [m].
    mass_frac : float
        Of a weight.
    points_frac : float
        Of the inertia, because parts are counted as points at their middles.
    opens_rad : float
        Of the angle at which the hinge opens, read off a video [rad].
    """

    pull_N: float = 0.15
    pull_frac: float = 0.015
    radius_m: float = 0.001
    mass_frac: float = 0.005
    points_frac: float = 0.03
    opens_rad: float = 0.05


@dataclass(frozen=True)
class ArmReadings:
    """All that was measured of one arm.

    Parameters
    ----------
    pulls : tuple of PullReading
        At one radius.
    pull_radius_m : float or None
        Where the scale was hooked [m].
    parts : tuple of ArmPart
        Everything that turned in the spins; empty if not weighed.
    spins : tuple of EmptySpin
        Any number, at any winding.
    hinge_m : float or None
        Shaft to hinge [m].
    folded_rad : float
        How far the outer part is folded back at the start [rad].
    errors : ReadingErrors
        How far readings may be off.
    """

    pulls: tuple[PullReading, ...] = ()
    pull_radius_m: float | None = None
    parts: tuple[ArmPart, ...] = ()
    spins: tuple[EmptySpin, ...] = ()
    hinge_m: float | None = None
    folded_rad: float = pi / 2
    errors: ReadingErrors = ReadingErrors()


def weighed_inertia_kg_m2(readings: ArmReadings) -> float:
    """Return the inertia of the parts about the shaft, the arm straight [kg*m**2]."""
    return sum(one.kg * one.radius_m**2 + one.own_kg_m2 for one in readings.parts)


def weighed_sigma_kg_m2(readings: ArmReadings) -> float:
    """Return the standard error of that inertia from weights, tape and the middles of the parts [kg*m**2]."""
    errors = readings.errors
    tape = sum((2 * one.kg * one.radius_m * errors.radius_m) ** 2 for one in readings.parts)
    scale = sum((one.kg * one.radius_m**2 * errors.mass_frac) ** 2 for one in readings.parts)
    return float((tape + scale + (errors.points_frac * weighed_inertia_kg_m2(readings)) ** 2) ** 0.5)


def opening_by_parts_rad(readings: ArmReadings) -> float | None:
    """Return the angle at which the parts beyond the hinge should open it under a constant torque [rad].

    The stop lets go when the pull of the turning exceeds what it takes to speed the outer part up; None without parts
    beyond the hinge.
    """
    outer = [one for one in readings.parts if one.beyond_hinge]
    if not outer or readings.hinge_m is None:
        return None
    hinge_m, folded_rad = readings.hinge_m, readings.folded_rad
    about_hinge = sum(one.kg * (one.radius_m - hinge_m) ** 2 + one.own_kg_m2 for one in outer)
    coupling = hinge_m * sum(one.kg * (one.radius_m - hinge_m) for one in outer)
    if coupling <= 0:
        return None
    return (about_hinge + coupling * cos(folded_rad)) / (2 * coupling * sin(folded_rad))
