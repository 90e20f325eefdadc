"""Cross-sections of a body by a plane: area, perimeter, and the modulus of a neck."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh

# Directions tried for the plane through a neck: the 26 neighbours of a cube's middle, one of each opposite pair.
_DIRECTIONS = np.array(
    [(x, y, z) for x in (0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if (x, y, z) > (0, 0, 0)], dtype=np.float64
)


def neck_modulus_mm(mesh: Mesh, place_mm: NDArray[np.float64], axis: NDArray[np.float64] | None = None) -> float | None:
    """Return the modulus of the body where it is narrow: cross-section area over its outline [mm].

    Of all planes through the place the one with the smallest value counts; for a round rod across its axis that is a
    quarter of the diameter, for a plate half its thickness. Planes stand askew of a thin part by 27 degrees at most,
    unless its direction is given, and make it seem thicker by a few per cent then.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    place_mm : array, shape (3,)
        A point inside the body [mm].
    axis : array, shape (3,)
        Direction in which the neck runs, if known.

    Returns
    -------
    float or None
        None if the place is not inside the body.
    """
    directions = _DIRECTIONS if axis is None else np.vstack([_DIRECTIONS, axis])
    found = [slice_modulus_mm(mesh, place_mm, direction) for direction in directions]
    known = [one for one in found if one is not None]
    return min(known, default=None)


def slice_modulus_mm(mesh: Mesh, place_mm: NDArray[np.float64], axis: NDArray[np.float64]) -> float | None:
    """Return area over perimeter of the piece of a cross-section that holds the place [mm], or None if none does.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    place_mm : array, shape (3,)
        A point of the plane [mm].
    axis : array, shape (3,)
        Direction across the plane, of any length.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    start_mm, end_mm, start_edge, end_edge = _outline(mesh, place_mm, axis / np.linalg.norm(axis))
    if not len(start_mm):
        return None
    edges, joined = np.unique(np.concatenate([start_edge, end_edge]), return_inverse=True)
    first, second = joined[: len(start_mm)], joined[len(start_mm) :]
    graph = coo_matrix((np.ones(len(first)), (first, second)), shape=(len(edges), len(edges)))
    loops, label = connected_components(graph, directed=False)
    loop = np.asarray(label)[first].astype(np.int64)
    cross_mm2 = start_mm[:, 0] * end_mm[:, 1] - start_mm[:, 1] * end_mm[:, 0]
    area_mm2: NDArray[np.float64] = np.bincount(loop, cross_mm2, loops) / 2
    segment_mm: NDArray[np.float64] = np.linalg.norm(end_mm - start_mm, axis=1)
    length_mm = np.bincount(loop, segment_mm, loops).astype(np.float64)
    turn = np.arctan2(cross_mm2, np.einsum("ij,ij->i", start_mm, end_mm))
    turns = np.bincount(loop, turn, loops) / (2 * np.pi)
    around = np.flatnonzero(turns > 0.5)
    if not len(around):
        return None
    outer = around[np.argmin(area_mm2[around])]
    if np.any((turns < -0.5) & (-area_mm2 < area_mm2[outer])):
        return None
    return _with_holes(outer, area_mm2, length_mm, start_mm, loop)


def _with_holes(
    outer: int, area_mm2: NDArray[np.float64], length_mm: NDArray[np.float64],
    start_mm: NDArray[np.float64], loop: NDArray[np.int64],
) -> float:  # fmt: skip
    """Take the holes in an outline out of its area and add their edge to its own; returns area over edge [mm]."""
    low_mm, high_mm = start_mm[loop == outer].min(axis=0), start_mm[loop == outer].max(axis=0)
    area, length = float(area_mm2[outer]), float(length_mm[outer])
    for hole in np.flatnonzero((area_mm2 < 0) & (-area_mm2 < area)).tolist():
        points_mm = start_mm[loop == hole]
        if np.all(points_mm >= low_mm) and np.all(points_mm <= high_mm):
            area, length = area + float(area_mm2[hole]), length + float(length_mm[hole])
    return area / length


def _outline(
    mesh: Mesh, place_mm: NDArray[np.float64], normal: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Cut all triangles: segments in the plane's own axes about the place (material to the left), and their edges."""
    from pourwright.shape.pattern.kernels.faces import _kernels

    whole_mm, found = np.empty(len(mesh.vertices_mm)), np.empty(len(mesh.faces), np.int64)
    _kernels.heights_over(mesh.vertices_mm, np.asarray(place_mm, dtype=np.float64), normal, whole_mm)
    cut = mesh.faces[found[: _kernels.cut_faces(mesh.faces, whole_mm, found)]]
    used, cut = np.unique(cut, return_inverse=True)
    cut, height_mm = cut.reshape(-1, 3), whole_mm[used]
    above = height_mm > 0
    lone = above[cut].sum(axis=1) == 1
    # turn each triangle so that the corner alone on its side comes first
    place = np.argmax(above[cut] == lone[:, None], axis=1)
    cut = np.take_along_axis(cut, (place[:, None] + np.arange(3)) % 3, axis=1)
    u_axis = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))])
    u_axis /= np.linalg.norm(u_axis)
    axes = np.column_stack([u_axis, np.cross(normal, u_axis)])
    flat_mm = (mesh.vertices_mm[used] - place_mm) @ axes
    one = _crossing(cut[:, 0], cut[:, 1], height_mm, flat_mm)
    other = _crossing(cut[:, 0], cut[:, 2], height_mm, flat_mm)
    count = len(used)
    one_edge, other_edge = _edge(cut[:, 0], cut[:, 1], count), _edge(cut[:, 0], cut[:, 2], count)
    swap = ~lone
    start_mm, end_mm = np.where(swap[:, None], other, one), np.where(swap[:, None], one, other)
    return start_mm, end_mm, np.where(swap, other_edge, one_edge), np.where(swap, one_edge, other_edge)


def _crossing(
    first: NDArray[np.int64], second: NDArray[np.int64], height_mm: NDArray[np.float64], flat_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    share = height_mm[first] / (height_mm[first] - height_mm[second])
    point_mm: NDArray[np.float64] = flat_mm[first] + share[:, None] * (flat_mm[second] - flat_mm[first])
    return point_mm


def _edge(first: NDArray[np.int64], second: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    number: NDArray[np.int64] = np.minimum(first, second) * count + np.maximum(first, second)
    return number
