"""The tree to scale: the flask from the side with its pieces in it, and from the button end."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from pourwright.core.units import show_in
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, PlannedPiece
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.tree.simple import Placed, Tree
from pourwright.sheet import show as paper
from pourwright.sheet.picture import Picture, side_picture
from pourwright.studio.profile import Flask, SprueBase

Point = tuple[float, float]
FloatArray = NDArray[np.float64]

_PX_PER_MM = 8.0
_ROUND_COUNT = 32
_LABEL_WIDE_MM, _LABEL_HIGH_MM = 9.5, 5.0
# What fits beside the weighing table and beside the pieces at full size.
_WIDEST_MM, _TALLEST_MM = 80.0, 115.0


def tree_picture(plan: DayPlan, one: PlannedFlask) -> Picture:
    """Draw sprue, gates and pieces from the side, to scale; what has no mesh stands as a smooth lump of its box."""
    flask = _flask_of(plan, one)
    by_id = {piece.id: piece for piece in plan.pieces}
    bodies = [_metalwork(one.tree, _base_of(plan, one))]
    bodies += [_in_place(placed, by_id[placed.id]) for placed in one.tree.placed]
    return side_picture(_joined(bodies), flask.diameter_mm.value, flask.height_mm.value, _PX_PER_MM)


def tree_drawing(plan: DayPlan, one: PlannedFlask) -> dict[str, object]:
    """Return the plain lines of both views [mm] and the scale that fits the page."""
    flask, base = _flask_of(plan, one), _base_of(plan, one)
    fits = flask.diameter_mm.value <= _WIDEST_MM and flask.height_mm.value <= _TALLEST_MM
    return {
        "scale_ratio": 1.0 if fits else 0.5,
        "scale": "1 : 1" if fits else "1 : 2",
        "diameter_mm": flask.diameter_mm.value,
        "height_mm": flask.height_mm.value,
        "wall_mm": flask.wall_mm.value,
        "button_diameter_mm": base.button_diameter_mm.value,
        "button_height_mm": base.button_height_mm.value,
        "sprue_mm": one.tree.sprue_diameter_mm,
        "pieces": _outlines(one.tree),
        "clearances": _clearances(plan, one.tree),
    }


def _clearances(plan: DayPlan, tree: Tree) -> dict[str, str]:
    def length(value_mm: float) -> str:
        return show_in(value_mm, "mm", plan.studio.units.length)

    return {
        "sprue": length(tree.sprue_diameter_mm),
        "wall": length(tree.wall_clearance_mm),
        "end": length(tree.end_clearance_mm),
    }


def _outlines(tree: Tree) -> list[dict[str, object]]:
    sides = label_spots([(one.centre_mm[0], one.centre_mm[2]) for one in tree.placed])
    tops = label_spots([(one.centre_mm[0], one.centre_mm[1]) for one in tree.placed])
    return [_outline(*one) for one in zip(tree.placed, sides, tops, strict=True)]


def label_spots(wanted_mm: Sequence[Point]) -> list[Point]:
    """Move labels up where they would cover one another; each stays as near its place [mm] as the others let it."""
    spots: dict[int, Point] = {}
    for number in sorted(range(len(wanted_mm)), key=lambda index: (wanted_mm[index][1], wanted_mm[index][0])):
        across, up = wanted_mm[number]
        for x, y in sorted(spots.values(), key=lambda spot: spot[1]):
            if abs(x - across) < _LABEL_WIDE_MM and abs(y - up) < _LABEL_HIGH_MM:
                up = y + _LABEL_HIGH_MM
        spots[number] = (across, up)
    return [spots[number] for number in range(len(wanted_mm))]


def _outline(placed: Placed, side_mm: Point, top_mm: Point) -> dict[str, object]:
    return {
        "label": paper.short_id(placed.id),
        "side_mm": list(side_mm),
        "top_mm": list(top_mm),
        "centre_mm": list(placed.centre_mm),
        "box_mm": list(placed.box_mm),
        "angle_deg": placed.angle_deg,
        "gate_mm": placed.gate_diameter_mm,
    }


def _flask_of(plan: DayPlan, one: PlannedFlask) -> Flask:
    return next(flask for flask in plan.studio.flasks if flask.id == one.flask)


def _base_of(plan: DayPlan, one: PlannedFlask) -> SprueBase:
    return next(base for base in plan.studio.bases if base.id == one.base)


def _in_place(placed: Placed, piece: PlannedPiece) -> Mesh:
    """Return a piece's mesh where the tree holds it, axes: right, away, up."""
    pattern = piece.pattern
    if pattern is None or pattern.mesh is None:
        lump = _lump()
        return _moved(Mesh(lump.vertices_mm * np.array(placed.box_mm), lump.faces), placed)
    vertices = pattern.mesh.vertices_mm
    centred = vertices - (vertices.min(axis=0) + vertices.max(axis=0)) / 2.0
    turned = centred[:, placed.turn]
    if placed.turn not in {(0, 1, 2), (1, 2, 0), (2, 0, 1)}:  # an odd exchange of axes would mirror the piece
        turned = turned * np.array([1.0, -1.0, 1.0])
    return _moved(Mesh(turned, pattern.mesh.faces), placed)


def _moved(mesh: Mesh, placed: Placed) -> Mesh:
    angle = math.radians(placed.angle_deg)
    outward, tangential, up = mesh.vertices_mm.T
    right = outward * math.cos(angle) - tangential * math.sin(angle)
    away = outward * math.sin(angle) + tangential * math.cos(angle)
    return Mesh(np.column_stack((right, away, up)) + np.array(placed.centre_mm), mesh.faces)


def _metalwork(tree: Tree, base: SprueBase) -> Mesh:
    """Return button, sprue and gates as round bodies."""
    wide, narrow = base.button_diameter_mm.value / 2.0, tree.sprue_diameter_mm / 2.0
    foot = tree.funnel_depth_mm
    top = foot + tree.sprue_length_mm
    stem = _turned(((0.0, 0.0), (wide, 0.0), (narrow, foot), (narrow, top), (0.0, top)))
    gates = [_gate(one, narrow) for one in tree.placed] if len(tree.placed) > 1 else []
    return _joined([stem, *gates])


def _gate(placed: Placed, sprue_radius_mm: float) -> Mesh:
    """Return the gate: a round bar that rises from the sprue to the low middle of the piece's inner face."""
    x, y, z = placed.centre_mm
    inner = math.hypot(x, y) - placed.box_mm[0] / 2.0
    run = max(inner - sprue_radius_mm, 0.0)
    rise = math.sqrt(max(placed.gate_length_mm**2 - run**2, 0.0))
    joint = z - placed.box_mm[2] / 2.0 + min(placed.gate_diameter_mm, placed.box_mm[2]) / 2.0
    outward = np.array([math.cos(math.radians(placed.angle_deg)), math.sin(math.radians(placed.angle_deg)), 0.0])
    start = outward * sprue_radius_mm + np.array([0.0, 0.0, joint - rise])
    end = outward * inner + np.array([0.0, 0.0, joint])
    return _bar(start, end, placed.gate_diameter_mm / 2.0)


def _bar(start: FloatArray, end: FloatArray, radius_mm: float) -> Mesh:
    """Return a round bar between two points, reaching a radius past each so that it sinks into what it joins."""
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length if length > 0.0 else np.array([0.0, 0.0, 1.0])
    side = np.cross(along, [0.0, 0.0, 1.0] if abs(along[2]) < 0.9 else [1.0, 0.0, 0.0])
    side /= np.linalg.norm(side)
    low, high = -radius_mm, length + radius_mm
    bar = _turned(((0.0, low), (radius_mm, low), (radius_mm, high), (0.0, high)))
    return Mesh(start + bar.vertices_mm @ np.vstack((side, np.cross(along, side), along)), bar.faces)


def _turned(profile_mm: Sequence[tuple[float, float]]) -> Mesh:
    """Return the body made by turning (radius, height) points about the upright axis."""
    angles = np.linspace(0.0, 2.0 * math.pi, _ROUND_COUNT, endpoint=False)
    rings = [
        np.column_stack((radius * np.cos(angles), radius * np.sin(angles), np.full(_ROUND_COUNT, height)))
        for radius, height in profile_mm
    ]
    step = np.arange(_ROUND_COUNT)
    following = (step + 1) % _ROUND_COUNT
    faces = [_band(ring * _ROUND_COUNT, step, following) for ring in range(len(profile_mm) - 1)]
    return Mesh(np.vstack(rings), np.vstack(faces).astype(np.int64))


def _band(start: int, step: NDArray[np.int64], following: NDArray[np.int64]) -> NDArray[np.int64]:
    a, b = start + step, start + following
    c, d = b + _ROUND_COUNT, a + _ROUND_COUNT
    return np.vstack((np.column_stack((a, b, c)), np.column_stack((a, c, d))))


def _lump() -> Mesh:
    """Return an egg that fills a box of side one about the origin."""
    tilts = np.linspace(-math.pi / 2.0, math.pi / 2.0, 17)
    return _turned([(0.5 * math.cos(tilt), 0.5 * math.sin(tilt)) for tilt in tilts])


def _joined(bodies: Sequence[Mesh]) -> Mesh:
    starts = np.cumsum([0, *(len(one.vertices_mm) for one in bodies[:-1])])
    faces = [body.faces + start for body, start in zip(bodies, starts, strict=True)]
    return Mesh(np.vstack([one.vertices_mm for one in bodies]), np.vstack(faces))


def pictures_by_piece(plan: DayPlan) -> Mapping[str, Mesh]:
    """Return the meshes that can be drawn, by piece id."""
    return {one.id: one.pattern.mesh for one in plan.pieces if one.pattern is not None and one.pattern.mesh is not None}
