"""The burnout as a line to draw: the kiln's, and an estimate for the core of a flask."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from pourwright.prepare.mould.core_lag import core_curve_C
from pourwright.prepare.mould.results import Burnout
from pourwright.prepare.mould.wall_clock import minutes_between_min


@dataclass(frozen=True)
class CurvePoint:
    """A point of a temperature line: the moment, minutes since the kiln was lit, and the temperature there."""

    at: datetime
    since_light_min: float
    temperature_C: float


def kiln_curve(burnout: Burnout) -> tuple[CurvePoint, ...]:
    """Return the corners of the kiln's line, from lighting to the first pour; empty for a refused load."""
    if not burnout.steps:
        return ()
    first = burnout.steps[0]
    corners = [(first.start, first.from_C), *((one.end, one.to_C) for one in burnout.steps)]
    return tuple(CurvePoint(at, minutes_between_min(burnout.light_at, at), heat_C) for at, heat_C in corners)


def core_curve(
    burnout: Burnout, diameter_mm: float, diffusivity_mm2_s: float, every_min: float = 5.0
) -> tuple[CurvePoint, ...]:
    """Return an estimate of a flask's core temperature from the top hold to the first pour.

    Parameters
    ----------
    burnout : Burnout
        The kiln's programme.
    diameter_mm : float
        Inside diameter of the flask [mm].
    diffusivity_mm2_s : float
        Of the burned-out mould [mm**2/s].
    every_min : float
        Spacing of the points [minute].

    Returns
    -------
    tuple of CurvePoint
        Conduction alone is reckoned from lighting on. On the way up water boils out and holds the core back, which is
        not in it: so the line begins only where the kiln reaches its top.
    """
    corners = kiln_curve(burnout)
    if not corners:
        return ()
    corner_min = np.array([one.since_light_min for one in corners])
    corner_C = np.array([one.temperature_C for one in corners])
    grid_min = np.union1d(corner_min, np.arange(0.0, corner_min[-1], every_min))
    core_C = core_curve_C(grid_min, np.interp(grid_min, corner_min, corner_C), diameter_mm, diffusivity_mm2_s)
    from_min = corner_min[int(np.argmax(corner_C))]
    return tuple(
        CurvePoint(_moment(burnout, minutes), float(minutes), float(heat_C))
        for minutes, heat_C in zip(grid_min, core_C, strict=True)
        if minutes >= from_min
    )


def _moment(burnout: Burnout, since_light_min: float) -> datetime:
    """Return the moment in the offset of the step that it falls in."""
    moment = burnout.light_at + timedelta(minutes=float(since_light_min))
    step = next((one for one in burnout.steps if one.start <= moment <= one.end), burnout.steps[-1])
    return moment.astimezone(step.start.tzinfo)
