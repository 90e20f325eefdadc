"""How a cast flask cools, learned from two or more readings: an exponential fall towards the room."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pourwright.core.errors import StudioError
from pourwright.core.figure import Figure, from_interval, reckon
from pourwright.core.text import say
from pourwright.studio.profile import Calibrated

TAU_KEY = "quench.tau"
START_KEY = "quench.start"


@dataclass(frozen=True)
class Reading:
    """Temperature of the hottest metal that can be reached, so many minutes after the throw."""

    after_min: float
    temperature_C: Figure


@dataclass(frozen=True)
class Cooling:
    """An exponential fall.

    Parameters
    ----------
    tau_min : Figure
        Time in which what is left above the room falls to 37 % [minute].
    start_C : Figure
        Where the fall starts, at the throw [degC].
    room_C : Figure
        Where it ends [degC].
    """

    tau_min: Figure
    start_C: Figure
    room_C: Figure


def fit_cooling(readings: Sequence[Reading], room_C: Figure) -> Cooling:
    """Fit an exponential fall to readings, by least squares on the logarithm of temperature above the room.

    Parameters
    ----------
    readings : sequence of Reading
        At least two, at different times; at most eleven with a range.
    room_C : Figure
        Room temperature [degC].

    Returns
    -------
    Cooling
        Its ranges are what the ranges of the readings allow.

    Raises
    ------
    StudioError
        Fewer than two times, a reading no warmer than the room, or readings that do not fall.
    """
    times_min = [one.after_min for one in readings]
    if len(set(times_min)) < 2:
        raise StudioError(say("prepare.cooling-two-readings"))
    inputs = {f"reading_{number}_C": one.temperature_C for number, one in enumerate(readings, 1)}
    inputs["room_C"] = room_C

    def tau(room_C: float, **read_C: float) -> float:
        return _line(times_min, list(read_C.values()), room_C)[0]

    def start(room_C: float, **read_C: float) -> float:
        return room_C + _line(times_min, list(read_C.values()), room_C)[1]

    return Cooling(
        reckon("min", "prepare.how-tau", tau, inputs),
        reckon("C", "prepare.how-start", start, inputs),
        room_C,
    )


def _line(times_min: Sequence[float], read_C: Sequence[float], room_C: float) -> tuple[float, float]:
    """Return time constant [minute] and height above the room at the throw [K] of the best line."""
    if min(read_C) <= room_C:
        raise StudioError(say("prepare.cooling-below-room"))
    slope, height = np.polyfit(times_min, np.log(np.asarray(read_C) - room_C), 1)
    if slope >= 0:
        raise StudioError(say("prepare.cooling-not-falling"))
    return float(-1 / slope), float(np.exp(height))


def minutes_to(cooling: Cooling, temperature_C: Figure) -> Figure:
    """Return when a flask has fallen to a temperature, in min after the throw; 0 when it starts below it.

    Parameters
    ----------
    cooling : Cooling
        How the flask cools.
    temperature_C : Figure
        Above the room [degC].
    """
    return reckon(
        "min",
        "prepare.how-minutes-to",
        lambda tau_min, start_C, room_C, temperature_C: max(
            0.0, tau_min * math.log((start_C - room_C) / (temperature_C - room_C))
        ),
        {
            "tau_min": cooling.tau_min,
            "start_C": cooling.start_C,
            "room_C": cooling.room_C,
            "temperature_C": temperature_C,
        },
    )


def calibrated_cooling(
    calibration: Mapping[str, Calibrated], steel_flask: str, room_C: Figure, pour_temperature_C: Figure | None
) -> Cooling | None:
    """Return the cooling that the studio accepted for a steel flask, or None.

    Parameters
    ----------
    calibration : mapping of str to Calibrated
        The studio's accepted values, by ``quantity`` or ``quantity:subject``.
    steel_flask : str
        Id of the steel flask.
    room_C : Figure
        Room temperature [degC].
    pour_temperature_C : Figure or None
        Stands for the start of the fall where only the time constant was accepted: no metal is hotter than it was
        poured, so the minutes err on the late side [degC].
    """
    tau = _accepted(calibration, TAU_KEY, steel_flask, "min")
    start = _accepted(calibration, START_KEY, steel_flask, "C") or pour_temperature_C
    if tau is None or start is None:
        return None
    return Cooling(tau, start, room_C)


def _accepted(calibration: Mapping[str, Calibrated], quantity: str, subject: str, unit: str) -> Figure | None:
    key = f"{quantity}:{subject}"
    found = calibration.get(key) or calibration.get(quantity)
    return from_interval(found.interval, unit, f"calibration.toml {key}") if found else None
