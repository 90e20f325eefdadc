"""In what order to pour flasks of different temperatures from one kiln: the hottest first, with the fewest waits.

The kiln only falls. At each new set-point it needs the time of the fall and a soak, so flasks that can be cast at one
temperature share a set-point. A shared set-point stands in the middle of what all its flasks allow: a little time could
be saved at an edge, but a kiln is off by some degrees and the window would be missed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pourwright.prepare.flasking.wishes import common_window_C

# Up to so many groups every way of sharing set-points is tried; beyond, windows are joined from the hot end.
MOST_TRIED_COUNT = 8


@dataclass(frozen=True)
class PourGroup:
    """Flasks that want the same.

    Parameters
    ----------
    flasks : tuple of str
        Ids of the loads, in the order in which to pour them.
    wanted_C : float
        Flask temperature if nothing is shared [degC].
    low_C, high_C : float
        What they can be cast at [degC].
    """

    flasks: tuple[str, ...]
    wanted_C: float
    low_C: float
    high_C: float


@dataclass(frozen=True)
class Pace:
    """How fast the day goes.

    Parameters
    ----------
    cooling_C_min : float
        Fall of the kiln [delta_degC/minute].
    soak_min : float
        At each new set-point [minute].
    each_min : float
        For each pour [minute].
    """

    cooling_C_min: float
    soak_min: float
    each_min: float


@dataclass(frozen=True)
class SetPoint:
    """A kiln temperature and the flasks poured at it; ``first_min`` is when, after the first pour of the day."""

    temperature_C: float
    flasks: tuple[str, ...]
    first_min: float


@dataclass(frozen=True)
class PourOrder:
    """Set-points in falling order, and the time from the first pour until the last is done."""

    set_points: tuple[SetPoint, ...]
    total_min: float


def order_pours(groups: Sequence[PourGroup], pace: Pace, least_shared_K: float = 0.0) -> PourOrder:
    """Return the order that is done soonest; of two equally soon, the one nearer to what the flasks want.

    Parameters
    ----------
    groups : sequence of PourGroup
        At least one. With more than eight it is not proven that nothing is sooner.
    pace : Pace
        Of kiln and people.
    least_shared_K : float
        Flasks share a set-point only where at least so much of what they allow is common to all, or all that the
        strictest of them allows: the doubt about the kiln's reading, so that nobody's window is missed [K].

    Raises
    ------
    ValueError
        No groups, a kiln that does not fall, or a group that wants what it does not allow.
    """
    _check(groups, pace)
    every = len(groups) <= MOST_TRIED_COUNT
    ways = _every_way(groups, least_shared_K) if every else iter([_from_the_hot_end(groups, least_shared_K)])
    return min((_timed(way, pace) for way in ways), key=lambda one: (round(one.total_min, 6), _off_K(one, groups)))


def _check(groups: Sequence[PourGroup], pace: Pace) -> None:
    if not groups:
        raise ValueError("an order needs at least one group")
    if pace.cooling_C_min <= 0:
        raise ValueError("the kiln must cool")
    for one in groups:
        if not one.low_C <= one.wanted_C <= one.high_C:
            raise ValueError(f"{', '.join(one.flasks)}: wanted temperature outside what is allowed")


def _every_way(groups: Sequence[PourGroup], least_shared_K: float) -> Iterator[list[list[PourGroup]]]:
    """Yield every way of sharing set-points in which all that share one have enough in common."""
    if not groups:
        yield []
        return
    first, rest = groups[0], groups[1:]
    for way in _every_way(rest, least_shared_K):
        yield [[first], *way]
        for place, shared in enumerate(way):
            if _may_share([first, *shared], least_shared_K):
                yield [*way[:place], [first, *shared], *way[place + 1 :]]


def _may_share(shared: Sequence[PourGroup], least_shared_K: float) -> bool:
    window = _window_C(shared)
    if window is None:
        return False
    strictest_K = min(one.high_C - one.low_C for one in shared)
    return window[1] - window[0] >= min(least_shared_K, strictest_K) - 1e-9


def _from_the_hot_end(groups: Sequence[PourGroup], least_shared_K: float) -> list[list[PourGroup]]:
    """Join each group to the last set-point that it still has enough in common with."""
    way: list[list[PourGroup]] = []
    for one in sorted(groups, key=lambda it: (-it.low_C, -it.wanted_C)):
        if way and _may_share([*way[-1], one], least_shared_K):
            way[-1].append(one)
        else:
            way.append([one])
    return way


def _window_C(shared: Sequence[PourGroup]) -> tuple[float, float] | None:
    return common_window_C([(one.low_C, one.high_C) for one in shared])


def _set_C(shared: Sequence[PourGroup]) -> float:
    """Return the temperature of a set-point: what they all want, else the middle of what they all allow [degC]."""
    if len({one.wanted_C for one in shared}) == 1:
        return shared[0].wanted_C
    window = _window_C(shared)
    assert window is not None  # only such groups share
    return (window[0] + window[1]) / 2


def _timed(way: Sequence[Sequence[PourGroup]], pace: Pace) -> PourOrder:
    clock_min = 0.0
    set_points: list[SetPoint] = []
    for shared in sorted(way, key=lambda one: -_set_C(one)):
        here_C = _set_C(shared)
        if set_points:
            clock_min += (set_points[-1].temperature_C - here_C) / pace.cooling_C_min + pace.soak_min
        flasks = tuple(flask for one in shared for flask in one.flasks)
        set_points.append(SetPoint(here_C, flasks, clock_min))
        clock_min += pace.each_min * len(flasks)
    return PourOrder(tuple(set_points), clock_min)


def _off_K(order: PourOrder, groups: Sequence[PourGroup]) -> float:
    """Return by how much the flasks are off what they want, summed up [delta_degC]."""
    wanted = {flask: one.wanted_C for one in groups for flask in one.flasks}
    return round(sum(abs(wanted[flask] - one.temperature_C) for one in order.set_points for flask in one.flasks), 6)
