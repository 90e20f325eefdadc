"""Patterns of the demo day, drawn by formula: our own invention, closed solids in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.solids import flipped, moved, rotated, torus, united

Floats = NDArray[np.float64]


def signet_ring() -> Mesh:
    """Return a ring whose band swells to a flat seal with a five-petalled flower in low relief."""
    turn, around = _angles(150, 64)
    turn, around = _crowded(turn, 0.0, 0.65), _crowded(around, np.pi / 2, 0.7)
    swell = np.exp(-((_from_top(turn) / 0.55) ** 2))
    half_width_mm = 1.9 + 3.6 * swell
    wall_mm = 1.7 + 1.9 * swell
    square = (np.cos(around) ** 4 + np.sin(around) ** 4) ** -0.25
    across_mm = half_width_mm * square * np.cos(around)
    radius_mm = 8.9 + wall_mm * (1 + square * np.sin(around)) / 2
    rings_mm = _ring_points(turn, radius_mm, across_mm)
    return _outward(_lofted(_sealed(rings_mm), closed=True))


def _sealed(rings_mm: Floats) -> Floats:
    """Cut the top flat at a height that carries the flower."""
    x_mm, y_mm = rings_mm[..., 0], rings_mm[..., 1]
    reach = np.hypot(x_mm, y_mm) / 3.6
    petals = 0.62 + 0.38 * np.cos(5 * np.arctan2(y_mm, x_mm))
    flower_mm = 0.9 * np.clip(1 - reach / petals, 0, 0.45)
    flat = np.array(rings_mm)
    flat[..., 2] = np.minimum(rings_mm[..., 2], 11.3 + flower_mm)
    return flat


def twisted_band() -> Mesh:
    """Return a band like a rope of four strands."""
    turn, around = _angles(240, 36)
    strand_mm = 1.45 + 0.22 * np.cos(4 * around + 16 * turn)
    radius_mm = 10.6 + strand_mm * np.sin(around)
    return _outward(_lofted(_ring_points(turn, radius_mm, strand_mm * np.cos(around)), closed=True))


def leaf_pendant() -> Mesh:
    """Return a curved leaf with a midrib and veins, hung from a loop."""
    along = _between_round_ends(150)
    side, lean = _plate_outline(22, 10)
    end = _round_end(34 * np.minimum(along, 1 - along), 0.75)
    half_width_mm = 0.8 + 8.2 * np.sin(np.pi * along**0.8) ** 1.2
    across_mm = end * (side * (half_width_mm - 0.66) + 0.66 * np.cos(lean))
    across = across_mm / half_width_mm
    veins = 0.13 * np.cos(2 * np.pi * (9 * along - 1.6 * np.abs(across))) * (1 - across**2) * np.sin(np.pi * along)
    rib = 0.45 * np.exp(-((across_mm / 0.7) ** 2))
    half_thick_mm = end * (0.66 * np.sin(lean) + np.clip(np.sin(lean), 0, None) * (veins + rib))
    arch_mm = 3.4 * np.sin(np.pi * along) - 0.018 * across_mm**2
    leaf = _outward(_lofted(_stacked(34 * along, across_mm, arch_mm + half_thick_mm), closed=False))
    loop = moved(rotated(torus(2.1, 0.75, 56, 24), (1, 0, 0), 90), (-1.9, 0, 0.1))
    return united(leaf, loop)


def ear_drop() -> Mesh:
    """Return a fluted drop with a twist, hung from a loop."""
    along = _between_round_ends(96)
    around = (2 * np.pi * np.arange(72) / 72)[None, :]
    end = _round_end(15 * np.minimum(along, 1 - along), 0.7)
    profile_mm = 0.75 + 3.1 * np.sin(np.pi * along**1.7) * (1 - 0.25 * along)
    flutes = 1 + 0.07 * np.cos(6 * around + 5 * along) * np.sin(np.pi * along)
    radius_mm = end * profile_mm * flutes
    points = _stacked(radius_mm * np.cos(around), radius_mm * np.sin(around), 15.0 * (1 - along))
    loop = moved(rotated(torus(1.7, 0.65, 48, 24), (1, 0, 0), 90), (0, 0, 16.4))
    return united(_outward(_lofted(points, closed=False)), loop)


PATTERNS: Mapping[str, Callable[[], Mesh]] = {
    "signet-ring": signet_ring,
    "twisted-band": twisted_band,
    "leaf-pendant": leaf_pendant,
    "ear-drop": ear_drop,
}


def _angles(turns_count: int, around_count: int) -> tuple[Floats, Floats]:
    """Return angles round the finger as a column and round the section as a row [rad]."""
    turn = 2 * np.pi * np.arange(turns_count) / turns_count
    around = 2 * np.pi * np.arange(around_count) / around_count
    return turn[:, None], around[None, :]


def _crowded(angle: Floats, towards_rad: float, share_frac: float) -> Floats:
    """Return angles drawn together round one of them, so that fine relief there has points enough [rad]."""
    return angle - share_frac * np.sin(angle - towards_rad)


def _from_top(turn: Floats) -> Floats:
    """Return the angle from the top of the ring, positive both ways [rad]."""
    distance: Floats = np.abs((turn + np.pi) % (2 * np.pi) - np.pi)
    return distance


def _between_round_ends(count: int) -> Floats:
    """Return places along a body from 0 to 1 as a column, close together at both ends."""
    along: Floats = 0.5 - 0.5 * np.cos(np.linspace(0.02, np.pi - 0.02, count))
    return along[:, None]


def _round_end(distance_mm: Floats, radius_mm: float) -> Floats:
    """Return the share of the full section at a distance from an end that closes like a ball."""
    share: Floats = np.sqrt(1 - (1 - np.minimum(distance_mm / radius_mm, 1)) ** 2)
    return share


def _plate_outline(flat_count: int, rim_count: int) -> tuple[Floats, Floats]:
    """Return the outline of a plate with round rims: place across from -1 to 1, and lean of the surface [rad]."""
    flat = np.linspace(1, -1, flat_count)
    rim = np.pi * (np.arange(rim_count) + 1) / (rim_count + 1)
    quarter = np.full(flat_count, np.pi / 2)
    side = np.concatenate([flat, np.full(rim_count, -1.0), -flat, np.full(rim_count, 1.0)])
    lean = np.concatenate([quarter, np.pi / 2 + rim, -quarter, rim - np.pi / 2])
    return side[None, :], lean[None, :]


def _ring_points(turn: Floats, radius_mm: Floats, across_mm: Floats) -> Floats:
    """Return sections placed round the finger, the top of the ring in z."""
    return _stacked(radius_mm * np.sin(turn), across_mm + 0 * turn, radius_mm * np.cos(turn))


def _stacked(*parts_mm: Floats) -> Floats:
    return np.stack(np.broadcast_arrays(*parts_mm), axis=-1)


def _lofted(rings_mm: Floats, closed: bool) -> Mesh:
    """Return the skin over rings of points, shape (n, m, 3) [mm]; open ends are closed with a fan to their middle."""
    ring_count, point_count = rings_mm.shape[:2]
    number = np.arange(ring_count * point_count).reshape(ring_count, point_count)
    after = np.roll(number, -1, axis=0) if closed else number[1:]
    here = number if closed else number[:-1]
    corners = (here, np.roll(here, -1, axis=1), np.roll(after, -1, axis=1), after)
    a, b, c, d = (one.ravel() for one in corners)
    faces = [np.column_stack([a, b, c]), np.column_stack([a, c, d])]
    points_mm = rings_mm.reshape(-1, 3)
    if closed:
        return Mesh(points_mm, np.vstack(faces))
    middles_mm = rings_mm[[0, -1]].mean(axis=1)
    first, last = len(points_mm), len(points_mm) + 1
    start, end = number[0], number[-1]
    faces.append(np.column_stack([np.roll(start, -1), start, np.full(point_count, first)]))
    faces.append(np.column_stack([end, np.roll(end, -1), np.full(point_count, last)]))
    return Mesh(np.vstack([points_mm, middles_mm]), np.vstack(faces))


def _outward(mesh: Mesh) -> Mesh:
    """Return the mesh with its faces looking out."""
    a, b, c = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    signed_mm3 = float(np.einsum("ij,ij->", a, np.cross(b, c)))
    return mesh if signed_mm3 > 0 else flipped(mesh)
