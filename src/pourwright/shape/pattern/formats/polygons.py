"""Faces with any number of corners cut into triangles, corners by number checked against what is there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.soup import OwnNumbers, UnusableError, check_count, grouped

# A face that is not convex is cut corner by corner, which takes the cube of their number.
MOST_CORNERS_OF_A_HOLLOW_FACE = 400


def triangle_corners(
    points: OwnNumbers, indices: NDArray[np.int64], sizes: NDArray[np.int64], most_triangles: int
) -> NDArray[np.float64]:
    """Return the corners of all triangles, shape (n, 3, 3).

    Parameters
    ----------
    points : array, shape (n, 3)
        Corners of the file, in its own numbers.
    indices : array, shape (sum of sizes,)
        Which corners each face uses, one face after the other.
    sizes : array, shape (m,)
        How many corners each face has.
    most_triangles : int
        More are refused.

    Raises
    ------
    UnusableError
        A face has under three corners or uses one that is not there.
    """
    starts = np.concatenate([[0], np.cumsum(sizes)])[:-1].astype(np.int64)
    _check_faces(len(points), indices, sizes, starts)
    check_count(int((sizes - 2).sum()), most_triangles)
    parts = []
    for size in np.unique(sizes):
        rows = starts[sizes == size]
        faces = indices[rows[:, None] + np.arange(size)]
        parts.append(faces if size == 3 else _cut(points, faces))
    faces = np.concatenate(parts) if parts else np.zeros((0, 3), np.int64)
    corners: NDArray[np.float64] = points[faces]
    return corners


def check_indices(indices: NDArray[np.int64], count: int, faces: NDArray[np.int64] | None = None) -> None:
    """Refuse a corner number outside 0 to count - 1; ``faces`` says whose each one is, three to a face if None."""
    bad = np.flatnonzero((indices < 0) | (indices >= count))
    if len(bad):
        face = int(bad[0]) // 3 if faces is None else int(faces[bad[0]])
        raise UnusableError(
            "shape.file-index", face=grouped(face + 1), index=grouped(int(indices[bad[0]]) + 1), count=grouped(count)
        )


def _check_faces(count: int, indices: NDArray[np.int64], sizes: NDArray[np.int64], starts: NDArray[np.int64]) -> None:
    if len(sizes) and sizes.min() < 3:
        face = int(sizes.argmin())
        raise UnusableError("shape.file-face-short", face=grouped(face + 1), corners=str(int(sizes[face])))
    if len(indices) and (indices.min() < 0 or indices.max() >= count):
        check_indices(indices, count, np.searchsorted(starts, np.arange(len(indices)), side="right") - 1)


def _cut(points: OwnNumbers, faces: NDArray[np.int64]) -> NDArray[np.int64]:
    """Cut faces of one size: as a fan from the first corner that does not fold the face over, else ear by ear."""
    size = faces.shape[1]
    left, parts = faces, []
    for turn in range(min(size, 8)):
        turned = np.roll(left, -turn, axis=1)
        flat = _unfolded(points, turned)
        parts.append(_fan(turned[flat]))
        left = left[~flat]
        if not len(left):
            break
    if len(left) and size > MOST_CORNERS_OF_A_HOLLOW_FACE:
        limit = str(MOST_CORNERS_OF_A_HOLLOW_FACE)
        raise UnusableError("shape.file-face-large", corners=grouped(size), limit=limit)
    return np.concatenate([*parts, *(_ears(points, face) for face in left)])


def _fan(faces: NDArray[np.int64]) -> NDArray[np.int64]:
    steps = range(1, faces.shape[1] - 1)
    if not len(faces):
        return np.zeros((0, 3), np.int64)
    return np.concatenate([faces[:, [0, step, step + 1]] for step in steps])


def _unfolded(points: OwnNumbers, faces: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which fans have no triangle that faces against the whole."""
    corners = points[faces]
    arms = corners[:, 1:] - corners[:, :1]
    doubled = np.cross(arms[:, :-1], arms[:, 1:])
    facing = np.einsum("ijk,ik->ij", doubled, doubled.sum(axis=1))
    scale = np.abs(facing).max(axis=1, initial=0.0)
    flat: NDArray[np.bool_] = facing.min(axis=1) >= -1e-9 * scale
    return flat


def _ears(points: OwnNumbers, face: NDArray[np.int64]) -> NDArray[np.int64]:
    """Cut off one corner after the other that sticks out and holds no other corner."""
    flat = _in_plane(points[face])
    ring, triangles = list(range(len(face))), []
    while len(ring) > 3:
        place = next((one for one in range(len(ring)) if _is_ear(flat, ring, one)), 0)
        triangles.append([ring[place - 1], ring[place], ring[(place + 1) % len(ring)]])
        del ring[place]
    cut: NDArray[np.int64] = face[np.array([*triangles, ring])]
    return cut


def _in_plane(corners: OwnNumbers) -> NDArray[np.float64]:
    """Drop the axis along which the face is thinnest, keeping its sense; shape (n, 2)."""
    arms = corners - corners[0]
    across = np.cross(arms[1:-1], arms[2:]).sum(axis=0)
    axis = int(np.abs(across).argmax())
    flat: NDArray[np.float64] = arms[:, [(axis + 1) % 3, (axis + 2) % 3]]
    return flat if across[axis] >= 0 else flat[:, ::-1]


def _is_ear(flat: NDArray[np.float64], ring: list[int], place: int) -> bool:
    a, b, c = flat[ring[place - 1]], flat[ring[place]], flat[ring[(place + 1) % len(ring)]]
    if _turn(a, b, c) <= 0:
        return False
    others = flat[[one for one in ring if not (np.array_equal(flat[one], a) or np.array_equal(flat[one], b)
                                               or np.array_equal(flat[one], c))]]  # fmt: skip
    if not len(others):
        return True
    inside = (_turn(a, b, others) >= 0) & (_turn(b, c, others) >= 0) & (_turn(c, a, others) >= 0)
    return not bool(np.any(inside))


def _turn(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return twice the signed area of the triangles a, b and each of c."""
    turn: NDArray[np.float64] = (b[0] - a[0]) * (c[..., 1] - a[1]) - (b[1] - a[1]) * (c[..., 0] - a[0])
    return turn
