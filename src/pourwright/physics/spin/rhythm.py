"""The speed of an arm from something that repeats with every turn: a whoosh, a click, a mark that passes the lens.

Short stretches are held against themselves, shifted (autocorrelation): where a shift brings the stretch onto itself,
that is a turn. Long stretches are used only where short ones show nothing. While the speed changes much within a
stretch nothing is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[Any]

SLOWEST_RAD_S, FASTEST_RAD_S = 2 * pi * 0.5, 2 * pi * 15
_BEATS_A_SECOND = 250.0  # rate of a sound's loudness over time: 17 points a turn at the fastest
_STRETCHES_S, _HOP_S = (1.2, 2.5, 5.0), 0.25
_CLEAR, _FIRST_OF = 0.45, 0.8  # how alike a stretch and itself a turn later are; the first shift nearly as good is it
_JUMP_FRAC, _AROUND, _STIFF = 0.08, 9, 41  # a speed off the middle of its neighbours by more than this is a slip
_CHANGE_FRAC = 0.25  # within a stretch
_CHANGE_SEEN = 0.125  # of the change within a stretch, how much its middle may be off
_LEAST_POINTS = 8
_DRAWN_FROM_S = 4.0  # of the run-down, to draw it back to the peak
_READ_STEPS = 0.3  # of a sample: how well the top of a smooth curve is found between samples


@dataclass(frozen=True)
class Rhythm:
    """A speed over time, with its standard error, and how strong the beat once a turn is.

    Parameters
    ----------
    time_s : array, shape (n,)
        Middle of each stretch [s].
    speed_rad_s, sigma_rad_s : array, shape (n,)
        Speed and its standard error [rad/s].
    beat_ratio : array, shape (n,)
        Amplitude of the part that repeats once a turn, as a share of its largest.
    """

    time_s: Floats
    speed_rad_s: Floats
    sigma_rad_s: Floats
    beat_ratio: Floats


def loudness(sound: Floats, rate_per_s: float) -> tuple[Floats, float]:
    """Return a sound's loudness over time, shape (m,), and its rate [1/s]; ``sound`` of shape (n,), any scale."""
    block = max(1, round(rate_per_s / _BEATS_A_SECOND))
    whole = len(sound) // block * block
    return np.abs(sound[:whole] - np.mean(sound)).reshape(-1, block).mean(axis=1), rate_per_s / block


def follow_rhythm(signal: Floats, rate_per_s: float, per_turn_count: int = 1) -> Rhythm | None:
    """Follow what repeats with every turn.

    Parameters
    ----------
    signal : array, shape (n,)
        Loudness or brightness over time.
    rate_per_s : float
        Of the samples [1/s].
    per_turn_count : int
        How often it repeats in a turn.

    Returns
    -------
    Rhythm or None
        None if nothing repeats clearly for long enough.
    """
    level = _levelled(signal, rate_per_s)
    hops = range(0, len(level), max(1, round(_HOP_S * rate_per_s)))
    heard = [found for middle in hops if (found := _at(level, middle, rate_per_s, per_turn_count))]
    if len(heard) < _LEAST_POINTS:
        return None
    time_s, beats, reads, stretches = (np.array(column) for column in zip(*heard, strict=True))
    keep = _steady(time_s, beats, stretches)
    if keep.sum() < _LEAST_POINTS:
        return None
    time_s, beats, reads, stretches = time_s[keep], beats[keep], reads[keep], stretches[keep]
    off = np.abs(beats / _smooth(beats) - 1)
    scatter = 1.4826 * np.median(off)  # as a standard deviation
    change = np.abs(np.gradient(_middles(beats), time_s)) * stretches / beats
    sigma = beats * np.sqrt(reads**2 + scatter**2 + off**2 + (_CHANGE_SEEN * change) ** 2)
    swing = np.array([_amplitude(level, *one, rate_per_s) for one in zip(time_s, beats, stretches, strict=True)])
    return Rhythm(time_s, beats / per_turn_count, sigma / per_turn_count, swing / swing.max())


def peak_heard(rhythm: Rhythm) -> tuple[float, float]:
    """Return the speed at which the spring let go, and its standard error [rad/s].

    The stretch in which it lets go is not clear itself. The peak lies between the fastest clear speed and the run-down
    drawn back over half a stretch from there: the middle is taken, and half the way to either end as its error.
    """
    top = int(np.argmax(rhythm.speed_rad_s))
    near = (rhythm.time_s >= rhythm.time_s[top]) & (rhythm.time_s <= rhythm.time_s[top] + _DRAWN_FROM_S)
    slowing = 0.0
    if near.sum() > 2:
        slowing = max(0.0, -float(np.polyfit(rhythm.time_s[near], rhythm.speed_rad_s[near], 1)[0]))
    half_way = slowing * _STRETCHES_S[0] / 4
    return float(rhythm.speed_rad_s[top]) + half_way, float(np.hypot(rhythm.sigma_rad_s[top], half_way))


def beat_power(rhythm: Rhythm) -> float:
    """Return the power of the speed with which the beat grows [dimensionless]; 2 is that of a weight out of balance."""
    power, _ = np.polyfit(np.log(rhythm.speed_rad_s), np.log(np.maximum(rhythm.beat_ratio, 1e-6)), 1)
    return float(power)


def _levelled(signal: Floats, rate_per_s: float) -> Floats:
    from scipy.ndimage import uniform_filter1d

    return np.asarray(signal - uniform_filter1d(signal, max(3, round(4 * rate_per_s)), mode="nearest"))


def _at(level: Floats, middle: int, rate_per_s: float, per_turn: int) -> tuple[float, float, float, float] | None:
    """Return time, speed of the beat, its reading error as a share, and the stretch used; None if nothing is clear."""
    for stretch_s in _STRETCHES_S:
        half = round(stretch_s * rate_per_s / 2)
        if half <= middle <= len(level) - half:
            found = _period(level[middle - half : middle + half], rate_per_s, per_turn)
            if found:
                period_s, read = found
                return middle / rate_per_s, 2 * pi / period_s, read, stretch_s
    return None


def _period(stretch: Floats, rate_per_s: float, per_turn: int) -> tuple[float, float] | None:
    """Return the time [s] after which a stretch repeats itself, and its reading error as a share of it."""
    from scipy.signal import correlate, find_peaks

    stretch = stretch - stretch.mean()
    count = len(stretch)
    alike = correlate(stretch, stretch, method="fft")[count - 1 :] / np.arange(count, 0, -1)
    shortest = max(2, int(2 * pi * rate_per_s / (FASTEST_RAD_S * per_turn)))
    longest = min(round(count / 2.5), int(2 * pi * rate_per_s / (SLOWEST_RAD_S * per_turn)))
    if alike[0] <= 0 or longest <= shortest + 2:
        return None
    alike = alike / alike[0]
    tops, _ = find_peaks(alike[: longest + 1])
    tops = tops[tops >= shortest]
    if not len(tops) or alike[tops].max() < _CLEAR:
        return None
    first = int(tops[alike[tops] >= _FIRST_OF * alike[tops].max()][0])
    times = 1
    lag = _top(alike, first)
    while (times + 1) * lag / times < longest:
        times += 1
        guess = round(lag * times / (times - 1))
        near = slice(guess - max(1, first // 5), guess + max(1, first // 5) + 1)
        lag = _top(alike, near.start + int(np.argmax(alike[near])))
    return lag / times / rate_per_s, _READ_STEPS / lag


def _top(curve: Floats, spot: int) -> float:
    """Return where the parabola through a point and its neighbours is highest [samples, dimensionless]."""
    before, here, after = curve[spot - 1 : spot + 2]
    bend = before - 2 * here + after
    return float(spot + (before - after) / (2 * bend)) if bend < 0 else float(spot)


def _middles(beats: Floats) -> Floats:
    from scipy.ndimage import median_filter

    return np.asarray(median_filter(beats, _AROUND, mode="nearest"))


def _smooth(beats: Floats) -> Floats:
    """Return a curve through the speeds that is stiff enough not to follow the errors of stretches that overlap."""
    from scipy.signal import savgol_filter

    return np.asarray(savgol_filter(beats, min(_STIFF, len(beats) // 2 * 2 - 1), 2))


def _steady(time_s: Floats, beats: Floats, stretches: Floats) -> NDArray[np.bool_]:
    """Return which speeds go with their neighbours and did not change much within their stretch."""
    middles = _middles(beats)
    change = np.abs(np.gradient(middles, time_s)) * stretches / middles
    calm = (np.abs(beats / middles - 1) < _JUMP_FRAC) & (change < _CHANGE_FRAC)
    return np.asarray(calm & _surrounded(time_s, stretches))


def _surrounded(time_s: Floats, stretches: Floats) -> NDArray[np.bool_]:
    """Return which stretches were heard at both their ends too; else the arm was speeding up or stopping there."""
    ends = np.stack([time_s - stretches / 2, time_s + stretches / 2], axis=1)
    nearest = np.abs(time_s[:, None, None] - ends[None]).min(axis=0)
    return np.asarray((nearest <= _HOP_S).all(axis=1))


def _amplitude(level: Floats, middle_s: Any, beat: Any, stretch_s: Any, rate_per_s: float) -> float:
    """Return the amplitude of the part of a stretch that swings with the beat, in the signal's scale [as given]."""
    middle, half = round(middle_s * rate_per_s), round(stretch_s * rate_per_s / 2)
    stretch = level[middle - half : middle + half]
    window = np.hanning(len(stretch))
    turning = np.exp(-1j * beat * np.arange(len(stretch)) / rate_per_s)
    return float(2 * abs(np.sum(window * stretch * turning)) / window.sum())
