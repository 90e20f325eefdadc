"""The tree seen from the side, as plain shapes for a drawing: button end at the bottom, flask's axis at x = 0."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sqrt

from pourwright.shape.tree.boxes import corners_mm
from pourwright.shape.tree.simple import Placed, Tree


@dataclass(frozen=True)
class OutlineBox:
    """An upright rectangle by its lower left corner [mm]; ``what``: flask, sprue or piece."""

    what: str
    id: str
    x_mm: float
    z_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class OutlineRod:
    """A thick line from one point to another [mm]: the gate of the piece named."""

    id: str
    x1_mm: float
    z1_mm: float
    x2_mm: float
    z2_mm: float
    width_mm: float


def outline(tree: Tree) -> tuple[OutlineBox | OutlineRod, ...]:
    """Return the shapes of a tree from the side, those behind first, so that they can be drawn in this order."""
    radius = tree.reach_mm + tree.wall_clearance_mm
    sprue = OutlineBox(
        "sprue",
        tree.flask,
        -tree.sprue_diameter_mm / 2,
        tree.funnel_depth_mm,
        tree.sprue_diameter_mm,
        tree.sprue_length_mm,
    )
    flask = OutlineBox("flask", tree.flask, -radius, 0.0, 2 * radius, tree.top_mm + tree.end_clearance_mm)
    behind = sorted((one for one in tree.placed if one.centre_mm[1] > 0), key=lambda one: -one.centre_mm[1])
    before = sorted((one for one in tree.placed if one.centre_mm[1] <= 0), key=lambda one: -one.centre_mm[1])
    shapes: list[OutlineBox | OutlineRod] = [flask]
    for one in behind:
        shapes += _piece(one, tree)
    shapes.append(sprue)
    for one in before:
        shapes += _piece(one, tree)
    return tuple(shapes)


def _piece(placed: Placed, tree: Tree) -> list[OutlineBox | OutlineRod]:
    across = [corner[0] for corner in corners_mm(placed)]
    foot = placed.centre_mm[2] - placed.box_mm[2] / 2
    box = OutlineBox("piece", placed.id, min(across), foot, max(across) - min(across), placed.box_mm[2])
    return [box] if len(tree.placed) == 1 else [_gate(placed, tree, foot), box]


def _gate(placed: Placed, tree: Tree, foot_mm: float) -> OutlineRod:
    """Return the gate from the sprue's surface to the piece's inner face."""
    x, y, _ = placed.centre_mm
    inner = sqrt(x**2 + y**2) - placed.box_mm[0] / 2
    run = inner - tree.sprue_diameter_mm / 2
    rise = sqrt(max(placed.gate_length_mm**2 - run**2, 0.0))
    joint = foot_mm + min(placed.gate_diameter_mm, placed.box_mm[2]) / 2
    side = cos(radians(placed.angle_deg))
    start = tree.sprue_diameter_mm / 2 * side
    return OutlineRod(placed.id, start, joint - rise, inner * side, joint, placed.gate_diameter_mm)
