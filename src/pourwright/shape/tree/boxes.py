"""Gaps between the boxes of placed pieces: upright blocks, each turned to face the sprue."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from math import cos, dist, hypot, inf, radians, sin

from pourwright.shape.tree.simple import Placed

Plan = tuple[float, float]


def corners_mm(placed: Placed) -> tuple[Plan, Plan, Plan, Plan]:
    """Return the corners of a piece's box as seen from above [mm], in order round the box."""
    outward, across, _ = (half / 2 for half in placed.box_mm)
    c, s = cos(radians(placed.angle_deg)), sin(radians(placed.angle_deg))
    x, y, _ = placed.centre_mm

    def corner(along: float, beside: float) -> Plan:
        return x + along * c - beside * s, y + along * s + beside * c

    return corner(-outward, -across), corner(outward, -across), corner(outward, across), corner(-outward, across)


def reach_mm(placed: Placed) -> float:
    """Return how far the farthest corner of a piece's box is from the flask's axis [mm]."""
    return max(hypot(*corner) for corner in corners_mm(placed))


def gap_mm(one: Placed, other: Placed) -> float:
    """Return the distance between the boxes of two pieces [mm]; 0 where they touch or overlap."""
    apart = abs(one.centre_mm[2] - other.centre_mm[2]) - (one.box_mm[2] + other.box_mm[2]) / 2
    return hypot(max(apart, 0.0), _plan_gap_mm(corners_mm(one), corners_mm(other)))


def smallest_gap_mm(placed: Iterable[Placed]) -> float | None:
    """Return the smallest gap between any two pieces [mm], or None for fewer than two."""
    smallest = inf
    for one, other in combinations(placed, 2):
        if _least_gap_mm(one, other) < smallest:
            smallest = min(smallest, gap_mm(one, other))
    return smallest if smallest < inf else None


def _least_gap_mm(one: Placed, other: Placed) -> float:
    """Return a quick lower bound of the gap: the boxes lie in balls round their centres."""
    return dist(one.centre_mm, other.centre_mm) - (hypot(*one.box_mm) + hypot(*other.box_mm)) / 2


def _plan_gap_mm(one: tuple[Plan, ...], other: tuple[Plan, ...]) -> float:
    if not any(_separates(edge, one, other) for edge in (*_edges(one), *_edges(other))):
        return 0.0
    sides = ((one, other), (other, one))
    return min(_to_edge_mm(corner, edge) for near, far in sides for corner in near for edge in _edges(far))


def _edges(corners: tuple[Plan, ...]) -> list[tuple[Plan, Plan]]:
    return list(zip(corners, (*corners[1:], corners[0]), strict=True))


def _separates(edge: tuple[Plan, Plan], one: tuple[Plan, ...], other: tuple[Plan, ...]) -> bool:
    """Return whether the two shapes cast separate shadows on a line square to the edge."""
    (ax, ay), (bx, by) = edge
    nx, ny = by - ay, ax - bx
    first = [x * nx + y * ny for x, y in one]
    second = [x * nx + y * ny for x, y in other]
    return max(first) <= min(second) or max(second) <= min(first)


def _to_edge_mm(corner: Plan, edge: tuple[Plan, Plan]) -> float:
    (ax, ay), (bx, by) = edge
    length2 = (bx - ax) ** 2 + (by - ay) ** 2
    if length2 == 0:
        return hypot(corner[0] - ax, corner[1] - ay)
    along = ((corner[0] - ax) * (bx - ax) + (corner[1] - ay) * (by - ay)) / length2
    along = min(max(along, 0.0), 1.0)
    return hypot(corner[0] - ax - along * (bx - ax), corner[1] - ay - along * (by - ay))
