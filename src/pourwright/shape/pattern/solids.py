"""Solids whose volume and area can be written down: closed meshes for tests, the demo day and ``verify``.

Round solids are inscribed polyhedra: every vertex lies on the true surface, so the mesh is a little smaller than
the solid and comes closer with more segments.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pourwright.core.files import write_whole
from pourwright.shape.pattern.formats.stl import FACET, HEADER_BYTES
from pourwright.shape.pattern.report import Mesh, Point

_BOX_CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=np.float64)
_BOX_FACES = np.array(
    [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
     [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]], dtype=np.int64
)  # fmt: skip


def torus(R_mm: float, r_mm: float, segments: int = 96, round_segments: int = 0) -> Mesh:
    """Return a ring of round wire: centre-line radius R, wire radius r [mm].

    ``segments`` go round the ring, ``round_segments`` round the wire (half as many unless given).
    """
    count = round_segments or max(segments // 2, 8)
    angle = 2 * np.pi * np.arange(count) / count
    profile_mm = np.column_stack([R_mm + r_mm * np.cos(angle), r_mm * np.sin(angle)])
    return turned(profile_mm, segments, closed=True)


def sphere(radius_mm: float, segments: int = 96) -> Mesh:
    """Return a ball."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, max(segments // 2, 4) + 1)
    profile_mm = radius_mm * np.column_stack([np.cos(angle), np.sin(angle)])
    profile_mm[[0, -1], 0] = 0.0
    return turned(profile_mm, segments)


def box(length_mm: float, width_mm: float, height_mm: float) -> Mesh:
    """Return a box about the origin."""
    sides_mm = np.array([length_mm, width_mm, height_mm])
    return Mesh((_BOX_CORNERS - 0.5) * sides_mm, _BOX_FACES.copy())


def ring_band(inner_radius_mm: float, width_mm: float, wall_mm: float, segments: int = 96) -> Mesh:
    """Return a flat ring band (a tube): inside radius, width along the finger, wall [mm]."""
    outer_mm, half_mm = inner_radius_mm + wall_mm, width_mm / 2
    corners_mm = [(inner_radius_mm, -half_mm), (outer_mm, -half_mm), (outer_mm, half_mm), (inner_radius_mm, half_mm)]
    return turned(np.array(corners_mm), segments, closed=True)


def rod(radius_mm: float, length_mm: float, segments: int = 48) -> Mesh:
    """Return a round rod about the z axis."""
    half_mm = length_mm / 2
    profile_mm = np.array([(0, -half_mm), (radius_mm, -half_mm), (radius_mm, half_mm), (0, half_mm)])
    return turned(profile_mm, segments)


def hollow_sphere(outer_radius_mm: float, inner_radius_mm: float, segments: int = 96) -> Mesh:
    """Return a ball with a sealed void: an outer shell and, turned inside out, an inner one."""
    return beside(sphere(outer_radius_mm, segments), flipped(sphere(inner_radius_mm, segments)))


def dumbbell(ball_radius_mm: float, bar_radius_mm: float, distance_mm: float, segments: int = 96) -> Mesh:
    """Return two balls, centres ``distance_mm`` apart, joined by a bar [mm]."""
    start_rad = np.arcsin(bar_radius_mm / ball_radius_mm)
    angle = np.linspace(np.pi, start_rad, max(segments // 2, 8))
    left_mm = np.column_stack([np.sin(angle), np.cos(angle)]) * ball_radius_mm
    left_mm[0, 0] = 0.0
    left_mm[:, 1] -= distance_mm / 2
    return turned(np.vstack([left_mm, left_mm[::-1] * [1, -1]]), segments)


def plate_with_cube(
    plate_mm: float = 20.0, thick_mm: float = 0.5, cube_mm: float = 8.0, neck_mm: float = 1.0, length_mm: float = 2.0
) -> Mesh:
    """Return a square plate that carries a cube on a round neck: sides, plate thickness, neck diameter and length."""
    overlap_mm = min(thick_mm, cube_mm) / 4
    neck = rod(neck_mm / 2, length_mm + 2 * overlap_mm)
    return united(
        moved(box(plate_mm, plate_mm, thick_mm), (0, 0, -thick_mm / 2)),
        moved(neck, (0, 0, length_mm / 2)),
        moved(box(cube_mm, cube_mm, cube_mm), (0, 0, length_mm + cube_mm / 2)),
    )


def cube_with_fin(cube_mm: float = 10.0, fin_mm: float = 0.5, reach_mm: float = 6.0) -> Mesh:
    """Return a cube with a thin fin standing on one side: side, fin thickness, how far the fin reaches out."""
    fin = moved(box(reach_mm + 1.0, cube_mm - 2.0, fin_mm), (cube_mm / 2 + reach_mm / 2 - 0.5, 0, 0))
    return united(box(cube_mm, cube_mm, cube_mm), fin)


def turned(profile_mm: NDArray[np.float64], segments: int, closed: bool = False) -> Mesh:
    """Turn a profile about the z axis.

    Parameters
    ----------
    profile_mm : array, shape (n, 2)
        Radius and height [mm], counter-clockwise with the radius to the right and the height up.
        Open profiles start and end on the axis.
    segments : int
        Round the axis.
    closed : bool
        Whether the profile closes on itself, off the axis.

    Returns
    -------
    Mesh
        Closed, facing outward.
    """
    angle = 2 * np.pi * np.arange(segments) / segments
    spokes = np.column_stack([np.cos(angle), np.sin(angle)])
    rings_mm = [_ring(radius_mm, height_mm, spokes) for radius_mm, height_mm in profile_mm]
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings_mm])])
    pairs = [(one, one + 1) for one in range(len(rings_mm) - 1)] + ([(len(rings_mm) - 1, 0)] if closed else [])
    strips = [
        _strip(starts[low], len(rings_mm[low]), starts[high], len(rings_mm[high]), segments) for low, high in pairs
    ]
    return Mesh(np.vstack(rings_mm), np.vstack(strips))


def _ring(radius_mm: float, height_mm: float, spokes: NDArray[np.float64]) -> NDArray[np.float64]:
    if radius_mm == 0:
        return np.array([[0.0, 0.0, height_mm]])
    return np.column_stack([radius_mm * spokes, np.full(len(spokes), height_mm)])


def _strip(low: int, low_count: int, high: int, high_count: int, segments: int) -> NDArray[np.int64]:
    here = np.arange(segments)
    after = (here + 1) % segments
    lower, lower_next = low + here % low_count, low + after % low_count
    upper, upper_next = high + here % high_count, high + after % high_count
    first = np.column_stack([lower, lower_next, upper_next])
    second = np.column_stack([lower, upper_next, upper])
    if low_count == 1:
        return second
    return first if high_count == 1 else np.vstack([first, second])


def moved(mesh: Mesh, by_mm: Point) -> Mesh:
    """Return the mesh shifted."""
    return Mesh(mesh.vertices_mm + np.asarray(by_mm, dtype=np.float64), mesh.faces)


def rotated(mesh: Mesh, axis_mm: Point, angle_deg: float) -> Mesh:
    """Return the mesh turned about the axis from the origin through a point, by an angle [deg]."""
    x, y, z = np.asarray(axis_mm, dtype=np.float64) / np.linalg.norm(axis_mm)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = np.radians(angle_deg)
    matrix = np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
    return Mesh(mesh.vertices_mm @ matrix.T, mesh.faces)


def scaled(mesh: Mesh, factor_ratio: float) -> Mesh:
    """Return the mesh enlarged about the origin."""
    return Mesh(mesh.vertices_mm * factor_ratio, mesh.faces)


def flipped(mesh: Mesh) -> Mesh:
    """Return the mesh turned inside out."""
    return Mesh(mesh.vertices_mm, np.ascontiguousarray(mesh.faces[:, ::-1]))


def beside(*meshes: Mesh) -> Mesh:
    """Return all meshes as one, each shell kept as it is, overlapping or not."""
    starts = np.concatenate([[0], np.cumsum([len(mesh.vertices_mm) for mesh in meshes])])
    faces = [mesh.faces + start for mesh, start in zip(meshes, starts, strict=False)]
    return Mesh(np.vstack([mesh.vertices_mm for mesh in meshes]), np.vstack(faces))


def united(*meshes: Mesh) -> Mesh:
    """Return the solid that all meshes cover together."""
    from pourwright.shape.pattern.union import unite

    return unite(meshes)


def without_faces(mesh: Mesh, faces: Sequence[int]) -> Mesh:
    """Return the mesh with some of its faces (by number) torn out."""
    return Mesh(mesh.vertices_mm, np.delete(mesh.faces, np.asarray(faces), axis=0))


def write_stl(mesh: Mesh, path: Path, ascii: bool = False) -> None:  # noqa: A002
    """Write a mesh as an STL file, whole or not at all; the numbers in it are millimetres."""
    corners = mesh.vertices_mm[mesh.faces].astype("<f4")
    normals = _unit_normals(corners)
    write_whole(path, _as_text(corners, normals) if ascii else _as_binary(corners, normals))


def _unit_normals(corners: NDArray[np.float32]) -> NDArray[np.float32]:
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    return (cross / np.where(length > 0, length, 1.0)).astype("<f4")


def _as_binary(corners: NDArray[np.float32], normals: NDArray[np.float32]) -> bytes:
    facets = np.zeros(len(corners), dtype=FACET)
    facets["normal"], facets["corners"] = normals, corners
    return bytes(HEADER_BYTES) + len(corners).to_bytes(4, "little") + facets.tobytes()


def _as_text(corners: NDArray[np.float32], normals: NDArray[np.float32]) -> bytes:
    lines = ["solid pattern"]
    for normal, corner in zip(normals.tolist(), corners.tolist(), strict=True):
        lines.append("facet normal " + " ".join(f"{value:.9g}" for value in normal))
        lines.append(" outer loop")
        lines += ["  vertex " + " ".join(f"{value:.9g}" for value in point) for point in corner]
        lines += [" endloop", "endfacet"]
    return "\n".join([*lines, "endsolid pattern", ""]).encode("ascii")
