"""Reads a recording of an empty spin: a WAV sound by scipy, a video by the extra ``video``."""

from __future__ import annotations

import os
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.physics.spin.rhythm import loudness

_LEAST_S = 4.0
_SILENT_RATIO, _FULL_RATIO, _CLIPPED_FRAC = 3e-4, 0.999, 2e-3
_RIFF, _WAVE, _HEAD_BYTES = (b"RIFF", b"RIFX", b"RF64"), b"WAVE", 12  # some films begin with RIFF too
_QUIET = {"OPENCV_LOG_LEVEL": "OFF", "OPENCV_FFMPEG_LOGLEVEL": "-8"}
Region = tuple[int, int, int, int]


@dataclass(frozen=True)
class Recording:
    """Loudness or brightness over time, shape (n,), and its rate."""

    signal: NDArray[Any]
    rate_per_s: float


def read_recording(path: Path, frame_rate_per_s: float | None, region: Region | None) -> Recording | Finding:
    """Read a sound or video.

    Parameters
    ----------
    path : Path
        A WAV file, else a video.
    frame_rate_per_s : float or None
        What the camera really took [1/s]; None: as the file says.
    region : tuple or None
        Left, top, width and height of the part to watch, in pixels.

    Returns
    -------
    Recording or Finding
        The finding says in one sentence why it cannot be used.
    """
    try:
        with path.open("rb") as handle:
            head = handle.read(_HEAD_BYTES)
    except OSError:
        return _fault("missing", path)
    found = _sound(path) if head[:4] in _RIFF and head[8:] == _WAVE else _video(path, frame_rate_per_s, region)
    if isinstance(found, Finding):
        return found
    length_s = len(found.signal) / found.rate_per_s
    if length_s < _LEAST_S:
        return _fault("short", path, length=show(length_s, "s"), least=show(_LEAST_S, "s"))
    return found


def _fault(what: str, path: Path, **params: object) -> Finding:
    return Finding(_FAULTS[what], Level.STOP, path.name, {"file": path.name, **params})


_FAULTS = {
    "missing": "doors.spin-missing",
    "short": "doors.spin-short",
    "silent": "doors.spin-silent",
    "clipped": "doors.spin-clipped",
    "not-sound": "doors.spin-not-sound",
    "no-video": "doors.spin-no-video",
    "option": "doors.spin-option",
}


def _sound(path: Path) -> Recording | Finding:
    from scipy.io import wavfile

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", wavfile.WavFileWarning)
            rate, data = wavfile.read(path)
    except (ValueError, OSError, EOFError, ArithmeticError, MemoryError, LookupError, TypeError, NotImplementedError):
        return _fault("not-sound", path)
    if not data.size or rate <= 0:
        return _fault("not-sound", path)
    sound = _scaled(data)
    if not np.all(np.isfinite(sound)):
        return _fault("not-sound", path)
    clipped = float(np.mean(np.abs(sound) >= _FULL_RATIO))
    if clipped > _CLIPPED_FRAC:
        return _fault("clipped", path, share=f"{clipped:.1%}")
    mono = sound.reshape(len(sound), -1).mean(axis=1)
    if np.sqrt(np.mean((mono - mono.mean()) ** 2)) < _SILENT_RATIO:
        return _fault("silent", path)
    return Recording(*loudness(mono, float(rate)))


def _scaled(data: NDArray[Any]) -> NDArray[Any]:
    """Return samples of any kind as shares of full scale; 24 bit come left-justified in 32."""
    if data.dtype.kind == "f":
        return data.astype(float)
    if data.dtype.kind == "u":
        return (data.astype(float) - 128) / 128
    return np.asarray(data.astype(float) / -float(np.iinfo(data.dtype).min))


def _video(path: Path, frame_rate_per_s: float | None, region: Region | None) -> Recording | Finding:
    for name, level in _QUIET.items():  # read when the library is loaded; what it prints is no sentence for a person
        os.environ.setdefault(name, level)
    try:
        import cv2
    except ImportError:
        return _fault("no-video", path)
    film = cv2.VideoCapture(str(path))
    try:
        rate = frame_rate_per_s or float(film.get(cv2.CAP_PROP_FPS))
        bright = _brightness(film, region)
    finally:
        film.release()
    if bright is None and region is not None:
        return _fault("option", path, text=",".join(map(str, region)))
    if bright is None or not len(bright) or not rate > 0:
        return _fault("not-sound", path)
    return Recording(bright, rate)


def _brightness(film: Any, region: Region | None) -> NDArray[Any] | None:
    """Return the mean brightness of each picture's region; None if the region is not inside the first picture."""
    found = []
    left, top, width, height = region or (0, 0, 0, 0)
    going, picture = film.read()
    while going:
        part = picture[top : top + height, left : left + width] if region else picture
        if region and part.shape[:2] != (height, width):
            return None
        found.append(float(part.mean()))
        going, picture = film.read()
    return np.array(found)
