"""Arms that nobody owns, and what a careful person would read off them; for tests of the fit."""

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np

from pourwright.physics.spin.fitting import SWING_FRAC
from pourwright.physics.spin.readings import (
    ArmPart,
    ArmReadings,
    EmptySpin,
    PullReading,
    SpeedReading,
    weighed_sigma_kg_m2,
)
from pourwright.physics.spin.run_up import RunUp, peak_rad_s, running_down_rad_s
from pourwright.physics.spin.spring import torque_Nm

RADIUS_M, COAST_S, VIDEO_FRAC = 0.2, (0.0, 4.0, 8.0, 12.0, 16.0, 22.0), 0.008


def made_up_arm(rng, viscous_Nms=0.0):
    """Draw an arm."""
    return RunUp(
        torque_start_Nm=rng.uniform(0.5, 1.6),
        torque_rate_Nm_turn=exp(rng.normal(log(1.6), 0.3)),
        friction_frac=rng.uniform(0.08, 0.16),
        inertia_kg_m2=exp(rng.normal(log(0.15), 0.2)),
        dry_Nm=exp(rng.normal(log(0.06), 0.25)),
        viscous_Nms=viscous_Nms,
        air_Nms2=exp(rng.normal(log(6e-5), 0.25)),
        blow_frac=rng.normal(0.02, 0.01),
    )


def readings_from(arm, rng, turns=(2.0, 3.0, 4.0)):
    """Read an arm with the errors that the readings state."""
    errors = ArmReadings().errors
    hook_m = RADIUS_M + rng.normal() * errors.radius_m

    def pull_N(turn, side):
        true = torque_Nm(arm.torque_start_Nm, arm.torque_rate_Nm_turn, turn) * (1 + side * arm.friction_frac) / hook_m
        return true + rng.normal() * sqrt(errors.pull_N**2 + (errors.pull_frac * true) ** 2)

    pulls = tuple(PullReading(one, pull_N(one, 1), pull_N(one, -1)) for one in np.arange(0.5, 4.1, 0.5))
    weighed = ArmReadings(parts=(ArmPart(1.0, sqrt(arm.inertia_kg_m2)),))
    off = rng.normal() * weighed_sigma_kg_m2(weighed)
    parts = (ArmPart(1.0, sqrt(arm.inertia_kg_m2 + off)),)
    return replace(
        weighed, pulls=pulls, pull_radius_m=RADIUS_M, parts=parts, spins=tuple(_spin(arm, one, rng) for one in turns)
    )


def _spin(arm, turns, rng):
    peak = peak_rad_s(arm, turns) * (1 + SWING_FRAC * rng.normal())
    speeds = running_down_rad_s(arm, peak, np.array(COAST_S))
    return EmptySpin(turns, _read(0.0, peak, rng), None, tuple(
        _read(at, now, rng) for at, now in zip(COAST_S, speeds, strict=True) if now > 0.2 * peak
    ))  # fmt: skip


def _read(time_s, speed, rng):
    return SpeedReading(time_s, speed * (1 + VIDEO_FRAC * rng.normal()), VIDEO_FRAC * speed)
