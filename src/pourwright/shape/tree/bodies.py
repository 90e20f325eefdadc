"""The true shapes of pieces on a tree: each mesh about the middle of its box, made light for measuring gaps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError
from pourwright.shape.pattern import shells
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.solids import beside, box
from pourwright.shape.tree.simple import Placed, Point, TreePiece

# The surface may stray this far when a mesh is made light; each trial doubles it until few triangles are left.
_FIRST_STRAY_MM = 0.02
_LAST_STRAY_MM = 0.16
_FEW_TRIANGLES_COUNT = 1500
_EVEN_TURNS = ((0, 1, 2), (1, 2, 0), (2, 0, 1))


@dataclass(frozen=True, eq=False)
class Body:
    """A piece's shape, the middle of its box at the origin.

    ``points_mm`` are the corners of the true mesh; ``light`` is a solid (of manifold3d) with few triangles, nowhere
    farther than ``stray_mm`` from the true surface. Sealed voids are filled: nothing may be placed in them. ``meshed``
    says whether it came from a mesh; otherwise it is the piece's box.
    """

    points_mm: NDArray[np.float64]
    faces: NDArray[np.int64]
    light: Any
    stray_mm: float
    meshed: bool


def bodies_of(pieces: Sequence[TreePiece]) -> Mapping[str, Body]:
    """Return the body of each piece by its id; copies of one mesh share a body."""
    made: dict[object, Body] = {}
    found = {}
    for one in pieces:
        key: object = one.box_mm if one.mesh is None else id(one.mesh)
        if key not in made:
            made[key] = body_of(one.mesh, one.box_mm)
        found[one.id] = made[key]
    return found


def body_of(mesh: Mesh | None, box_mm: Point) -> Body:
    """Return a piece's body: its mesh, or its box [mm] where there is no mesh that bounds a solid."""
    if mesh is not None:
        try:
            return _body(_filled(mesh), meshed=True)
        except MeshError:  # a surface that touches itself: its box will do
            pass
    return _body(box(*box_mm), meshed=False)


def _filled(mesh: Mesh) -> Mesh:
    """Return the mesh about the middle of its box, without the shells that bound voids."""
    middle_mm = (mesh.vertices_mm.min(axis=0) + mesh.vertices_mm.max(axis=0)) / 2
    outer = [one.mesh for one in shells.split(mesh) if one.volume_mm3 > 0]
    whole = beside(*outer) if len(outer) != 1 else outer[0]
    return Mesh(whole.vertices_mm - middle_mm, whole.faces)


def _body(mesh: Mesh, meshed: bool) -> Body:
    full = _solid(mesh)
    stray_mm = _FIRST_STRAY_MM
    light = full.simplify(stray_mm)
    while light.num_tri() > _FEW_TRIANGLES_COUNT and stray_mm < _LAST_STRAY_MM:
        stray_mm *= 2
        light = full.simplify(stray_mm)
    if light.num_tri() == full.num_tri():
        stray_mm = 0.0
    return Body(mesh.vertices_mm, mesh.faces, light, stray_mm, meshed)


def _solid(mesh: Mesh) -> Any:
    import manifold3d

    vertices_mm = np.ascontiguousarray(mesh.vertices_mm, dtype=np.float64)
    solid = manifold3d.Manifold(manifold3d.Mesh64(vertices_mm, np.ascontiguousarray(mesh.faces, dtype=np.uint64)))
    if not str(solid.status()).endswith("NoError"):
        raise MeshError(str(solid.status()).rpartition(".")[2])
    return solid


def turn_matrix(turn: tuple[int, int, int]) -> NDArray[np.float64]:
    """Return the matrix, shape (3, 3), that turns a pattern's axes to (outward, tangential, upward), never mirrored."""
    matrix = np.zeros((3, 3))
    matrix[[0, 1, 2], list(turn)] = 1.0
    if turn not in _EVEN_TURNS:
        matrix[1] *= -1.0
    return matrix


def place_matrix(placed: Placed) -> NDArray[np.float64]:
    """Return the matrix, shape (3, 4), from a body's own axes to the flask's: turned, brought round, moved [mm]."""
    c, s = cos(radians(placed.angle_deg)), sin(radians(placed.angle_deg))
    about = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    return np.column_stack([about @ turn_matrix(placed.turn), placed.centre_mm])


def placed_points_mm(body: Body, placed: Placed) -> NDArray[np.float64]:
    """Return the body's corners in the flask's axes, shape (n, 3) [mm]."""
    matrix = place_matrix(placed)
    return body.points_mm @ matrix[:, :3].T + matrix[:, 3]
