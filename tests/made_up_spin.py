"""Recordings of a made-up empty spin: it speeds up for a second and runs down, and whooshes once a turn."""

import numpy as np
from scipy.io import wavfile

from pourwright.physics.spin.run_up import RunUp, running_down_rad_s

UP_S, PEAK_RAD_S = 1.0, 27.0
ARM = RunUp(1.0, 1.6, 0.12, 0.15, 0.08, 0.0, 8e-5)


def speed_rad_s(time_s):
    """Return the true speed at times after the release."""
    up = PEAK_RAD_S * np.sin(np.clip(time_s / UP_S, 0, 1) * np.pi / 2)
    return np.where(time_s < UP_S, up, running_down_rad_s(ARM, PEAK_RAD_S, np.maximum(time_s - UP_S, 0)))


def passes(time_s, sharp=6.0):
    """Return how near the arm is to the phone, 0 to 1, sharply once a turn."""
    angle = np.concatenate([[0], np.cumsum(np.diff(time_s) * speed_rad_s(time_s)[1:])])
    return np.exp(sharp * (np.cos(angle) - 1))


def sound(rng, seconds=20.0, rate=8000, noise=0.05, power=2.0):
    """Return a whoosh of noise that grows with the speed, in a noisy room; largest value near a half."""
    time_s = np.arange(int(seconds * rate)) / rate
    loud = (speed_rad_s(time_s) / PEAK_RAD_S) ** power
    return 0.12 * (loud * passes(time_s) * rng.normal(size=len(time_s)) + noise * rng.normal(size=len(time_s)))


def write_wav(path, samples, rate=8000, kind="int16"):
    """Write samples (shares of full scale) as a WAV of a kind."""
    top = {"int16": 2**15 - 1, "int32": 2**31 - 1}.get(kind, 1)
    wavfile.write(path, rate, np.clip(samples * top, -top, top).astype(kind))
    return path
