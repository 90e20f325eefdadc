"""A throw over time: the hinged arm as two bodies, and everything that is known of it at each moment."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class HingedArm:
    """A spring-wound arm with one hinge, loaded as it runs.

    The hinge angle is 0 with the arm straight and negative with the outer part trailing behind.

    Parameters
    ----------
    torque_start_Nm, torque_rate_Nm_turn : float
        Spring: torque with nothing wound [N*m], and what each turn adds [N*m/turn].
    inner_kg_m2 : float
        Hub, inner arm and weight about the shaft [kg*m**2].
    outer_kg : float
        Everything beyond the hinge, flask, crucible and metal with it [kg].
    outer_own_kg_m2 : float
        The outer part about its own centre of mass [kg*m**2].
    hinge_m : float
        Shaft to hinge [m].
    outer_centre_m : float
        Hinge to the centre of mass of the outer part [m].
    cocked_rad : float
        How far the outer part is folded back at the start [rad].
    spring_loss_frac : float
        Share of the spring's torque that its own coils take.
    dry_Nm, viscous_Nms, air_Nms2 : float
        Friction at the shaft: constant [N*m], with the speed [N*m*s], with its square [N*m*s**2].
    restitution_frac : float
        Share of the hinge's speed that comes back from a stop.
    """

    torque_start_Nm: float
    torque_rate_Nm_turn: float
    inner_kg_m2: float
    outer_kg: float
    outer_own_kg_m2: float
    hinge_m: float
    outer_centre_m: float
    cocked_rad: float = pi / 2
    spring_loss_frac: float = 0.0
    dry_Nm: float = 0.0
    viscous_Nms: float = 0.0
    air_Nms2: float = 0.0
    restitution_frac: float = 0.0

    @property
    def outer_kg_m2(self) -> float:
        """The outer part about the hinge [kg*m**2]."""
        return self.outer_own_kg_m2 + self.outer_kg * self.outer_centre_m**2

    @property
    def coupling_kg_m2(self) -> float:
        """What couples the two bodies: outer mass times hinge radius times its centre beyond it [kg*m**2]."""
        return self.outer_kg * self.hinge_m * self.outer_centre_m

    def whole_kg_m2(self, hinge_rad: float) -> float:
        """Return the inertia about the shaft with the hinge held at an angle [rad]."""
        return float(self.folded_kg_m2(cos(hinge_rad)))

    def folded_kg_m2(self, cos_hinge: Any) -> Any:
        """Return the inertia about the shaft [kg*m**2] for the cosine of a hinge angle, a number or an array."""
        inner_kg_m2 = self.inner_kg_m2 + self.outer_kg * self.hinge_m**2
        return inner_kg_m2 + self.outer_kg_m2 + 2 * self.coupling_kg_m2 * cos_hinge

    def opening_angle_rad(self) -> float:
        """Return how far a constant torque turns an arm cocked at a right angle until the hinge leaves its stop.

        The stop lets go when the pull of the turning on the outer part exceeds what it takes to speed it up. Neither
        the spring nor the winding is in it: a check of the masses and lengths that a slow-motion video shows.
        """
        return self.outer_kg_m2 / (2 * self.coupling_kg_m2)


@dataclass(frozen=True)
class ThrowHistory:
    """One throw, sampled from release until the arm rests or the time asked for is over.

    All arrays have the shape (n,) and belong to ``time_s``, which rises strictly. At a blow on a stop there are two
    samples a nanosecond apart, before and after it.

    Parameters
    ----------
    arm : HingedArm
        What was thrown.
    turns_turns : float
        Turns wound [turn].
    time_s : array
        Since release [s].
    angle_rad, speed_rad_s, speedup_rad_s2 : array
        Of the inner arm [rad, rad/s, rad/s**2].
    hinge_rad, hinge_rad_s, hinge_rad_s2 : array
        Hinge angle, its rate and the rate of that; 0 straight, negative folded back [rad, rad/s, rad/s**2].
    spring_J, kinetic_J, friction_J, impact_J : array
        Energy so far: given by the spring, in the moving bodies, taken by friction (also in the spring's coils),
        lost in blows on the stops [J]. The first is the sum of the other three.
    opens_s, straight_s, let_go_s, peak_s, rest_s : float
        When the hinge leaves its stop, when the arm is first straight, when the spring is run down and lets go,
        when the inner arm is fastest, and when it rests [s]; NaN where that does not happen in the time.
    opens_at_rad : float
        Angle turned when the hinge leaves its stop [rad]; NaN if it does not.
    """

    arm: HingedArm
    turns_turns: float
    time_s: NDArray[np.float64]
    angle_rad: NDArray[np.float64]
    speed_rad_s: NDArray[np.float64]
    speedup_rad_s2: NDArray[np.float64]
    hinge_rad: NDArray[np.float64]
    hinge_rad_s: NDArray[np.float64]
    hinge_rad_s2: NDArray[np.float64]
    spring_J: NDArray[np.float64]
    kinetic_J: NDArray[np.float64]
    friction_J: NDArray[np.float64]
    impact_J: NDArray[np.float64]
    opens_s: float
    opens_at_rad: float
    straight_s: float
    let_go_s: float
    peak_s: float
    rest_s: float
