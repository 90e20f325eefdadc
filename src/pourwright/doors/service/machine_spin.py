"""The speed of one empty spin, heard or seen."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from pourwright.core.errors import UnitError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import SUFFIXES, read, show
from pourwright.doors.service.recordings import Region, read_recording
from pourwright.physics.spin.arm import speed_rpm
from pourwright.physics.spin.rhythm import Rhythm, beat_power, follow_rhythm, peak_heard

_SQUARE, _SQUARE_OFF = 2.0, 0.6
_ROWS = 10


@dataclass(frozen=True)
class MachineSpinAnswer:
    """The speed over time; None if findings stop it."""

    findings: tuple[Finding, ...]
    file: str
    rhythm: Rhythm | None = None


def follow_spin(path: Path, per_turn_count: int = 1, frame_rate: str = "", region: str = "") -> MachineSpinAnswer:
    """Follow the speed through a recording.

    Parameters
    ----------
    path : Path
        WAV sound or video of one empty spin.
    per_turn_count : int
        How often it sounds or passes in a turn.
    frame_rate, region : str
        For a video: pictures a second really taken, and the part to watch, as typed.
    """
    try:
        rate = read(frame_rate, SUFFIXES["per_s"], "--frame-rate") if frame_rate else None
        part = _region(region) if region else None
        if rate is not None and rate <= 0:
            raise UnitError(frame_rate)
    except (UnitError, ValueError):
        params = {"text": " ".join(one for one in (frame_rate, region) if one)}
        return MachineSpinAnswer((Finding("doors.spin-option", Level.STOP, path.name, params),), path.name)
    recorded = read_recording(path, rate, part)
    if isinstance(recorded, Finding):
        return MachineSpinAnswer((recorded,), path.name)
    rhythm = follow_rhythm(recorded.signal, recorded.rate_per_s, per_turn_count)
    if rhythm is None:
        none = Finding("doors.spin-no-rhythm", Level.STOP, path.name, {"file": path.name})
        return MachineSpinAnswer((none,), path.name)
    return MachineSpinAnswer((), path.name, rhythm)


def _region(text: str) -> Region:
    left, top, width, height = (int(one) for one in text.split(","))
    if min(left, top) < 0 or min(width, height) < 1:
        raise ValueError(text)
    return left, top, width, height


def as_json(answer: MachineSpinAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values; on refusal the same keys, empty."""
    found = answer.rhythm
    speeds = [] if found is None else zip(found.time_s, found.speed_rad_s, found.sigma_rad_s, strict=True)
    return {
        "speeds": [
            {
                "time_s": round(float(at), 2),
                "speed_rpm": round(speed_rpm(float(speed)), 1),
                "sigma_rpm": round(speed_rpm(float(sigma)), 1),
            }
            for at, speed, sigma in speeds
        ],
        "peak_rpm": round(speed_rpm(peak_heard(found)[0]), 1) if found else None,
        "peak_sigma_rpm": round(speed_rpm(peak_heard(found)[1]), 1) if found else None,
        "beat_power_ratio": round(beat_power(found), 2) if found else None,
        "findings": [one.as_json() for one in answer.findings],
    }


def as_text(answer: MachineSpinAnswer) -> str:
    """Return peak, what the beat says, and rows to paste; nothing on refusal."""
    found = answer.rhythm
    if found is None:
        return ""
    top = int(np.argmax(found.speed_rad_s))
    first, last = (show(float(one), "s") for one in (found.time_s[0], found.time_s[-1]))
    peak, off = (speed_rpm(one) for one in peak_heard(found))
    power = beat_power(found)
    square = abs(power - _SQUARE) <= _SQUARE_OFF
    lines = [
        say("doors.spin-title", file=answer.file, first=first, last=last),
        say("doors.spin-peak", peak=show(peak, "rpm"), off=f"{off / peak:.1%}"),
        say("doors.spin-beat-square" if square else "doors.spin-beat-other", power=f"{power:.1f}"),
        "",
        say("doors.spin-paste"),
        "",
        f'peak = "{peak:.1f} rpm"',
    ]
    return "\n".join([*lines, *_rows(found, top)])


def _rows(found: Rhythm, top: int) -> list[str]:
    """Return rows of the run-down, from the peak on, as they stand in the file of measurements."""
    spots = np.unique(np.linspace(top, len(found.time_s) - 1, _ROWS).round().astype(int))
    return [
        f'[[spin.coast]]\ntime = "{found.time_s[one]:.2f} s"\nspeed = "{speed_rpm(float(speed)):.1f} rpm"'
        for one, speed in zip(spots, found.speed_rad_s[spots], strict=True)
    ]
