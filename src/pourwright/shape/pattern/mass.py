"""Volume, area and centre of a closed mesh, and how far rounding by flat facets may have moved the volume."""

from __future__ import annotations

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


def face_volumes_mm3(mesh: Mesh, about_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the signed volume of the tetrahedron of each triangle and a point (shape (3,)) [mm3]."""
    a, b, c = (mesh.vertices_mm[mesh.faces[:, corner]] - about_mm for corner in range(3))
    sixfold_mm3: NDArray[np.float64] = np.einsum("ij,ij->i", a, np.cross(b, c))
    return sixfold_mm3 / 6.0


def face_areas_mm2(mesh: Mesh) -> NDArray[np.float64]:
    """Return the area of each triangle [mm2]."""
    doubled_mm2: NDArray[np.float64] = np.linalg.norm(_doubled_normals_mm2(mesh), axis=1)
    return doubled_mm2 / 2.0


def _doubled_normals_mm2(mesh: Mesh) -> NDArray[np.float64]:
    a, b, c = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    return np.cross(b - a, c - a)


def face_normals(mesh: Mesh) -> NDArray[np.float64]:
    """Return the outward direction of each triangle, length one, or zero for a triangle without area."""
    doubled_mm2 = _doubled_normals_mm2(mesh)
    length_mm2 = np.linalg.norm(doubled_mm2, axis=1, keepdims=True)
    unit: NDArray[np.float64] = doubled_mm2 / np.where(length_mm2 > 0, length_mm2, 1.0)
    return unit


def middle_mm(mesh: Mesh) -> NDArray[np.float64]:
    """Return the middle of the box round the mesh [mm]."""
    low_mm, high_mm = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
    return np.asarray((low_mm + high_mm) / 2.0, dtype=np.float64)


def volume_mm3(mesh: Mesh) -> float:
    """Return the signed volume: tetrahedra of all triangles and the middle, summed [mm3]."""
    return float(face_volumes_mm3(mesh, middle_mm(mesh)).sum())


def area_mm2(mesh: Mesh) -> float:
    """Return the area of the surface [mm2]."""
    return float(face_areas_mm2(mesh).sum())


def centre_mm(mesh: Mesh) -> Point:
    """Return the centre of mass of the closed, evenly filled mesh."""
    about_mm = middle_mm(mesh)
    part_mm3 = face_volumes_mm3(mesh, about_mm)
    corner_sum_mm = (mesh.vertices_mm[mesh.faces] - about_mm).sum(axis=1)
    x, y, z = about_mm + (part_mm3[:, None] * corner_sum_mm).sum(axis=0) / (4.0 * part_mm3.sum())
    return (float(x), float(y), float(z))


def rounding_mm3(mesh: Mesh) -> tuple[float, float]:
    """Estimate by how much a curved surface through the same corners would change the volume.

    An edge of length L where the surface bends by an angle b (in radians), between facets that reach h away from
    it, stands for an arc of width h: the arc's segment has the area b h^2 / 12, so the edge hides L b h^2 / 12.
    Where the surface bends outward that volume is missing from the mesh, where it bends inward it is too much.
    Sharp bends and large flat faces are taken as meant. The range runs from the mesh as it is to the curved
    surface, widened by 15 % of all hidden arcs.

    Returns
    -------
    tuple of float
        Lowest (zero or negative) and highest (zero or positive) change of the volume [mm3].
    """
    hidden_mm3, outward = _hidden_arcs(mesh)
    net_mm3 = float(hidden_mm3[outward].sum() - hidden_mm3[~outward].sum())
    doubt_mm3 = _ROUNDING_DOUBT_FRAC * float(hidden_mm3.sum())
    return min(net_mm3, 0.0) - doubt_mm3, max(net_mm3, 0.0) + doubt_mm3


def _hidden_arcs(mesh: Mesh) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    edges = edges_of(mesh)
    pair = edges.starts[edges.counts == 2]
    one, other = edges.face[pair], edges.face[pair + 1]
    normals, areas_mm2 = face_normals(mesh), face_areas_mm2(mesh)
    along_mm = mesh.vertices_mm[edges.high[pair]] - mesh.vertices_mm[edges.low[pair]]
    length_mm = np.linalg.norm(along_mm, axis=1)
    reach_mm = 2.0 * np.minimum(areas_mm2[one], areas_mm2[other]) / np.where(length_mm > 0, length_mm, 1.0)
    bend = np.arccos(np.clip(np.einsum("ij,ij->i", normals[one], normals[other]), -1.0, 1.0))
    diagonal_mm = float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0)))
    rounding = (bend < np.radians(ROUNDING_BEND_DEG)) & (bend * reach_mm / 8.0 < ROUNDING_SAGITTA_FRAC * diagonal_mm)
    hidden_mm3 = np.where(rounding, length_mm * bend * reach_mm**2 / 12.0, 0.0)
    sense = np.where(edges.forward[pair], 1.0, -1.0)
    outward = sense * np.einsum("ij,ij->i", np.cross(normals[one], normals[other]), along_mm) > 0
    return hidden_mm3, outward
