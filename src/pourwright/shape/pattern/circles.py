"""The smallest circle round points of a plane."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from math import hypot

import numpy as np
from numpy.typing import NDArray

# Share of the radius within which a point lies on a circle.
_ON_FRAC = 1e-9
_MOST_STEPS = 200

Spot = tuple[float, float]
_Circle = tuple[float, float, float]


def smallest_circle(flat_mm: NDArray[np.float64], likely: NDArray[np.int64] | None = None) -> float:
    """Return the diameter of the smallest circle round points [mm].

    The circle grows: it starts as a point, and each time it takes in the point farthest outside, held by that point
    and one or two of those that held it before. As its radius only grows and there are finitely many circles, it ends.

    Parameters
    ----------
    flat_mm : array, shape (2, n)
        At least one point [mm].
    likely : array of int, optional
        Numbers of points that the circle is likely to be held by; a good guess saves time, a bad one costs little.
    """
    circle, on = _point(flat_mm)
    if likely is not None:
        circle, held = _grown(flat_mm[:, likely], *_point(flat_mm[:, likely]))
        on = [int(likely[one]) for one in held]
    return 2 * _grown(flat_mm, circle, on)[0][2]


def _point(flat_mm: NDArray[np.float64]) -> tuple[_Circle, list[int]]:
    return (float(flat_mm[0, 0]), float(flat_mm[1, 0]), 0.0), [0]


def _grown(flat_mm: NDArray[np.float64], circle: _Circle, on: list[int]) -> tuple[_Circle, list[int]]:
    """Let a circle, held by some of the points, take in all of them."""
    x_mm, y_mm = flat_mm
    for _ in range(_MOST_STEPS):
        away = (x_mm - circle[0]) ** 2 + (y_mm - circle[1]) ** 2
        farthest = int(np.argmax(away))
        if float(away[farthest]) ** 0.5 <= circle[2] * (1 + _ON_FRAC) or farthest in on:
            break
        held = {one: (float(x_mm[one]), float(y_mm[one])) for one in (farthest, *on)}
        circle, on = _smallest_of_few(held, farthest)
    return circle, on


def _smallest_of_few(spots: dict[int, Spot], newest: int) -> tuple[_Circle, list[int]]:
    """Return the smallest circle round up to four points that the newest one helps to hold."""
    rest = [one for one in spots if one != newest]
    holders = [(newest, *few) for count in (1, 2) for few in combinations(rest, count)]
    tried = [(_through([spots[one] for one in few]), list(few)) for few in holders]
    return min((pair for pair in tried if _holds(pair[0], spots.values())), key=lambda pair: pair[0][2])


def _holds(circle: _Circle, spots: Iterable[Spot]) -> bool:
    x, y, radius = circle
    return all(hypot(one[0] - x, one[1] - y) <= radius * (1 + _ON_FRAC) for one in spots)


def _through(spots: Sequence[Spot]) -> _Circle:
    """Return the circle over two points as diameter, or through three; without end if those lie in a line."""
    (ax, ay), (bx, by) = spots[:2]
    if len(spots) == 2:
        return (ax + bx) / 2, (ay + by) / 2, hypot(bx - ax, by - ay) / 2
    ux, uy, vx, vy = bx - ax, by - ay, spots[2][0] - ax, spots[2][1] - ay
    twice = 2 * (ux * vy - uy * vx)
    if twice == 0:
        return ax, ay, float("inf")
    u2, v2 = ux * ux + uy * uy, vx * vx + vy * vy
    x, y = (vy * u2 - uy * v2) / twice, (ux * v2 - vx * u2) / twice
    return ax + x, ay + y, hypot(x, y)
