"""The metal of a flask as one closed surface: pieces as placed, their gates, the sprue and the button.

Frame of the flask: x and y across, z up from its mouth, where the button's bare face is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.shape.pattern import mass
from pourwright.shape.pattern.rays import Rays
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.shells import split
from pourwright.shape.pattern.solids import box, rod
from pourwright.shape.pattern.union import unite
from pourwright.shape.tree.bodies import Body, body_of, placed_points_mm
from pourwright.shape.tree.simple import Placed, Tree, TreePiece

Floats = NDArray[np.float64]
BUTTON, SPRUE, GATE = "button", "sprue", "gate:"
# A round bar is drawn with so many sides; its volume is 0.16 % under that of a true circle.
_SIDES_COUNT = 64
# How deep a bar sinks into what it joins, as a share of its radius; less where the wall there is thin.
_SUNK_RATIO = 1.0
_SUNK_WALL_FRAC = 0.5
_LEAST_SUNK_MM = 0.05


@dataclass(frozen=True, eq=False)
class Bar:
    """A round bar of metal between two points [mm], shape (3,) each: the sprue or a gate.

    Its last ``sunk_mm`` lie inside the piece that it feeds.
    """

    name: str
    start_mm: Floats
    end_mm: Floats
    radius_mm: float
    sunk_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class TreeSolid:
    """The metal of one flask.

    Parameters
    ----------
    mesh : Mesh
        Its whole surface, closed, facing outward [mm].
    pieces : mapping of str to Mesh
        Each piece where it stands.
    bars : tuple of Bar
        Sprue and gates; the button is no bar.
    button_radius_mm, button_height_mm : float
        Of the button, a disc on the mouth of the flask [mm].
    blocks : tuple of str
        Pieces without a mesh: a block of their volume stands for each.
    """

    mesh: Mesh
    pieces: Mapping[str, Mesh]
    bars: tuple[Bar, ...]
    button_radius_mm: float
    button_height_mm: float
    blocks: tuple[str, ...]

    @property
    def volume_mm3(self) -> float:
        """Volume of all metal [mm3]."""
        return mass.volume_mm3(self.mesh)


def join_tree(
    tree: Tree,
    pieces: Sequence[TreePiece],
    volume_mm3: Mapping[str, float],
    button_diameter_mm: float,
    button_height_mm: float,
) -> tuple[TreeSolid | None, tuple[Finding, ...]]:
    """Put a flask's metal together as one body.

    Parameters
    ----------
    tree : Tree
        The pieces' places, and the sprue.
    pieces : sequence of TreePiece
        Their shapes.
    volume_mm3 : mapping of str to float
        Volume of each piece [mm3], for those without a mesh.
    button_diameter_mm, button_height_mm : float
        Of the button [mm].

    Returns
    -------
    solid : TreeSolid or None
        None where a piece is no closed body, or hangs together with nothing.
    findings : tuple of Finding
        What stops, and a note on blocks that stand for pieces without a mesh.
    """
    shapes = {one.id: one for one in pieces}
    bodies = {one.id: _body(shapes[one.id], volume_mm3) for one in tree.placed}
    open_ones = [one.id for one in tree.placed if shapes[one.id].mesh is not None and not bodies[one.id].meshed]
    if open_ones:
        return None, tuple(Finding("simulate.mesh-open", Level.STOP, one, {"piece": one}) for one in open_ones)
    placed = {one.id: Mesh(placed_points_mm(bodies[one.id], one), bodies[one.id].faces) for one in tree.placed}
    bars = _bars(tree, placed)
    button = _moved(rod(button_diameter_mm / 2, button_height_mm, _SIDES_COUNT), (0, 0, button_height_mm / 2))
    try:
        whole = unite([button, *(_bar_mesh(one) for one in bars), *placed.values()])
    except MeshError as refused:
        return None, (Finding("simulate.tree-no-union", Level.STOP, tree.flask, {"reason": str(refused)}),)
    apart = _apart(whole, placed)
    if apart:
        return None, tuple(Finding("simulate.piece-apart", Level.STOP, one, {"piece": one}) for one in apart)
    blocks = tuple(one.id for one in tree.placed if shapes[one.id].mesh is None)
    solid = TreeSolid(whole, placed, bars, button_diameter_mm / 2, button_height_mm, blocks)
    return solid, _blocks_noted(tree, blocks, bodies)


def _body(piece: TreePiece, volume_mm3: Mapping[str, float]) -> Body:
    """Return a piece's body; a block as thick as the piece and of its volume where it has no mesh."""
    if piece.mesh is not None:
        return body_of(piece.mesh, piece.box_mm)
    thin = int(np.argmin(piece.box_mm))
    shrink = sqrt(min(1.0, volume_mm3[piece.id] / float(np.prod(piece.box_mm))))
    x, y, z = (side if axis == thin else side * shrink for axis, side in enumerate(piece.box_mm))
    block = box(x, y, z)
    return Body(block.vertices_mm, block.faces, None, 0.0, False)


def _blocks_noted(tree: Tree, blocks: Sequence[str], bodies: Mapping[str, Body]) -> tuple[Finding, ...]:
    if not blocks:
        return ()
    thickness = ", ".join(f"{one}: {show(float(np.ptp(bodies[one].points_mm, axis=0).min()), 'mm')}" for one in blocks)
    params = {"pieces": ", ".join(blocks), "thickness": thickness}
    return (Finding("simulate.piece-as-block", Level.LOOK, tree.flask, params),)


def _bars(tree: Tree, placed: Mapping[str, Mesh]) -> tuple[Bar, ...]:
    foot = np.array([0.0, 0.0, tree.funnel_depth_mm])
    top = foot + np.array([0.0, 0.0, tree.sprue_length_mm])
    radius = tree.sprue_diameter_mm / 2
    down = np.array([0.0, 0.0, min(radius, tree.funnel_depth_mm / 2)])
    if len(tree.placed) == 1:  # the sprue is the gate of its one piece
        return (_into(Bar(SPRUE, foot - down, top, radius), next(iter(placed.values()))),)
    gates = [_into(_gate(one, radius), placed[one.id]) for one in tree.placed]
    return (Bar(SPRUE, foot - down, top, radius), *gates)


def _gate(one: Placed, sprue_radius_mm: float) -> Bar:
    """Return the gate from inside the sprue to the low middle of the piece's inner face."""
    x, y, z = one.centre_mm
    inner = hypot(x, y) - one.box_mm[0] / 2
    run = max(inner - sprue_radius_mm, 0.0)
    rise = sqrt(max(one.gate_length_mm**2 - run**2, 0.0))
    joint = z - one.box_mm[2] / 2 + min(one.gate_diameter_mm, one.box_mm[2]) / 2
    out = np.array([cos(radians(one.angle_deg)), sin(radians(one.angle_deg)), 0.0])
    start, end = out * sprue_radius_mm + [0, 0, joint - rise], out * inner + [0, 0, joint]
    along = (end - start) / np.linalg.norm(end - start)
    return Bar(f"{GATE}{one.id}", start - along * min(one.gate_diameter_mm / 2, sprue_radius_mm), end,
               one.gate_diameter_mm / 2)  # fmt: skip


def _into(bar: Bar, body: Mesh) -> Bar:
    """Lead a bar on until it meets the body: straight if that is near, else to the nearest corner. It sinks in."""
    length_mm = float(np.linalg.norm(bar.end_mm - bar.start_mm))
    along = (bar.end_mm - bar.start_mm) / length_mm
    rays = Rays(body)
    ahead_mm = float(rays.free_mm(bar.start_mm[None, :], along[None, :])[0])
    if not ahead_mm <= 2 * length_mm + 2 * bar.radius_mm:
        nearest = body.vertices_mm[np.argmin(((body.vertices_mm - bar.end_mm) ** 2).sum(axis=1))]
        ahead_mm = float(np.linalg.norm(nearest - bar.start_mm))
        along = (nearest - bar.start_mm) / ahead_mm
    touch = bar.start_mm + ahead_mm * along
    wall_mm = float(rays.free_mm(touch[None, :], along[None, :])[0])
    sunk_mm = max(min(_SUNK_RATIO * bar.radius_mm, _SUNK_WALL_FRAC * wall_mm), _LEAST_SUNK_MM)
    return Bar(bar.name, bar.start_mm, touch + along * sunk_mm, bar.radius_mm, sunk_mm)


def _bar_mesh(bar: Bar) -> Mesh:
    length_mm = float(np.linalg.norm(bar.end_mm - bar.start_mm))
    along = (bar.end_mm - bar.start_mm) / length_mm
    side = np.cross(along, [0.0, 0.0, 1.0] if abs(along[2]) < 0.9 else [0.0, 1.0, 0.0])
    side /= np.linalg.norm(side)
    straight = rod(bar.radius_mm, length_mm, _SIDES_COUNT)
    turned = straight.vertices_mm @ np.vstack([side, np.cross(along, side), along])
    return Mesh(turned + (bar.start_mm + bar.end_mm) / 2, straight.faces)


def _moved(mesh: Mesh, by_mm: tuple[float, float, float]) -> Mesh:
    return Mesh(mesh.vertices_mm + np.asarray(by_mm, dtype=np.float64), mesh.faces)


def _apart(whole: Mesh, placed: Mapping[str, Mesh]) -> list[str]:
    """Return the pieces that have metal apart from the body with the button."""
    shells = [one for one in split(whole) if one.volume_mm3 > 0]
    if len(shells) == 1:
        return []
    low = min(shells, key=lambda one: one.low_mm[2])
    apart = []
    for name, mesh in placed.items():
        middle = (mesh.vertices_mm.min(axis=0) + mesh.vertices_mm.max(axis=0)) / 2
        holder = [
            one for one in shells if one is not low and np.all(one.low_mm <= middle) and np.all(middle <= one.high_mm)
        ]
        apart += [name] if holder else []
    return apart or sorted(placed)
