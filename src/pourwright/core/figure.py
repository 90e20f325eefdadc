"""A figure: a number that a person acts on, with its range and how it came about.

Figures hold the figures they were made from, so the trail from a printed number back to its sources needs no
bookkeeping of its own. A dataclass field that holds a figure is named with the figure's unit (``floor_g``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import product

from pourwright.core.interval import Interval

# More ranges than this are not combined corner by corner (2**n evaluations).
_MOST_CORNER_INPUTS = 12


@dataclass(frozen=True, eq=False)
class Figure:
    """A number with unit, range and origin.

    Parameters
    ----------
    value, low, high : float
        In ``unit``; low and high are what the ranges of the inputs allow.
    unit : str
        A suffix of :data:`pourwright.core.units.SUFFIXES`, for example ``g``.
    how : str
        Catalogue key of the sentence that says how the number is made.
    inputs : mapping of str to Figure
        What it was made from, in the order of the formula.
    sources : tuple of str
        Keys into the source register, for the formula or the value.
    origin : str
        For a given value: the file and key, or the table and row, it was read from.
    mover : str
        Name of the input whose range moves this number most; empty if none does.
    moved : (float, float), optional
        The number with that input alone at its low and at its high end, in ``unit``; None without a mover.
    """

    value: float
    low: float
    high: float
    unit: str
    how: str
    inputs: Mapping[str, Figure] = field(default_factory=dict)
    sources: tuple[str, ...] = ()
    origin: str = ""
    mover: str = ""
    moved: tuple[float, float] | None = None

    def as_interval(self) -> Interval:
        """Return value and range (in the figure's unit) without the trail."""
        return Interval(
            min(self.low, self.value), self.value, max(self.high, self.value), self.unit, sources=self.sources
        )


def given(
    value: float,
    unit: str,
    origin: str,
    low: float | None = None,
    high: float | None = None,
    sources: tuple[str, ...] = (),
    how: str = "core.given",
) -> Figure:
    """Return a figure that was read from a file (origin: file and key) or from a table; values in ``unit``."""
    return Figure(
        value,
        value if low is None else low,
        value if high is None else high,
        unit,
        how,
        sources=sources,
        origin=origin,
    )


def from_interval(interval: Interval, unit: str, origin: str) -> Figure:
    """Return a given figure with the range and sources of an interval already in ``unit``."""
    return given(interval.best, unit, origin, interval.low, interval.high, interval.sources, how="core.table")


def reckon(
    unit: str,
    how: str,
    formula: Callable[..., float],
    inputs: Mapping[str, Figure],
    sources: tuple[str, ...] = (),
) -> Figure:
    """Evaluate a formula on figures and carry range and trail along.

    The range is the smallest and largest value over all corners of the input ranges: a bound for a formula that is
    monotone in each input, which every formula used here is.

    Parameters
    ----------
    unit : str
        Unit of the result.
    how : str
        Catalogue key that explains the formula.
    formula : callable
        Takes the inputs by name as floats, returns a float in ``unit``.
    inputs : mapping of str to Figure
        At most twelve with a range.
    sources : tuple of str
        For the formula itself.

    Returns
    -------
    Figure
        Value, range, trail, and the input that moves it most.
    """
    best = {name: one.value for name, one in inputs.items()}
    value = formula(**best)
    moving = {name: one for name, one in inputs.items() if one.low != one.high}
    if len(moving) > _MOST_CORNER_INPUTS:
        raise ValueError(f"{len(moving)} ranges are too many to combine corner by corner")
    corners = product(*((one.low, one.high) for one in moving.values()))
    values = [formula(**(best | dict(zip(moving, corner, strict=True)))) for corner in corners] + [value]
    alone = {
        name: (formula(**(best | {name: one.low})), formula(**(best | {name: one.high})))
        for name, one in moving.items()
    }
    mover = max(alone, key=lambda name: abs(alone[name][1] - alone[name][0]), default="")
    return Figure(value, min(values), max(values), unit, how, dict(inputs), sources, "", mover, alone.get(mover))


def trace_mover(figure: Figure) -> tuple[tuple[str, Figure], ...]:
    """Return the input that moves a figure most, what moves that most, and so on to a value that was given."""
    way: list[tuple[str, Figure]] = []
    while figure.mover:
        figure = figure.inputs[(name := figure.mover)]
        way.append((name, figure))
    return tuple(way)
