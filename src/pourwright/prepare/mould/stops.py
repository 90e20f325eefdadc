"""Flasks poured at falling temperatures: the kiln's curve goes on after the first pour, set-point by set-point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

from pourwright.core.figure import Figure, reckon
from pourwright.core.text import say
from pourwright.prepare.mould.core_lag import core_lag, mould_diffusivity
from pourwright.prepare.mould.loads import CastingStop, KilnLoad
from pourwright.prepare.mould.reading import as_set, controller_reading
from pourwright.prepare.mould.results import Burnout, BurnStep, CastingHold, CoreLag
from pourwright.prepare.mould.wall_clock import before, on_the_wall
from pourwright.studio.profile import Kiln


def fall_min(kiln: Kiln, from_C: Figure, to_C: Figure) -> Figure:
    """Return how long the kiln needs to fall from one true temperature to another [minute].

    Parameters
    ----------
    kiln : Kiln
        With its own rate of cooling.
    from_C, to_C : Figure
        The two temperatures [degC].
    """
    return reckon(
        "min",
        "prepare.how-fall",
        lambda from_C, to_C, cooling_C_h: 60 * max(0.0, from_C - to_C) / cooling_C_h,
        {"from_C": as_set(from_C), "to_C": as_set(to_C), "cooling_C_h": kiln.cooling_C_h},
    )


def with_stops(
    plan: Burnout,
    stops: Sequence[CastingStop],
    kiln: Kiln,
    loads: Sequence[KilnLoad],
    mould: str,
    zone: str,
) -> Burnout:
    """Return the plan with its casting set-points, and with the falls to the later ones.

    Parameters
    ----------
    plan : Burnout
        Up to the first pour.
    stops : sequence of CastingStop
        The hottest first; none leaves the plan as it is.
    kiln : Kiln
        How fast it falls.
    loads : sequence of KilnLoad
        For the diameters of the flasks.
    mould : str
        Id of the mould material.
    zone : str
        The studio's time zone.
    """
    if not plan.steps or not stops:
        return plan
    holds = [_hold(stops[0], plan.steps[-1].start, plan.first_pour, plan.lags, zone, kiln)]
    steps = list(plan.steps)
    for earlier, stop in pairwise(stops):
        steps[-1] = _held(steps[-1], holds[-1], earlier)
        lags = _lags(loads, stop, earlier.temperature_C, mould)
        steps += _fall_and_soak(kiln, steps[-1].end, earlier, stop, lags, zone)
        holds.append(_hold(stop, steps[-1].start, steps[-1].end, lags, zone, kiln))
    return replace(plan, steps=tuple(steps), casting=tuple(holds))


def _held(soak: BurnStep, hold: CastingHold, stop: CastingStop) -> BurnStep:
    """Return the soak drawn out over the pours that follow it."""
    poured = say("prepare.because-poured", flasks=", ".join(stop.flasks))
    return replace(soak, end=hold.done, because=f"{soak.because} {poured}")


def _later(moment: datetime, minutes_min: float, zone: str) -> datetime:
    return on_the_wall(before(moment, -minutes_min), zone)


def _hold(
    stop: CastingStop,
    reached: datetime,
    first: datetime,
    lags: Sequence[CoreLag],
    zone: str,
    kiln: Kiln,
) -> CastingHold:
    done = _later(first, stop.pours_min.value, zone)
    own = tuple(one for one in lags if one.flask in stop.flasks)
    return CastingHold(stop.temperature_C, _reading(kiln, stop), stop.flasks, reached, first, done, own)


def _reading(kiln: Kiln, stop: CastingStop) -> Figure:
    return controller_reading(as_set(stop.temperature_C), kiln.offset_C)


def _lags(loads: Sequence[KilnLoad], stop: CastingStop, from_C: Figure, mould: str) -> tuple[CoreLag, ...]:
    start_C, end_C = as_set(from_C), as_set(stop.temperature_C)
    diffusivity = mould_diffusivity(mould, (start_C.value + end_C.value) / 2)
    return tuple(
        core_lag(one.flask, one.diameter_mm, diffusivity, start_C, end_C) for one in loads if one.flask in stop.flasks
    )


def _fall_and_soak(
    kiln: Kiln, start: datetime, earlier: CastingStop, stop: CastingStop, lags: Sequence[CoreLag], zone: str
) -> list[BurnStep]:
    reached = _later(start, fall_min(kiln, earlier.temperature_C, stop.temperature_C).value, zone)
    from_C, to_C = earlier.temperature_C.value, stop.temperature_C.value
    falls = say("prepare.because-fall", kiln=kiln.id, flasks=", ".join(stop.flasks))
    evens = say("prepare.because-soak", flask=max(lags, key=lambda one: one.lag_min.value).flask)
    reading = _reading(kiln, stop)
    first = _later(reached, stop.soak_min.value, zone)
    return [
        BurnStep("cool", start, reached, from_C, to_C, falls, reading),
        BurnStep("soak", reached, first, to_C, to_C, evens, reading),
    ]
