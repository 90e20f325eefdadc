"""A value with its range, and the one sampler that draws from ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import DataError

# A normal shape takes low..high as its central 95 %: 2 x 1.96 standard deviations.
_NORMAL_SPAN_SIGMAS = 3.92


class Shape(StrEnum):
    """How likely the values between low and high are."""

    UNIFORM = "uniform"
    NORMAL = "normal"
    LOG_UNIFORM = "log-uniform"


@dataclass(frozen=True)
class Interval:
    """A best value between a low and a high one, all in one unit.

    Parameters
    ----------
    low, best, high : float
        In the unit given; ``low <= best <= high``.
    unit : str
        As written in the tables, for example ``kg/m3``; empty for a pure number.
    shape : Shape
        How the sampler spreads values over the range.
    sources : tuple of str
        Keys into the source register.
    kind : str
        How the value is known, one of the kinds of :mod:`pourwright.core.sources`.

    Raises
    ------
    DataError
        The three values are not in order, or not finite.
    """

    low: float
    best: float
    high: float
    unit: str = ""
    shape: Shape = Shape.UNIFORM
    sources: tuple[str, ...] = ()
    kind: str = ""

    def __post_init__(self) -> None:
        if not np.all(np.isfinite((self.low, self.best, self.high))):
            raise DataError(f"interval {self.low} {self.best} {self.high} {self.unit} is not finite")
        if not self.low <= self.best <= self.high:
            raise DataError(f"interval {self.low} {self.best} {self.high} {self.unit} is not in order")
        if self.shape is Shape.LOG_UNIFORM and self.low <= 0:
            raise DataError(f"a log-uniform interval must be positive, not {self.low} {self.unit}")

    @classmethod
    def exact(cls, value: float, unit: str = "", sources: tuple[str, ...] = (), kind: str = "") -> Interval:
        """Return the interval of one known value (in ``unit``)."""
        return cls(value, value, value, unit, sources=sources, kind=kind)

    def scaled(self, factor_ratio: float, unit: str) -> Interval:
        """Return the interval times a positive factor, in the new unit."""
        return Interval(
            self.low * factor_ratio,
            self.best * factor_ratio,
            self.high * factor_ratio,
            unit,
            self.shape,
            self.sources,
            self.kind,
        )


def sample(intervals: Mapping[str, Interval], count: int, seed: int) -> dict[str, NDArray[np.float64]]:
    """Draw values for several named ranges, the same for the same seed whatever the order of names.

    Parameters
    ----------
    intervals : mapping of str to Interval
        What to draw.
    count : int
        How many draws.
    seed : int
        Start of the random numbers.

    Returns
    -------
    dict of str to array, shape (count,)
        Values in the unit of each interval.
    """
    generator = np.random.default_rng(seed)
    return {name: _draw(intervals[name], count, generator) for name in sorted(intervals)}


def latin(intervals: Mapping[str, Interval], count: int, seed: int) -> dict[str, NDArray[np.float64]]:
    """Draw values as :func:`sample` does, but evenly: each range cut into ``count`` parts, one value from each.

    Parameters
    ----------
    intervals : mapping of str to Interval
        What to draw.
    count : int
        How many draws.
    seed : int
        Start of the random numbers.

    Returns
    -------
    dict of str to array, shape (count,)
        Values in the unit of each interval.

    References
    ----------
    Latin hypercube sampling, McKay, Beckman and Conover (1979); from memory.
    """
    from scipy.stats import qmc

    names = sorted(intervals)
    shares = qmc.LatinHypercube(d=len(names), rng=np.random.default_rng(seed)).random(count)
    return {name: _at_share(intervals[name], shares[:, column]) for column, name in enumerate(names)}


def _at_share(interval: Interval, share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the values below which such shares of an interval's probability lie."""
    low, high = interval.low, interval.high
    if low == high:
        return np.full(len(share), interval.best)
    if interval.shape is Shape.LOG_UNIFORM:
        return np.asarray(low * (high / low) ** share)
    if interval.shape is Shape.NORMAL:
        from scipy.special import ndtri

        return np.asarray(interval.best + (high - low) / _NORMAL_SPAN_SIGMAS * ndtri(share))
    return np.asarray(low + (high - low) * share)


def _draw(interval: Interval, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
    if interval.low == interval.high:
        return np.full(count, interval.best)
    if interval.shape is Shape.LOG_UNIFORM:
        return np.exp(generator.uniform(np.log(interval.low), np.log(interval.high), count))
    if interval.shape is Shape.NORMAL:
        sigma = (interval.high - interval.low) / _NORMAL_SPAN_SIGMAS
        return generator.normal(interval.best, sigma, count)
    return generator.uniform(interval.low, interval.high, count)
