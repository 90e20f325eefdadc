"""Holes in a mesh: found, measured, and closed when they are too small to matter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh, Point

# Closed without asking below both shares; the range of the volume then covers other closures too.
CLOSABLE_AREA_FRAC = 0.005
CLOSABLE_VOLUME_FRAC = 0.005
# More open edges than this are counted, not traced.
MOST_TRACED_EDGES = 20_000
# The doubt about a patch: a dome over it, out or in, half as high as the hole's radius (a cap of height h over a
# disc of area a holds about a h / 2).
_DOME_HEIGHT_RATIO = 0.5


@dataclass(frozen=True)
class Hole:
    """One hole: its rim as vertex numbers in the sense of the patch, the patch's area, its middle."""

    rim: NDArray[np.int64]
    area_mm2: float
    place_mm: Point

    @property
    def doubt_mm3(self) -> float:
        """Volume between the flat patch and a dome over it, half as high as the hole's radius [mm3]."""
        radius_mm = float(np.sqrt(self.area_mm2 / np.pi))
        return self.area_mm2 * _DOME_HEIGHT_RATIO * radius_mm / 2.0


def trace_holes(mesh: Mesh, sides: NDArray[np.int64]) -> tuple[Hole, ...]:
    """Follow open edges round and return the holes, the largest first.

    Parameters
    ----------
    mesh : Mesh
        With open edges.
    sides : array, shape (n, 2)
        Open edges as :func:`pourwright.shape.pattern.topology.open_edges` gives them; as many arrive at each
        vertex as leave it.
    """
    holes = [_measured(mesh, np.array(rim)) for rim in _rims(sides)]
    return tuple(sorted(holes, key=lambda hole: -hole.area_mm2))


def _rims(sides: NDArray[np.int64]) -> list[list[int]]:
    onward: dict[int, list[int]] = {}
    for start, end in sides.tolist():
        onward.setdefault(start, []).append(end)
    rims: list[list[int]] = []
    for start in list(onward):
        while onward[start]:
            _walk(start, onward, rims)
    return rims


def _walk(start: int, onward: dict[int, list[int]], rims: list[list[int]]) -> None:
    """Walk from a vertex until the walk is back; where it meets itself, the loop is cut off as a hole of its own."""
    path, place = [start], {start: 0}
    while path:
        if not onward[path[-1]]:
            return
        following = onward[path[-1]].pop()
        if following not in place:
            place[following] = len(path)
            path.append(following)
            continue
        cut = place[following]
        rims.append(path[cut:])
        for vertex in path[cut + 1 :]:
            del place[vertex]
        del path[cut + 1 :]
        if cut == 0 and not onward[start]:
            return


def _measured(mesh: Mesh, rim: NDArray[np.int64]) -> Hole:
    points_mm = mesh.vertices_mm[rim]
    middle_mm = points_mm.mean(axis=0)
    spokes_mm = points_mm - middle_mm
    area_mm2 = float(np.linalg.norm(np.cross(spokes_mm, np.roll(spokes_mm, -1, axis=0)), axis=1).sum() / 2.0)
    x, y, z = middle_mm
    return Hole(rim, area_mm2, (float(x), float(y), float(z)))


def close_holes(mesh: Mesh, holes: tuple[Hole, ...]) -> Mesh:
    """Return the mesh with a patch on each hole: one triangle, or a fan about the middle of the rim."""
    vertices, faces = [mesh.vertices_mm], [mesh.faces]
    count = len(mesh.vertices_mm)
    for hole in holes:
        if len(hole.rim) == 3:
            faces.append(hole.rim[None, :])
            continue
        faces.append(np.column_stack([hole.rim, np.roll(hole.rim, -1), np.full(len(hole.rim), count)]))
        vertices.append(np.array([hole.place_mm]))
        count += 1
    return Mesh(np.vstack(vertices), np.vstack(faces))
