"""Volume, area and centre of a closed mesh, and how far rounding by flat facets may have moved the volume."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh, Point
from pourwright.shape.pattern.topology import edges_of

# An edge counts as rounding of a curved surface up to this bend; 45 degrees is a chamfer that is meant.
ROUNDING_BEND_DEG = 35.0
# ... and while the arc would stand off the facets by less than this share of the box's diagonal.
ROUNDING_SAGITTA_FRAC = 0.02
# Share of all hidden arcs by which the estimate may be off, either way; on even meshes it is right to a tenth.
_ROUNDING_DOUBT_FRAC = 0.15
# Half a step of a number with 24 binary digits, as share of it.
_WRITTEN_FRAC = 2.0**-24


def face_areas_mm2(mesh: Mesh) -> NDArray[np.float64]:
    """Return the area of each triangle [mm2]."""
    from pourwright.shape.pattern.kernels.faces import _kernels

    areas_mm2 = np.empty(len(mesh.faces))
    _kernels.face_areas(mesh.vertices_mm, mesh.faces, areas_mm2)
    return areas_mm2


def _doubled_normals_mm2(mesh: Mesh) -> NDArray[np.float64]:
    a, b, c = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    return np.cross(b - a, c - a)


def face_normals(mesh: Mesh) -> NDArray[np.float64]:
    """Return the outward direction of each triangle, length one, or zero for a triangle without area."""
    doubled_mm2 = _doubled_normals_mm2(mesh)
    length_mm2 = np.linalg.norm(doubled_mm2, axis=1, keepdims=True)
    unit: NDArray[np.float64] = doubled_mm2 / np.where(length_mm2 > 0, length_mm2, 1.0)
    return unit


def box_mm(points_mm: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the lowest and the highest corner of the box round points of shape (n, 3) [mm]."""
    from pourwright.shape.pattern.kernels.faces import _kernels

    low_mm, high_mm = np.zeros(3), np.zeros(3)
    if len(points_mm):
        _kernels.box_of(points_mm, low_mm, high_mm)
    return low_mm, high_mm


def sides_mm(mesh: Mesh) -> NDArray[np.float64]:
    """Return the sides of the box round the mesh, shape (3,) [mm]."""
    low_mm, high_mm = box_mm(mesh.vertices_mm)
    return high_mm - low_mm


def middle_mm(mesh: Mesh) -> NDArray[np.float64]:
    """Return the middle of the box round the mesh [mm]."""
    low_mm, high_mm = box_mm(mesh.vertices_mm)
    return np.asarray((low_mm + high_mm) / 2.0, dtype=np.float64)


@dataclass(frozen=True)
class Sums:
    """What is summed over all triangles of a closed mesh: volume, area, and the centre of mass if it is filled."""

    volume_mm3: float
    area_mm2: float
    centre_mm: Point


def sums_of(mesh: Mesh) -> Sums:
    """Sum volume, area and centre over all triangles: tetrahedra with the middle of the box."""
    from pourwright.shape.pattern.kernels.faces import _kernels

    about_mm = middle_mm(mesh)
    sums = np.empty(5)
    _kernels.sum_faces(mesh.vertices_mm, mesh.faces, about_mm, sums)
    x, y, z = about_mm + (sums[1:4] / sums[0] if sums[0] else 0.0)
    return Sums(float(sums[0]), float(sums[4]), (float(x), float(y), float(z)))


def volume_mm3(mesh: Mesh) -> float:
    """Return the signed volume: tetrahedra of all triangles and the middle, summed [mm3]."""
    return sums_of(mesh).volume_mm3


def area_mm2(mesh: Mesh) -> float:
    """Return the area of the surface [mm2]."""
    return sums_of(mesh).area_mm2


def centre_mm(mesh: Mesh) -> Point:
    """Return the centre of mass of the closed, evenly filled mesh."""
    return sums_of(mesh).centre_mm


def written_mm3(mesh: Mesh) -> float:
    """Return by how much the rounding of coordinates in a file may have moved the volume [mm3].

    Files keep some seven digits: each corner may be off by that share of the largest coordinate, all the surface one
    way at the worst.
    """
    largest_mm = float(np.abs(box_mm(mesh.vertices_mm)).max())
    return _WRITTEN_FRAC * largest_mm * area_mm2(mesh)


def rounding_mm3(mesh: Mesh) -> tuple[float, float]:
    """Estimate by how much a curved surface through the same corners would change the volume.

    An edge of length L where the surface bends by an angle b (in radians), between facets that reach h away from
    it, stands for an arc of width h: the arc's segment has the area b h^2 / 12, so the edge hides L b h^2 / 12.
    Where the surface bends outward that volume is missing from the mesh, where it bends inward it is too much.
    Sharp bends and large flat faces are taken as meant. The range runs from the mesh as it is to the curved
    surface, widened by 15 % of all hidden arcs and by the rounding of the file's numbers.

    Returns
    -------
    tuple of float
        Lowest (zero or negative) and highest (zero or positive) change of the volume [mm3].
    """
    outward_mm3, inward_mm3 = _hidden_arcs_mm3(mesh)
    net_mm3 = outward_mm3 - inward_mm3
    doubt_mm3 = _ROUNDING_DOUBT_FRAC * (outward_mm3 + inward_mm3) + written_mm3(mesh)
    return min(net_mm3, 0.0) - doubt_mm3, max(net_mm3, 0.0) + doubt_mm3


def _hidden_arcs_mm3(mesh: Mesh) -> tuple[float, float]:
    from pourwright.shape.pattern.kernels.faces import _kernels

    edges = edges_of(mesh)
    pair = edges.starts[edges.counts == 2]
    sagitta_mm = ROUNDING_SAGITTA_FRAC * float(np.linalg.norm(sides_mm(mesh)))
    return _kernels.hidden_arcs(
        mesh.vertices_mm, mesh.faces, edges.face[pair], edges.face[pair + 1], edges.low[pair], edges.high[pair],
        edges.forward[pair], np.radians(ROUNDING_BEND_DEG), sagitta_mm,
    )  # fmt: skip
